"""What a device should read of mobile cells at one address, and what goes up for it: two points, named limits, a pair of 50 ohm leads."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.files.equipment import read_parts
from siteplan.records.findings import WayLine
from siteplan.records.readings import PORT, ROUTER
from siteplan.records.verdict import State
from siteplan.services.mobile.ways import kit_list
from siteplan.services.outlets.expectation import expected_of
from siteplan.services.outlets.judge import van_list, work

PARTS, _ = read_parts()
WAY = WayLine(
    way="roof antenna", sold=True, fits=True, site="Mill Lane", bearing_deg=48.0, loss_db=118.0, entry_loss_db=0.0, gain_dbi=9.0,
    cable_loss_db=2.5, rsrp_dbm=-88.8, rsrq_db=-9.0, sinr_db=14.0, interference_dbm=-110.0, noise_dbm=-125.0, sigma_db=4.0,
    sinr_sigma_db=3.0, uplink_margin_db=20.0, probability=0.97, possible=0.99, port_rsrp_dbm=-86.3, port_sinr_db=14.2,
)  # fmt: skip


def house(way=WAY):
    """An address where mobile internet goes up alone, by one way."""
    row = next(one for one in ready.rows() if one.mobile is not None and one.verdicts["mobile"].state is State.BOOK)
    first = replace(row.mobile.lines[0], ways=(way,), way=way.way, wanted_ratio_db=5.0)
    kit = kit_list(way.way, ready.plan().kit)
    alone = {name: row.verdicts[name] if name == "mobile" else replace(row.verdicts[name], state=State.NOT_JUDGED) for name in row.verdicts}
    found = replace(row.mobile, lines=(first,), enough=way.way, kit=kit)
    return replace(row, mobile=found, verdicts=alone, satellite=None, terrestrial=None)


def test_a_roof_antenna_is_read_at_its_port_and_at_the_router():
    """Before the cables 2.5 dB more arrive, so 2.5 dB more are wanted there; a device errs by 3 dB: sqrt(4^2 + 3^2) = 5 dB."""
    router, port = expected_of(house(), plan=ready.plan())
    assert (router.outlet, port.outlet) == (ROUTER, PORT)
    assert port.rsrp_dbm - router.rsrp_dbm == pytest.approx(2.5) and port.min_dbm - router.min_dbm == pytest.approx(2.5)
    assert router.level_sigma_db == pytest.approx(5.0) and router.profile == "mobile, common practice" and router.min_rsrq_db == -15.0


def test_any_other_way_is_read_at_the_device_alone():
    lines = expected_of(house(replace(WAY, way="outdoor unit", port_rsrp_dbm=math.nan)), plan=ready.plan())
    assert [line.outlet for line in lines] == ["outdoor unit"]


def test_a_companys_own_limits_stand_for_those_of_the_verdict():
    table = {"name": "Ours", "rsrp_dbm": -90.0, "sinr_db": 9.0}
    plan = ready.plan()
    plan = type(plan)(**{**dict(plan), "mobile_profiles": [table], "installation": {"mobile_profile": "Ours"}})
    router, port = expected_of(house(), plan=plan)
    assert (router.profile, router.threshold_db) == ("Ours", 9.0) and router.min_dbm == pytest.approx(-90.0)
    assert port.min_dbm == pytest.approx(-87.5)


def test_the_kit_holds_an_equal_pair_of_50_ohm_leads_and_the_van_their_spares():
    """Two cables of 10 m, four connectors, two arresters; 10 % of 20 m and half of four connectors more. Nothing of 75 ohm."""
    found = work(house(), ready.plan(), PARTS, outlet_count=1)
    kit = {line.part: (line.quantity, line.unit) for line in found.kit}
    assert kit["Cable 50 ohm, 7 mm foam"] == (20.0, "m") and kit["Connector 50 ohm"] == (4.0, "")
    assert kit["Surge arrester 50 ohm"] == (2.0, "") and kit["Mobile antenna pair"] == (1.0, "")
    assert "Connector F" not in kit and not any(part.startswith("Cable class") for part in kit)
    van = {line.part: line for line in van_list([found.kit, found.kit], PARTS, ready.plan())}
    assert (van["Cable 50 ohm, 7 mm foam"].quantity, van["Cable 50 ohm, 7 mm foam"].spare) == (40.0, 4.0)
    assert (van["Connector 50 ohm"].quantity, van["Connector 50 ohm"].spare) == (8.0, 4.0)


def test_a_level_may_be_off_by_what_the_meter_errs_too():
    """LNB 3 dB and prediction 1 dB at the port: 3.16 dB; with 1.5 dB of the meter 3.5 dB, and the window four times that."""
    row = next(one for one in ready.rows() if one.satellite is not None and one.verdicts["satellite"].state is State.BOOK)
    plan = ready.plan()
    row = replace(row, outlets=work(row, plan, PARTS, outlet_count=1))
    port = next(one for one in expected_of(row, plan=plan) if one.outlet == PORT and one.service == "satellite")
    assert port.level_sigma_db == pytest.approx(3.5) and port.max_dbuv - port.min_dbuv == pytest.approx(14.0)
    lines = [one for one in expected_of(row, plan=plan) if one.carrier == port.carrier and one.outlet != PORT]
    assert lines and all(line.level_sigma_db >= 3.5 for line in lines)
