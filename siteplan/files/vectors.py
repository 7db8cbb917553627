"""The door for vector files: footprints and points in, GeoPackage out. Nothing else may load a vector library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.errors import OutputError, RasterError

if TYPE_CHECKING:
    import numpy as np
    from geopandas import GeoDataFrame


# ---- vector layers out --------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class LayerOut:
    """One layer to write. Coordinates are WGS84 longitude, latitude.

    geometry_type  "Point", "LineString" or "LineString Z"; wkb (n) well-known binary, None where a row has no place
    fields         name -> ("text", "integer" or "real", n values, None where unknown)
    """

    name: str
    geometry_type: str
    wkb: Sequence[bytes | None]
    fields: Mapping[str, tuple[str, Sequence[str | int | float | None]]]


def write_layers(path: Path, layers: Sequence[LayerOut], *, on_date: date | None = None) -> None:
    """Write a GeoPackage with these layers, the same bytes each time: its own time stamps are on_date, or 1980-01-01.

    Raises OutputError where the file can't be written.
    Source: OGC 12-128r19 (GeoPackage 1.4), section 1.1.3 for last_change; GDAL's OGR_CURRENT_DATE sets it.
    """
    import pyogrio
    from pyogrio.raw import write

    day = on_date.isoformat() if on_date else "1980-01-01"
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": f"{day}T00:00:00.000Z"})
    try:
        for number, layer in enumerate(layers):
            columns = [_column_out(kind, values) for kind, values in layer.fields.values()]
            write(
                str(path), _objects(layer.wkb), [column for column, _ in columns], list(layer.fields),
                field_mask=[missing for _, missing in columns], layer=layer.name, driver="GPKG", geometry_type=layer.geometry_type,
                crs="EPSG:4326", append=number > 0, dataset_options={"VERSION": "1.3"} if number == 0 else None,
            )  # fmt: skip
    except pyogrio.errors.DataSourceError as error:
        raise OutputError(f"{path}: can't write this GeoPackage ({error}). Choose another folder with --out.") from error
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _column_out(kind: str, values: Sequence[str | int | float | None]) -> tuple[np.ndarray, np.ndarray]:
    import numpy as np

    missing = np.array([value is None for value in values], dtype=bool)
    empty, dtype = {"text": ("", object), "integer": (0, np.int64), "real": (np.nan, np.float64)}[kind]
    column = np.empty(len(values), dtype=dtype)
    column[:] = [empty if value is None else value for value in values]
    return column, missing


def _objects(items: Sequence[object]) -> np.ndarray:
    import numpy as np

    column = np.empty(len(items), dtype=object)
    column[:] = items
    return column


# ---- polygons in --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class PolygonsIn:
    """One layer of polygons as a file has it: shapes (n) shapely or None in the file's own system, columns name -> (n) values."""

    layer: str
    crs: str
    shapes: Sequence[object]
    columns: Mapping[str, Sequence[object]]


def read_polygons(path: Path, *, layer: str = "") -> PolygonsIn:
    """Return the polygons of a vector file: of the named layer, else of the first that can hold polygons. crs "" where it names none.

    Raises RasterError: not a vector file, no such layer, no polygons, cut short.
    """
    table, chosen = _polygon_table(path, layer)
    own = table.geometry.name
    return PolygonsIn(
        layer=chosen, crs="" if table.crs is None else table.crs.to_wkt(), shapes=list(table.geometry.values),
        columns={str(name): list(table[name]) for name in table.columns if name != own},
    )  # fmt: skip


def _polygon_table(path: Path, layer: str) -> tuple[GeoDataFrame, str]:
    import geopandas
    import pyogrio
    from pyogrio.errors import DataSourceError

    unreadable = RasterError(f"{path.name}: not a file of footprints that siteplan reads (GeoPackage, GeoJSON, Shapefile, Parquet)")
    none_here = RasterError(f"{path.name}: holds no polygons; footprints of buildings are wanted (plan key `buildings`)")
    if path.suffix.lower() in (".parquet", ".geoparquet"):
        try:
            return geopandas.read_parquet(path), ""
        except (OSError, ValueError, ImportError):
            raise unreadable from None
    try:
        listed = [(str(name), str(kind)) for name, kind in pyogrio.list_layers(path)]
    except (DataSourceError, OSError, ValueError):
        raise unreadable from None
    if layer and layer not in [name for name, _ in listed]:
        raise RasterError(f"{path.name}: has no layer {layer!r}; it has {', '.join(name for name, _ in listed[:20])}")
    fit = [name for name, kind in listed if any(word in kind for word in ("Polygon", "Unknown", "Collection"))]
    if not layer and not fit:
        raise none_here
    try:
        table = geopandas.read_file(path, layer=layer or fit[0])
    except (DataSourceError, OSError, ValueError, RuntimeError):
        raise RasterError(f"{path.name}: can't be read to the end; it is damaged or cut short, fetch it again") from None
    if not isinstance(table, geopandas.GeoDataFrame):
        raise none_here
    return table, layer or fit[0]
