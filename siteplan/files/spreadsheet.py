"""XLSX workbooks as tables: the openpyxl reading door. Values only; no formula is worked out and nothing it links to is opened."""

from __future__ import annotations

import re
import struct
import warnings
import zipfile
import zlib
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from siteplan.errors import TableError, told
from siteplan.files.rawtable import RawRow, RawTable, rows_text, trimmed
from siteplan.records.verdict import Reason

LARGEST_UNPACKED_BYTES = 1_000_000_000
# what a package whose bytes were changed on the way can make the library raise, as found by changing them at random
_DAMAGED = (
    KeyError, ValueError, TypeError, OSError, zipfile.BadZipFile, zlib.error, SyntaxError, EOFError, IndexError, AttributeError,
    OverflowError, NotImplementedError, RuntimeError, AssertionError, struct.error,
)  # fmt: skip
_PADDED = re.compile(r"0{2,}")


def read_workbook(path: Path, *, sheet: str = "") -> tuple[RawTable, ...]:
    """Return the sheets of a workbook that hold anything (or the one named), in its own order; hidden and filtered rows included.

    Raises TableError: not a workbook, damaged, protected by a password, no such sheet, nothing in it.
    """
    import openpyxl

    _check_package(path)
    try:
        with warnings.catch_warnings(action="ignore"):  # of pictures, filters and styles that openpyxl does not keep
            book = openpyxl.load_workbook(path, data_only=True, keep_links=False)
    except _DAMAGED:
        raise TableError(told("this workbook is damaged; open it, save it again as .xlsx"), file=path.name) from None
    names = [found.title for found in book.worksheets]
    if sheet and sheet not in names:
        near = next((name for name in names if name.strip().casefold() == sheet.strip().casefold()), None)
        if near is None:
            raise TableError(told("no sheet {sheet!r} (plan key addresses.sheet)", sheet=sheet), file=path.name, allowed=", ".join(names))
        sheet = near
    wanted = [found for found in book.worksheets if not sheet or found.title == sheet]
    wanted.sort(key=lambda found: found.sheet_state != "visible")
    unworked = _unworked(path, book)
    tables = [table for table in (_sheet(found, unworked.get(found.title, [])) for found in wanted) if table.rows]
    book.close()
    if not tables:
        where = told("the sheet {sheet!r}", sheet=sheet) if sheet else "this workbook"
        raise TableError(
            told("{where} is empty; put a heading row and one row for each address or sender in it", where=where), file=path.name
        )
    return tuple(tables)


def _unworked(path: Path, book: Any) -> dict[str, list[int]]:
    """Return sheet -> rows with a formula whose value was never stored; a workbook without formulas is not opened again."""
    import openpyxl

    with zipfile.ZipFile(path) as package:
        sheets = [name for name in package.namelist() if name.startswith("xl/worksheets/") and name.endswith(".xml")]
        if not any(b"<f>" in (body := package.read(name)) or b"<f " in body for name in sheets):
            return {}
    with warnings.catch_warnings(action="ignore"):
        written = openpyxl.load_workbook(path, data_only=False, keep_links=False)
    out = {}
    for sheet in written.worksheets:
        stored = {at for at, cell in book[sheet.title]._cells.items() if cell.value is not None}
        empty = {at[0] for at, cell in sheet._cells.items() if cell.data_type == "f" and at not in stored}
        out[sheet.title] = sorted(empty)
    written.close()
    return out


def _check_package(path: Path) -> None:
    try:
        head = path.open("rb").read(8)
    except OSError as wrong:
        raise TableError(told("this file can't be read ({strerror})", strerror=wrong.strerror or wrong), file=path.name) from None
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        raise TableError(told("this is an old or password-protected workbook; save it as .xlsx without a password"), file=path.name)
    try:
        with zipfile.ZipFile(path) as package:
            size = sum(entry.file_size for entry in package.infolist())
            if "xl/workbook.xml" not in package.namelist() and not any(name.startswith("xl/") for name in package.namelist()):
                raise TableError(told("this is not an .xlsx workbook; save it as .xlsx or CSV"), file=path.name)
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, EOFError, struct.error):
        raise TableError(told("this is not an .xlsx workbook, or it was cut short; save it as .xlsx or CSV"), file=path.name) from None
    if size > LARGEST_UNPACKED_BYTES:
        raise TableError(told("this workbook is too large to read; save the one sheet as CSV"), file=path.name)


def _sheet(sheet: Any, unworked: list[int]) -> RawTable:
    filled: dict[int, dict[int, str]] = {}
    for (row, column), cell in sheet._cells.items():  # only cells that exist: a stray format far below must not fill memory
        if cell.value is not None:
            filled.setdefault(row, {})[column] = cell_text(cell.value, cell.number_format)
    width = max((column for cells in filled.values() for column, text in cells.items() if text), default=0)
    rows: list[RawRow] = []
    hidden: list[int] = []
    for number in sorted(filled):
        cells = filled[number]
        is_hidden = bool(number in sheet.row_dimensions and sheet.row_dimensions[number].hidden)
        if is_hidden and any(cells.values()):
            hidden.append(number)
        rows.append(RawRow(number, tuple(cells.get(column, "") for column in range(1, width + 1)), is_hidden))
    kept, empty = trimmed(rows)
    notes = (Reason("hidden_rows_read", {"count": len(hidden), "rows": rows_text(hidden)}),) if hidden else ()
    if unworked:
        notes += (Reason("formula_without_value", {"count": len(unworked), "rows": rows_text(unworked)}),)
    return RawTable(kept, name=sheet.title, empty=empty, notes=notes)


def cell_text(value: object, number_format: str = "General") -> str:
    """Return a cell as text: 7.0 -> "7", but "007" where the cell's format pads with zeros; a date as year-month-day."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, (int, float)):
        if value != value or value in (float("inf"), float("-inf")):
            return str(value)
        if float(value).is_integer() and abs(value) < 1e15:
            text = str(int(value))
            return text.zfill(len(number_format)) if _PADDED.fullmatch(number_format or "") and value >= 0 else text
        return repr(float(value)) if isinstance(value, float) else str(value)
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(sep=" ")
    if isinstance(value, (date, time, timedelta)):
        return str(value)
    return str(value)
