"""Open crowd-sourced cell lists (radio, mcc, net, area, cell, unit, lon, lat, range, samples, ...) into sites, one record a site.

Positions in such a list are averages of where phones measured, not masts; it tells no frequency, power, height or direction. Cells are put
together by the site number inside their cell identity, and what nobody states is assumed and said so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from siteplan.errors import told
from siteplan.files.numbers import parse_number
from siteplan.files.sender_rows import RowFault
from siteplan.files.tables import Row, Table, read_table, squash
from siteplan.geodesy.projection import geod_inverse
from siteplan.records.emitters import Sector
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

COLUMNS = (
    "radio", "mcc", "net", "area", "cell", "unit", "lon", "lat", "range", "samples", "changeable", "created", "updated", "averageSignal",
)  # fmt: skip
_NEEDED = ("radio", "mcc", "net", "area", "cell", "lon", "lat")
_TECHNOLOGIES = {"gsm": "GSM", "umts": "UMTS", "wcdma": "UMTS", "lte": "LTE", "nr": "NR"}
# What is taken where the list is silent (common practice, no source): downlink MHz, and EIRP in dBm of the reference (one resource element
# of LTE and NR, the pilot of UMTS, the carrier of GSM).
ASSUMED_MHZ = {"GSM": 947.0, "UMTS": 2140.0, "LTE": 1842.5, "NR": 3550.0}
ASSUMED_EIRP_DBM = {"GSM": 57.0, "UMTS": 50.0, "LTE": 30.0, "NR": 30.0}
# How far off a site of averages may lie at least, 1 sigma (common practice, no source).
LEAST_ERROR_M = 500.0
_HEADING_BYTES = 4096


def is_cell_list(path: Path) -> bool:
    """Return whether a table's first line names the columns of an open cell list; a file that can't be read is none."""
    try:
        with Path(path).open("rb") as file:
            head = file.read(_HEADING_BYTES)
    except OSError:
        return False
    first = head.decode("utf-8", errors="replace").lstrip("\ufeff").split("\n", 1)[0]
    for mark in ",;\t":
        names = {squash(name) for name in first.split(mark)}
        if {squash(key) for key in _NEEDED} <= names:
            return True
    return False


def site_number(technology: str, cell: int) -> int:
    """Return the site inside a cell identity.

    LTE   cell div 256: the eNodeB of a 28-bit identity (3GPP TS 36.413, 9.2.1.38)
    NR    cell div 4096: a gNB number of 24 bits of 36 is taken; 22 to 32 are allowed (TS 38.413, 9.3.1.6), so sites may be split or joined
    UMTS, GSM   the last decimal digit of the 16-bit identity is the sector (common practice, no source); UMTS keeps its RNC
    """
    if technology == "LTE":
        return cell // 256
    if technology == "NR":
        return cell // 4096
    return (cell >> 16) * 10_000 + (cell & 0xFFFF) // 10


@dataclass
class _Site:
    operator: str
    technology: str
    name: str
    cells: list[tuple[float, float, float, int]] = field(default_factory=list)  # lat, lon, range, samples
    seen: set[int] = field(default_factory=set)


def read_cell_list(plan: Plan) -> tuple[tuple[Sector, ...], tuple[Reject, ...]]:
    """Return the sites of the plan's open cell list, each as one sector without direction, in the order of their first cell.

    Raises TableError where the file can't be read.
    """
    table = read_table(plan.mobile.file, lambda name: squash(name) in map(squash, COLUMNS))  # type: ignore[arg-type]
    places = {squash(name): number for number, name in enumerate(table.columns)}
    names = {_network(code): name for code, name in plan.mobile.operator_names.items()}
    sites: dict[tuple, _Site] = {}
    rejects: list[Reject] = []
    for row in table.rows:
        try:
            if row.fault:
                raise RowFault("", "", row.fault)
            _take(_Cells(table, places, row), names, sites)
        except RowFault as fault:
            rejects.append(Reject(table.file, row.number, fault.field, fault.value, fault.reason))
    return tuple(_sector(site, plan.mobile.list_height_agl_m) for site in sites.values()), tuple(rejects)


@dataclass(frozen=True)
class _Cells:
    """One row of a cell list by our names."""

    table: Table
    places: Mapping[str, int]
    row: Row

    def text(self, key: str) -> str:
        place = self.places.get(squash(key))
        return "" if place is None else self.row.cells[place].strip()

    def number(self, key: str, least: float, most: float, default: float | None = None, *, whole: bool = False) -> float:
        text = self.text(key)
        if not text and default is not None:
            return default
        value = parse_number(text)
        if not text or math.isnan(value):
            raise RowFault(key, text, told("is empty") if not text else told("is not a number"))
        if not least <= value <= most or (whole and value != int(value)):
            kind = told("a whole number from ") if whole else ""
            raise RowFault(key, text, told("is out of range; {kind}{least:g} to {most:g} is allowed", kind=kind, least=least, most=most))
        return value


def _take(cells: _Cells, names: Mapping[tuple[int, int], str], sites: dict[tuple, _Site]) -> None:
    technology = _TECHNOLOGIES.get(squash(cells.text("radio")))
    if technology is None:
        raise RowFault("radio", cells.text("radio"), told("is not known here; GSM, UMTS, LTE and NR are allowed"))
    mcc, net = int(cells.number("mcc", 1, 999, whole=True)), int(cells.number("net", 0, 999, whole=True))
    area = int(cells.number("area", 0, 16_777_215, whole=True))
    cell = int(cells.number("cell", 0, 2**36 - 1, whole=True))
    lat, lon = cells.number("lat", -90.0, 90.0), cells.number("lon", -180.0, 180.0)
    if lat == 0.0 and lon == 0.0:
        raise RowFault("lat", cells.text("lat"), told("0, 0 is a place in the sea that stands for an unknown position"))
    reach, samples = cells.number("range", 0.0, 1e6, 0.0), int(cells.number("samples", 0, 1e12, 1.0))
    number = site_number(technology, cell)
    key = (mcc, net, technology, area if technology in ("GSM", "UMTS") else -1, number)
    operator = names.get((mcc, net), f"{mcc}-{net:02d}")
    site = sites.setdefault(key, _Site(operator, technology, f"{technology} {number}"))
    if cell in site.seen:
        raise RowFault("cell", cells.text("cell"), told("this cell is already in an earlier row"))
    site.seen.add(cell)
    site.cells.append((lat, lon, reach, samples))


def _sector(site: _Site, height_agl_m: float) -> Sector:
    """Return one site: the mean of its cells' places (each sector's phones stand on another side), and how far off that may be."""
    count = len(site.cells)
    lon0 = site.cells[0][1]
    lat = math.fsum(cell[0] for cell in site.cells) / count
    lon = lon0 + math.fsum((cell[1] - lon0 + 180.0) % 360.0 - 180.0 for cell in site.cells) / count
    apart = [
        float(geod_inverse(lat1_deg=lat, lon1_deg=lon, lat2_deg=one[0], lon2_deg=one[1])[2]) for one in site.cells
    ]  # fmt: skip
    spread = math.sqrt(math.fsum(away**2 for away in apart) / count)
    reach = math.fsum(cell[2] for cell in site.cells) / count
    error = max(LEAST_ERROR_M, spread if count > 1 else 0.5 * reach)
    return Sector(
        operator=site.operator, site=site.name, name="*", lat_deg=round(lat, 6), lon_deg=round((lon + 180.0) % 360.0 - 180.0, 6),
        antenna_height_agl_m=height_agl_m, technology=site.technology, band=site.technology,
        frequency_mhz=ASSUMED_MHZ[site.technology], re_eirp_dbm=ASSUMED_EIRP_DBM[site.technology], origin="cell list",
        site_error_m=error, samples=sum(cell[3] for cell in site.cells), assumed=("power", "frequency", "height", "direction"),
    )  # fmt: skip


def _network(code: str) -> tuple[int, int]:
    """Return (mcc, net) of "262-01"."""
    mcc, _, net = code.partition("-")
    return int(mcc), int(net)
