"""Change one limit and see one verdict move: what DEVELOPERS.md opens with."""

from hand_ground import judged, layer, plan, wall

from siteplan.records.plan import LimitsTable
from siteplan.records.verdict import State


def test_the_odds_at_which_a_job_is_booked():
    """A wall that leaves between 95 and 99.9 per cent: booked by the default, not by a stricter company."""
    land = [layer(*wall(20, 18.0), error_m=0.4)]
    default, _ = judged(land, position_error_m=0.1)
    strict, _ = judged(land, position_error_m=0.1, made=plan(book_probability=0.9999))
    assert LimitsTable().book_probability == 0.95
    assert 0.95 <= default.probability < 0.9999
    assert (default.state, strict.state) == (State.BOOK, State.SURVEY_FIRST)
