"""Readings from meters: CSV, XLSX or JSON in a layout of our own, columns found by standard terms and units. Bad rows go, good rows stay.

One row a carrier or mobile cell. Columns (any order, most may be missing): id, lat_deg, lon_deg, outlet, source (satellite, transmitter or
operator), carrier, frequency_mhz (or _ghz, _khz), level_dbuv (or _dbmv, _dbm), cn_db, mer_db, margin_db, pre_ber, post_ber, locked,
taken_at, installer, meter, kit, note; of cells rsrp_dbm, rsrq_db, sinr_db, rssi_dbm, rsrp_a_dbm, rsrp_b_dbm, technology, band, pci,
cell_id, and earfcn, nr_arfcn, uarfcn or arfcn in place of the frequency.
JSON: a list of such rows, or {"id": ..., "readings": [...]} whose other keys hold for every row.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.mobile_bands import CHANNEL_COLUMNS, channel_mhz, uplink_band
from siteplan.files.numbers import parse_number
from siteplan.files.reading_columns import LEVEL, column_of, plain_number, printable, split_unit
from siteplan.files.sectors import MOST_PCI, TECHNOLOGIES
from siteplan.files.tables import Row, Table, read_table, squash
from siteplan.records.places import Reject
from siteplan.records.readings import Reading
from siteplan.records.verdict import Reason
from siteplan.units import COAX_OHM, dbm_to_dbuv

_TEXTS = ("id", "outlet", "source", "carrier", "polarisation", "taken_at", "installer", "meter", "kit", "note", "band", "cell_id")
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
    """Return the readings of one file and the rows that can't be used, as read_readings_told does."""
    return read_readings_told(path, now=now)[:2]


def read_readings_told(path: Path, *, now: datetime | None = None) -> tuple[tuple[Reading, ...], tuple[Reject, ...], tuple[Reason, ...]]:
    """Return the readings of one file, the rows that can't be used, and what is to be told of the file: columns not used, no row in it.

    now  a time after which no reading can have been taken; None: not looked at

    Raises TableError where the file as a whole can't be used: unreadable, no column of a carrier or a value.
    """
    path = Path(path)
    rows, notes = _json_rows(path) if path.suffix.lower() == ".json" else _table_rows(path)
    made, rejects = [], []
    for number, cells in rows:
        try:
            made.append(_reading(path.name, number, cells, now))
        except _Bad as bad:
            rejects.append(Reject(path.name, number, bad.field, printable(bad.value), bad.reason))
    if not rows:
        notes = (*notes, Reason("read_no_rows"))
    return tuple(made), tuple(rejects), notes


_FAULT = "fault"  # the key of a row's own fault among its cells


def _table_rows(path: Path) -> tuple[list[tuple[int, Mapping[str, str]]], tuple[Reason, ...]]:
    table: Table = read_table(path, lambda name: bool(column_of(name)))
    columns: dict[str, list[int]] = {}
    for place, column in enumerate(table.columns):
        columns.setdefault(column_of(column), []).append(place)
    unused = [printable(table.columns[place]) for place in columns.pop("", [])]
    _enough(columns, table.columns, path.name)
    rows = [(row.number, _cells(row, columns)) for row in table.rows]
    if rows and table.rows[-1].given < len(table.columns) and _cut_short(path):
        rows[-1][1][_FAULT] = told("ends in the middle, as does the file: it was cut short; send it again whole")
    return rows, (Reason("read_columns_unused", {"columns": ", ".join(unused[:12])}),) if unused else ()


def _cells(row: Row, columns: Mapping[str, list[int]]) -> dict[str, str]:
    """Return a row's cells under our names; where two columns mean the same, the first that holds something counts."""
    cells = {name: next((text for place in places if (text := row.cells[place].strip())), "") for name, places in columns.items()}
    return cells | {_FAULT: row.fault} if row.fault else cells


def _cut_short(path: Path) -> bool:
    """Return whether a text file ends without the end of its last line."""
    if path.suffix.lower() not in (".csv", ".tsv", ".txt"):
        return False
    return not path.read_bytes()[-4:].rstrip(b"\x00").endswith((b"\n", b"\r"))


def _enough(columns: Mapping[str, object], there: object, file: str) -> None:
    there = [printable(str(name)) for name in there][:40]  # type: ignore[union-attr]
    if not {"carrier", "frequency_mhz", "frequency_ghz", "frequency_khz", "band", "pci", "cell_id", *_CHANNELS} & set(columns):
        raise TableError(
            told("no column says which carrier a row is of: call it carrier or frequency_mhz (columns: {there})", there=", ".join(there)),
            file=file,
        )
    if not {"level_dbuv", "level_dbmv", "level_dbm", "cn_db", "mer_db", "margin_db", "locked", LEVEL, *CELL_VALUES} & set(columns):
        raise TableError(told("no column holds a level or a carrier-to-noise (columns: {there})", there=", ".join(there)), file=file)


def _json_rows(path: Path) -> tuple[list[tuple[int, Mapping[str, str]]], tuple[Reason, ...]]:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise TableError(told("this is too large for a file of readings"), file=path.name)
        data = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as wrong:
        raise TableError(told("this file can't be read ({strerror})", strerror=wrong.strerror or wrong), file=path.name) from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise TableError(told("this is not JSON in UTF-8; save it again, or give CSV or XLSX"), file=path.name) from None
    shared: dict[str, object] = {}
    if isinstance(data, dict):
        shared = {key: value for key, value in data.items() if key != "readings"}
        data = data.get("readings")
    if not isinstance(data, list) or (data and not any(isinstance(one, dict) for one in data)):
        raise TableError(told('a list of readings is wanted here, or {"id": ..., "readings": [...]}'), file=path.name)
    rows, names, unused = [], {}, {}
    for number, one in enumerate(data, 1):
        cells: dict[str, str] = {}
        if not isinstance(one, dict):
            cells[_FAULT] = told("is no reading: names with values in braces are wanted")
            one = {}
        for key, value in {**shared, **one}.items():
            name = column_of(str(key))
            if name and not isinstance(value, (dict, list)):
                text = "" if value is None else str(value)
                cells[name] = cells.get(name, "") or text
                names[name] = key
            else:
                unused[printable(str(key))] = True
        rows.append((number, cells))
    if rows:
        _enough(names, tuple(names) or tuple(unused), path.name)
    return rows, (Reason("read_columns_unused", {"columns": ", ".join(list(unused)[:12])}),) if unused else ()


def _reading(file: str, number: int, cells: Mapping[str, str], now: datetime | None) -> Reading:
    if cells.get(_FAULT):
        raise _Bad("", "", cells[_FAULT])
    texts = {name: printable(cells.get(name, "").strip()[:300]) for name in _TEXTS}
    texts["polarisation"] = _polarisation(texts["polarisation"])
    frequency = _frequency(cells)
    pci = _whole(cells, "pci", max(MOST_PCI.values()))
    if not texts["carrier"] and math.isnan(frequency) and pci is None and not (texts["band"] or texts["cell_id"]):
        raise _Bad("carrier", "", told("names neither a carrier nor a frequency"))
    technology = _technology(cells)
    locked = _locked(cells)
    level, notes = _level(cells)
    values = {name: _number(cells, name, *limits) for name, limits in _LIMITS.items()}
    strengths, more = cell_values(cells)
    values, notes = values | strengths, (*notes, *more)
    if locked and math.isnan(level) and all(math.isnan(values[name]) for name in ("cn_db", "mer_db", "margin_db", *CELL_VALUES)):
        raise _Bad(
            "level_dbuv", "", told("holds no value; write the level or the carrier-to-noise, or locked = no where there was no signal")
        )
    texts["taken_at"] = _time(texts["taken_at"], now)
    return Reading(
        file=file, file_row=number, frequency_mhz=frequency, level_dbuv=level, locked=locked, notes=notes,
        pci="" if pci is None else str(pci), technology=technology, **texts, **values,
    )  # fmt: skip


_LIMITS = {
    "cn_db": (-10.0, 60.0), "mer_db": (-10.0, 60.0), "margin_db": (-40.0, 60.0), "pre_ber": (0.0, 1.0), "post_ber": (0.0, 1.0),
    "lat_deg": (-90.0, 90.0), "lon_deg": (-180.0, 180.0),
}  # fmt: skip


def _number(cells: Mapping[str, str], name: str, least: float, most: float) -> float:
    text = cells.get(name, "")
    if not text or text in ("-", "–", "n/a"):
        return math.nan
    bare, unit = split_unit(text)
    if unit and not name.endswith("_" + unit):
        raise _Bad(name, text, told("says another unit than its column; put one of them right"))
    value = parse_number(plain_number(bare))
    if math.isnan(value):
        raise _Bad(name, text, told("is not a number"))
    if not least <= value <= most:
        raise _Bad(name, text, told("is out of range; {least:g} to {most:g} is allowed", least=least, most=most))
    return value


def _frequency(cells: Mapping[str, str]) -> float:
    for name, factor in (("frequency_mhz", 1.0), ("frequency_ghz", 1000.0), ("frequency_khz", 0.001)):
        value = _number(cells, name, 0.0, 1e9)
        if math.isfinite(value):
            if not 5.0 <= value * factor <= 50_000.0:
                raise _Bad(name, cells[name], told("is out of range; 5 MHz to 50 GHz is allowed: check the unit in the column's name"))
            return value * factor
    for technology, name in CHANNEL_COLUMNS.items():
        channel = _whole(cells, name, 3_279_165)
        if channel is not None:
            return _channel_mhz(technology, channel, name, cells[name])
    return math.nan


def _channel_mhz(technology: str, channel: int, name: str, text: str) -> float:
    frequency, bands = channel_mhz(technology, channel)
    uplink = uplink_band(technology, channel)
    if not bands and uplink:
        raise _Bad(name, text, told("is an uplink number of band {uplink}; the downlink's is wanted", uplink=uplink))
    if not bands and math.isnan(frequency):
        raise _Bad(
            name, text, told("is in no {technology} band that is known here; write frequency_mhz in its place", technology=technology)
        )
    return frequency


def _technology(cells: Mapping[str, str]) -> str:
    """Return GSM, UMTS, LTE or NR as a row says it, else by the column of its channel number; "" where nothing tells."""
    said, column = cells.get("technology", ""), next((one for one in CHANNEL_COLUMNS if cells.get(CHANNEL_COLUMNS[one])), "")
    if not said:
        return column
    found = TECHNOLOGIES.get(squash(said))
    if found is None:
        raise _Bad("technology", said, told("is not known here; write GSM, UMTS, LTE or NR"))
    if column and column != found:
        key = CHANNEL_COLUMNS[column]
        raise _Bad(key, cells[key], told(
            "belongs to {other}, and this row is {technology}; write {channel_columns}",
            other=column, technology=found, channel_columns=CHANNEL_COLUMNS[found],
        ))  # fmt: skip
    return found


def _whole(cells: Mapping[str, str], name: str, most: int) -> int | None:
    value = _number(cells, name, 0.0, float(most))
    if math.isnan(value):
        return None
    if value != int(value):
        raise _Bad(name, cells[name], told("is no whole number"))
    return int(value)


CELL_VALUES = ("rsrp_dbm", "rsrq_db", "sinr_db", "rssi_dbm", "rsrp_a_dbm", "rsrp_b_dbm")
_CHANNELS = tuple(CHANNEL_COLUMNS.values())
# What devices report: RSRP 3GPP TS 36.133, 9.1.4 (-140 to -44 dBm; -156 to -31 in TS 38.133, 10.1.6); RSRQ TS 36.133, 9.1.7 (-34 to
# 2.5 dB); SINR TS 38.133, 10.1.16 (-23 to 40 dB): from memory. RSSI and the room around them: common practice, no source.
_CELL_LIMITS = {
    "rsrp_dbm": (-156.0, -20.0), "rsrp_a_dbm": (-156.0, -20.0), "rsrp_b_dbm": (-156.0, -20.0), "rsrq_db": (-43.0, 5.0),
    "sinr_db": (-30.0, 50.0), "rssi_dbm": (-130.0, 0.0),
}  # fmt: skip


def cell_values(cells: Mapping[str, str]) -> tuple[dict[str, float], tuple[Reason, ...]]:
    """Return the values of a mobile cell, and what had to be put right: a strength written without its minus."""
    values, notes = {}, []
    for name, (least, most) in _CELL_LIMITS.items():
        value = _number(cells, name, -200.0, 200.0)
        if math.isfinite(value) and not least <= value <= most:
            if name != "sinr_db" and value > 0.0 and least <= -value <= most and value > 5.0:
                notes.append(Reason("read_minus_missing", {"value": value, "column": name}))
                value = -value
            else:
                raise _Bad(name, cells[name], told("is out of range; {least:g} to {most:g} is allowed", least=least, most=most))
        values[name] = value
    if values["rsrp_dbm"] > values["rssi_dbm"]:  # the whole carrier has more power than one element of it
        notes.append(Reason("read_rssi_swapped", {"rsrp": values["rsrp_dbm"], "rssi": values["rssi_dbm"]}))
        values["rsrp_dbm"], values["rssi_dbm"] = values["rssi_dbm"], values["rsrp_dbm"]
    both = (values["rsrp_a_dbm"], values["rsrp_b_dbm"])
    if math.isnan(values["rsrp_dbm"]) and any(math.isfinite(one) for one in both):  # a device reports the better of its branches
        values["rsrp_dbm"] = max(one for one in both if math.isfinite(one))
    return values, tuple(notes)


def _level(cells: Mapping[str, str]) -> tuple[float, tuple[Reason, ...]]:
    """Return the level in dBuV, and what had to be put right: a value that fits its column's unit nowhere but another one."""
    cells, unsaid = _levels_by_unit(cells)
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
                    name,
                    cells[name],
                    told("fits no level in {spelt}, and it is not clear which unit was meant; put the unit right", spelt=_SPELT[unit]),
                )
            taken = others[0]
            notes = (Reason("read_taken_as", {"value": value, "unit": _SPELT[unit], "taken": _SPELT[taken]}),)
        return _to_dbuv(value, taken), notes
    return math.nan, (Reason("read_level_no_unit", {"value": unsaid}),) if unsaid else ()


def _levels_by_unit(cells: Mapping[str, str]) -> tuple[Mapping[str, str], str]:
    """Return cells with each level under the unit that it says itself, and a level whose unit nothing says."""
    sorted_cells, unsaid = dict(cells), ""
    for name in (LEVEL, "level_dbuv", "level_dbmv", "level_dbm"):
        text = cells.get(name, "")
        unit = split_unit(text)[1]
        if unit in ("dbuv", "dbmv", "dbm") and f"level_{unit}" != name:
            sorted_cells[name] = ""
            sorted_cells[f"level_{unit}"] = text
        elif name == LEVEL and text:
            unsaid = text
    return sorted_cells, unsaid


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
    raise _Bad("locked", text, told("is neither yes nor no"))


def _polarisation(text: str) -> str:
    """Return V or H, also for the circular ones that an LNB switches like them (right as V, left as H); "" where nobody says."""
    letter = text.strip()[:1].upper()
    if letter not in ("", "V", "H", "R", "L"):
        raise _Bad("polarisation", text, told("is none of H, V, L, R"))
    return {"R": "V", "L": "H"}.get(letter, letter)


_POINTS = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?:[ T,]+(\d{1,2}):(\d{2})(?::(\d{2}))?)?")
_AHEAD = timedelta(hours=14)  # the zone farthest ahead of UTC: a later time without a zone lies in the future everywhere


def _time(text: str, now: datetime | None) -> str:
    """Return a time as ISO 8601, day.month.year put in order; raise where it can't be read or lies in the future."""
    if not text:
        return ""
    try:
        found = _POINTS.fullmatch(text.strip())
        if found:
            day, month, year, hour, minute, second = (int(part or 0) for part in found.groups())
            taken = datetime(year, month, day, hour, minute, second)
            text = taken.isoformat(" ", "seconds" if second else "minutes") if found[4] else taken.date().isoformat()
        else:
            taken = datetime.fromisoformat(text.replace("Z", "+00:00"))
            text = text.replace("T", " ")
    except ValueError:
        raise _Bad("taken_at", text, told("is no time; write year-month-day and hour:minute, such as 2026-06-11 14:30")) from None
    if now is not None:
        # a time without a zone is that of the place; a clock without a zone, as tests have, is taken for UTC
        latest = now.replace(tzinfo=UTC) if now.tzinfo is None else now
        if taken.tzinfo is None:
            taken, latest = taken.replace(tzinfo=UTC), latest + _AHEAD
        if taken > latest:
            raise _Bad("taken_at", text, told("lies in the future"))
    return text


def readings_csv(rows: list[Mapping[str, object]]) -> str:
    """Return readings as the layout of this file, for a template: the columns people fill in, and one row for each mapping."""
    head = ("id", "outlet", "source", "carrier", "level_dbuv", "cn_db", "rsrp_dbm", "sinr_db", "locked", "taken_at", "installer", "note")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([[row.get(name, "") for name in head] for row in rows])
    return out.getvalue()
