"""Readings from meters: CSV, XLSX or JSON in a layout of our own, columns found by standard terms and units. Bad rows go, good rows stay.

One row a carrier or mobile cell. Columns (any order, most may be missing): id, lat_deg, lon_deg, outlet, source (satellite, transmitter or
operator), carrier, frequency_mhz (or _ghz, _khz), level_dbuv (or _dbmv, _dbm), cn_db, mer_db, margin_db, pre_ber, post_ber, locked,
taken_at, installer, meter, kit, note; of cells rsrp_dbm, rsrq_db, sinr_db, rssi_dbm, rsrp_a_dbm, rsrp_b_dbm, pci, and earfcn, nr_arfcn,
uarfcn or arfcn in place of the frequency. JSON: a list of such rows, or {"id": ..., "readings": [...]} whose other keys hold for every row.
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
from siteplan.files.mobile_bands import CHANNEL_COLUMNS, channel_mhz
from siteplan.files.numbers import parse_number
from siteplan.files.sectors import MOST_PCI
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
    "source": ("source", "satellite", "transmitter", "operator", "satellit", "sender", "emetteur", "betreiber", "operateur"),
    "carrier": ("carrier", "transponder", "multiplex", "mux", "cell", "channel", "name", "zelle", "cellule"),
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
    "rsrp_dbm": ("rsrp_dbm", "rsrp (dbm)", "rsrp", "rscp_dbm", "rscp (dbm)", "rscp"),
    "rsrq_db": ("rsrq_db", "rsrq (db)", "rsrq"),
    "sinr_db": ("sinr_db", "sinr (db)", "sinr", "ec/n0 (db)", "ec/n0"),
    "rssi_dbm": ("rssi_dbm", "rssi (dbm)", "rssi"),
    "rsrp_a_dbm": ("rsrp_a_dbm", "rsrp a (dbm)", "rsrp first lead", "rsrp_main", "rsrp_0", "rsrp[0]"),
    "rsrp_b_dbm": ("rsrp_b_dbm", "rsrp b (dbm)", "rsrp second lead", "rsrp_diversity", "rsrp_1", "rsrp[1]"),
    "pci": ("pci", "physical cell id", "physical cell identity", "psc"),
    "earfcn": ("earfcn",),
    "nr_arfcn": ("nr_arfcn", "nr-arfcn", "nrarfcn"),
    "uarfcn": ("uarfcn",),
    "arfcn": ("arfcn",),
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
    if not {"carrier", "frequency_mhz", "frequency_ghz", "frequency_khz", *_CHANNELS} & set(columns):
        raise TableError(
            f"no column says which carrier a row is of: call it carrier or frequency_mhz (columns: {', '.join(there)})", file=file
        )
    if not {"level_dbuv", "level_dbmv", "level_dbm", "cn_db", "mer_db", "margin_db", "locked", *CELL_VALUES} & set(columns):
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
    strengths, more = cell_values(cells)
    values, notes = values | strengths, (*notes, *more)
    if locked and math.isnan(level) and all(math.isnan(values[name]) for name in ("cn_db", "mer_db", "margin_db", *CELL_VALUES)):
        raise _Bad("level_dbuv", "", "holds no value; write the level or the carrier-to-noise, or locked = no where there was no signal")
    _time(texts["taken_at"], now)
    pci = _whole(cells, "pci", max(MOST_PCI.values()))
    return Reading(
        file=file, file_row=number, frequency_mhz=frequency, level_dbuv=level, locked=locked, notes=notes,
        pci="" if pci is None else str(pci), **texts, **values,
    )  # fmt: skip


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
    for technology, name in CHANNEL_COLUMNS.items():
        channel = _whole(cells, name, 3_279_165)
        if channel is not None:
            return _channel_mhz(technology, channel, name, cells[name])
    return math.nan


def _channel_mhz(technology: str, channel: int, name: str, text: str) -> float:
    frequency, bands = channel_mhz(technology, channel)
    if not bands and math.isnan(frequency):
        raise _Bad(name, text, f"is in no {technology} band that is known here; write frequency_mhz in its place")
    return frequency


def _whole(cells: Mapping[str, str], name: str, most: int) -> int | None:
    value = _number(cells, name, 0.0, float(most))
    if math.isnan(value):
        return None
    if value != int(value):
        raise _Bad(name, cells[name], "is no whole number")
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
                raise _Bad(name, cells[name], f"is out of range; {least:g} to {most:g} is allowed")
        values[name] = value
    both = (values["rsrp_a_dbm"], values["rsrp_b_dbm"])
    if math.isnan(values["rsrp_dbm"]) and any(math.isfinite(one) for one in both):  # a device reports the better of its branches
        values["rsrp_dbm"] = max(one for one in both if math.isfinite(one))
    return values, tuple(notes)


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
    head = ("id", "outlet", "source", "carrier", "level_dbuv", "cn_db", "rsrp_dbm", "sinr_db", "locked", "taken_at", "installer", "note")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([[row.get(name, "") for name in head] for row in rows])
    return out.getvalue()
