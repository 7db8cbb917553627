"""Tables of any format as headed rows of text: which sheet, delimiter and heading row fit best what the caller looks for."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.rawtable import RawRow, RawTable
from siteplan.files.table import read_raw
from siteplan.records.verdict import Reason

HEADING_WITHIN = 30  # a heading is looked for in this many rows that hold anything
_NOT_DECOMPOSED = str.maketrans({"ł": "l", "Ł": "l", "ø": "o", "Ø": "o", "đ": "d", "Đ": "d", "ı": "i", "æ": "ae", "œ": "oe", "ð": "d"})
_TOTAL = re.compile(
    r"[\Wσ]*(grand ?total|sub ?total|totals?|sum|summe|gesamt\w*|somme|suma|totale|totaal|razem|celkem|yhteensa|count|anzahl)\b.*"
)


@dataclass(frozen=True, slots=True)
class Row:
    """One row under its heading. cells has one text for each column; fault says why the row can't be used as it stands, "" where it can.

    x, y    a vector file's own point, NaN where there is none; point says why not
    given   how many cells the file itself has in this row
    """

    number: int
    cells: tuple[str, ...]
    fault: str = ""
    x: float = math.nan
    y: float = math.nan
    point: str = ""
    given: int = 0


@dataclass(frozen=True)
class Table:
    """A headed table. heading_row as a spreadsheet counts; columns are unique; points and crs as RawTable."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    heading_row: int
    notes: tuple[Reason, ...] = ()
    points: bool = False
    crs: str = ""

    def texts(self, column: str) -> list[str]:
        """Return one column, trimmed."""
        place = self.columns.index(column)
        return [row.cells[place].strip() for row in self.rows]


def squash(name: str) -> str:
    """Return a column's name for comparing: lower case, no accents, letters and digits alone: "Länge (°)" -> "lange"."""
    lowered = unicodedata.normalize("NFKD", name.casefold().translate(_NOT_DECOMPOSED))
    return "".join(letter for letter in lowered if letter.isalnum() and not unicodedata.combining(letter))


def read_table(path: Path, known: Callable[[str], bool], *, sheet: str = "", layer: str = "") -> Table:
    """Return a table file as headed rows of text, as given.

    known  tells whether a column of this name is one the caller looks for: the row with most of them is the heading

    Rows above the heading are skipped and noted; empty rows are skipped but counted in the row numbers. No rows below the heading is not an
    error here. Raises TableError where the file can't be read.
    """
    path = Path(path)
    tables = read_raw(path, sheet=sheet, layer=layer)
    best, place, score = tables[0], 0, (-1, 0.0)
    for table in tables:
        at, hits = _heading(table, known)
        fit = (hits, -_overflow(table, at))
        if fit > score:
            best, place, score = table, at, fit
    notes = list(best.notes)
    others = [table.name for table in tables if table.name and table.name != best.name]
    if others:
        notes.append(Reason("sheet_taken", {"sheet": best.name, "others": ", ".join(others[:10])}))
    heading = best.rows[place]
    if place:
        notes.append(Reason("title_rows_skipped", {"count": place, "heading_row": heading.number}))
    if best.empty:
        notes.append(Reason("empty_rows_skipped", {"count": best.empty}))
    columns, renamed = _columns(heading.cells, best.rows[place + 1 :])
    if renamed:
        notes.append(Reason("columns_renamed", {"names": ", ".join(renamed[:8])}))
    rows = tuple(_row(raw, len(columns)) for raw in best.rows[place + 1 :])
    return Table(path.name, columns, rows, heading.number, tuple(notes), best.points, best.crs)


def looks_like_total(cells: Sequence[str]) -> bool:
    """Return whether a row says "total" (in several languages) in its first cell that holds anything but a number."""
    words = [cell.strip() for cell in cells if cell.strip()]
    return any(_TOTAL.fullmatch(_plain(word)) for word in words[:2])


def _plain(text: str) -> str:
    lowered = unicodedata.normalize("NFKD", text.casefold().translate(_NOT_DECOMPOSED))
    return "".join(letter for letter in lowered if not unicodedata.combining(letter)).replace("\n", " ")


def _heading(table: RawTable, known: Callable[[str], bool]) -> tuple[int, int]:
    """Return which row is the heading, and how many of its names are known."""
    if table.heading:
        return 0, sum(known(cell) for cell in table.rows[0].cells) + 2 * table.points
    best, hits = 0, 0
    for place, row in enumerate(table.rows[:HEADING_WITHIN]):
        found = sum(known(cell) for cell in row.cells if cell.strip())
        if found > hits:
            best, hits = place, found
    return best, hits


def _overflow(table: RawTable, heading: int) -> float:
    """Return the share of rows that hold more than the heading has columns for, in steps of a tenth."""
    below = table.rows[heading + 1 : heading + 201]
    width = len(table.rows[heading].cells) if table.rows else 0
    over = sum(any(cell.strip() for cell in row.cells[width:]) for row in below)
    return round(over / len(below), 1) if below else 0.0


def _columns(cells: Sequence[str], below: Sequence[RawRow]) -> tuple[tuple[str, ...], list[str]]:
    """Return unique names for the columns, and those that had to be made up; unnamed columns that hold nothing are left out at the end."""
    named = max((place + 1 for place, cell in enumerate(cells) if cell.strip()), default=0)
    while named < len(cells) and any(cell.strip() for row in below for cell in row.cells[named : len(cells)]):
        named += 1
    columns: list[str] = []
    renamed: list[str] = []
    for place, cell in enumerate(cells[:named]):
        name = " ".join(cell.split())
        if not name:
            name = f"column {place + 1}"
            if any(place < len(row.cells) and row.cells[place].strip() for row in below):
                renamed.append(name)
        if name in columns:
            number = 2
            while f"{name} ({number})" in columns:
                number += 1
            name = f"{name} ({number})"
            renamed.append(name)
        columns.append(name)
    return tuple(columns), renamed


def _row(raw: RawRow, width: int) -> Row:
    cells = raw.cells[:width] + ("",) * (width - len(raw.cells))
    extra = [cell for cell in raw.cells[width:] if cell.strip()]
    fault = ""
    if extra:
        fault = told(
            "has {cells} cells where the heading has {width} (a delimiter inside a text, or a decimal comma in a comma-separated "
            "file?); put such cells in quotation marks",
            cells=len(raw.cells),
            width=width,
        )
    return Row(raw.number, cells, fault, raw.x, raw.y, raw.point, len(raw.cells))


def need_columns(table: Table, wanted: Sequence[str], have: Sequence[str]) -> None:
    """Raise TableError naming the columns a table lacks and the ones it has."""
    missing = [name for name in wanted if name not in have]
    if missing:
        raise TableError(
            told("columns missing: {missing}; the columns are: {columns}", missing=", ".join(missing), columns=", ".join(table.columns))
            if len(missing) > 1
            else told("column {missing} missing; the columns are: {columns}", missing=missing[0], columns=", ".join(table.columns)),
            file=table.file,
            row=table.heading_row,
        )
