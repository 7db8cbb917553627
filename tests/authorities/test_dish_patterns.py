"""Rec. ITU-R BO.1213-1 and S.465-6: what a dish takes from beside its axis."""

import math

import numpy as np
import pytest
from authorities.authority_rows import number, rows_of

from siteplan.radio.antenna import bo1213_gain_dbi, s465_gain_dbi

pytestmark = pytest.mark.quick
ROWS = rows_of("dish_patterns.csv")


def top_dbi(ratio):
    return 10.0 * math.log10(0.65 * (math.pi * ratio) ** 2)


@pytest.mark.parametrize("name", ["BO.1213-1", "S.465-6"])
def test_rows(name):
    rows = [row for row in ROWS if row["recommendation"] == name]
    assert len(rows) > 70
    turn, ratio, value = (np.array([number(row[key]) for row in rows]) for key in ("off_axis_deg", "d_over_lambda", "value"))
    top = 10.0 * np.log10(0.65 * (np.pi * ratio) ** 2)
    found = bo1213_gain_dbi(turn, ratio, top) if name == "BO.1213-1" else s465_gain_dbi(turn, ratio)
    assert found == pytest.approx(value, abs=2e-3)
    again = bo1213_gain_dbi(-turn, ratio, top) if name == "BO.1213-1" else s465_gain_dbi(-turn, ratio)
    assert np.array_equal(found, again)


def test_cross_polar_steps_by_hand():
    """0.6 m at 12 GHz, D/lambda 24.017, 35.682 dBi: phi_0 = 2/24.017 x 34.641 = 2.885, phi_1 = 4.604 degrees.

    Gmax - 25 = 10.682 on the axis; Gmax - 17 = 18.682 from 0.44 phi_0 = 1.269; at phi_1 21 - 25 log 4.604 = 4.422; -5 dBi from 10.96.
    """
    ratio = 24.017
    found = bo1213_gain_dbi([0.0, 0.7, 1.3, 2.8, 4.6035, 4.604, 8.0, 20.0, 80.0], ratio, top_dbi(ratio), cross_polar=True)
    assert found == pytest.approx([10.682, 10.682, 18.682, 18.682, 4.42, 4.42, 21 - 25 * math.log10(8.0), -5.0, 0.0], abs=0.02)
    middle = bo1213_gain_dbi(0.345 * 2.885, ratio, top_dbi(ratio), cross_polar=True)
    assert middle == pytest.approx(10.682 + 4.0, abs=0.02)  # half way from 0.25 to 0.44 phi_0


def test_off_the_axis_never_more_than_in_it_and_s465_says_nothing_near_it():
    turn = np.linspace(0.0, 180.0, 3601)
    for ratio in (8.0, 24.0, 60.0, 150.0):
        assert np.all(bo1213_gain_dbi(turn, ratio, top_dbi(ratio)) <= top_dbi(ratio) + 1e-9)
        assert np.all(bo1213_gain_dbi(turn, ratio, top_dbi(ratio), cross_polar=True) <= top_dbi(ratio) + 1e-9)
    assert np.isnan(s465_gain_dbi([0.0, 2.4], 24.0)).all() and np.isfinite(s465_gain_dbi(2.5, 24.0))
    assert np.isnan(bo1213_gain_dbi(math.nan, 24.0, 35.0)) and np.isnan(s465_gain_dbi(3.0, math.nan))
