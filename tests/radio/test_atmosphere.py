"""Fades of places and arrays of places: ranges, noise of a lossy sky, and what a margin must hold."""

import math

import numpy as np
import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio import atmosphere
from siteplan.radio.rain import rain_path, rain_xpd_db

pytestmark = pytest.mark.quick
HERE = {"lat_deg": 47.3, "lon_deg": 8.2, "height_amsl_m": 430.0}
LINK = {"frequency_mhz": 11_700.0, "elevation_deg": 34.0, "time_pct": 0.1}


def sky():
    return atmosphere.climate_at(**HERE)


def test_an_array_is_its_places():
    rng = np.random.default_rng(4)
    lat, lon, height = rng.uniform(-60, 60, (3, 4)), rng.uniform(-180, 180, (3, 4)), rng.uniform(0, 3000, (3, 4)).round(1)
    lat, lon = lat.round(5), lon.round(5)
    elevation, p = rng.uniform(6, 80, (3, 4)), rng.choice([0.003, 0.01, 0.3, 1.0, 2.4, 5.0], (3, 4))
    whole = atmosphere.fade(
        atmosphere.climate(lat_deg=lat, lon_deg=lon, height_amsl_m=height), frequency_mhz=19_700.0, elevation_deg=elevation, time_pct=p
    )
    for at in np.ndindex(lat.shape):
        one = atmosphere.fade(
            atmosphere.climate_at(lat_deg=lat[at], lon_deg=lon[at], height_amsl_m=height[at]),
            frequency_mhz=19_700.0,
            elevation_deg=elevation[at],
            time_pct=p[at],
        )
        for part in ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db", "absorption_db"):
            assert getattr(whole, part)[at] == pytest.approx(getattr(one, part), rel=1e-9, abs=1e-12)


def test_gases_and_clouds_keep_their_one_per_cent_values():
    found = atmosphere.fade(sky(), **{**LINK, "time_pct": np.array([0.001, 0.1, 1.0, 2.0, 5.0])})
    assert found.gas_db[0] == found.gas_db[1] == found.gas_db[2] > found.gas_db[3] > found.gas_db[4]
    assert found.cloud_db[0] == found.cloud_db[1] == found.cloud_db[2] > found.cloud_db[3] > found.cloud_db[4]


@pytest.mark.parametrize("frequency_mhz", [999.0, 55_001.0, float("nan"), -1.0, 12.0])
def test_frequencies_outside(frequency_mhz):
    with pytest.raises(MethodRangeError, match="1000 to 55000 MHz"):
        atmosphere.fade(sky(), **{**LINK, "frequency_mhz": frequency_mhz})


@pytest.mark.parametrize("time_pct", [0.0, 0.0009, 5.1, 50.0, float("nan")])
def test_percentages_outside(time_pct):
    with pytest.raises(MethodRangeError, match="0.001 to 5 %"):
        atmosphere.fade(sky(), **{**LINK, "time_pct": time_pct})


@pytest.mark.parametrize("elevation_deg", [0.9, 0.0, -10.0, 90.5, float("nan")])
def test_elevations_outside(elevation_deg):
    with pytest.raises(MethodRangeError, match="1 to 90 degrees"):
        atmosphere.fade(sky(), **{**LINK, "elevation_deg": elevation_deg})


def test_one_place_outside_is_unknown_and_the_rest_goes_on():
    found = atmosphere.fade(sky(), **{**LINK, "elevation_deg": np.array([-3.0, 20.0, np.nan, 91.0])})
    for part in ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db", "absorption_db"):
        assert list(np.isfinite(getattr(found, part))) == [False, True, False, False], part


def test_what_is_stretched():
    assert atmosphere.extended(frequency_mhz=12_000, elevation_deg=5.0, time_pct=0.01) == ()
    assert atmosphere.extended(frequency_mhz=20_001, elevation_deg=4.9, time_pct=0.005) == (
        "low_elevation",
        "scintillation_frequency",
        "scintillation_time",
    )
    assert atmosphere.extended(frequency_mhz=3_999, elevation_deg=30, time_pct=1) == ("scintillation_frequency",)


def test_no_step_at_five_degrees():
    """Gases and clouds are continued below 5 degrees without a step, and rise more slowly than 1/sin there."""
    found = atmosphere.fade(sky(), **{**LINK, "elevation_deg": np.array([1.0, 3.0, 4.999999, 5.0])})
    for part in (found.gas_db, found.cloud_db):
        assert part[2] == pytest.approx(part[3], rel=1e-5)
        assert part[0] > part[1] > part[2]
        assert part[0] < part[3] * math.sin(math.radians(5)) / math.sin(math.radians(1))


def test_a_latitude_beyond_the_pole():
    with pytest.raises(InputError, match="90 degrees"):
        atmosphere.climate(lat_deg=90.1, lon_deg=0.0, height_amsl_m=0.0)


def test_no_rain_above_the_rain_and_none_where_it_never_rains():
    asked = {"lat_deg": 10.0, "frequency_mhz": 12_000.0, "elevation_deg": 40.0, "time_pct": 0.01}
    assert rain_path(height_amsl_m=5000.0, rain_height_amsl_m=5000.0, rain_001_mm_per_h=80.0, **asked).loss_db == 0.0
    assert rain_path(height_amsl_m=6000.0, rain_height_amsl_m=5000.0, rain_001_mm_per_h=80.0, **asked).loss_db == 0.0
    assert rain_path(height_amsl_m=0.0, rain_height_amsl_m=5000.0, rain_001_mm_per_h=0.0, **asked).loss_db == 0.0
    assert rain_path(height_amsl_m=4990.0, rain_height_amsl_m=5000.0, rain_001_mm_per_h=80.0, **asked).loss_db < 0.1


def test_rain_straight_overhead():
    """At 90 degrees the path has no level part: the reduction factor is 1 and rain is specific attenuation x depth x v."""
    found = rain_path(
        lat_deg=50.0,
        height_amsl_m=0.0,
        rain_height_amsl_m=3000.0,
        rain_001_mm_per_h=30.0,
        frequency_mhz=12_000.0,
        elevation_deg=90.0,
        time_pct=0.01,
    )
    gamma = float(found.specific_db_per_km)
    v = 1.0 / (1.0 + 31.0 * (1.0 - math.exp(-90.0)) * math.sqrt(3.0 * gamma) / 144.0 - 0.45)
    assert found.loss_db == pytest.approx(gamma * 3.0 * v, rel=1e-9)


def test_a_lossy_sky_is_warm():
    """P.618, section 3: T = 275 (1 - 10^(-A/10)) + 2.7 x 10^(-A/10), less the same of clear sky; by hand for 3 dB and 1 dB."""
    assert atmosphere.noise_rise_k(0.0) == 0.0
    assert atmosphere.noise_rise_k(3.0) == pytest.approx(272.3 * (1 - 0.5011872), abs=1e-4)
    assert atmosphere.noise_rise_k(3.0, 1.0) == pytest.approx(272.3 * (0.7943282 - 0.5011872), abs=1e-4)
    assert atmosphere.noise_rise_k(100.0) == pytest.approx(272.3, abs=1e-3)
    assert atmosphere.noise_rise_k(0.5, 1.0) == 0.0
    assert list(atmosphere.noise_rise_k(np.array([0.0, 3.0]))) == [0.0, atmosphere.noise_rise_k(3.0)]


def test_g_over_t_falls():
    """A rise as large as the system's own noise costs 3.01 dB."""
    rise = float(atmosphere.noise_rise_k(3.0))
    assert atmosphere.g_over_t_loss_db(attenuation_db=3.0, system_noise_k=rise) == pytest.approx(10 * math.log10(2))
    assert atmosphere.g_over_t_loss_db(attenuation_db=0.0, system_noise_k=100.0) == 0.0
    for wrong in (0.0, -5.0, float("nan")):
        with pytest.raises(MethodRangeError, match="more than 0"):
            atmosphere.g_over_t_loss_db(attenuation_db=1.0, system_noise_k=wrong)


def test_the_margin_rain_uses_up():
    weather = atmosphere.fade(sky(), **LINK)
    clear = float(atmosphere.clear_sky_gas_db(sky(), frequency_mhz=LINK["frequency_mhz"], elevation_deg=LINK["elevation_deg"]))
    assert 0.03 < clear < weather.gas_db  # half the year drier than 1 % of it
    loss = float(atmosphere.g_over_t_loss_db(attenuation_db=weather.absorption_db, system_noise_k=110.0, clear_sky_db=clear))
    found = atmosphere.rain_margin_db(weather, system_noise_k=110.0, clear_sky_db=clear)
    assert found == pytest.approx(float(weather.total_db) - clear + loss)
    assert weather.absorption_db == pytest.approx(weather.rain_db + weather.gas_db + weather.cloud_db)
    # a noisier receiver minds a warm sky less
    assert atmosphere.rain_margin_db(weather, system_noise_k=400.0, clear_sky_db=clear) < found


def test_cross_polar_ranges():
    asked = {"rain_db": 5.0, "elevation_deg": 30.0, "time_pct": 0.01}
    assert math.isfinite(rain_xpd_db(frequency_mhz=4_000, **asked))
    assert rain_xpd_db(frequency_mhz=5_999.999, **asked) == pytest.approx(rain_xpd_db(frequency_mhz=6_000, **asked), abs=1e-4)
    for frequency_mhz in (3_999, 55_001):
        assert math.isnan(rain_xpd_db(frequency_mhz=frequency_mhz, **asked))
    assert math.isnan(rain_xpd_db(frequency_mhz=12_000, **{**asked, "rain_db": 0.0}))
    assert math.isnan(rain_xpd_db(frequency_mhz=12_000, **{**asked, "elevation_deg": 61.0}))


def test_the_world_map_knows_the_ground():
    assert atmosphere.map_ground_amsl_m(lat_deg=51.5, lon_deg=-0.14) == pytest.approx(31.38, abs=0.05)  # as the P.618 examples
    assert atmosphere.map_ground_amsl_m(lat_deg=28.717, lon_deg=77.3) == pytest.approx(209.4, abs=0.5)
