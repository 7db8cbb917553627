"""What must hold of any fade: order in percentage, rain, height and frequency; signs; units of the sum."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.radio import atmosphere
from siteplan.radio.atmosphere import climate_at, fade
from siteplan.services.shared.fading import fade_here, link_availability

pytestmark = pytest.mark.quick
PARTS = ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db")

places = st.fixed_dictionaries(
    {
        "lat_deg": st.floats(-75, 75),
        "lon_deg": st.floats(-180, 180),
        "height_amsl_m": st.floats(0, 4000),
    }
)
links = st.fixed_dictionaries(
    {
        "frequency_mhz": st.floats(3500, 31_000),
        "elevation_deg": st.floats(5, 89),
        "tilt_deg": st.floats(0, 90),
        "dish_m": st.floats(0.4, 3),
    }
)


@given(places, links, st.floats(0.001, 5))
@settings(max_examples=60, deadline=None)
def test_parts_are_numbers_and_the_total_is_not_less_than_any(place, link, time_pct):
    found = fade_here(**place, **link, time_pct=time_pct)
    parts = [getattr(found, part) for part in PARTS]
    assert all(np.isfinite(part) and part >= 0.0 for part in parts)
    assert found.total_db >= max(parts[:4]) - 1e-12
    assert found.total_db <= sum(parts[:4]) + 1e-9
    assert found.absorption_db == pytest.approx(sum(parts[:3]))


@given(places, links)
@settings(max_examples=60, deadline=None)
def test_a_rarer_fade_is_not_shallower_in_clouds_gas_and_scintillation(place, link):
    pct = np.geomspace(0.001, 5, 80)
    found = fade(climate_at(**place), time_pct=pct, **link)
    for part in ("gas_db", "cloud_db", "scintillation_db"):
        assert np.all(np.diff(getattr(found, part)) <= 1e-9), part


@given(places, links, st.floats(0.01, 1), st.floats(5, 120))
@settings(max_examples=60, deadline=None)
def test_more_rain_fades_more(place, link, time_pct, rate):
    less = fade(climate_at(**place), time_pct=time_pct, rain_001_mm_per_h=rate, **link)
    more = fade(climate_at(**place), time_pct=time_pct, rain_001_mm_per_h=rate * 1.2, **link)
    assert more.rain_db >= less.rain_db
    assert more.total_db >= less.total_db


@given(places, links, st.floats(0.01, 5))
@settings(max_examples=60, deadline=None)
def test_a_higher_place_has_less_air_above(place, link, time_pct):
    up = {**place, "height_amsl_m": place["height_amsl_m"] + 300.0}
    low, high = fade(climate_at(**place), time_pct=time_pct, **link), fade(climate_at(**up), time_pct=time_pct, **link)
    assert high.gas_db < low.gas_db
    assert high.cloud_db == low.cloud_db and high.scintillation_db == low.scintillation_db


@given(places, links, st.floats(0.01, 5))
@settings(max_examples=60, deadline=None)
def test_gas_cloud_and_scintillation_fall_with_elevation(place, link, time_pct):
    rising = fade(climate_at(**place), time_pct=time_pct, **{**link, "elevation_deg": np.linspace(1.0, 90.0, 60)})
    for part in ("gas_db", "cloud_db", "scintillation_db"):
        assert np.all(np.diff(getattr(rising, part)) <= 1e-12), part


@given(places, links, st.floats(0.01, 5))
@settings(max_examples=40, deadline=None)
def test_a_larger_dish_scintillates_less(place, link, time_pct):
    small, large = (fade(climate_at(**place), time_pct=time_pct, **{**link, "dish_m": size}) for size in (0.6, 2.4))
    assert large.scintillation_db <= small.scintillation_db
    assert large.rain_db == small.rain_db


@given(places, links, st.floats(1, 12), st.floats(0.1, 6))
@settings(max_examples=40, deadline=None)
def test_more_margin_lasts_longer(place, link, margin_db, more_db):
    less = link_availability(**place, **link, margin_db=margin_db, system_noise_k=120.0)
    more = link_availability(**place, **link, margin_db=margin_db + more_db, system_noise_k=120.0)
    assert more.outage_pct <= less.outage_pct * (1 + 1e-6)
    assert more.worst_month_pct <= less.worst_month_pct * (1 + 1e-6)
    assert 0.0 < less.outage_pct <= less.worst_month_pct <= 100.0


@given(st.floats(0, 60), st.floats(0, 60), st.floats(0, 3))
def test_a_lossier_sky_is_warmer(one, other, clear):
    low, high = sorted((one, other))
    assert atmosphere.noise_rise_k(low, clear) <= atmosphere.noise_rise_k(high, clear) <= 275.0


@given(places, st.integers(-2, 2))
@settings(max_examples=40, deadline=None)
def test_a_longitude_can_be_told_any_way_round(place, turns):
    here = climate_at(**place)
    again = climate_at(**{**place, "lon_deg": place["lon_deg"] + 360.0 * turns})
    for field in ("rain_001_mm_per_h", "rain_height_amsl_m", "temperature_k", "wet_refractivity"):
        assert getattr(again, field) == pytest.approx(getattr(here, field), rel=1e-6, abs=2e-3)
