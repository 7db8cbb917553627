"""A table as a file holds it, before anyone knows which row is the heading: what the readers of each format hand to files.tables."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from siteplan.errors import told
from siteplan.records.verdict import Reason


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row. number as a spreadsheet shows it; hidden where the spreadsheet hides or filters it; x, y of a vector file's point.

    point  "" where the row has none to have (a plain table) or has one; else why it has none ("no point", "2 points in one row")
    """

    number: int
    cells: tuple[str, ...]
    hidden: bool = False
    x: float = math.nan
    y: float = math.nan
    point: str = ""


@dataclass(frozen=True)
class RawTable:
    """One way to read a file: one sheet, one layer, one delimiter.

    rows      rows that hold anything, in order; the heading is among them
    name      of the sheet or layer, "" where the format has none
    heading   True where the first row is the heading by the format itself (vector files)
    points    True where rows carry x and y; crs as the file says, "" where it names none
    empty     how many empty rows lie between the first and the last
    """

    rows: tuple[RawRow, ...]
    name: str = ""
    heading: bool = False
    points: bool = False
    crs: str = ""
    empty: int = 0
    notes: tuple[Reason, ...] = field(default=())


def trimmed(numbered: list[RawRow]) -> tuple[tuple[RawRow, ...], int]:
    """Return the rows that hold anything, and how many empty ones lie between them."""
    kept = tuple(row for row in numbered if any(cell.strip() for cell in row.cells))
    return kept, (kept[-1].number - kept[0].number + 1 - len(kept)) if kept else 0


def number_list(numbers: list[int]) -> str:
    """Return "3, 7-9" for 3, 7, 8, 9; after a dozen pieces, "and more"."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][1] + 1:
            parts[-1][1] = number
        else:
            parts.append([number, number])
    shown = [f"{first}-{last}" if last > first else str(first) for first, last in parts[:12]]
    return ", ".join(shown) + (" and more" if len(parts) > 12 else "")


def rows_text(numbers: list[int]) -> str:
    """Return "row 3" or "rows 3, 7-9"."""
    if len(numbers) == 1:
        return told("row {row}", row=numbers[0])
    return told("rows {numbers}", numbers=number_list(numbers))
