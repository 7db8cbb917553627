"""One hand-worked address for each verdict of the satellite rule; heights and angles as hand_ground.py says."""

import math

import numpy as np
import pytest
from hand_ground import GROUND_M, SIZE, judged, layer, satellite, wall

from siteplan.records.verdict import State


def code(verdict):
    return verdict.reasons[0].code


def test_elevation_worked_on_paper():
    _, finding = judged([layer(*wall(20, 5))])
    look = finding.views[0].look
    assert look.azimuth_deg == pytest.approx(180.0, abs=0.01)
    # tan(el) = (cos L - R/a) / sin L with geocentric L = 47.66, R/a = 6367/42164 (handbook form)
    assert look.elevation_deg == pytest.approx(
        math.degrees(math.atan2(math.cos(math.radians(47.66)) - 6366.6 / 42164, math.sin(math.radians(47.66)))), abs=0.2
    )


@pytest.mark.quick
def test_open_ground_known_to_the_tree_is_booked():
    verdict, finding = judged([layer(*wall(20, 5))])
    assert verdict.state is State.BOOK and code(verdict) == "sat_clear"
    assert finding.views[0].mount_height_agl_m == pytest.approx(3.0)
    assert finding.views[0].dish_m == 0.6
    assert verdict.probability > 0.99 and verdict.how_sure.level == "high"


def test_a_house_in_the_way_that_a_higher_mount_clears():
    # 17.4 m wall at 20 m: 3 + 20 tan 35 = 17.0 blocks; 0.3 + 0.6 sqrt(0.0272 * 24.4) / cos 35 = 0.96 more must stay free
    verdict, finding = judged([layer(*wall(20, 17.4))], position_error_m=0.1)
    view = finding.views[0]
    assert view.clearance.state == "blocked"
    assert verdict.state is State.BOOK and code(verdict) == "sat_clear_raised"
    # 99 in 100: both heights come from data good to 0.3 m, the mount to 0.1 m, the wall's top to 0.7 of
    # its cell of 1 m evenly spread, and the wall stands anywhere in its cell
    slope = math.tan(math.radians(view.look.elevation_deg))
    sigma_m = math.hypot(0.3, 0.3, 0.1, 0.7 / math.sqrt(12.0), math.hypot(1.0 / math.sqrt(12.0), 0.1) * slope)
    needed = 17.4 + 0.96 + 2.326 * sigma_m - 20 * slope
    assert view.mount_height_agl_m == pytest.approx(needed, abs=0.2)  # steps of 0.1 m; places of the wall are a few, not a bell
    assert finding.spot.height_agl_m == pytest.approx(view.mount_height_agl_m)


def test_a_block_of_flats_is_not_feasible_from_this_point():
    verdict, finding = judged([layer(*wall(20, 40))])
    assert verdict.state is State.NOT_FEASIBLE and code(verdict) == "sat_blocked"
    seen = finding.views[0].clearance
    assert seen.kind == "building"
    assert seen.distance_m == pytest.approx(20.0, abs=1.0)
    assert seen.obstacle_agl_m == pytest.approx(40.0, abs=0.1)
    assert verdict.probability < 0.01


def test_between_the_two_is_survey_first():
    # 6 + 14.0 = 20.0: a wall of 20 m stands just at the line of the highest mount
    verdict, _ = judged([layer(*wall(20, 20))])
    assert verdict.state is State.SURVEY_FIRST
    assert 0.05 < verdict.probability < 0.95 or code(verdict) in ("sat_in_the_way", "sat_partly")
    assert verdict.ask is not None


def test_a_hill_is_proof_even_where_nothing_else_is_known():
    ground = np.full((SIZE, SIZE), GROUND_M)
    ground[SIZE // 2 + 40 :] += 60.0  # a cliff 40 m off: 56 degrees up
    verdict, _ = judged([layer(ground)])
    assert verdict.state is State.NOT_FEASIBLE and code(verdict) == "sat_blocked_ground"
    assert verdict.how_sure.because[0].code == "sure_ground_proof"


@pytest.mark.quick
def test_bare_ground_that_clears_is_never_booked():
    verdict, _ = judged([layer(np.full((SIZE, SIZE), GROUND_M))])
    assert verdict.state is State.SURVEY_FIRST and code(verdict) == "sat_ground_easily"
    assert verdict.ask is not None and verdict.ask.code == "ask_trees"


def test_ground_that_clears_narrowly_ranks_lower():
    ground = np.full((SIZE, SIZE), GROUND_M)
    ground[SIZE // 2 + 60 :] += 40.0  # 31.7 degrees from 3 m up; the ray at 35
    verdict, _ = judged([layer(ground)])
    assert verdict.state is State.SURVEY_FIRST and code(verdict) == "sat_ground_narrowly"


def test_buildings_known_but_trees_not_is_survey_first():
    verdict, _ = judged([layer(*wall(20, 5), trees=False)])
    assert verdict.state is State.SURVEY_FIRST and code(verdict) == "sat_trees_unknown"


def test_growth_of_the_coming_years_counts_and_a_building_does_not_grow():
    # 19 m at the highest mount of 6 m has a metre over what 20 m off needs; five years add 2 m to growth, nothing to a wall
    for kind, state in (("building", State.BOOK), ("growth", State.SURVEY_FIRST)):
        verdict, _ = judged([layer(*wall(20, 17.6, kind))], position_error_m=0.3)
        assert verdict.state is state, kind


def test_growth_since_the_flight_counts_too():
    old = layer(*wall(20, 14.0, "growth"), flown=__import__("datetime").date(2016, 6, 11))
    new = layer(*wall(20, 14.0, "growth"))
    booked, _ = judged([new], position_error_m=0.3)
    doubted, _ = judged([old], position_error_m=0.3)
    assert booked.state is State.BOOK
    assert doubted.probability < booked.probability or doubted.reasons[0].code == "sat_clear_raised"


def test_never_booked_on_an_assumed_signal():
    for source, eirp, reason in (("assumed", 52.0, "sat_signal_unknown"), ("stated", math.nan, "sat_signal_unknown")):
        verdict, finding = judged([layer(*wall(20, 5))], sat=satellite(eirp_dbw=eirp, source=source))
        assert verdict.state is State.SURVEY_FIRST and code(verdict) == reason
        assert math.isfinite(finding.views[0].links[0].needs_eirp_dbw)


def test_weak_signal_wants_a_larger_dish_or_is_not_promised():
    # 6 dB less signal needs twice the diameter: 0.6 m at 52 dBW with a margin to spare, 1.2 m at 46 or so
    _, strong = judged([layer(*wall(20, 5))], sat=satellite(eirp_dbw=52.0))
    _, weak = judged([layer(*wall(20, 5))], sat=satellite(eirp_dbw=47.0))
    assert weak.views[0].dish_m > strong.views[0].dish_m
    verdict, _ = judged([layer(*wall(20, 5))], sat=satellite(eirp_dbw=30.0))
    assert verdict.state is State.NOT_FEASIBLE and code(verdict) == "sat_signal_weak"


def test_a_satellite_below_the_horizon_and_one_too_low():
    verdict, _ = judged([layer(*wall(20, 5))], sat=satellite(orbit_deg=-150.0))
    assert verdict.state is State.NOT_FEASIBLE and code(verdict) == "sat_never_rises"
    verdict, finding = judged([layer(*wall(20, 5))], sat=satellite(orbit_deg=85.5))
    assert 0 < finding.views[0].look.elevation_deg < 5.0
    assert verdict.state is State.NOT_FEASIBLE and code(verdict) == "sat_too_low"


def test_the_worst_of_several_satellites_decides():
    both = (satellite(), satellite(orbit_deg=-150.0, name="Under"))
    verdict, finding = judged([layer(*wall(20, 5))], sat=both)
    assert [view.state for view in finding.views] == [State.BOOK, State.NOT_FEASIBLE]
    assert verdict.state is State.NOT_FEASIBLE


def test_no_satellite_named_gives_the_open_stretch_of_the_arc():
    verdict, finding = judged([layer(*wall(20, 5))], sat=())
    assert verdict.state is State.NOT_JUDGED and code(verdict) == "arc_only"
    (stretch,) = finding.visible_arc
    assert stretch[0] < 15.0 < stretch[1]


def test_a_vague_position_beside_a_wall_can_not_be_booked():
    sure, _ = judged([layer(*wall(30, 20))], position_error_m=1.0)
    vague, _ = judged([layer(*wall(30, 20))], position_error_m=15.0)
    assert sure.state is State.BOOK
    assert vague.state is State.SURVEY_FIRST
    assert vague.probability < sure.probability


def test_partly_becomes_blocked_where_the_loss_exceeds_the_margin():
    """A wall just under the line costs a few dB: a strong signal has them to spare, one below its threshold has not."""
    land = [layer(*wall(20, 16.9))]  # the line passes at 17.0 m, within the dish's own half metre or less
    _, strong = judged(land, sat=satellite(eirp_dbw=52.0), position_error_m=0.1)
    seen, link = strong.views[0].clearance, strong.views[0].links[0]
    assert seen.state == "partly" and seen.loss_db > 1.0 and link.margin_db > 0.0
    _, weak = judged(land, sat=satellite(eirp_dbw=30.0), position_error_m=0.1)
    assert weak.views[0].links[0].margin_db < 0.0
    assert weak.views[0].clearance.state == "blocked"
    _, unknown = judged(land, sat=satellite(eirp_dbw=math.nan), position_error_m=0.1)
    assert unknown.views[0].clearance.state == "partly"
