"""The table of a sector antenna's pattern: angle_deg, horizontal_db, vertical_db, one row an angle, losses or gains under the axis."""

from __future__ import annotations

import math
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.numbers import parse_number
from siteplan.files.tables import Table, read_table, squash

COLUMNS = ("angle_deg", "horizontal_db", "vertical_db")
# Angles farther apart than this are a gap (common practice, no source).
LARGEST_GAP_DEG = 30.0

Points = tuple[tuple[float, float], ...]


def read_pattern(folder: Path, name: str) -> tuple[Points, Points, str]:
    """Return (horizontal, vertical, fault): points (angle, gain under the axis, 0 or negative), or what is wrong with the table.

    Horizontal angles run all around, from the axis clockwise; vertical ones from -90 (up) to 90 (down), 0 the axis. Losses may be written
    with or without a minus.
    """
    if Path(name).name != name:
        return (), (), told("names another folder; the table of a pattern lies beside the sectors")
    try:
        table = read_table(folder / name, lambda column: squash(column) in map(squash, COLUMNS))
    except TableError as wrong:
        return (), (), told("can't be used: {wrong}", wrong=wrong)
    found = {squash(column): column for column in table.columns}
    missing = [key for key in COLUMNS[:2] if squash(key) not in found]
    if missing:
        return (
            (),
            (),
            told(
                "has no column {missing}; columns angle_deg and horizontal_db (and vertical_db) are wanted", missing=" and ".join(missing)
            ),
        )
    around, fault = _points(table, found, "horizontal_db", 360.0)
    if fault:
        return (), (), fault
    upright: Points = ()
    if squash("vertical_db") in found:
        upright, fault = _points(table, found, "vertical_db", 180.0)
    return around, upright, fault


def _points(table: Table, found: dict[str, str], key: str, turn_deg: float) -> tuple[Points, str]:
    """Return the points of one cut by rising angle, or what is wrong. turn_deg: what the angles must cover."""
    points: dict[float, float] = {}
    for number, angle_text, text in zip(
        (row.number for row in table.rows), table.texts(found[squash("angle_deg")]), table.texts(found[squash(key)]), strict=True
    ):
        if not text:
            continue
        angle, value = parse_number(angle_text), parse_number(text)
        if math.isnan(angle) or math.isnan(value):
            return (), told(
                "row {number} of {file}: {angle_text!r}, {text!r} are no numbers",
                number=number,
                file=table.file,
                angle_text=angle_text,
                text=text,
            )
        if not -360.0 <= angle <= 360.0:
            return (), told(
                "row {number} of {file}: the angle {angle:g} is out of range; -180 to 360 is allowed",
                number=number,
                file=table.file,
                angle=angle,
            )
        angle = angle % 360.0 if turn_deg == 360.0 else (angle + 180.0) % 360.0 - 180.0
        if turn_deg == 180.0 and not -90.0 <= angle <= 90.0:
            continue
        points.setdefault(angle, 0.0 - abs(value))
    angles = sorted(points)
    if len(angles) < 3:
        return (), told("{file} has {angles} angles of {key}; three or more are wanted", file=table.file, angles=len(angles), key=key)
    gaps = [(second - first, first, second) for first, second in zip(angles, angles[1:], strict=False)]
    if turn_deg == 360.0:
        gaps.append((angles[0] + 360.0 - angles[-1], angles[-1], angles[0]))
    widest, first, second = max(gaps)
    if widest > LARGEST_GAP_DEG:
        return (), told(
            "{file} has a gap in {key} from {first:g} to {second:g}°; {largest_gap_deg:g}° between angles is allowed",
            file=table.file,
            key=key,
            first=first,
            second=second,
            largest_gap_deg=LARGEST_GAP_DEG,
        )
    return tuple((angle, points[angle]) for angle in angles), ""
