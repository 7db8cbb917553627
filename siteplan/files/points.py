"""Vector layers of points (GeoPackage, GeoJSON, Shapefile, FlatGeobuf, Parquet) as tables."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.rawtable import RawRow, RawTable
from siteplan.files.vectors import read_point_rows
from siteplan.records.verdict import Reason


def read_points(path: Path, *, layer: str = "") -> tuple[RawTable, ...]:
    """Return one layer as a table whose heading is row 1 and whose first feature is row 2, as its attribute table in a spreadsheet.

    Raises TableError: see vectors.read_point_rows; no features.
    """
    found = read_point_rows(path, layer)
    if not found.cells:
        raise TableError(
            told("the layer {layer!r} is empty", layer=found.layer) if found.layer else told("this file is empty"), file=path.name
        )
    notes = ()
    if found.others:
        notes = (Reason("layer_taken", {"layer": found.layer, "others": ", ".join(found.others[:10])}),)
    rows = [RawRow(1, found.columns)]
    for number, (cells, place, fault) in enumerate(zip(found.cells, found.places, found.faults, strict=True), 2):
        x, y = place if place is not None else (float("nan"), float("nan"))
        rows.append(RawRow(number, cells, x=x, y=y, point=fault))
    points = any(place is not None for place in found.places)
    return (RawTable(tuple(rows), name=found.layer, heading=True, points=points, crs=found.crs, notes=notes),)
