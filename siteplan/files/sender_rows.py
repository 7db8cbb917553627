"""Cells of a sender table, read one by one: each fault is told with its column, value and what is allowed."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.column_names import CRS, LAT, LON, X, Y, recognise, roles_of
from siteplan.files.numbers import parse_number
from siteplan.files.positions import Position, Reading
from siteplan.files.tables import Row, Table, read_table, squash
from siteplan.records.places import Reject

# power units by the ending of a column's name -> dBW from the number
_TO_DBW: dict[str, Callable[[float], float]] = {
    "kw": lambda value: 30.0 + 10.0 * math.log10(value),
    "w": lambda value: 10.0 * math.log10(value),
    "mw": lambda value: 10.0 * math.log10(value) - 30.0,
    "dbw": lambda value: value,
    "dbm": lambda value: value - 30.0,
    "dbkw": lambda value: value + 30.0,
}
LINEAR_UNITS = ("kw", "w", "mw")
DIPOLE_DBI = 2.15
LINEAR = {"h": "H", "horizontal": "H", "hor": "H", "v": "V", "vertical": "V", "ver": "V", "vert": "V"}
CIRCULAR = {"l": "L", "left": "L", "lhcp": "L", "lhc": "L", "r": "R", "right": "R", "rhcp": "R", "rhc": "R"}
_UNITLESS = {
    "gain": "gain_dbi or gain_dbd", "antennagain": "gain_dbi or gain_dbd", "power": "erp_kw, erp_dbw, eirp_dbw or eirp_dbm",
    "txpower": "erp_kw, erp_dbw, eirp_dbw or eirp_dbm", "erp": "erp_kw, erp_dbw or erp_dbm", "eirp": "eirp_dbw or eirp_dbm",
    "repower": "re_power_dbm", "reeirp": "re_eirp_dbm", "gaindb": "gain_dbi or gain_dbd", "powerdb": "erp_dbw, eirp_dbw or eirp_dbm",
    "eirpdb": "eirp_dbw or eirp_dbm", "erpdb": "erp_dbw or erp_dbm", "antennagaindb": "gain_dbi or gain_dbd",
}  # fmt: skip


_OWN_UNIT = re.compile(r"[-+\d.,\s]+(?:dB\w*|[kKmM]?[wW])\.?\s*")


class RowFault(Exception):
    """One row can't be taken: which column, what it says, why. Caught where the row is read; never leaves this floor."""

    def __init__(self, field: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.value, self.reason = field, value, reason


@dataclass(frozen=True)
class SenderTable:
    """A table of senders: its rows, and our name of each column (names are compared without case, spaces and underscores)."""

    table: Table
    columns: Mapping[str, str]
    reading: Reading

    def has(self, key: str) -> bool:
        """Return whether there is a column of our name."""
        return squash(key) in self.columns

    def column(self, key: str) -> str:
        """Return the user's name of one of our columns, our own where there is none."""
        return self.columns.get(squash(key), key)

    def text(self, row: Row, key: str) -> str:
        """Return one cell, trimmed; "" where there is no such column."""
        column = self.columns.get(squash(key))
        return "" if column is None else row.cells[self.table.columns.index(column)].strip()

    def fault(self, row: Row, key: str, reason: str) -> RowFault:
        """Return the complaint about one cell."""
        return RowFault(self.column(key), self.text(row, key), reason)

    def word(self, row: Row, key: str) -> str:
        """Return a cell that must not be empty."""
        text = self.text(row, key)
        if not text:
            raise self.fault(row, key, told("is empty"))
        return text

    def number(self, row: Row, key: str, least: float, most: float, default: float | None = None) -> float:
        """Return a number in [least, most]; default where the cell is empty, a fault where there is no default."""
        text = self.text(row, key)
        if not text:
            if default is not None:
                return default
            raise self.fault(row, key, told("is empty"))
        value = parse_number(text)
        if math.isnan(value):
            raise self.fault(row, key, told("is not a number"))
        if not least <= value <= most:
            raise self.fault(row, key, told("is out of range; {least:g} to {most:g} is allowed", least=least, most=most))
        return value

    def power_dbw(self, row: Row, stem: str) -> float:
        """Return a power in dBW from the first filled column stem_<unit> (kW, W, mW, dBW, dBm, dBkW); NaN where none is filled.

        Two filled columns that disagree by over half a decibel are a fault.
        """
        found: list[tuple[str, float]] = []
        for unit, to_dbw in _TO_DBW.items():
            key = f"{stem}_{unit}"
            if not self.text(row, key):
                continue
            value = parse_number(self.text(row, key))
            if math.isnan(value):
                own = _OWN_UNIT.fullmatch(self.text(row, key))
                more = told("; the column's name says its unit ({unit}), so write the number alone, in that unit", unit=unit) if own else ""
                raise self.fault(row, key, told("is not a number{more}", more=more))
            if unit in LINEAR_UNITS and value <= 0.0:
                raise self.fault(row, key, told("a power must be above 0") if value == 0.0 else told("a power can't be negative"))
            level = to_dbw(value)
            if not -130.0 <= level <= 100.0:
                raise self.fault(row, key, told("is out of range for a power; check the unit in the column's name"))
            found.append((key, level))
        if len(found) > 1 and abs(found[0][1] - found[1][1]) > 0.5:
            raise self.fault(
                row, found[1][0], told("does not agree with {column}; leave one of them empty", column=self.column(found[0][0]))
            )
        return found[0][1] if found else math.nan

    def gain_dbi(self, row: Row) -> float:
        """Return an antenna gain in dBi from gain_dbi or gain_dbd; NaN where neither is filled."""
        for key, more in (("gain_dbi", 0.0), ("gain_dbd", DIPOLE_DBI)):
            if self.text(row, key):
                return self.number(row, key, -30.0, 60.0) + more
        return math.nan

    def has_power(self, stem: str) -> bool:
        """Return whether there is a column stem_<unit>."""
        return any(self.has(f"{stem}_{unit}") for unit in _TO_DBW)

    def place(self, row: Row) -> Position:
        """Return where a row lies, or raise its fault."""
        found = self.reading.position(row)
        if found.fault:
            raise RowFault(found.field, found.value, found.fault)
        if found.lat_deg == 0.0 and found.lon_deg == 0.0:
            raise RowFault(found.field, found.value, told("0, 0 is a place in the sea that stands for an unknown position"))
        return found


def open_senders(path: Path, keys: Sequence[str], *, placed: bool, needed: Sequence[str] = (), crs: str = "") -> SenderTable:
    """Return a sender table with its columns found.

    keys    our column names
    placed  rows have positions: lat_deg and lon_deg, or x, y and crs
    needed  columns that must be there
    crs     of x and y where there is no crs column

    Raises TableError: can't be read, a column missing, a gain or power column without its unit.
    """
    ours = {squash(key): key for key in keys}
    powers = {squash(f"{stem}_{unit}") for stem in ("erp", "eirp", "re_eirp", "re_power", "power") for unit in _TO_DBW}
    place_roles = (LAT, LON, X, Y, CRS)

    def known(name: str) -> bool:
        role = recognise(name)
        return squash(name) in ours or squash(name) in powers or (placed and role is not None and role[0] in place_roles)

    table = read_table(path, known)
    for column in table.columns:
        bare = column if _has_unit(column) else re.sub(r"[\(\[].*?[\)\]]", "", column)
        advice = _UNITLESS.get(squash(bare))
        if advice:
            message = told("this column does not say its unit in its name; call it {advice}", advice=advice)
            raise TableError(message, file=table.file, row=table.heading_row, field=column)
    columns = {squash(_with_unit(column)): column for column in reversed(table.columns)}
    _no_misspelt(table, columns, keys, lambda name: squash(name) in powers or (recognise(name) or ("",))[0] in place_roles)
    for key in needed:
        if squash(key) not in columns:
            shown = ", ".join(table.columns)
            raise TableError(
                told("column {key} is missing (columns: {shown})", key=key, shown=shown), file=table.file, row=table.heading_row
            )
    roles = {role: column for role, column in roles_of(table.columns).items() if placed and role in place_roles}
    if table.points:
        roles = {role: column for role, column in roles.items() if role == CRS}
    reading = Reading(table, roles, crs or table.crs)
    if placed and reading.by not in ("angles", "map", "points"):
        raise TableError(told("columns lat_deg and lon_deg (or x, y and crs) are missing"), file=table.file, row=table.heading_row)
    return SenderTable(table, columns, reading)


def _no_misspelt(table: Table, columns: Mapping[str, str], keys: Sequence[str], fine: Callable[[str], bool]) -> None:
    """Raise TableError for a column whose name is nearly one of ours: left unread, its sector would beam all around without a word."""
    absent = {squash(key): key for key in keys if squash(key) not in columns}
    for short, column in columns.items():
        near = difflib.get_close_matches(short, absent, 1, 0.85)
        if near and not fine(column) and short not in {squash(key) for key in keys}:
            message = told(
                "this column is not known; did you mean {absent}? Rename it, or give it another name if it is your own",
                absent=absent[near[0]],
            )
            raise TableError(message, file=table.file, row=table.heading_row, field=column)


def _has_unit(column: str) -> bool:
    return bool(re.search(r"[\(\[]\s*(?:dB[imdW]|dBkW|[kKmM]?W)\s*[\)\]]", column, re.IGNORECASE))


def _with_unit(column: str) -> str:
    """Return "ERP (kW)" as "ERP kW": a unit in brackets is part of the name."""
    return re.sub(r"[\(\)\[\]]", " ", column)


def read_rows(senders: SenderTable, take: Callable[[Row], None]) -> tuple[Reject, ...]:
    """Call take for every row and return the rows it could not take, each with its reason."""
    rejects = []
    for row in senders.table.rows:
        try:
            if row.fault:
                raise RowFault("", "", row.fault)
            take(row)
        except RowFault as fault:
            rejects.append(Reject(senders.table.file, row.number, fault.field, fault.value, fault.reason))
    return tuple(rejects)


def programmes_of(senders: SenderTable, row: Row) -> tuple[str, ...]:
    """Return the names in column programmes, which semicolons part."""
    return tuple(name.strip() for name in senders.text(row, "programmes").split(";") if name.strip())


def system_of(text: str) -> str:
    """Return a broadcasting system as standards write it: "dvb s2" is "DVB-S2"."""
    tidy = re.sub(r"[\s_-]", "", text.upper())
    return f"DVB-{tidy.removeprefix('DVB')}"


def modulation_of(text: str) -> str:
    """Return a modulation as standards write it: "8 psk" is "8PSK"."""
    return re.sub(r"[\s_-]", "", text.upper())
