"""Which reader answers for which file name: one line a format."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from siteplan.errors import EmptyTableError, TableError, told, wording
from siteplan.files.delimited import read_delimited
from siteplan.files.points import read_points
from siteplan.files.rawtable import RawTable
from siteplan.files.spreadsheet import read_workbook

TEXT, BOOK, POINTS = "text", "workbook", "points"
# suffix -> kind of table
SUFFIXES = {
    ".csv": TEXT, ".tsv": TEXT, ".tab": TEXT, ".txt": TEXT, ".xlsx": BOOK, ".xlsm": BOOK, ".gpkg": POINTS, ".geojson": POINTS,
    ".json": POINTS, ".shp": POINTS, ".fgb": POINTS, ".parquet": POINTS, ".geoparquet": POINTS,
}  # fmt: skip
READERS: dict[str, Callable[[Path, str, str], tuple[RawTable, ...]]] = {
    TEXT: lambda path, sheet, layer: read_delimited(path),
    BOOK: lambda path, sheet, layer: read_workbook(path, sheet=sheet),
    POINTS: lambda path, sheet, layer: read_points(path, layer=layer),
}
_SAVE_AS = {
    ".xls": wording("save it as .xlsx"),
    ".ods": wording("save it as .xlsx or CSV"),
    ".numbers": wording("export it as .xlsx or CSV"),
    ".kmz": wording("save it as GeoPackage"),
    ".pdf": wording("ask for the table as CSV"),
    ".docx": wording("copy the table into a spreadsheet"),
    ".kml": wording("save it as GeoPackage or CSV"),
    ".gpx": wording("save it as GeoPackage or CSV"),
    ".zip": wording("unpack it first"),
}


def read_raw(path: Path, *, sheet: str = "", layer: str = "") -> tuple[RawTable, ...]:
    """Return the ways a table file can be read (sheets, delimiters), by its suffix.

    Raises TableError: an unknown suffix, no such file, and what the format's reader complains of.
    """
    path = Path(path)
    kind = SUFFIXES.get(path.suffix.lower())
    if kind is None:
        advice = told(_SAVE_AS.get(path.suffix.lower(), wording("save it as CSV")))
        raise TableError(
            told("tables of this kind can't be read; {advice}", advice=advice), file=path.name, allowed=", ".join(sorted(SUFFIXES))
        )
    if not path.is_file():
        raise TableError(told("no such file; check the name in the plan (paths are relative to the plan file)"), file=str(path))
    if path.stat().st_size == 0:
        raise EmptyTableError(told("this file is empty (0 bytes)"), file=path.name)
    return READERS[kind](path, sheet, layer)
