"""Building footprints: outlines and heights, as registers and OpenStreetMap write them, from a vector file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.errors import InputError, RasterError, told
from siteplan.files.raster_checks import local_file
from siteplan.files.vectors import PolygonsIn, read_polygons
from siteplan.geodesy import projection
from siteplan.records.ground import Footprints

METRES_PER_LEVEL = 3.0  # common practice, no source
HEIGHT_FIELDS = ("height", "height_m", "building:height", "building_height", "hoehe", "hauteur", "altura", "altezza")
LEVEL_FIELDS = ("building:levels", "building_levels", "levels", "num_floors")
_NUMBER = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(m|met(?:er|re)s?|ft|feet|foot|'|)\s*(?:([0-9]+(?:\.[0-9]+)?)\s*(?:in|\"))?\s*", re.I)


@dataclass(frozen=True, eq=False)
class FootprintFile:
    """Footprints and what was done to read them; counts are of features."""

    footprints: Footprints
    name: str
    layer: str
    crs_name: str
    read: int
    repaired: int
    skipped: int
    with_height: int
    from_levels: int

    @property
    def complete(self) -> bool:
        """Return whether at least nine of ten buildings have a height."""
        return self.with_height >= 0.9 * max(1, self.read - self.skipped)


def height_m(text: object) -> float:
    """Return metres from a height as OpenStreetMap writes it ("12", "12.5 m", "40 ft", "40'6\\""), NaN where it is none."""
    if isinstance(text, (int, float, np.integer, np.floating)):
        return float(text) if 0.0 < float(text) < 1000.0 else float("nan")
    match = _NUMBER.fullmatch(str(text)) if text is not None else None
    if not match:
        return float("nan")
    value = float(match[1].replace(",", "."))
    if match[2].lower() in ("ft", "feet", "foot", "'"):
        value = value * 0.3048 + float(match[3] or 0.0) * 0.0254
    elif match[3]:
        return float("nan")
    return value if 0.0 < value < 1000.0 else float("nan")


def read_footprints(path: Path, *, layer: str = "", crs: str = "", height_field: str = "") -> FootprintFile:
    """Return building outlines in WGS84 with their heights, invalid ones repaired.

    path          GeoPackage, GeoJSON, Shapefile, FlatGeobuf or Parquet
    layer         "": the first layer with polygons
    crs           for a file that names none
    height_field  "": OpenStreetMap's `height`, else `building:levels` times 3 m

    Raises RasterError: not there, not a vector file, no polygons, no CRS, no such layer or field.
    """
    import shapely

    path = Path(path)
    local_file(path)
    table = read_polygons(path, layer=layer)
    wkt = _crs(path.name, table.crs, crs)
    kept, repaired, skipped = [], 0, 0
    polygons: list[Any] = []
    for index, own in enumerate(table.shapes):
        if own is None or own.is_empty:
            skipped += 1
            continue
        if not own.is_valid:
            repaired += 1
            own = shapely.make_valid(own)
        moved = shapely.transform(own, lambda at: np.column_stack(projection.to_wgs84(at[:, 0], at[:, 1], wkt)))
        parts = [part for part in _polygons(moved) if part.area > 0.0 and np.isfinite(part.bounds).all()]
        skipped += not parts
        polygons += parts
        kept += [index] * len(parts)
    if not polygons:
        raise RasterError(told("{name}: holds no polygons; outlines are wanted (plan keys `buildings`, `plots`)", name=path.name))
    heights, from_levels = _heights(table, path.name, height_field)
    return FootprintFile(
        footprints=Footprints(polygons=tuple(polygons), height_m=heights[kept].astype(np.float32)), name=path.name,
        layer=table.layer, crs_name=projection.crs_name(wkt), read=len(table.shapes), repaired=repaired, skipped=skipped,
        with_height=int(np.isfinite(heights).sum()), from_levels=from_levels,
    )  # fmt: skip


def _crs(name: str, own: str, stated: str) -> str:
    try:
        if own or stated:
            return projection.parse_crs(own or stated)
    except InputError as error:
        raise RasterError(f"{name}: {error}") from None
    raise RasterError(told('{name}: names no coordinate system (CRS); write it in the plan, for example crs = "EPSG:25833"', name=name))


def _polygons(shape: Any) -> list[Any]:
    if shape.geom_type == "Polygon":
        return [shape]
    return [part for piece in getattr(shape, "geoms", ()) for part in _polygons(piece)]


def _heights(table: PolygonsIn, name: str, field: str) -> tuple[np.ndarray, int]:
    """Return (n,) heights in metres and how many come from counted levels."""
    columns = {str(column).lower(): column for column in table.columns}
    if field:
        if field.lower() not in columns:
            found = ", ".join(table.columns) or "none"
            raise RasterError(
                told("{name}: has no field {field!r} (plan key `height_field`); its fields: {found}", name=name, field=field, found=found)
            )
        return np.array([height_m(value) for value in table.columns[columns[field.lower()]]], dtype=float), 0
    heights = np.full(len(table.shapes), np.nan)
    for key in HEIGHT_FIELDS:
        if key in columns:
            here = np.array([height_m(value) for value in table.columns[columns[key]]], dtype=float)
            heights = np.where(np.isnan(heights), here, heights)
    before = int(np.isfinite(heights).sum())
    for key in LEVEL_FIELDS:
        if key in columns:
            here = np.array([height_m(value) for value in table.columns[columns[key]]], dtype=float) * METRES_PER_LEVEL
            heights = np.where(np.isnan(heights) & (here <= 900.0), here, heights)
    return heights, int(np.isfinite(heights).sum()) - before
