"""Units: ways there and back, sums of powers, and that what is unknown stays unknown."""

import math

import numpy as np
import pytest

from siteplan import units

pytestmark = pytest.mark.quick
LEVELS = np.array([-120.0, -3.0, 0.0, 47.5, 130.0])


@pytest.mark.parametrize(
    ("there", "back"),
    [
        (units.dbm_to_dbuv, units.dbuv_to_dbm),
        (units.dbw_to_dbm, units.dbm_to_dbw),
        (units.dbd_to_dbi, units.dbi_to_dbd),
        (units.erp_to_eirp, units.eirp_to_erp),
        (units.db_to_ratio, units.ratio_to_db),
        (units.dbw_to_kw, units.kw_to_dbw),
    ],
)
def test_there_and_back(there, back):
    assert back(there(LEVELS)) == pytest.approx(LEVELS, abs=1e-9)
    assert np.isnan(there(np.nan)) and np.isnan(back(np.nan))


def test_anchors():
    assert units.dbm_to_dbuv(0.0) == pytest.approx(108.7506, abs=1e-4)
    assert units.dbm_to_dbuv(0.0, 50.0) == pytest.approx(106.9897, abs=1e-4)
    assert units.kw_to_dbw(1.0) == 30.0
    assert units.dbw_to_kw(17.0) == pytest.approx(0.0501187, abs=1e-7)
    assert units.erp_to_eirp(30.0) == pytest.approx(32.15)
    assert units.wavelength_m(300.0) == pytest.approx(0.999308, abs=1e-6)


def test_what_has_no_logarithm_is_unknown():
    for value in (units.kw_to_dbw(0.0), units.kw_to_dbw(-3.0), units.wavelength_m(0.0), units.wavelength_m(-5.0), units.ratio_to_db(-1.0)):
        assert math.isnan(value)
    assert np.isnan(units.free_space_loss_db([0.0, -1.0, np.nan], 500.0)).all()
    assert np.isfinite(units.free_space_loss_db([1.0, 1e6], 500.0)).all()


def test_power_sums():
    assert units.power_sum_db([30.0, 30.0]) == pytest.approx(33.0103, abs=1e-4)
    assert units.power_sum_db([-5000.0, -5000.0]) == pytest.approx(-4996.9897, abs=1e-4)  # no underflow
    assert units.power_sum_db([10.0, -np.inf]) == pytest.approx(10.0)
    assert units.power_sum_db([-np.inf, -np.inf]) == -np.inf
    assert units.power_sum_db([]) == -np.inf
    assert np.isnan(units.power_sum_db([10.0, np.nan]))
    assert units.power_sum_db(np.full((3, 4), 7.0), axis=0) == pytest.approx(np.full(4, 7.0 + 10 * math.log10(3)))


def test_shapes_broadcast():
    assert units.field_strength_to_terminal_dbuv(np.full((2, 1), 60.0), np.array([470.0, 600.0, 690.0]), 12.0).shape == (2, 3)
    assert units.field_strength_dbuv_per_m(np.full(5, 120.0), 500.0, 2.0).shape == (5,)
