"""The door for vector files: footprints and points in, GeoPackage out. Nothing else may load a vector library."""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.errors import MissingLibraryError, OutputError, RasterError, TableError, told

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
        raise OutputError(
            told("{path}: can't write this GeoPackage ({error}). Choose another folder with --out.", path=path, error=error)
        ) from error
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

    unreadable = RasterError(
        told("{name}: not a file of footprints that siteplan reads (GeoPackage, GeoJSON, Shapefile, Parquet)", name=path.name)
    )
    none_here = RasterError(told("{name}: holds no polygons; outlines are wanted (plan keys `buildings`, `plots`)", name=path.name))
    if path.suffix.lower() in (".parquet", ".geoparquet"):
        try:
            return geopandas.read_parquet(path), ""
        except ImportError:
            raise MissingLibraryError(
                told("{name}: Parquet needs the library pyarrow: pip install pyarrow, or save as GeoPackage", name=path.name)
            ) from None
        except (OSError, ValueError):
            raise unreadable from None
    try:
        listed = [(str(name), str(kind)) for name, kind in pyogrio.list_layers(path)]
    except (DataSourceError, OSError, ValueError):
        raise unreadable from None
    if layer and layer not in [name for name, _ in listed]:
        raise RasterError(
            told(
                "{name}: has no layer {layer!r}; it has {name_2}",
                name=path.name,
                layer=layer,
                name_2=", ".join(name for name, _ in listed[:20]),
            )
        )
    fit = [name for name, kind in listed if any(word in kind for word in ("Polygon", "Unknown", "Collection"))]
    if not layer and not fit:
        raise none_here
    try:
        table = geopandas.read_file(path, layer=layer or fit[0])
    except (DataSourceError, OSError, ValueError, RuntimeError):
        raise RasterError(told("{name}: can't be read to the end; it is damaged or cut short, fetch it again", name=path.name)) from None
    if not isinstance(table, geopandas.GeoDataFrame):
        raise none_here
    return table, layer or fit[0]


# ---- lines and polygons in ----------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class ShapesIn:
    """All features of the first layer with lines or polygons: shapes (n) shapely or None in the file's own system, columns name -> (n)."""

    crs: str
    shapes: Sequence[object]
    columns: Mapping[str, Sequence[object]]


def read_shapes(path: Path) -> ShapesIn:
    """Return the lines and polygons of a vector file; crs "" where it names none.

    Raises TableError: not such a file, none in it, damaged.
    """
    import geopandas
    import pyogrio
    from pyogrio.errors import DataSourceError

    try:
        with warnings.catch_warnings(action="ignore"):
            listed = [(str(name), str(kind)) for name, kind in pyogrio.list_layers(path)]
            fit = [name for name, kind in listed if any(word in kind for word in ("Polygon", "Line", "Unknown", "Collection"))]
            table = geopandas.read_file(path, layer=fit[0]) if fit else None
    except (DataSourceError, OSError, ValueError, RuntimeError, UnicodeError):
        raise TableError(
            told("can't be read as GeoPackage or GeoJSON; it is damaged, cut short or something else"), file=path.name
        ) from None
    if table is None or not isinstance(table, geopandas.GeoDataFrame):
        raise TableError(told("holds no lines and no polygons; contours are wanted"), file=path.name)
    own = table.geometry.name
    columns = {str(name): list(table[name]) for name in table.columns if name != own}
    return ShapesIn("" if table.crs is None else table.crs.to_wkt(), list(table.geometry.values), columns)


# ---- points in ----------------------------------------------------------------------------------------------------

_FIRST_BYTES = {
    ".gpkg": (b"SQLite format 3",), ".fgb": (b"fgb",), ".shp": (b"\x00\x00\x27\x0a",), ".parquet": (b"PAR1",), ".geoparquet": (b"PAR1",),
    ".geojson": (b"{",), ".json": (b"{",),
}  # fmt: skip
_GEOMETRY_NAMES = ("Point", "MultiPoint", "Unknown", "GeometryCollection")


@dataclass(frozen=True, eq=False)
class PointsIn:
    """One layer of points as a file has it: columns, then for each feature its texts, its (x, y) or None, and why it has no point."""

    layer: str
    others: tuple[str, ...]
    crs: str
    columns: tuple[str, ...]
    cells: Sequence[tuple[str, ...]]
    places: Sequence[tuple[float, float] | None]
    faults: Sequence[str]


def read_point_rows(path: Path, layer: str = "") -> PointsIn:
    """Return the features of the named layer, else of the first with points, else of the first table without places, as texts.

    x, y are in the file's own system; crs is "" where it names none. A feature with no point, an empty one or several keeps its texts.
    Raises TableError: not a vector file of that name, damaged, no such layer, no points; MissingLibraryError for Parquet without pyarrow.
    """
    suffix = path.suffix.lower()
    try:
        head = path.open("rb").read(64)
    except OSError as error:
        raise TableError(told("this file can't be read ({strerror})", strerror=error.strerror or error), file=path.name) from None
    if not head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(_FIRST_BYTES.get(suffix, (b"",))) and not head.startswith(
        _FIRST_BYTES.get(suffix, (b"",))
    ):
        raise TableError(told("this is not a {suffix} file by its content; save it again, or as CSV", suffix=suffix[1:]), file=path.name)
    return _parquet_points(path) if suffix in (".parquet", ".geoparquet") else _layer_points(path, layer)


def _layer_points(path: Path, layer: str) -> PointsIn:
    import pyogrio
    from pyogrio.errors import DataSourceError

    damaged = TableError(told("this file is damaged or cut short; fetch or save it again"), file=path.name)
    try:
        with warnings.catch_warnings(action="ignore"):
            listed = [(str(name), str(kind) if kind is not None else "") for name, kind in pyogrio.list_layers(path)]
    except (DataSourceError, OSError, ValueError, UnicodeError):
        raise damaged from None
    names = [name for name, _ in listed]
    if layer and layer not in names:
        raise TableError(told("no layer {layer!r} (plan key addresses.layer)", layer=layer), file=path.name, allowed=", ".join(names[:20]))
    plain = [name for name, kind in listed if kind in ("", "None")]
    fit = [name for name, kind in listed if any(word in kind for word in _GEOMETRY_NAMES)] + plain
    if not layer and not fit:
        raise TableError(told("holds no layer with points; addresses are wanted as points"), file=path.name, allowed=", ".join(names[:20]))
    chosen = layer or fit[0]
    try:
        with warnings.catch_warnings(action="ignore"):
            meta, _, geometry, data = pyogrio.raw.read(str(path), layer=chosen, force_2d=True, datetime_as_string=True)
    except (DataSourceError, OSError, ValueError, RuntimeError, UnicodeError):
        raise damaged from None
    count = len(data[0]) if data else len(geometry) if geometry is not None else 0
    cells = list(zip(*([_plain(value) for value in column] for column in data), strict=True)) if data else [()] * count
    places, faults = _places(geometry, count)
    return PointsIn(
        layer=chosen, others=tuple(name for name in fit if name != chosen), crs=str(meta["crs"] or ""),
        columns=tuple(str(name) for name in meta["fields"]), cells=cells, places=places, faults=faults,
    )  # fmt: skip


def _parquet_points(path: Path) -> PointsIn:
    import geopandas

    try:
        table = geopandas.read_parquet(path)
    except ImportError:
        raise MissingLibraryError(
            told("{name}: reading Parquet needs the library pyarrow: pip install pyarrow, or save as CSV", name=path.name)
        ) from None
    except (OSError, ValueError, KeyError):
        raise TableError(told("this Parquet file has no points (or is damaged); save it as GeoPackage or CSV"), file=path.name) from None
    own = table.geometry.name
    columns = [str(name) for name in table.columns if name != own]
    cells = list(zip(*([_plain(value) for value in table[name]] for name in columns), strict=True)) if columns else [()] * len(table)
    places, faults = _places([None if shape is None else shape.wkb for shape in table.geometry.values], len(table))
    return PointsIn(
        layer="", others=(), crs="" if table.crs is None else table.crs.to_wkt(), columns=tuple(columns), cells=cells, places=places,
        faults=faults,
    )  # fmt: skip


def _places(geometry: Sequence[bytes | None] | None, count: int) -> tuple[list[tuple[float, float] | None], list[str]]:
    import shapely

    places: list[tuple[float, float] | None] = []
    faults: list[str] = []
    for wkb in geometry if geometry is not None else [None] * count:
        shape = None if wkb is None else shapely.from_wkb(wkb, on_invalid="ignore")
        points = [] if shape is None or shape.is_empty else [part for part in shapely.get_parts(shape) if part.geom_type == "Point"]
        points = [point for point in points if not point.is_empty]
        places.append((points[0].x, points[0].y) if len(points) == 1 else None)
        faults.append("" if len(points) == 1 else _fault(shape, len(points)))
    return places, faults


def _fault(shape: object, points: int) -> str:
    if points:
        return told("has {points} points; one is wanted", points=points)
    kind = "" if shape is None or shape.is_empty else shape.geom_type.lower()  # type: ignore[attr-defined]
    return told("is a {kind}; a point is wanted", kind=kind) if kind and kind != "point" else told("has no point")


def _plain(value: object) -> str:
    """Return a field's value as text: whole numbers without ".0", nothing for null."""
    if value is None or (isinstance(value, float) and value != value):
        return ""
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return "" if value != value else str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value)
