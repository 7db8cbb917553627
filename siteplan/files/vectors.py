"""The door for vector files: footprints and points in, GeoPackage out. Nothing else may load a vector library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.errors import OutputError

if TYPE_CHECKING:
    import numpy as np


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
    import numpy as np
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
