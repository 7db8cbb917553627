"""Verdict arithmetic: probabilities and which state wins."""

import math

import numpy as np
import pytest

from siteplan.records.plan import LimitsTable
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.shared.chance import POSITION_POINTS, POSITION_WEIGHTS, job_state, normal_cdf, state_from_chance, worst

pytestmark = pytest.mark.quick


def test_normal_cdf_against_published_table():
    # Abramowitz and Stegun (1964), table 26.1: P(0.5), P(1), P(1.645), P(2), P(3)
    table = {0.5: 0.6914624613, 1.0: 0.8413447461, 2.0: 0.9772498681, 3.0: 0.9986501020}
    for z, p in table.items():
        assert normal_cdf(z) == pytest.approx(p, abs=1e-9)
        assert normal_cdf(-z) == pytest.approx(1 - p, abs=1e-9)
    assert math.isnan(normal_cdf(math.nan))


def test_position_points_stand_for_a_round_gaussian():
    radius, weight = np.hypot(*POSITION_POINTS.T), POSITION_WEIGHTS
    assert weight.sum() == pytest.approx(1.0) and (weight > 0.0).all()
    assert np.allclose(weight @ POSITION_POINTS, 0.0, atol=1e-12)
    # the weights of the rings are shares of the Rayleigh distribution between the rings' bounds
    for bound, inside in ((0.35, 1), (1.0, 13), (1.6, 25), (2.2, 37)):
        assert weight[:inside].sum() == pytest.approx(1 - math.exp(-bound * bound / 2))
        assert radius[inside - 1] < bound < radius[inside]
    # the variance a coordinate is 1 but for the centre's own share (0.01); the odds beyond a straight wall 1, 1.645 and 2 sigma off are
    # those of the normal distribution to within half of what a straight wall through a ring may cut off or leave
    assert weight @ POSITION_POINTS**2 == pytest.approx(1.0, abs=0.01)
    for sigmas, odds in ((1.0, 0.1587), (1.645, 0.05), (2.0, 0.0228)):
        for turn in np.radians(np.arange(0.0, 360.0, 15.0)):
            beyond = weight[POSITION_POINTS @ np.array([math.sin(turn), math.cos(turn)]) > sigmas].sum()
            assert beyond == pytest.approx(odds, abs=0.05)


@pytest.mark.parametrize(
    ("works", "possible", "state"),
    [
        (0.95, 1.0, State.BOOK),
        (0.949, 1.0, State.SURVEY_FIRST),
        (0.0, 0.051, State.SURVEY_FIRST),
        (0.0, 0.05, State.NOT_FEASIBLE),
        (math.nan, math.nan, State.SURVEY_FIRST),
    ],
)
def test_state_from_chance(works, possible, state):
    assert state_from_chance(works, possible, LimitsTable()) is state


def test_worst_of_several():
    assert worst([State.BOOK, State.SURVEY_FIRST]) is State.SURVEY_FIRST
    assert worst([State.BOOK, State.NOT_FEASIBLE, State.NOT_JUDGED]) is State.NOT_FEASIBLE
    assert worst([State.BOOK, State.NOT_JUDGED, State.SURVEY_FIRST]) is State.NOT_JUDGED
    assert worst([]) is State.NOT_JUDGED


def _verdicts(satellite, terrestrial, mobile):
    states = {"satellite": satellite, "terrestrial": terrestrial, "mobile": mobile}
    return {service: Verdict(service, state, (Reason("rejected", {"reason": "x"}),)) for service, state in states.items()}


def test_job_is_the_worst_of_what_was_ordered_only():
    verdicts = _verdicts(State.BOOK, State.NOT_FEASIBLE, State.SURVEY_FIRST)
    assert job_state(verdicts, ("satellite",)) is State.BOOK
    assert job_state(verdicts, ("satellite", "mobile")) is State.SURVEY_FIRST
    assert job_state(verdicts, ("satellite", "terrestrial")) is State.NOT_FEASIBLE


def test_job_without_an_order_is_what_can_be_sold():
    assert job_state(_verdicts(State.NOT_FEASIBLE, State.SURVEY_FIRST, State.NOT_JUDGED), ()) is State.SURVEY_FIRST
    assert job_state(_verdicts(State.NOT_JUDGED, State.NOT_JUDGED, State.NOT_JUDGED), ()) is State.NOT_JUDGED
