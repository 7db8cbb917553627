"""expected.csv: what each meter reading should show, a line for each carrier at each outlet; and kit.csv, the van's list."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from pathlib import Path

from siteplan.errors import InputError, told
from siteplan.files.numbers import parse_number
from siteplan.files.tables import squash
from siteplan.files.write_tables import defused
from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.parts import KitLine
from siteplan.records.readings import Expected
from siteplan.records.verdict import State
from siteplan.words.outlets import TEXTS

EXPECTED_FILE, KIT_FILE, VERDICTS_FILE = "expected.csv", "kit.csv", "verdicts.csv"
_TEXT = {
    "id", "name", "service", "source", "outlet", "carrier", "line", "modulation", "profile", "channel", "pci", "standard_band", "job",
    "area",
}  # fmt: skip
EXPECTED_COLUMNS = tuple(field.name for field in fields(Expected))
KIT_COLUMNS = ("day", "id", "row", "part", "quantity", "unit", "spare")
_AREA_COLUMNS = ("area", "district", "town", "city", "place", "ort", "stadt", "stadtteil", "ortsteil", "ville", "quartier")
_DECIMALS = {"lat_deg": 6, "lon_deg": 6, "rf_mhz": 3, "if_mhz": 3, "bandwidth_mhz": 3}


def area_of(cells: Mapping[str, str]) -> str:
    """Return what the list calls the area of an address, "" where no column does."""
    return next((text.strip()[:100] for column, text in cells.items() if squash(column) in _AREA_COLUMNS and text.strip()), "")


def expected_csv(findings: Findings) -> bytes:
    """Return expected.csv of a run; a heading alone where nothing is expected."""
    rows = []
    for row in findings.rows:
        for one in row.expected:
            rows.append([_text_of(name, getattr(one, name)) for name in EXPECTED_COLUMNS])
    return _csv(EXPECTED_COLUMNS, rows)


def expected_digest(lines: Sequence[Expected]) -> str:
    """Return a hash of what is expected: the same for the same lines of expected.csv."""
    text = _csv(EXPECTED_COLUMNS, [[_text_of(name, getattr(one, name)) for name in EXPECTED_COLUMNS] for one in lines])
    return hashlib.sha256(text).hexdigest()


def _text_of(name: str, value: object) -> str:
    if name in _TEXT:
        return defused(str(value))
    if name == "row":
        return str(value)
    return "" if not math.isfinite(value) else f"{value:.{_DECIMALS.get(name, 1)}f}"  # type: ignore[arg-type]


def read_expected(path: Path) -> tuple[Expected, ...]:
    """Return what a run expected. Raises InputError where the file is not there or not ours."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError:
        raise InputError(
            told("{path} is not there: run the plan first (siteplan run), it writes what is expected at each outlet", path=path)
        ) from None
    return parse_expected(text, str(path))


def parse_expected(text: str, name: str = EXPECTED_FILE) -> tuple[Expected, ...]:
    """Return the lines of an expected.csv; name of the file for messages. Raises InputError where it is not ours."""
    rows = csv.DictReader(io.StringIO(text))
    if tuple(rows.fieldnames or ()) != EXPECTED_COLUMNS:
        raise InputError(told("{name} was not written by this version of siteplan: run the plan again", name=name))
    made = []
    for cells in rows:
        values = {}
        for name in EXPECTED_COLUMNS:
            cell = cells[name] or ""
            if name in _TEXT:
                values[name] = cell.removeprefix("'")
            elif name == "row":
                values[name] = int(cell)
            else:
                values[name] = parse_number(cell) if cell else math.nan
        made.append(Expected(**values))
    return tuple(made)


def kit_csv(findings: Findings, days: Mapping[str, Sequence[KitLine]], day_of: Mapping[int, str]) -> bytes:
    """Return kit.csv: each day's list first (no id; spares in their own column), then each address's own.

    days    the van's list of each day's round, "all" where the list names no days
    day_of  of each row of the list
    """
    rows: list[list[str]] = [[defused(day), "", "", *_kit_cells(line)] for day, lines in days.items() for line in lines]
    for row in findings.rows:
        if row.outlets is None or row.row.address is None:
            continue
        day = defused(day_of.get(row.row.row, ""))
        if row.outlets.access:
            access = TEXTS.get(row.outlets.access, row.outlets.access)
            rows.append([day, defused(row.row.address.id), str(row.row.row), defused(access), "1", "", ""])
            rows.append([day, defused(row.row.address.id), str(row.row.row), "time", f"{row.outlets.minutes:.0f}", "min", ""])
        for line in _address_kit(row):
            rows.append([day, defused(row.row.address.id), str(row.row.row), *_kit_cells(line)])
    return _csv(KIT_COLUMNS, rows)


def _address_kit(row: AddressFinding) -> Iterable[KitLine]:
    return row.outlets.kit if row.outlets else ()


def _kit_cells(line: KitLine) -> list[str]:
    return [defused(line.part), f"{line.quantity:g}", line.unit, f"{line.spare:g}" if line.spare else ""]


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8", "replace")


def booked_rows(path: Path) -> list[tuple[int, str, str]]:
    """Return (row, id, name) of every job that verdicts.csv calls booked, [] where there is no such file that can be read."""
    try:
        rows = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))
        booked = [cells for cells in rows if cells.get("job_verdict") == State.BOOK and (cells.get("row") or "").isdigit()]
    except (OSError, UnicodeDecodeError, csv.Error):
        return []
    return [(int(one["row"]), (one.get("id") or one["row"]).removeprefix("'"), (one.get("name") or "").removeprefix("'")) for one in booked]
