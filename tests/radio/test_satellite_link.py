"""A satellite budget worked by hand, and its refusals."""

import math

import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.noise import noise_power_dbw, noise_temperature_k, receiver_noise_dbw
from siteplan.radio.satellite_link import satellite_cn

pytestmark = pytest.mark.quick
KIT = {
    "range_km": 38_500.0,
    "frequency_mhz": 11_700.0,
    "dish_m": 0.6,
    "efficiency": 0.65,
    "lnb_noise_figure_db": 0.7,
    "antenna_noise_k": 45.0,
    "symbol_rate_kbaud": 27_500.0,
}


def test_by_hand():
    """51 dBW - 205.52 dB + 35.46 dBi - 19.81 dB(K) + 228.60 - 74.39 dB(Hz) = 15.34 dB; worked with a pocket calculator."""
    found = satellite_cn(eirp_dbw=51.0, **KIT)
    terms = {term.name: term.value for term in found.terms}
    assert terms["free_space_loss_db"] == pytest.approx(-205.52, abs=0.01)
    assert terms["dish_gain_dbi"] == pytest.approx(35.46, abs=0.01)
    assert terms["noise_temperature_db_k"] == pytest.approx(-10 * math.log10(45.0 + 290.0 * (10**0.07 - 1.0)), abs=1e-9)
    assert terms["bandwidth_db_hz"] == pytest.approx(-74.39, abs=0.01)
    assert found.cn_db == pytest.approx(15.34, abs=0.02)
    assert found.cn_db == pytest.approx(sum(terms.values()))
    assert found.g_over_t_db_per_k == pytest.approx(35.46 - 19.81, abs=0.02)
    assert all(term.source for term in found.terms)


def test_losses_come_off():
    losses = {"gas_db": 0.2, "pointing_db": 0.3, "polarisation_db": 0.01, "obstruction_db": 4.0}
    clear, behind = satellite_cn(eirp_dbw=51.0, **KIT), satellite_cn(eirp_dbw=51.0, **losses, **KIT)
    assert clear.cn_db - behind.cn_db == pytest.approx(4.51)
    with pytest.raises(InputError, match="gas_db"):
        satellite_cn(eirp_dbw=51.0, gas_db=-0.1, **KIT)


def test_unknown_eirp_stays_unknown():
    assert math.isnan(satellite_cn(eirp_dbw=math.nan, **KIT).cn_db)


@pytest.mark.parametrize("name", ["range_km", "frequency_mhz", "dish_m", "symbol_rate_kbaud"])
def test_nonsense(name):
    for value in (0.0, -1.0, math.nan):
        with pytest.raises(InputError, match=name):
            satellite_cn(eirp_dbw=51.0, **(KIT | {name: value}))


def test_noise():
    """3.01 dB is 290 K; 290 K in 1 Hz is -203.98 dBW."""
    assert noise_temperature_k(10.0 * math.log10(2.0)) == pytest.approx(290.0)
    assert noise_power_dbw(bandwidth_hz=1.0, temperature_k=290.0) == pytest.approx(-203.975, abs=0.001)
    assert receiver_noise_dbw(bandwidth_hz=7.61e6, noise_figure_db=7.0) == pytest.approx(-128.161, abs=0.001)
    with pytest.raises(MethodRangeError):
        noise_temperature_k(-0.1)
    with pytest.raises(MethodRangeError):
        noise_power_dbw(bandwidth_hz=0.0, temperature_k=290.0)
    with pytest.raises(InputError, match="without any noise"):
        satellite_cn(eirp_dbw=51.0, **(KIT | {"antenna_noise_k": 0.0, "lnb_noise_figure_db": 0.0}))
