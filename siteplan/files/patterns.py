"""Tables of how transmitting antennas share out their power: bearing or depression and loss, one row each, into patterns by name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import told
from siteplan.files.sender_rows import SenderTable, open_senders, read_rows
from siteplan.files.tables import Row
from siteplan.records.places import Reject

PATTERN_COLUMNS = ("pattern", "cut", "angle_deg", "loss_db", "relative_db")
# A horizontal table with a wider hole than this is not a pattern: nobody knows what lies in it (common practice, no source).
WIDEST_GAP_DEG = 30.0
_MOST_LOSS_DB, _PEAK_DB = 60.0, 0.5
_CUTS = {"": "h", "h": "h", "horizontal": "h", "hor": "h", "v": "v", "vertical": "v", "ver": "v"}

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class PatternTables:
    """Patterns by name: points of each cut ("h", "v"), rising; faults name -> why it can't be used."""

    points: dict[tuple[str, str], Points]
    faults: dict[tuple[str, str], str]

    def has(self, name: str, cut: str) -> bool:
        """Return whether rows of this pattern and cut were there, usable or not."""
        return (name, cut) in self.points or (name, cut) in self.faults


def read_patterns(path: Path | None) -> tuple[PatternTables, tuple[Reject, ...]]:
    """Return the patterns of a table and its bad rows.

    Columns pattern, cut (h, also where empty, or v), angle_deg (true bearing, or degrees below the horizon) and loss_db (dB under the
    greatest, 0 or more) or relative_db (0 or less). Raises TableError where the table as a whole can't be used.
    """
    if path is None:
        return PatternTables({}, {}), ()
    senders = open_senders(path, PATTERN_COLUMNS, placed=False, needed=("pattern", "angle_deg"))
    found: dict[tuple[str, str], dict[float, float]] = {}

    def take(row: Row) -> None:
        name = senders.word(row, "pattern")
        cut = _CUTS.get(senders.text(row, "cut").lower())
        if cut is None:
            raise senders.fault(row, "cut", told("is no cut; write h (by bearing) or v (by degrees below the horizon)"))
        angle = senders.number(row, "angle_deg", 0.0 if cut == "h" else -90.0, 360.0 if cut == "h" else 90.0)
        angle = angle % 360.0 if cut == "h" else angle
        rows = found.setdefault((name.casefold(), cut), {})
        if angle in rows and rows[angle] != _loss(senders, row):
            raise senders.fault(row, "angle_deg", told("pattern {name} has another loss there in an earlier row", name=name))
        rows[angle] = _loss(senders, row)

    rejects = read_rows(senders, take)
    points, faults = {}, {}
    for key, rows in found.items():
        line = tuple(sorted(rows.items()))
        fault = _fault(line, key[1])
        if fault:
            faults[key] = fault
        else:
            points[key] = line
    return PatternTables(points, faults), rejects


def _loss(senders: SenderTable, row: Row) -> float:
    if senders.text(row, "loss_db"):
        return senders.number(row, "loss_db", 0.0, _MOST_LOSS_DB)
    return 0.0 - senders.number(row, "relative_db", -_MOST_LOSS_DB, 0.0)


def _fault(points: Points, cut: str) -> str:
    least = min(loss for _, loss in points)
    if least > _PEAK_DB:
        return told("its least loss is {least:g} dB; 0 dB is wanted in the direction that the stated power holds for", least=least)
    if cut == "v":
        return "" if len(points) > 1 else told("one row is no pattern; two or more are wanted")
    angles = [angle for angle, _ in points]
    for first, second in zip(angles, [*angles[1:], angles[0] + 360.0], strict=True):
        if second - first > WIDEST_GAP_DEG or math.isclose(second - first, 360.0):
            hole = told("no loss is given between bearings {first:g} and {second:g}", first=first, second=second % 360.0)
            return told("{hole}; steps of at most {widest_gap_deg:g} degrees are wanted", hole=hole, widest_gap_deg=WIDEST_GAP_DEG)
    return ""
