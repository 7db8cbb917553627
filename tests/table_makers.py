"""Tables written by hand for the tests of reading: CSV text, XLSX sheets, GeoPackages of points."""

from __future__ import annotations

import struct
from pathlib import Path

import openpyxl

from siteplan.records.plan import Plan


def write_book(path: Path, sheets: dict[str, list[list[object]]], *, hidden: tuple[int, ...] = ()) -> Path:
    """Write sheets of rows; hidden rows are those of the first sheet, counted from 1."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    for number in hidden:
        book.worksheets[0].row_dimensions[number].hidden = True
    book.save(path)
    return path


def point(x: float, y: float) -> bytes:
    """Return a point as little-endian well-known binary."""
    return struct.pack("<BIdd", 1, 1, x, y)


def points_file(
    path: Path, places: list[tuple[float, float] | None], fields: dict[str, list[object]], *, crs: str | None, layer="addresses", **more
):
    """Write points through the vector library; None is a row without a point."""
    import numpy as np
    import pyogrio

    geometry = np.array([None if place is None else point(*place) for place in places], dtype=object)
    columns = []
    for values in fields.values():
        column = np.array(values)
        columns.append(column.astype(object) if column.dtype.kind == "U" else column)
    driver = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".fgb": "FlatGeobuf", ".shp": "ESRI Shapefile"}[path.suffix]
    pyogrio.raw.write(str(path), geometry, columns, list(fields), geometry_type="Point", crs=crs, layer=layer, driver=driver, **more)
    return path


def plan_with(folder: Path, **tables: object) -> Plan:
    """Return a plan of these tables alone, in memory."""
    return Plan.model_validate({"file": folder / "plan.toml", **tables})
