"""A hand-made run for pages and files: every state, every service, awkward names, pictures. Nothing in it is calculated by siteplan.

The place, the people, the satellites and the operators are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from siteplan.records.emitters import Multiplex, Satellite, Sector, Transmitter, Transponder
from siteplan.records.findings import (
    AddressFinding,
    Aim,
    Backdrop,
    Findings,
    LinkLine,
    MobileFinding,
    MultiplexLine,
    SatelliteFinding,
    SatelliteView,
    SectorLine,
    TerrestrialFinding,
)
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH
from siteplan.records.places import Address, AddressList, AddressRow, Reject, Spot
from siteplan.records.plan import Plan
from siteplan.records.results import Clearance, LookAngles, Profile, Skyline
from siteplan.records.verdict import SERVICES, HowSure, Reason, State, Verdict

NAN = float("nan")
BOOK, SURVEY, NOT_FEASIBLE, NOT_JUDGED = State.BOOK, State.SURVEY_FIRST, State.NOT_FEASIBLE, State.NOT_JUDGED
LAT, LON = 47.52, -9.48
SCRIPT_NAME = '<script>alert("x")</script> & Sons </script>'
FORMULA_NAME = '=HYPERLINK("http://nowhere.invalid";"prize")'
LONG_ID = "L" + "0123456789" * 29 + "-end-of-id"

ORIEL = Satellite(
    "Oriel 25E",
    25.0,
    (
        Transponder("T4", 10847.0, "V", 29900.0, "DVB-S2", "8PSK", "2/3", 50.0, "stated", ("Tess One", "Harbour News")),
        Transponder("T11", 11512.0, "H", 27500.0, "DVB-S", "QPSK", "3/4", 48.5, "stated", ("Kite",)),
        Transponder("T19", 12304.0, "V", 27500.0, "DVB-S2", "8PSK", "3/4", NAN, "assumed"),
    ),
    3.5,
)
GANNET = Satellite("Gannet 12W", -12.0, (Transponder("G2", 11222.0, "L", 30000.0, "DVB-S2", "QPSK", "3/4", 51.0, "measured", ("Tern",)),))
HALLOW = Transmitter(
    "Hallow Hill", 47.54, -9.77, 150.0,
    (
        Multiplex("Coast A", 498.0, 8.0, 40.0, "h", "DVB-T2 256QAM 2/3", 24, ("Tess One", "Tess Two")),
        Multiplex("Coast B", 546.0, 8.0, 40.0, "h", "DVB-T2 256QAM 2/3", 30),
        Multiplex("Coast C", 666.0, 8.0, 34.0, "h", "DVB-T2 256QAM 2/3", 45),
    ),
    412.0, "Tess coast",
)  # fmt: skip
CAIRN = Transmitter("Cairn Tor", 47.36, -9.41, 60.0, (Multiplex("Coast A", 522.0, 8.0, 27.0, "v", "DVB-T2 256QAM 2/3", 27),), 290.0)
MILL = Sector("Corvid", "Mill Lane", "ML-1", 47.531, -9.462, 25.0, "LTE", "800", 806.0, 15.0, 220.0)
POINT = Sector("Lapwing", "North Point", "NP-2", 47.55, -9.50, 30.0, "LTE", "1800", 1842.5, 18.0, 160.0)
COLUMNS = ("customer", "street", "call")


def arc(lat_deg: float = LAT, lon_deg: float = LON) -> tuple[tuple[float, float, float], ...]:
    """The arc on a ball: near enough for a picture."""
    points = []
    for orbit in range(-80, 61, 2):
        turn, lat = math.radians(orbit - lon_deg), math.radians(lat_deg)
        cos_g = math.cos(lat) * math.cos(turn)
        elevation = math.degrees(math.atan2(cos_g - 0.15127, math.sqrt(1 - cos_g * cos_g)))
        azimuth = (180.0 - math.degrees(math.atan2(math.tan(turn), math.sin(lat)))) % 360.0
        if elevation > 0:
            points.append((float(orbit), azimuth, elevation))
    return tuple(points)


def skyline(tree_deg: float = 26.5) -> Skyline:
    """Hills all round, a town to the east, one clump of growth south-east, and nothing known in one stretch."""
    azimuth = np.arange(0.25, 360.0, 0.5)
    ground = 3.0 + 1.8 * np.sin(np.radians(azimuth * 2 + 40)) + 0.9 * np.sin(np.radians(azimuth * 7))
    elevation, kind = ground.copy(), np.full(azimuth.shape, KIND_GROUND, dtype=np.uint8)
    distance = np.full(azimuth.shape, 4200.0)
    houses = (azimuth > 84) & (azimuth < 128)
    elevation[houses] = np.maximum(elevation[houses], 8.0 + 5.0 * (np.floor(azimuth[houses] / 7) % 3))
    kind[houses], distance[houses] = KIND_BUILDING, 41.0
    off = np.abs(azimuth - 138.3)
    clump = off < 9.0
    elevation[clump] = np.maximum(elevation[clump], tree_deg - 0.16 * off[clump] ** 2)
    kind[clump], distance[clump] = KIND_GROWTH, 34.0
    gone = (azimuth > 300) & (azimuth < 312)
    elevation[gone], ground[gone], distance[gone] = NAN, NAN, NAN
    return Skyline(azimuth, elevation, distance, np.full(azimuth.shape, 61.0), kind, ground, np.full(azimuth.shape, 20000.0))


def look(orbit_deg: float, skew_deg: float) -> LookAngles:
    """Where a satellite of the plan stands."""
    _, azimuth, elevation = min(arc(), key=lambda point: abs(point[0] - orbit_deg))
    return LookAngles(azimuth, elevation, 38500.0, skew_deg, -2.51, azimuth + 2.51, 0.04)


def clearance(state: str, *, spare_deg: float, kind: str = "growth", distance_m: float = 34.0, loss_db: float = 0.0) -> Clearance:
    """One clearance; its tightest place stands near the ray's own bearing."""
    return Clearance(
        state, spare_deg, spare_deg + 0.9, 1.21 if spare_deg > 0 else -0.84, 0.61, distance_m, 61.2, 9.1, 138.2, kind, loss_db, 20000.0
    )


def links(satellite: Satellite) -> tuple[LinkLine, ...]:
    """What each transponder gives with a 0.8 m dish."""
    return tuple(
        LinkLine(t, 0.8, 15.2 - i, 7.9, 7.3 - i if math.isfinite(t.eirp_dbw) else NAN, 48.0 + i, ("rain", "gases", "interference"))
        for i, t in enumerate(satellite.transponders)
    )


def path_profile(length_m: float, bearing_deg: float, *, hill_m: float = 60.0, sender_m: float = 412.0) -> Profile:
    """From a hill down to the house, one ridge and a wood on the way."""
    distance = np.concatenate([np.linspace(0.0, length_m - 800.0, 160, endpoint=False), np.linspace(length_m - 800.0, length_m, 160)])
    share = distance / length_m
    ground = 40.0 + (sender_m - 40.0) * (1 - share) ** 3 + hill_m * np.exp(-(((share - 0.82) / 0.05) ** 2)) + 6.0 * np.sin(share * 37)
    clutter = np.where((share > 0.6) & (share < 0.72), 14.0, 0.0) + np.where((share > 0.988) & (share < 0.994), 9.0, 0.0)
    clutter[0] = clutter[-1] = 0.0
    return Profile(distance, ground, clutter, np.full(distance.shape, 4, dtype=np.uint8), bearing_deg, LAT, 0.7)


def verdict(service: str, state: State, *reasons: Reason, sure: str = "fair", chance: float = NAN, ask: Reason | None = None) -> Verdict:
    """One verdict, how sure from hand-made reasons."""
    because = (Reason("sure_surface", {"cell_m": 1.0}), Reason("sure_age", {"year": 2021, "years": 5.0}))
    return Verdict(service, state, reasons, HowSure(sure, because if state is not NOT_JUDGED else ()), chance, ask)


def _what(**more: object) -> dict[str, object]:
    return {
        "satellite": ORIEL.name, "kind": "growth", "distance_m": 34.0, "bearing_deg": 138.2, "obstacle_agl_m": 9.1, "above_deg": 2.1,
        "height_agl_m": 5.1, "raise_m": 2.1, "highest_agl_m": 6.0, "clearance_m": 0.3, "needed_m": 0.6, "probability": 0.62,
        "spare_deg": 3.4, **more,
    }  # fmt: skip


CLEAR = Reason("sat_clear", _what(height_agl_m=3.0))
IN_THE_WAY = Reason("sat_in_the_way", _what())
BY_GROUND = Reason("sat_blocked_ground", _what(kind="ground", distance_m=2300.0, above_deg=4.6))
EASILY = Reason("sat_ground_easily", _what(spare_deg=12.2))
ASK_TREES = Reason("ask_trees", {"bearing_deg": 138.2, "hands": 2})
ASK_OBSTACLE = Reason("ask_obstacle", {"kind": "growth", "distance_m": 34.0, "bearing_deg": 138.2, "obstacle_agl_m": 9.1})
TV = {"transmitter": HALLOW.name, "bearing_deg": 276.0, "distance_m": 22800.0, "margin_db": 14.2, "lacking_db": 3.0, "probability": 0.71}
MOBILE = {
    "operator": "Corvid", "band": "800", "site": "Mill Lane", "bearing_deg": 48.0, "distance_m": 1830.0, "margin_db": 11.2,
    "lacking_db": 9.0, "probability": 0.58,
}  # fmt: skip


def satellite_finding(spot: Spot, state: State) -> SatelliteFinding:
    """Two wanted satellites from one spot, the first in the state given."""
    seen = {
        BOOK: clearance("clear", spare_deg=3.4), SURVEY: clearance("partly", spare_deg=-1.3, loss_db=4.0),
        NOT_FEASIBLE: clearance("blocked", spare_deg=-5.5, kind="ground", distance_m=2300.0, loss_db=22.0), NOT_JUDGED: None,
    }[state]  # fmt: skip
    reason = {BOOK: CLEAR, SURVEY: IN_THE_WAY, NOT_FEASIBLE: BY_GROUND, NOT_JUDGED: Reason("uncovered")}[state]
    chance = {BOOK: 0.99, SURVEY: 0.62, NOT_FEASIBLE: 0.0, NOT_JUDGED: NAN}[state]
    mount = 5.1 if state is SURVEY else 3.0 if state is BOOK else NAN
    views = (
        SatelliteView(ORIEL, look(25.0, 17.3), seen, state, (reason,), chance, 0.8 if state is BOOK else NAN, mount, links(ORIEL)),
        SatelliteView(
            GANNET, look(-12.0, -2.0), clearance("clear", spare_deg=14.0), BOOK, (Reason("sat_clear", _what(satellite=GANNET.name)),),
            0.99, 0.6, 3.0, links(GANNET),
        ),
    )  # fmt: skip
    return SatelliteFinding(spot, views, skyline(26.5 if state is SURVEY else 12.0), ((-72.0, 14.0), (31.0, 52.0)), arc())


def aims(stem: str, shift_db: float = 0.0) -> tuple[Aim, ...]:
    """Two transmitters in range; only the best keeps its path."""

    def lines(transmitter: Transmitter, best_db: float) -> tuple[MultiplexLine, ...]:
        return tuple(
            MultiplexLine(
                m, 128.0 + 2 * i, 68.0 - 3 * i + shift_db, 54.0, 62.0 - 3 * i + shift_db, best_db - 3 * i + shift_db, 7.9, 0.97 - 0.1 * i
            )
            for i, m in enumerate(transmitter.multiplexes)
        )

    file = f"profiles/{stem}-tv-1-hallow-hill.csv"
    command = (
        f"siteplan path {file} --frequency-mhz=666 --tx-height-agl-m=150.00 --rx-height-agl-m=10.00 --lat-deg=47.5300 --polarisation=h"
    )
    return (
        Aim(HALLOW, 22800.0, 276.0, 278.5, lines(HALLOW, 20.2), path_profile(22800.0, 96.0), 3900.0, 9.4, file, command, 150.0, 10.0),
        Aim(CAIRN, 18500.0, 163.0, 165.5, lines(CAIRN, 3.0)),
    )


def sector_lines(stem: str, shift_db: float = 0.0) -> tuple[SectorLine, ...]:
    """Two operators; the strongest keeps its path."""
    file = f"profiles/{stem}-mobile-1-mill-lane.csv"
    command = f"siteplan path {file} --frequency-mhz=806 --tx-height-agl-m=25.00 --rx-height-agl-m=6.00 --lat-deg=47.5250 --polarisation=v"
    way = path_profile(1830.0, 228.0, hill_m=4.0, sender_m=72.0)
    return (
        SectorLine(MILL, 1830.0, 48.0, 118.0, -88.8 + shift_db, 11.2 + shift_db, 7.0, 0.94, way, file, command, 25.0, 6.0, 420.0, 5.2),
        SectorLine(POINT, 3660.0, 336.0, 131.0, -103.0 + shift_db, -3.0 + shift_db, 7.0, 0.33),
    )


def placed(
    row: int, name: str, verdicts: dict[str, Verdict], job: State, *, id: str = "", street: str = "",
    satellite: State | None = None, tv_db: float | None = None, mobile_db: float | None = None, wanted: tuple[str, ...] = (),
    spot_kind: str = "ground", slug: str = "house",
) -> AddressFinding:  # fmt: skip
    """One row that has a place; a service without a state or level has no finding."""
    lat, lon = LAT + 0.0037 * math.sin(row * 1.9), LON + 0.0061 * math.cos(row * 2.3)
    address = Address(row, id or f"T-{row}", name, lat, lon, 5.0, False, wanted)
    cells = {"customer": name, "street": street or name, "call": "-3.5" if row == 2 else "+1 please ring"}
    stem = f"{row:04d}-{slug}"
    judged = any(part is not None for part in (satellite, tv_db, mobile_db))
    dish_m = 5.1 if satellite is SURVEY else 3.0
    spot = Spot(
        spot_kind, lat, lon, 40.0, 40.0, dish_m, 40.0 + dish_m, 1.0 if spot_kind == "roof" else 0.0, 150.0 if spot_kind == "wall" else NAN
    )
    return AddressFinding(
        row=AddressRow(row, cells, address),
        verdicts=verdicts,
        job=job,
        ground_amsl_m=40.0 if judged else NAN,
        surface_amsl_m=46.5 if judged else NAN,
        declination_deg=-2.51,
        satellite=None if satellite is None else satellite_finding(spot, satellite),
        terrestrial=None if tv_db is None else TerrestrialFinding(replace(spot, height_agl_m=10.0, centre_amsl_m=50.0), aims(stem, tv_db)),
        mobile=None
        if mobile_db is None
        else MobileFinding(replace(spot, height_agl_m=6.0, centre_amsl_m=46.0), sector_lines(stem, mobile_db)),
        sheet_file=f"sheets/{stem}.html" if judged else "",
    )


def rejected(row: int, why: str) -> AddressFinding:
    """A row that could not be placed."""
    reject = Reject("addresses.csv", row, "lat_deg", "", why)
    reason = Reason("rejected", {"reason": why, "field": "lat_deg"})
    cells = {"customer": "No Place", "street": "?", "call": ""}
    return AddressFinding(
        AddressRow(row, cells, None, reject), {service: Verdict(service, NOT_JUDGED, (reason,)) for service in SERVICES}, NOT_JUDGED
    )


def three(satellite: Verdict, terrestrial: Verdict, mobile: Verdict) -> dict[str, Verdict]:
    """Verdicts by service."""
    return dict(zip(SERVICES, (satellite, terrestrial, mobile), strict=True))


def rows() -> tuple[AddressFinding, ...]:
    """Nine rows: every state, every service."""
    tv_book = verdict(
        "terrestrial", BOOK, Reason("tv_good", TV), Reason("path_blocked", {"distance_m": 3900.0, "loss_db": 9.4}), chance=0.97
    )
    tv_survey = verdict(
        "terrestrial",
        SURVEY,
        Reason("tv_doubtful", {**TV, "margin_db": 2.0}),
        chance=0.71,
        ask=Reason("ask_neighbours", {"bearing_deg": 276.0}),
    )
    tv_none = verdict("terrestrial", NOT_FEASIBLE, Reason("tv_none", {**TV, "lacking_db": 22.0}), chance=0.01, sure="high")
    sat_book = verdict("satellite", BOOK, CLEAR, sure="high", chance=0.99)
    sat_survey = verdict("satellite", SURVEY, IN_THE_WAY, chance=0.62, ask=ASK_OBSTACLE)
    mobile_book = verdict("mobile", BOOK, Reason("mobile_good", MOBILE), chance=0.96)
    mobile_none = verdict("mobile", NOT_FEASIBLE, Reason("mobile_none", MOBILE), chance=0.02, sure="high")
    mobile_survey = verdict(
        "mobile",
        SURVEY,
        Reason("mobile_doubtful", MOBILE),
        chance=0.58,
        ask=Reason("ask_phone_signal", {"operator": "Corvid", "bearing_deg": 48.0}),
    )

    def not_ordered(service: str) -> Verdict:
        return Verdict(service, NOT_JUDGED, (Reason("not_ordered"),))

    def uncovered(service: str) -> Verdict:
        return Verdict(service, NOT_JUDGED, (Reason("uncovered"),))

    return (
        placed(
            2,
            "Ada Quill",
            three(sat_survey, tv_book, mobile_none),
            NOT_FEASIBLE,
            street="14 Orchard Steep, Tessmouth",
            satellite=SURVEY,
            tv_db=0.0,
            mobile_db=-20.2,
            slug="orchard-steep-14",
        ),
        placed(
            3,
            "Bram Oake",
            three(sat_book, tv_book, mobile_book),
            BOOK,
            street="3 Quay Lane, Tessmouth",
            satellite=BOOK,
            tv_db=0.0,
            mobile_db=0.0,
            spot_kind="roof",
            slug="quay-lane-3",
        ),
        placed(
            4,
            SCRIPT_NAME,
            three(verdict("satellite", NOT_FEASIBLE, BY_GROUND, sure="high", chance=0.0), tv_none, mobile_survey),
            NOT_FEASIBLE,
            satellite=NOT_FEASIBLE,
            tv_db=-36.0,
            mobile_db=-9.0,
            slug="script",
        ),
        placed(
            5,
            FORMULA_NAME,
            three(verdict("satellite", SURVEY, EASILY, sure="low", chance=0.9, ask=ASK_TREES), tv_survey, mobile_book),
            SURVEY,
            street="=1+1",
            satellite=SURVEY,
            tv_db=-12.0,
            mobile_db=0.0,
            slug="hyperlink",
        ),
        placed(
            6,
            "Cato Fenn",
            three(not_ordered("satellite"), tv_book, not_ordered("mobile")),
            BOOK,
            id=LONG_ID,
            wanted=("terrestrial",),
            tv_db=0.0,
            slug="cato-fenn",
        ),
        placed(7, "Far Skerry Light", three(*(uncovered(service) for service in SERVICES)), NOT_JUDGED),
        rejected(8, "latitude is empty"),
        placed(
            9,
            "Ölgasse 7/2",
            three(sat_book, tv_survey, mobile_survey),
            SURVEY,
            satellite=BOOK,
            tv_db=-12.0,
            mobile_db=-9.0,
            spot_kind="wall",
            slug="oelgasse-7-2",
        ),
        placed(
            10,
            "Dora Penhale",
            three(sat_survey, tv_book, mobile_book),
            SURVEY,
            street="2 Ropewalk, Tessmouth",
            satellite=SURVEY,
            tv_db=0.0,
            mobile_db=0.0,
            slug="ropewalk-2",
        ),
    )


def backdrops() -> tuple[Backdrop, ...]:
    """Two small grey pictures of the land, the wide one first, with a corner unknown."""
    row, col = np.mgrid[0:120, 0:160]
    shade = (175 + 55 * np.sin(col / 9.0 + row / 17.0) * np.cos(row / 13.0)).astype(np.uint8)
    alpha = np.where((row > 95) & (col < 30), 0, 255).astype(np.uint8)
    fine = (190 + 50 * np.sin(col / 5.0) * np.cos(row / 6.0)).astype(np.uint8)
    return (
        Backdrop(shade, alpha, LON - 0.32, LAT - 0.18, LON + 0.12, LAT + 0.06, "all terrain"),
        Backdrop(fine, np.full(fine.shape, 255, np.uint8), LON - 0.012, LAT - 0.008, LON + 0.012, LAT + 0.008, "finest terrain"),
    )


def plan(**changes: object) -> Plan:
    """A plan on a date of its own."""
    return Plan(file=Path("/plans/tessmouth/plan.toml"), name="Tessmouth", date=date(2026, 6, 11), **changes)


def findings() -> Findings:
    """The whole run of nine rows."""
    made = rows()
    return Findings(
        plan=plan(),
        addresses=AddressList("addresses.csv", COLUMNS, tuple(row.row for row in made)),
        rows=made,
        satellites=(ORIEL, GANNET),
        transmitters=(HALLOW, CAIRN),
        sectors=(MILL, POINT),
        backdrops=backdrops(),
        rejects=(made[6].row.reject, Reject("transmitters.csv", 4, "erp_dbw", "-5 kW", "a power can't be negative")),
        notes=(Reason("far_terrain", {"known_km": 32.0}), Reason("emitter_unknown_ground", {"name": "Outer Mew"})),
        terrain=({"ground": "town_ground.tif", "surface": "town_surface.tif", "cell": "1.0 m", "flown": "2021-04-03"},),
        made_with={"date": "2026-06-11", "versions": {"siteplan": "0.1", "numpy": "2.0"}, "inputs": {"addresses.csv": "0" * 64}},
    )


def empty_findings() -> Findings:
    """A run that placed nothing and knows no emitters."""
    made = (rejected(2, "latitude is empty"),)
    return Findings(plan=plan(), addresses=AddressList("addresses.csv", COLUMNS, tuple(row.row for row in made)), rows=made)


def many_findings(count: int = 10_000) -> Findings:
    """The same rows over and over, spread over the area, without pictures, as a large run has them."""
    base, made = findings(), []
    ready = [replace_pictures(row) for row in base.rows]
    for number in range(count):
        kind = ready[number % len(ready)]
        row, address = number + 2, kind.row.address
        if address is not None:
            spread = {"lat_deg": LAT + 0.05 * math.sin(row * 12.9898), "lon_deg": LON + 0.09 * math.cos(row * 78.233)}
            address = replace(address, row=row, id=f"T-{row}", name=f"{address.name[:20]} {row}", **spread)
        reject = replace(kind.row.reject, row=row) if kind.row.reject else None
        made.append(replace(kind, row=AddressRow(row, kind.row.cells, address, reject)))
    return replace(base, rows=tuple(made), addresses=AddressList("addresses.csv", COLUMNS, tuple(row.row for row in made)))


def replace_pictures(row: AddressFinding) -> AddressFinding:
    """The same row without skylines, profiles and sheet."""
    return replace(
        row,
        satellite=replace(row.satellite, skyline=None, arc=()) if row.satellite else None,
        terrestrial=TerrestrialFinding(row.terrestrial.spot, tuple(replace(a, profile=None, profile_file="") for a in row.terrestrial.aims))
        if row.terrestrial
        else None,
        mobile=MobileFinding(row.mobile.spot, tuple(replace(a, profile=None, profile_file="") for a in row.mobile.lines))
        if row.mobile
        else None,
        sheet_file="",
    )


def all_files(run: Findings) -> tuple[str, ...]:
    """Names of what a run writes, as the front page is given them."""
    sheets = [row.sheet_file for row in run.rows if row.sheet_file]
    tables = ["verdicts.csv", "verdicts.xlsx", "verdicts.gpkg", "verdicts.geojson", "rejects.csv", "list.html", "map.html", "run.json"]
    profiles = [part.profile_file for row in run.rows for group in ((row.terrestrial.aims if row.terrestrial else ()),
                (row.mobile.lines if row.mobile else ())) for part in group if part.profile_file]  # fmt: skip
    return tuple(sorted([*tables, *sheets, *profiles]))
