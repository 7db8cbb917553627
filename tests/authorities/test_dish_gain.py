"""Dish gain 10 log(efficiency (pi D / lambda)^2) and beamwidth 70 lambda / D, against independently computed rows."""

import numpy as np
import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import MethodRangeError
from siteplan.radio.antenna import dish_beamwidth_deg, dish_gain_dbi

pytestmark = pytest.mark.quick


def test_dish_gain_and_beamwidth():
    rows = rows_of("dish_gain.csv")
    size, mhz, share, gain, width = (
        np.array([number(row[name]) for row in rows])
        for name in ("diameter_m", "f_ghz", "efficiency", "gain_dbi", "hpbw_70lambda_over_d_deg")
    )
    assert len(rows) == 75
    assert dish_gain_dbi(size, 1000.0 * mhz, share) == pytest.approx(gain, abs=1e-4)
    assert dish_beamwidth_deg(size, 1000.0 * mhz) == pytest.approx(width, abs=1e-4)


def test_nonsense():
    assert np.isnan(dish_gain_dbi(0.0, 11700.0))
    with pytest.raises(MethodRangeError, match="efficiency"):
        dish_gain_dbi(0.8, 11700.0, 65.0)
