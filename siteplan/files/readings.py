"""Readings from meters: CSV, XLSX or JSON in a layout of our own, columns found by standard terms and units. Bad rows go, good rows stay.

One row a carrier. Columns (any order, most may be missing): id, lat_deg, lon_deg, outlet, source (satellite or transmitter), carrier,
frequency_mhz (or _ghz, _khz), level_dbuv (or _dbmv, _dbm), cn_db, mer_db, margin_db, pre_ber, post_ber, locked, taken_at, installer,
meter, kit, note. JSON: a list of such rows, or {"id": ..., "readings": [...]} whose other keys hold for every row.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from siteplan.errors import TableError
from siteplan.files.numbers import parse_number
from siteplan.files.tables import Row, Table, read_table, squash
from siteplan.records.places import Reject
from siteplan.records.readings import Reading
from siteplan.records.verdict import Reason
from siteplan.units import COAX_OHM, dbm_to_dbuv

# our name -> what else people call the column (compared without case, accents and marks; units in brackets are part of the name)
NAMES: dict[str, tuple[str, ...]] = {
    "id": ("id", "address id", "job", "job id", "kunde", "auftrag"),
    "lat_deg": ("lat_deg", "lat", "latitude", "breite"),
    "lon_deg": ("lon_deg", "lon", "lng", "longitude", "laenge", "länge"),
    "outlet": ("outlet", "dose", "prise", "point", "measured at"),
    "source": ("source", "satellite", "transmitter", "satellit", "sender", "emetteur"),
    "carrier": ("carrier", "transponder", "multiplex", "mux", "channel", "name"),
    "frequency_mhz": ("frequency_mhz", "frequency (mhz)", "f_mhz", "mhz"),
    "frequency_ghz": ("frequency_ghz", "frequency (ghz)", "f_ghz", "ghz"),
    "frequency_khz": ("frequency_khz", "frequency (khz)", "f_khz", "khz"),
    "level_dbuv": ("level_dbuv", "level (dbµv)", "level (dbμv)", "level (dbuv)", "pegel (dbµv)", "power_dbuv", "dbuv", "dbµv"),
    "level_dbmv": ("level_dbmv", "level (dbmv)", "power_dbmv", "dbmv"),
    "level_dbm": ("level_dbm", "level (dbm)", "power_dbm", "dbm"),
    "cn_db": ("cn_db", "c/n (db)", "c/n", "cn", "cnr", "cnr (db)", "snr", "snr (db)"),
    "mer_db": ("mer_db", "mer (db)", "mer"),
    "margin_db": ("margin_db", "link margin (db)", "link margin", "noise margin", "margin (db)"),
    "pre_ber": ("pre_ber", "pre-ber", "ber before", "cber"),
    "post_ber": ("post_ber", "post-ber", "ber after", "vber", "lber"),
    "locked": ("locked", "lock", "signal"),
    "taken_at": ("taken_at", "time", "date", "datetime", "zeit", "datum"),
    "installer": ("installer", "monteur", "technician"),
    "meter": ("meter", "instrument"),
    "kit": ("kit", "dish", "antenna"),
    "note": ("note", "notes", "remark", "bemerkung"),
}
_OURS = {squash(other): name for name, others in NAMES.items() for other in others}
_TEXTS = ("id", "outlet", "source", "carrier", "taken_at", "installer", "meter", "kit", "note")
_YES, _NO = ("", "yes", "y", "true", "1", "ja", "oui", "ok", "locked"), ("no", "n", "false", "0", "nein", "non", "no lock", "unlocked", "-")
# Levels that a meter at an outlet or an antenna can show, in each unit: what lies outside was written in another one.
_FITS = {"dBuV": (20.0, 125.0), "dBmV": (-40.0, 65.0), "dBm": (-89.0, 16.0)}
_SPELT = {"dBuV": "dBµV", "dBmV": "dBmV", "dBm": "dBm"}
LARGEST_BYTES = 20_000_000


class _Bad(Exception):
    def __init__(self, field: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.value, self.reason = field, value, reason


def read_readings(path: Path, *, now: datetime | None = None) -> tuple[tuple[Reading, ...], tuple[Reject, ...]]:
    """Return the readings of one file.

    now  a time after which no reading can have been taken; None: not looked at

    Raises TableError where the file as a whole can't be used: unreadable, no column of a carrier or a value.
    """
    path = Path(path)
    rows = _json_rows(path) if path.suffix.lower() == ".json" else _table_rows(path)
    made, rejects = [], []
    for number, cells in rows:
        try:
            made.append(_reading(path.name, number, cells, now))
        except _Bad as bad:
            rejects.append(Reject(path.name, number, bad.field, bad.value, bad.reason))
    return tuple(made), tuple(rejects)


def _known(name: str) -> bool:
    return squash(name) in _OURS


def _table_rows(path: Path) -> list[tuple[int, Mapping[str, str]]]:
    table: Table = read_table(path, _known)
    columns = {_OURS[squash(column)]: place for place, column in reversed(list(enumerate(table.columns))) if squash(column) in _OURS}
    _enough(columns, table.columns, path.name)
    return [(row.number, _cells(row, columns)) for row in table.rows]


def _cells(row: Row, columns: Mapping[str, int]) -> dict[str, str]:
    return {name: row.cells[place].strip() for name, place in columns.items()}


def _enough(columns: Mapping[str, object], there: object, file: str) -> None:
    level = re.compile(r"^(level|power|pegel)$")
    if not {"carrier", "frequency_mhz", "frequency_ghz", "frequency_khz"} & set(columns):
        raise TableError(
            f"no column says which carrier a row is of: call it carrier or frequency_mhz (columns: {', '.join(there)})", file=file
        )
    if not {"level_dbuv", "level_dbmv", "level_dbm", "cn_db", "mer_db", "margin_db", "locked"} & set(columns):
        bare = [name for name in there if level.fullmatch(str(name).strip().lower())]  # type: ignore[union-attr]
        hint = f"; column {bare[0]} does not say its unit: call it level_dbuv, level_dbmv or level_dbm" if bare else ""
        raise TableError(f"no column holds a level or a carrier-to-noise{hint} (columns: {', '.join(there)})", file=file)


def _json_rows(path: Path) -> list[tuple[int, Mapping[str, str]]]:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise TableError("this is too large for a file of readings", file=path.name)
        data = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as wrong:
        raise TableError(f"this file can't be read ({wrong.strerror or wrong})", file=path.name) from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise TableError("this is not JSON in UTF-8; save it again, or give CSV or XLSX", file=path.name) from None
    shared: dict[str, object] = {}
    if isinstance(data, dict):
        shared = {key: value for key, value in data.items() if key != "readings"}
        data = data.get("readings")
    if not isinstance(data, list) or not all(isinstance(one, dict) for one in data):
        raise TableError('a list of readings is wanted here, or {"id": ..., "readings": [...]}', file=path.name)
    rows, names = [], {}
    for number, one in enumerate(data, 1):
        cells = {}
        for key, value in {**shared, **one}.items():
            if squash(str(key)) in _OURS and not isinstance(value, (dict, list)):
                cells[_OURS[squash(str(key))]] = "" if value is None else str(value)
                names[_OURS[squash(str(key))]] = key
        rows.append((number, cells))
    if rows:
        _enough(names, tuple(names), path.name)
    return rows


def _reading(file: str, number: int, cells: Mapping[str, str], now: datetime | None) -> Reading:
    texts = {name: cells.get(name, "").strip()[:300] for name in _TEXTS}
    frequency = _frequency(cells)
    if not texts["carrier"] and math.isnan(frequency):
        raise _Bad("carrier", "", "names neither a carrier nor a frequency")
    locked = _locked(cells)
    level, notes = _level(cells)
    values = {name: _number(cells, name, *limits) for name, limits in _LIMITS.items()}
    if locked and math.isnan(level) and all(math.isnan(values[name]) for name in ("cn_db", "mer_db", "margin_db")):
        raise _Bad("level_dbuv", "", "holds no value; write the level or the carrier-to-noise, or locked = no where there was no signal")
    _time(texts["taken_at"], now)
    return Reading(file=file, file_row=number, frequency_mhz=frequency, level_dbuv=level, locked=locked, notes=notes, **texts, **values)


_LIMITS = {
    "cn_db": (-10.0, 60.0), "mer_db": (-10.0, 60.0), "margin_db": (-40.0, 60.0), "pre_ber": (0.0, 1.0), "post_ber": (0.0, 1.0),
    "lat_deg": (-90.0, 90.0), "lon_deg": (-180.0, 180.0),
}  # fmt: skip


def _number(cells: Mapping[str, str], name: str, least: float, most: float) -> float:
    text = cells.get(name, "")
    if not text or text in ("-", "–", "n/a"):
        return math.nan
    value = parse_number(text)
    if math.isnan(value):
        raise _Bad(name, text, "is not a number")
    if not least <= value <= most:
        raise _Bad(name, text, f"is out of range; {least:g} to {most:g} is allowed")
    return value


def _frequency(cells: Mapping[str, str]) -> float:
    for name, factor in (("frequency_mhz", 1.0), ("frequency_ghz", 1000.0), ("frequency_khz", 0.001)):
        value = _number(cells, name, 0.0, 1e9)
        if math.isfinite(value):
            if not 5.0 <= value * factor <= 50_000.0:
                raise _Bad(name, cells[name], "is out of range; 5 MHz to 50 GHz is allowed: check the unit in the column's name")
            return value * factor
    return math.nan


def _level(cells: Mapping[str, str]) -> tuple[float, tuple[Reason, ...]]:
    """Return the level in dBuV, and what had to be put right: a value that fits its column's unit nowhere but another one."""
    for name, unit in (("level_dbuv", "dBuV"), ("level_dbmv", "dBmV"), ("level_dbm", "dBm")):
        value = _number(cells, name, -150.0, 150.0)
        if math.isnan(value):
            continue
        taken, notes = unit, ()
        if not _FITS[unit][0] <= value <= _FITS[unit][1]:
            others = [other for other, (least, most) in _FITS.items() if other != unit and least <= value <= most]
            if value < -40.0 and "dBm" in others:
                others = ["dBm"]
            if value > 65.0 and "dBuV" in others:
                others = ["dBuV"]
            if len(others) != 1:
                raise _Bad(
                    name, cells[name], f"fits no level in {_SPELT[unit]}, and it is not clear which unit was meant; put the unit right"
                )
            taken = others[0]
            notes = (Reason("read_taken_as", {"value": value, "unit": _SPELT[unit], "taken": _SPELT[taken]}),)
        return _to_dbuv(value, taken), notes
    return math.nan, ()


def _to_dbuv(value: float, unit: str) -> float:
    """dBuV = dBmV + 60 by definition; dBuV = dBm + 108.75 at 75 ohm."""
    if unit == "dBmV":
        return value + 60.0
    return float(dbm_to_dbuv(value, COAX_OHM)) if unit == "dBm" else value


def _locked(cells: Mapping[str, str]) -> bool:
    text = cells.get("locked", "").strip().casefold()
    if text in _YES:
        return True
    if text in _NO:
        return False
    raise _Bad("locked", text, "is neither yes nor no")


def _time(text: str, now: datetime | None) -> None:
    """Raise where a time can't be read or lies in the future."""
    if not text:
        return
    try:
        taken = datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError:
        raise _Bad("taken_at", text, "is no time; write year-month-day and hour:minute, such as 2026-06-11 14:30") from None
    if now is not None and taken.replace(tzinfo=None) > now.replace(tzinfo=None):
        raise _Bad("taken_at", text, "lies in the future")


def readings_csv(rows: list[Mapping[str, object]]) -> str:
    """Return readings as the layout of this file, for a template: the columns people fill in, and one row for each mapping."""
    head = ("id", "outlet", "source", "carrier", "level_dbuv", "cn_db", "locked", "taken_at", "installer", "note")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([[row.get(name, "") for name in head] for row in rows])
    return out.getvalue()
