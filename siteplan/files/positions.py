"""Where one row of a table lies: from latitude and longitude, map coordinates, both in one cell, or a vector file's point."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from siteplan.errors import InputError, told
from siteplan.files.column_names import BOTH, CRS, LAT, LON, LON_FIRST, X, Y
from siteplan.files.numbers import METRES_PER_DEGREE, Coordinate, parse_angle, parse_metres, split_pair
from siteplan.files.tables import Row, Table, squash
from siteplan.geodesy import projection


@dataclass(frozen=True, slots=True)
class Position:
    """A place read from a row, WGS84, or why there is none. step_m: the size of the last digit given, on the ground."""

    lat_deg: float = math.nan
    lon_deg: float = math.nan
    step_m: float = math.nan
    field: str = ""
    value: str = ""
    fault: str = ""


@dataclass(frozen=True)
class Reading:
    """How positions are read: role -> column, and the system of x and y (or of a vector file's points), "" where unknown."""

    table: Table
    roles: Mapping[str, str]
    crs: str = ""

    @property
    def by(self) -> str:
        """Return what positions are read from: "angles", "both", "map", "points" or "" for nothing."""
        if LAT in self.roles and LON in self.roles:
            return "angles"
        if X in self.roles and Y in self.roles:
            return "map"
        if BOTH in self.roles:
            return "both"
        if self.table.points:
            return "points"
        return "pair" if LAT in self.roles else ""

    def cell(self, row: Row, role: str) -> str:
        """Return one cell, trimmed; "" where the table has no such column."""
        column = self.roles.get(role)
        return row.cells[self.table.columns.index(column)].strip() if column is not None else ""

    def plain(self, row: Row) -> tuple[Coordinate, Coordinate]:
        """Return x and y as they stand in the row."""
        if self.by == "points":
            return Coordinate(row.x, 0.0), Coordinate(row.y, 0.0)
        return parse_metres(self.cell(row, X)), parse_metres(self.cell(row, Y))

    def position(self, row: Row) -> Position:
        """Return where a row lies; `fault` says why where it can't be told."""
        by = self.by
        if by == "points":
            if row.point:
                return Position(field="geometry", fault=row.point)
            return self._mapped(row, "geometry")
        if by == "map":
            return self._mapped(row, self.roles[X])
        if by in ("both", "pair"):
            return self._both(row, self.roles[BOTH if by == "both" else LAT])
        lat_text, lon_text = self.cell(row, LAT), self.cell(row, LON)
        if lat_text and not lon_text and split_pair(lat_text):
            return self._both(row, self.roles[LAT])
        if not lat_text and not lon_text:
            return Position(field=self.roles[LAT], fault=told("latitude and longitude are empty"))
        return self._angles(parse_angle(lat_text), parse_angle(lon_text), (self.roles[LAT], lat_text), (self.roles[LON], lon_text))

    def _both(self, row: Row, column: str) -> Position:
        text = row.cells[self.table.columns.index(column)].strip()
        if not text:
            return Position(field=column, fault=told("coordinates are empty"))
        pair = split_pair(text)
        if pair is None:
            return Position(field=column, value=text, fault=told("holds no pair of latitude and longitude, such as 47.5123, 11.2345"))
        first, second = parse_angle(pair[0]), parse_angle(pair[1])
        if first.axis == "lon" or second.axis == "lat" or (squash(column) in LON_FIRST and not first.axis):
            first, second = second, first
        return self._angles(first, second, (column, text), (column, text))

    @staticmethod
    def _angles(lat: Coordinate, lon: Coordinate, lat_cell: tuple[str, str], lon_cell: tuple[str, str]) -> Position:
        for found, (field, text), what in ((lat, lat_cell, told("latitude")), (lon, lon_cell, told("longitude"))):
            if found.fault:
                return Position(field=field, value=text, fault=f"{what} {_hint(text, found.fault)}")
        if lat.axis == "lon" or lon.axis == "lat":
            return Position(
                lat.value, lon.value, field=lat_cell[0], value=f"{lat_cell[1]}, {lon_cell[1]}",
                fault=swapped_fault(),
            )  # fmt: skip
        step = finer_step(lat.step, lon.step)
        found = Position(lat.value, lon.value, step * METRES_PER_DEGREE, lat_cell[0], f"{lat_cell[1]}, {lon_cell[1]}")
        if lat_cell == lon_cell:
            found = replace(found, value=lat_cell[1])
        if not abs(lat.value) <= 90.0:
            return replace(found, value=lat_cell[1], fault=told("latitude is out of range; -90 to 90 degrees is allowed"))
        if not abs(lon.value) <= 180.0:
            return replace(
                found, field=lon_cell[0], value=lon_cell[1], fault=told("longitude is out of range; -180 to 180 degrees is allowed")
            )
        return found

    def _mapped(self, row: Row, field: str) -> Position:
        x, y = self.plain(row)
        texts = (self.cell(row, X), self.cell(row, Y)) if self.by == "map" else (repr(row.x), repr(row.y))
        if self.by == "map":
            if not any(texts):
                return Position(field=field, fault=told("x and y are empty"))
            for found, role, text in ((x, X, texts[0]), (y, Y, texts[1])):
                if found.fault:
                    return Position(field=self.roles[role], value=text, fault=f"{role} {_hint(text, found.fault)}")
        shown = ", ".join(texts)
        crs = self.cell(row, CRS) or self.crs
        if not crs:
            return Position(
                field=field, value=shown, fault=told("x and y name no coordinate system; write it in the plan, such as EPSG:25832")
            )
        try:
            crs = _parsed(f"EPSG:{crs}" if crs.isdigit() else crs)
            lon, lat = projection.to_wgs84(x.value, y.value, crs)
        except InputError:
            column, text = self.roles.get(CRS, field), self.cell(row, CRS) or crs
            return Position(field=column, value=text, fault=told("is no coordinate system; write it as EPSG:25832"))
        if not (np.isfinite(lat) and np.isfinite(lon)):
            return Position(field=field, value=shown, fault=told("has no place in {crs_name}", crs_name=projection.crs_name(crs)))
        return Position(float(lat), float(lon), finer_step(x.step, y.step) * _unit_m(crs), field, shown)


@cache
def _parsed(crs: str) -> str:
    return projection.parse_crs(crs)


@cache
def _unit_m(crs: str) -> float:
    return METRES_PER_DEGREE if projection.is_geographic(crs) else projection.unit_to_metre(crs)


def finer_step(first: float, second: float) -> float:
    """Return the finer of two last digits: a spreadsheet drops zeros at the end, so the coarser one may owe its size to chance."""
    return min(first, second)


def empty_faults() -> set[str]:
    """Return how it is told that a row gives no position."""
    return {told("latitude and longitude are empty"), told("coordinates are empty"), told("x and y are empty")}


def swapped_fault() -> str:
    """Return how it is told that compass letters stand in the wrong columns."""
    return told("looks like latitude and longitude swapped (by their compass letters)")


def advice() -> str:
    """Return what to do with a list without coordinates."""
    return told(
        "siteplan works offline and can't look addresses up: add two columns, such as lat_deg and lon_deg, or name your own in the plan, "
        "for example columns = {example} under [addresses]",
        example='{ lat_deg = "Breite", lon_deg = "Länge" }',
    )


def _hint(text: str, fault: str) -> str:
    """Return the fault, with what probably happened to the cell."""
    if fault == told("is not a number") and len(text) >= 8 and text[:4].isdigit() and text[4] == "-" and text[7:8] == "-":
        return told("was turned into a date by a spreadsheet; format the column as text and enter it again")
    if fault == told("is not a number") and text.startswith("#"):
        return told("is an error of the spreadsheet's formula")
    return fault
