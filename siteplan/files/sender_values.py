"""Values that tables of senders on the ground hold: antenna heights and powers."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.errors import TableError, told
from siteplan.files.sender_rows import SenderTable
from siteplan.files.tables import Row

TALLEST_MAST_M = 1000.0
HIGHEST_GROUND_M, LOWEST_GROUND_M = 9000.0, -500.0


def antenna_height_agl_m(senders: SenderTable, row: Row) -> float:
    """Return the antenna height of a row in metres above ground; a fault at or under the ground and above the tallest masts."""
    height = senders.number(row, "antenna_height_agl_m", -1e9, 1e9)
    if height <= 0.0:
        raise senders.fault(
            row, "antenna_height_agl_m", told("the antenna would stand at or under the ground; metres above ground are wanted")
        )
    if height > TALLEST_MAST_M:
        raise senders.fault(
            row,
            "antenna_height_agl_m",
            told("is out of range; metres above ground up to {tallest_mast_m:g} are allowed", tallest_mast_m=TALLEST_MAST_M),
        )
    return height


def need_power(senders: SenderTable, stems: Sequence[str], advice: str) -> None:
    """Raise TableError where no column gives a power of these stems ("erp", "eirp", ...)."""
    if not any(senders.has_power(stem) for stem in (*stems, "power")):
        table = senders.table
        raise TableError(told("no column gives the power; write {advice}", advice=advice), file=table.file, row=table.heading_row)


def first_power(senders: SenderTable, stems: Sequence[str]) -> str:
    """Return the user's name of the first power column there is, the stem where there is none."""
    for stem in stems:
        for unit in ("kw", "dbw", "dbm", "w", "mw", "dbkw"):
            if senders.has(f"{stem}_{unit}"):
                return senders.column(f"{stem}_{unit}")
    return stems[0]
