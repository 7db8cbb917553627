"""A margin turned into time: curves whose answer is known, bounds, and hours."""

import numpy as np
import pytest

from siteplan.errors import MethodRangeError
from siteplan.radio.availability import availability, hours_per_year, outage, worst_month_pct

pytestmark = pytest.mark.quick


def curve(pct):
    """10 dB at 0.01 %, 5 dB at 0.1 %, 0 dB at 1 %."""
    return np.maximum(-5.0 * np.log10(pct), 0.0)


@pytest.mark.parametrize(("margin_db", "pct"), [(10.0, 0.01), (5.0, 0.1), (1.0, 10**-0.2), (14.9, 10**-2.98)])
def test_the_percentage_a_margin_lasts_to(margin_db, pct):
    found, bound = outage(curve, margin_db)
    assert bound == "" and found == pytest.approx(pct, rel=2e-5)


def test_bounds():
    assert outage(curve, 15.1) == (0.001, "under")
    assert outage(lambda pct: curve(pct) + 8.0, 7.0) == (5.0, "over")
    assert outage(lambda pct: curve(pct) + 8.0, -3.0) == (5.0, "over")
    assert outage(lambda pct: curve(pct) + 0.1, -3.0)[1] == "over"


def test_a_curve_that_turns_back_counts_its_longest_outage():
    def bumpy(pct):
        return np.where((pct > 0.5) & (pct < 1.0), 20.0, curve(pct))

    found, bound = outage(bumpy, 10.0)
    assert bound == "" and found == pytest.approx(1.0, rel=1e-3)


def test_the_unknown_is_no_answer():
    for needed, margin in ((curve, float("nan")), (lambda pct: np.full_like(pct, np.nan), 5.0)):
        with pytest.raises(MethodRangeError, match="unknown"):
            outage(needed, margin)


def test_in_hours():
    """0.01 % of 365.25 days is 0.8766 h; 0.05 % some four hours."""
    found = availability(curve, 10.0)
    assert found.outage_pct == pytest.approx(0.01, rel=2e-5)
    assert found.available_pct == pytest.approx(99.99, rel=1e-7)
    assert found.hours_per_year == pytest.approx(0.8766, rel=1e-4)
    assert found.worst_month_pct == pytest.approx(worst_month_pct(found.outage_pct))
    assert found.hours_worst_month == pytest.approx(730.5 * 0.0518615 / 100, rel=1e-4)
    assert hours_per_year(100.0) == 8766.0
