"""What an orbit file does to the satellites of a plan, and what is said where it does nothing."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.findings import SatelliteView
from siteplan.records.orbit import MeanElements
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, State
from siteplan.services.satellite.budget import budgets, place
from siteplan.services.satellite.wander import wandering
from siteplan.services.shared.orbits import with_orbits
from siteplan.sky.look_angles import look_angles
from siteplan.sky.orbit import day_of

pytestmark = pytest.mark.quick
DAY = date(2026, 6, 11)
NAN = float("nan")
PLACE = {"lat_deg": 47.5, "lon_deg": -9.5}
T = Transponder("T1", 12_500.0, "V", 27_500.0, "DVB-S2", "8PSK", "3/4", 52.0, "stated")


def elements(at_deg, *, name="Petrel-5 W", number=99002, **changes):
    """Elements whose day has its middle at a longitude."""
    one = replace(MeanElements(name, number, datetime(2026, 6, 10, 12), 0.05, 90.0, 0.0001, 0.0, 0.0, 1.00273791), **changes)
    return replace(one, anomaly_deg=(at_deg - day_of(one, DAY).lon_deg) % 360.0)


def said(satellite, *sets, on_date=DAY):
    (found,), notes = with_orbits((satellite,), sets, on_date)
    return found, [note.code for note in notes]


PETREL = Satellite("Petrel 5W", -5.0, (T,))


def test_by_name_and_by_number():
    found, notes = said(PETREL, elements(-5.1))
    assert notes == [] and found.stands_at_deg == pytest.approx(-5.1, abs=0.01) and found.orbit_deg == -5.0
    other = replace(PETREL, name="Elsewhere", catalogue_number=99002)
    assert said(other, elements(-5.1))[0].stands_at_deg == pytest.approx(-5.1, abs=0.01)
    assert said(replace(PETREL, name="Elsewhere"), elements(-5.1)) == (replace(PETREL, name="Elsewhere"), ["orbit_none"])


def test_neighbours_are_placed_without_a_word():
    among = replace(PETREL, neighbours=(Satellite("Smew", -8.0), Satellite("Auk", -9.0)))
    found, notes = said(among, elements(-5.0), elements(-8.1, name="smew", number=99003))
    assert notes == []
    assert found.neighbours[0].stands_at_deg == pytest.approx(-8.1, abs=0.01) and found.neighbours[1].day is None


@pytest.mark.parametrize(
    ("sets", "on_date", "notes", "used"),
    [
        ((elements(-5.5),), DAY, ["orbit_moved"], True),
        ((elements(-10.0),), DAY, ["orbit_elsewhere"], False),
        ((elements(-5.0, epoch=datetime(2026, 5, 1)),), DAY, ["orbit_old"], False),
        ((elements(-5.0, epoch=datetime(2026, 7, 20)),), DAY, ["orbit_old"], False),
        ((elements(-5.0, mean_motion=2.0),), DAY, ["orbit_not_stationary"], False),
        ((elements(-5.0, inclination_deg=28.0),), DAY, ["orbit_not_stationary"], False),
        ((elements(-5.0, mean_motion=1.0029),), DAY, ["orbit_drifts"], True),
        ((elements(-5.0),), None, ["orbit_undated"], False),
        ((elements(-5.0), elements(-9.9, epoch=datetime(2026, 4, 1))), DAY, [], True),
    ],
    ids=["moved", "elsewhere", "old", "of a later day", "twice a day", "tilted", "drifts", "no date", "the nearest in time"],
)
def test_what_is_said(sets, on_date, notes, used):
    found, codes = said(PETREL, *sets, on_date=on_date)
    assert codes == notes and (found.day is not None) is used
    if not used:
        assert found.stands_at_deg == -5.0


def test_no_orbit_file_changes_nothing():
    assert with_orbits((PETREL,), (), None) == ((PETREL,), ())


def view(satellite, state=State.BOOK, dish_m=0.8):
    look = look_angles(**PLACE, height_ell_m=0.0, orbit_deg=satellite.stands_at_deg)
    return SatelliteView(satellite, look, None, state, (Reason("sat_clear"),), 0.99, dish_m, 3.0)


@pytest.mark.parametrize(
    ("inclination_deg", "dish_m", "state", "wide"),
    [
        (0.05, 0.8, State.BOOK, False), (1.3, 0.8, State.SURVEY_FIRST, True),
        (0.5, 0.8, State.BOOK, False), (0.8, 1.2, State.SURVEY_FIRST, True),
    ],
)  # fmt: skip
def test_a_box_wider_than_the_beam_is_not_booked(inclination_deg, dish_m, state, wide):
    found, _ = said(PETREL, elements(-5.0, inclination_deg=inclination_deg))
    seen = wandering(view(found, dish_m=dish_m), Plan(file=Path("p.toml")), **PLACE, height_m=0.0)
    # 70 x 23.983 mm / 0.8 m = 2.0985 degrees; from here, 38,170 km off and seen 7.1 degrees aslant, twice the
    # inclination looks 42164 / 38170 x cos 7.1 wider
    assert seen.beam_deg == pytest.approx(2.0985 * 0.8 / dish_m, abs=1e-3)
    assert seen.box_deg == pytest.approx(2 * inclination_deg * 42164 / 38170 * 0.9924, abs=0.04)  # moon and sun move the inclination
    assert seen.state is state and (seen.reasons[0].code == "sat_box_wide") is wide
    assert len(seen.reasons) == 1 + wide


def test_what_is_not_booked_anyway_keeps_its_reason_first():
    found, _ = said(PETREL, elements(-5.0, inclination_deg=3.0))
    seen = wandering(view(found, State.NOT_FEASIBLE), Plan(file=Path("p.toml")), **PLACE, height_m=0.0)
    assert seen.state is State.NOT_FEASIBLE and [reason.code for reason in seen.reasons] == ["sat_clear", "sat_box_wide"]


def test_the_box_of_the_orbit_goes_into_the_pointing_loss():
    plan = Plan(file=Path("p.toml"))
    still, tilted = PETREL, said(PETREL, elements(-5.0, inclination_deg=0.6))[0]
    loss = [
        next(term.value for term in budgets(one, place(47.5, -9.5, 0.0), plan).link.terms if term.name == "pointing_db")
        for one in (still, tilted)
    ]
    # half boxes 0.1 and 0.6 x 42164 / 38170 = 0.663 degrees: 0.0025 (D / lambda)^2 2/3 (0.663^2 - 0.01)
    more = 0.0025 * (np.array(sorted(plan.kit.dishes_m)) / 0.0239834) ** 2 * 2.0 / 3.0 * (0.6628**2 - 0.01)
    assert np.ravel(loss[0] - loss[1]) == pytest.approx(more, rel=0.05)


def test_its_signal_alone_does_not_rule_it_out():
    found, _ = said(PETREL, elements(-5.0, inclination_deg=3.0))
    weak = replace(view(found, State.NOT_FEASIBLE), reasons=(Reason("sat_signal_weak"),))
    seen = wandering(weak, Plan(file=Path("p.toml")), **PLACE, height_m=0.0)
    assert seen.state is State.SURVEY_FIRST and [reason.code for reason in seen.reasons] == ["sat_box_wide", "sat_signal_weak"]


def test_a_satellite_taken_to_stand_still_wanders_nowhere():
    seen = view(PETREL)
    assert wandering(seen, Plan(file=Path("p.toml")), **PLACE, height_m=0.0) == seen


def test_the_day_counts_from_the_date_not_the_epoch():
    one = elements(-5.0)
    assert day_of(one, DAY + timedelta(days=1)).age_days - day_of(one, DAY).age_days == 1.0
