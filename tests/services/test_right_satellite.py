"""Which carriers prove a satellite, which to tune first, what each other may be taken for. Worked by hand."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.files.lnb_key import lnb_of
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.findings import LinkLine, SatelliteView
from siteplan.records.plan import KitTable, Plan
from siteplan.records.verdict import Reason, State
from siteplan.services.satellite.right_satellite import may_be_taken_for, near, receivable, relative_levels_db, tuned
from siteplan.sky.look_angles import look_angles

pytestmark = pytest.mark.quick
NAN = float("nan")
PLAN = Plan(file=Path("plan.toml"))
PLACE = {"lat_deg": 47.5, "lon_deg": 9.5}


def t(name, mhz, polarisation="V", rate=27_500.0, eirp=50.0, **more):
    return Transponder(name, mhz, polarisation, rate, "DVB-S2", "8PSK", "3/4", eirp, "stated", **more)


def view(satellite):
    look = look_angles(**PLACE, height_ell_m=0.0, orbit_deg=satellite.orbit_deg)
    return SatelliteView(satellite, look, None, State.SURVEY_FIRST, (Reason("sat_no_transponder"),), NAN, NAN, NAN)


def tuning(satellite, plan=PLAN, others=()):
    found = tuned((view(satellite), *map(view, others)), plan, **PLACE, height_m=0.0)
    return found[0].tuning


OURS = t("A", 11_000.0)


@pytest.mark.parametrize(
    ("theirs", "taken"),
    [
        (t("x", 11_005.0), True), (t("x", 11_005.1), False), (t("x", 10_995.0), True), (t("x", 11_000.0, "H"), False),
        (t("x", 11_000.0, "L"), True), (t("x", 11_000.0, rate=28_875.0), True), (t("x", 11_000.0, rate=28_876.0), False),
        (t("x", 11_000.0, rate=26_100.0), False),
    ],
)  # fmt: skip
def test_what_a_meter_may_lock_to(theirs, taken):
    assert may_be_taken_for(OURS, theirs) is taken
    assert may_be_taken_for(theirs, OURS) is taken


def test_left_and_right_are_told_apart():
    assert not may_be_taken_for(t("A", 11_000.0, "L"), t("x", 11_000.0, "R"))
    assert may_be_taken_for(t("A", 11_000.0, "L"), t("x", 11_000.0, "L"))


def test_neighbours_within_fifteen_degrees_also_over_the_date_line():
    others = tuple(Satellite(f"{orbit}", float(orbit)) for orbit in (-166, -165, -164.9, 179.9, 160, 164))
    found = near(Satellite("W", 180.0, neighbours=others))
    assert [other.orbit_deg for other in found] == [-166.0, -165.0]


def test_the_three_to_tune_first():
    ids = {"network_id": 7, "transport_stream_id": 3}
    neighbour = Satellite("N", 20.0, (t("N1", 11_302.0, network_id=8), t("N2", 12_000.0, "H", 22_000.0)))
    wanted = Satellite(
        "W", 25.0,
        (
            t("strong but shared", 11_300.0, eirp=55.0, **ids), t("weak", 11_100.0, eirp=47.0, **ids), t("nameless", 11_150.0, eirp=54.0),
            t("strong", 11_200.0, eirp=52.0, **ids), t("unknown", 11_250.0, eirp=NAN, **ids),
            t("programme", 11_600.0, eirp=49.0, programmes=("P",)),
        ),
        neighbours=(neighbour,),
    )  # fmt: skip
    found = tuning(wanted)
    assert [line.at.transponder.name for line in found.first] == ["strong", "programme", "weak"]
    shared = found.lines[0]
    assert [(friend.satellite, friend.off_mhz, friend.told_by) for friend in shared.friends] == [("N", 2.0, ("network_id",))]
    assert (found.neighbours[0].carriers, found.neighbours[0].alike) == (2, 1)
    assert found.lines[0].level_db == 0.0 and found.lines[1].level_db == pytest.approx(-8.0) and math.isnan(found.lines[4].level_db)


def test_where_all_are_shared_those_that_ids_tell_apart_come_first_and_the_rest_never():
    neighbour = Satellite("N", 20.0, (t("N1", 11_300.0, network_id=8), t("N2", 11_400.0)))
    wanted = Satellite("W", 25.0, (t("A", 11_300.0, network_id=7), t("B", 11_400.0, network_id=7)), neighbours=(neighbour,))
    assert [line.at.transponder.name for line in tuning(wanted).first] == ["A"]


def test_streams_of_one_carrier_are_one_proof():
    wanted = Satellite("W", 25.0, tuple(t(f"S{n}", 11_300.0, stream_id=n, network_id=7) for n in range(4)))
    assert [line.at.transponder.name for line in tuning(wanted).first] == ["S0"]


def test_a_neighbour_that_never_rises_counts_no_more():
    low = Satellite("Low", 91.0, (t("L1", 11_300.0),))  # 81.5 degrees from the place's meridian: below the horizon of 47.5 N
    wanted = Satellite("W", 77.0, (t("A", 11_300.0, network_id=1),), neighbours=(low,))
    found = tuning(wanted)
    assert found.neighbours == () and found.lines[0].friends == ()


def test_where_a_neighbour_stands_as_seen_from_the_dish():
    other = Satellite("East", 19.0)
    found = tuning(Satellite("W", 9.5, (OURS,), neighbours=(other,))).neighbours[0]
    # due south; 9.5 degrees of orbit eastwards stand to the left (towards south-east) and a little lower
    assert found.apart_deg == 9.5 and -14.0 < found.aside_deg < -12.0 and -1.5 < found.higher_deg < 0.0


def test_position_at_the_switch():
    one, two = Satellite("W", 25.0, (OURS,)), Satellite("V", 10.0, (OURS,))
    assert (tuning(one).position, tuning(one).positions) == (0, 1)
    found = tuned((view(one), view(two)), PLAN, **PLACE, height_m=0.0)
    assert [(each.tuning.position, each.tuning.positions) for each in found] == [(1, 2), (2, 2)]


def test_what_the_lnb_does_not_take_is_named_and_the_rest_goes_on():
    plan = PLAN.model_copy(update={"kit": KitTable(lnb=(lnb_of("universal single"),))})
    satellite = Satellite("W", 25.0, (OURS, t("C", 3_900.0), t("L", 11_500.0, "L")))
    (kept,), lost = receivable((satellite,), plan)
    assert [one.name for one in kept.transponders] == ["A"]
    assert [(reason.code, reason.values["transponder"]) for reason in lost] == [("lnb_band", "C"), ("lnb_polarisation", "L")]
    assert [reason.code for reason in tuning(satellite, plan).notes] == ["lnb_band", "lnb_polarisation"]


def test_levels_come_from_the_links_where_all_are_known():
    # C is C/N times the symbol rate: half the rate at the same C/N is 3 dB less power
    a, b = t("a", 11_000.0, rate=20_000.0), t("b", 11_100.0, rate=10_000.0)
    links = tuple(LinkLine(one, 0.8, 12.0, 7.0, 5.0, 40.0) for one in (a, b))
    assert relative_levels_db([a, b], links) == pytest.approx([0.0, -3.0103], abs=1e-3)
    assert relative_levels_db([a, replace(b, eirp_dbw=47.0)], links[:1]) == pytest.approx([0.0, -3.0])
