"""Weather on one link, joined: tilt, margin, availability and areas."""

import math

import numpy as np
import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.availability import worst_month_pct
from siteplan.services.shared import fading
from siteplan.sky.look_angles import look_angles

pytestmark = pytest.mark.quick
HERE = {"lat_deg": 47.3, "lon_deg": 8.2, "height_amsl_m": 430.0}
LINK = {**HERE, "frequency_mhz": 11_700.0, "elevation_deg": 34.0, "tilt_deg": 20.0}


@pytest.mark.parametrize(
    ("polarisation", "skew_deg", "tilt"),
    [("H", 0, 0), ("V", 0, 90), ("h", 17, 17), ("V", 17, 73), ("H", -17, 17), ("V", -17, 73), ("H", 90, 90), ("H", 100, 80), ("L", 30, 45),
     ("R", -80, 45)],
)  # fmt: skip
def test_tilt(polarisation, skew_deg, tilt):
    assert fading.tilt_deg(polarisation, skew_deg) == pytest.approx(tilt, abs=1e-6)


def test_no_such_polarisation():
    with pytest.raises(InputError, match="H, V, L or R"):
        fading.tilt_deg("X", 0.0)


def test_a_horizontal_wave_fades_more():
    one = {**LINK, "time_pct": 0.01}
    assert fading.fade_here(**{**one, "tilt_deg": 0.0}).rain_db > fading.fade_here(**{**one, "tilt_deg": 90.0}).rain_db


def test_margin_is_attenuation_beyond_clear_sky_and_lost_g_over_t():
    found = fading.link_fade(**LINK, time_pct=0.03, system_noise_k=120.0)
    weather = found.weather
    fall = 10 * math.log10(1 + weather.noise_rise_k / 120.0)
    assert found.g_over_t_loss_db == pytest.approx(fall)
    assert found.margin_db == pytest.approx(weather.total_db - weather.clear_sky_gas_db + fall)


@pytest.mark.parametrize("margin_db", [2.0, 4.0, 6.0, 9.0, 13.0])
def test_availability_turns_the_margin_round(margin_db):
    """The fade exceeded for the outage found uses up just the margin there was."""
    found = fading.link_availability(**LINK, margin_db=margin_db, system_noise_k=120.0)
    assert found.bound == ""
    again = fading.link_fade(**LINK, time_pct=found.outage_pct, system_noise_k=120.0)
    assert again.margin_db == pytest.approx(margin_db, abs=1e-4)
    assert found.worst_month_pct == pytest.approx(worst_month_pct(found.outage_pct))
    assert found.available_pct == pytest.approx(100.0 - found.outage_pct)


def test_availability_at_its_bounds():
    assert fading.link_availability(**LINK, margin_db=80.0, system_noise_k=120.0).bound == "under"
    assert fading.link_availability(**LINK, margin_db=0.0, system_noise_k=120.0).bound == "over"


def test_a_plausible_household():
    """A 6 dB margin on Ku band in central Europe is a few hours a year: orientation from practice, not a published value."""
    found = fading.link_availability(**LINK, margin_db=6.0, system_noise_k=110.0)
    assert 1.0 < found.hours_per_year < 10.0


def test_the_height_is_taken_from_a_map_where_none_is_given():
    found = fading.fade_here(**{**LINK, "height_amsl_m": None}, time_pct=0.1)
    assert 300 < found.height_amsl_m < 900
    assert fading.fade_here(**{**LINK, "height_amsl_m": math.nan}, time_pct=0.1) == found


@pytest.mark.parametrize("height", [-500.0, 9500.0])
def test_heights_off_the_ground(height):
    with pytest.raises(InputError, match="height_amsl_m"):
        fading.fade_here(**{**LINK, "height_amsl_m": height}, time_pct=0.1)


def test_where_the_maps_end():
    with pytest.raises(MethodRangeError, match="do not reach latitude 89"):
        fading.fade_here(**{**LINK, "lat_deg": 89.0, "lon_deg": 100.0}, time_pct=0.1)


@pytest.mark.parametrize("polarisation", ["H", "V", "L"])
def test_an_area_is_its_places(polarisation):
    lattice = fading.fades_over_area(
        south_deg=47.0,
        north_deg=47.6,
        west_deg=8.0,
        east_deg=8.8,
        lowest_amsl_m=300.0,
        highest_amsl_m=1200.0,
        orbit_deg=25.0,
        polarisation=polarisation,
        polarisation_offset_deg=3.5,
        frequency_mhz=12_500.0,
        time_pct=0.01,
    )
    rng = np.random.default_rng(5)
    for _ in range(60):
        lat, lon, height = 47.0 + 0.6 * rng.random(), 8.0 + 0.8 * rng.random(), 300.0 + 900.0 * rng.random()
        seen = look_angles(lat_deg=lat, lon_deg=lon, height_ell_m=0.0, orbit_deg=25.0)
        direct = fading.fade_here(
            lat_deg=lat,
            lon_deg=lon,
            height_amsl_m=height,
            frequency_mhz=12_500.0,
            elevation_deg=seen.elevation_deg,
            time_pct=0.01,
            tilt_deg=fading.tilt_deg(polarisation, seen.skew_deg + 3.5),
        )
        found = lattice.at(lat_deg=lat, lon_deg=lon, height_amsl_m=height)
        assert found.total_db == pytest.approx(direct.total_db, abs=0.02)
        assert found.rain_db == pytest.approx(direct.rain_db, abs=0.02)
