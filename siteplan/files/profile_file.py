"""Path profiles as CSV: the layout that `siteplan path` reads and a run's profiles folder holds.

Columns: distance_km (from the sender, rising from 0), height_amsl_m (bare ground), and where wanted clutter_m (height of what stands on
the ground; not counted at the first and last point) and zone (inland, coastal or sea).
"""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import numpy as np

from siteplan.errors import InputError, OutputError, TableError, told, wording
from siteplan.records.results import Profile

ZONES = {"sea": 1, "coastal": 3, "inland": 4}
_ZONE_NAMES = {code: name for name, code in ZONES.items()}
REQUIRED, OPTIONAL = ("distance_km", "height_amsl_m"), ("clutter_m", "zone")
LEAST_STEP_KM = 1e-6 - 1e-12  # distances are worked in whole millimetres
_LIMITS = {"distance_km": (0.0, 20_000.0), "height_amsl_m": (-500.0, 9_000.0), "clutter_m": (0.0, 1_000.0)}
_PLAIN = wording("a plain number such as 0.25")


def read_profile(path: Path, *, lat_mid_deg: float = math.nan) -> Profile:
    """Read a path profile, sender first.

    path         CSV in UTF-8 (a byte-order mark is no harm) or Windows-1252; commas, semicolons or tabs; decimal points or commas
    lat_mid_deg  latitude of the path's middle, which the file does not hold

    Returns a Profile: clutter 0 and zone inland where the column is absent; bearing_deg NaN.
    Raises TableError naming file, row (as a spreadsheet counts, the heading is row 1), column, value and what is allowed; InputError
    where there is no such file.
    """
    path = Path(path)
    name = path.name
    heading, rows = _rows(path)
    places = _places(heading, name)
    columns: dict[str, list[float]] = {key: [] for key in places}
    last_km = -math.inf
    for number, cells in rows:
        values = {key: cells[place].strip() if place < len(cells) else "" for key, place in places.items()}
        for key, text in values.items():
            columns[key].append(_zone(text, name, number) if key == "zone" else _number(text, key, name, number))
        km = columns["distance_km"][-1]
        shown = values["distance_km"]
        if last_km < 0.0 and km != 0.0:
            raise TableError(told("the first point is the sender"), file=name, row=number, field="distance_km", value=shown, allowed="0")
        if not km >= last_km + LEAST_STEP_KM:
            wrong = told("distances must rise from point to point, by a millimetre or more")
            raise TableError(
                wrong, file=name, row=number, field="distance_km", value=shown, allowed=told("more than {last_km:g}", last_km=last_km)
            )
        last_km = km
    count = len(columns["distance_km"])
    if count < 3:
        raise TableError(told("a path profile needs at least 3 points, this one has {count}", count=count), file=name)
    clutter = np.array(columns.get("clutter_m", [0.0] * count))
    clutter[0] = clutter[-1] = 0.0
    return Profile(
        distance_m=np.array(columns["distance_km"]) * 1000.0,
        ground_amsl_m=np.array(columns["height_amsl_m"]),
        clutter_m=clutter,
        zone=np.array(columns.get("zone", [ZONES["inland"]] * count), dtype=np.uint8),
        bearing_deg=math.nan,
        lat_mid_deg=lat_mid_deg,
        surface_known=1.0 if "clutter_m" in places else 0.0,
    )


def profile_text(profile: Profile) -> str:
    """Return a profile as the text of its file; read again, it gives the loss that services.shared.paths works from the profile."""
    profile = profile.rounded()
    lines = [",".join((*REQUIRED, *OPTIONAL))]
    for metres, ground, clutter, zone in zip(
        profile.distance_m.tolist(), profile.ground_amsl_m.tolist(), profile.clutter_m.tolist(), profile.zone.tolist(), strict=True
    ):
        lines.append(f"{_short(metres / 1000.0, 6)},{_short(ground, 4)},{_short(clutter, 4)},{_ZONE_NAMES[zone]}")
    return "\n".join(lines) + "\n"


def write_profile(path: Path, profile: Profile) -> None:
    """Write a profile in exactly the layout that read_profile takes. Raises OutputError where the file can't be written."""
    try:
        Path(path).write_text(profile_text(profile), encoding="utf-8", newline="\n")
    except OSError as wrong:
        raise OutputError(
            told("{path}: can't write the path profile ({strerror}); choose a folder you may write to", path=path, strerror=wrong.strerror)
        ) from wrong


def _short(value: float, decimals: int) -> str:
    return f"{value + 0.0:.{decimals}f}".rstrip("0").rstrip(".")


def _rows(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    try:
        data = path.read_bytes()
    except OSError as wrong:
        raise InputError(
            told("{path}: can't read the path profile ({strerror}); check the name", path=path, strerror=wrong.strerror)
        ) from wrong
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if "\x00" in text:
        raise TableError(told("this is not a text table; save the profile as CSV in UTF-8"), file=path.name)
    first = next((line for line in text.splitlines() if line.strip()), "")
    mark = max(";\t,", key=first.count) if first else ","
    rows: list[tuple[int, list[str]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((reader.line_num, cells))
    except csv.Error as wrong:
        broken = told("the table breaks off here ({wrong}); look for an open quotation mark", wrong=wrong)
        raise TableError(broken, file=path.name, row=reader.line_num) from wrong
    if not rows:
        raise TableError(told("the file is empty; it needs the columns distance_km and height_amsl_m"), file=path.name)
    return rows[0][1], rows[1:]


def _places(heading: list[str], name: str) -> dict[str, int]:
    found = [cell.strip().lower() for cell in heading]
    places = {}
    for key in (*REQUIRED, *OPTIONAL):
        if found.count(key) > 1:
            raise TableError(told("this column is there twice; keep one"), file=name, row=1, field=key)
        if key in found:
            places[key] = found.index(key)
    for key in REQUIRED:
        if key not in places:
            there = ", ".join(cell for cell in found if cell) or "none"
            raise TableError(
                told("this column is missing; the heading has {there}", there=there),
                file=name,
                row=1,
                field=key,
                allowed=", ".join((*REQUIRED, *OPTIONAL)),
            )
    return places


def _zone(text: str, name: str, row: int) -> int:
    code = ZONES.get(text.lower())
    if code is None:
        raise TableError(told("unknown zone"), file=name, row=row, field="zone", value=text or " ", allowed=", ".join(ZONES))
    return code


def _number(text: str, key: str, name: str, row: int) -> float:
    least, most = _LIMITS[key]
    allowed = told("{plain}, from {least:g} to {most:g}", plain=_PLAIN, least=least, most=most)
    if not text:
        raise TableError(told("this cell is empty"), file=name, row=row, field=key, allowed=allowed)
    try:
        value = float(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text)
    except ValueError:
        raise TableError(told("this is not a number"), file=name, row=row, field=key, value=text, allowed=allowed) from None
    if "_" in text or not least <= value <= most:
        what = told("this height or distance is out of range") if math.isfinite(value) and "_" not in text else told("this is not a number")
        raise TableError(what, file=name, row=row, field=key, value=text, allowed=allowed)
    return value
