"""A hand-made run of six rows: every state, an odd name or two, and nothing calculated."""

from datetime import date
from pathlib import Path

import numpy as np

from siteplan.records.emitters import Multiplex, Satellite, Sector, Transmitter, Transponder
from siteplan.records.findings import (
    AddressFinding,
    Aim,
    Findings,
    LinkLine,
    MobileFinding,
    MultiplexLine,
    SatelliteFinding,
    SatelliteView,
    SectorLine,
    TerrestrialFinding,
)
from siteplan.records.places import Address, AddressList, AddressRow, Reject, Spot
from siteplan.records.plan import Plan
from siteplan.records.results import Clearance, LookAngles, Profile
from siteplan.records.verdict import HowSure, Reason, State, Verdict

NAN = float("nan")
ORIEL = Satellite("Oriel 25E", 25.0)
GANNET = Satellite("Gannet 30W", -30.0)
CARRIER = Transponder("T1", 11000.0, "H", 27500.0, "DVB-S2", "8PSK", "3/4", 50.0, "stated")
MUX = Multiplex("Mux A", 498.0, 8.0, 30.0, "h", "DVB-T2 256QAM 2/3", 24)
WEAK_MUX = Multiplex("Mux B", 666.0, 8.0, 20.0, "h", "DVB-T2 256QAM 2/3", 45)
HALLOW = Transmitter("Hallow Hill", 47.60, -9.50, 120.0, (MUX, WEAK_MUX))
CAIRN = Transmitter("Cairn Tor", 47.30, -9.60, 60.0, (MUX,))
SECTOR = Sector("Corvid", "Mill Lane", "ML-1", 47.51, -9.49, 25.0, "LTE", "800", 806.0, 15.0)

COLUMNS = ("id", "name", "row", "Notes")
NAMES = ("Orchard Steep 14", '=HYPERLINK("x")', "<script>alert(1)</script>", "Ölgasse 7/2", "Far, away", "No place")


def profile() -> Profile:
    """Three points from Hallow Hill southwards."""
    return Profile(
        np.array([0.0, 5000.0, 11119.0]), np.array([200.0, 90.0, 40.0]), np.zeros(3), np.full(3, 4, dtype=np.uint8), 180.0, 47.55, 0.5
    )


def view(satellite: Satellite, state: State, seen: str) -> SatelliteView:
    """One satellite with a tree 34 m south-south-east."""
    return SatelliteView(
        satellite,
        LookAngles(148.62, 22.41, 38800.0, -17.3, -2.51, 151.13, 0.04),
        Clearance(seen, -2.1, -1.4, -0.84, 0.61, 34.2, 61.2, 9.1, 157.0, "growth", 12.3, 5000.0),
        state,
        (Reason("sat_no_transponder", {"satellite": satellite.name}),),
        0.62,
        0.8 if state is State.BOOK else NAN,
        5.1,
        (LinkLine(CARRIER, 0.8, 14.0, 7.9, 6.14, 49.0, ("rain",)), LinkLine(CARRIER, 0.6, 11.5, 7.9, 3.64, 51.0, ("rain",))),
    )


def verdict(service: str, state: State, code: str = "uncovered", **values: object) -> Verdict:
    """One verdict with one reason."""
    because = (Reason("sure_trees_unknown"),)
    return Verdict(service, state, (Reason(code, values),), HowSure("fair", because), 0.62 if state is not State.NOT_JUDGED else NAN)


def placed(row: int, state: State) -> AddressFinding:
    """A row that was placed, judged alike for all services."""
    name = NAMES[row - 2]
    address = Address(row, f"a{row}", name, 47.5 + row / 1000, -9.5, 5.0)
    cells = {"id": f"a{row}", "name": name, "row": "their own", "Notes": "-3.5" if row == 2 else "+1 call"}
    spot = Spot("roof", address.lat_deg, address.lon_deg, 40.0, 46.0, 7.0, 47.0)
    line = MultiplexLine(MUX, 120.0, 70.26, 56.0, 72.4, 14.26, 8.0, 0.96)
    weak = MultiplexLine(WEAK_MUX, 132.0, 52.0, 57.0, 53.0, -5.0, 8.0, 0.27)
    aims = (
        Aim(HALLOW, 11119.0, 0.0, 2.5, (line, weak), profile(), 4100.0, 9.4, f"profiles/{row:04d}-tv-1.csv", "siteplan path x"),
        Aim(CAIRN, 23000.0, 200.0, 202.5, (line,)),
    )
    views = (view(ORIEL, state, "blocked"), view(GANNET, State.BOOK, "clear"))
    mobile = SectorLine(SECTOR, 1500.0, 35.0, 110.0, -88.84, 11.2, 7.0, 0.94)
    judged = state is not State.NOT_JUDGED
    return AddressFinding(
        AddressRow(row, cells, address),
        {service: verdict(service, state, "tv_too_far", limit_m=120_000.0) for service in ("satellite", "terrestrial", "mobile")},
        state,
        40.04,
        46.0,
        -2.513,
        SatelliteFinding(spot, views, None, ((-40.0, 12.5),)) if judged else None,
        TerrestrialFinding(spot, aims) if judged else None,
        MobileFinding(spot, (mobile,)) if judged else None,
        sheet_file=f"sheets/{row:04d}-x.html" if judged else "",
    )


def rejected(row: int) -> AddressFinding:
    """A row without a latitude."""
    reject = Reject("list.csv", row, "lat_deg", "", "latitude is empty")
    cells = {"id": f"a{row}", "name": NAMES[row - 2], "row": "", "Notes": "@home"}
    why = Reason("rejected", {"reason": "latitude is empty"})
    return AddressFinding(
        AddressRow(row, cells, None, reject),
        {service: Verdict(service, State.NOT_JUDGED, (why,)) for service in ("satellite", "terrestrial", "mobile")},
        State.NOT_JUDGED,
    )


def findings() -> Findings:
    """The whole run."""
    rows = (
        placed(2, State.BOOK), placed(3, State.SURVEY_FIRST), placed(4, State.NOT_FEASIBLE), placed(5, State.BOOK),
        placed(6, State.NOT_JUDGED), rejected(7),
    )  # fmt: skip
    addresses = AddressList("list.csv", COLUMNS, tuple(row.row for row in rows))
    rejects = (rows[5].row.reject, Reject("transmitters.csv", 4, "erp_dbw", "-5 kW", "=a power can't be negative"))
    return Findings(
        Plan(file=Path("/plans/plan.toml"), date=date(2026, 6, 11)), addresses, rows, (ORIEL, GANNET), (HALLOW, CAIRN), (SECTOR,),
        rejects=rejects,
    )  # fmt: skip
