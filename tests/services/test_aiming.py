"""Look angles joined with compass and air."""

import math
from datetime import date

import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.services.shared.aiming import aim, compass_at, horizon_word, magnetic_bearing_deg, rises_on_the_other_side
from siteplan.sky.look_angles import look_angles
from siteplan.sky.magnetic import declination_deg
from siteplan.sky.refraction import refraction_deg

pytestmark = pytest.mark.quick
DAY = date(2026, 11, 25)


def test_joined_from_its_parts():
    found = aim(lat_deg=45.0, lon_deg=-120.0, orbit_deg=-91.0, height_amsl_m=800.0, on_date=DAY)
    parts = look_angles(lat_deg=45.0, lon_deg=-120.0, height_ell_m=800.0, orbit_deg=-91.0)
    assert (found.azimuth_deg, found.elevation_deg, found.skew_deg) == (parts.azimuth_deg, parts.elevation_deg, parts.skew_deg)
    assert found.refraction_deg == refraction_deg(elevation_deg=parts.elevation_deg, height_amsl_m=800.0)
    assert found.declination_deg == declination_deg(lat_deg=45.0, lon_deg=-120.0, height_ell_m=800.0, on_date=DAY)
    assert found.declination_deg > 10 and found.magnetic_azimuth_deg == pytest.approx(found.azimuth_deg - found.declination_deg)


def test_without_a_date_the_compass_is_unknown():
    found = aim(lat_deg=45.0, lon_deg=0.0, orbit_deg=13.0)
    assert math.isnan(found.declination_deg) and math.isnan(found.magnetic_azimuth_deg) and found.refraction_deg > 0


def test_a_declination_known_already_is_taken():
    assert aim(lat_deg=45.0, lon_deg=0.0, orbit_deg=0.0, declination=-7.0).magnetic_azimuth_deg == pytest.approx(187.0)


def test_below_the_horizon_there_is_no_refraction():
    assert math.isnan(aim(lat_deg=45.0, lon_deg=0.0, orbit_deg=120.0).refraction_deg)
    assert aim(lat_deg=81.5, lon_deg=0.0, orbit_deg=0.0).refraction_deg > 0.5  # only the air shows it


def test_horizon_words():
    assert [horizon_word(e) for e in (0.0, 30.0, -0.1, -0.76, -0.77, -20.0)] == ["above", "above", "grazing", "grazing", "below", "below"]
    assert horizon_word(-2.0, 3000.0) == "grazing"


def test_compass_bearings_wrap():
    assert magnetic_bearing_deg(2.0, 5.0) == pytest.approx(357.0)
    assert magnetic_bearing_deg(359.0, -5.0) == pytest.approx(4.0)
    assert magnetic_bearing_deg(5.0, 5.0 + 1e-15) < 360.0
    assert math.isnan(magnetic_bearing_deg(5.0, float("nan")))


def test_the_lost_sign():
    assert rises_on_the_other_side(lat_deg=45.0, lon_deg=-70.0, orbit_deg=100.0)
    assert not rises_on_the_other_side(lat_deg=45.0, lon_deg=-70.0, orbit_deg=-100.0)  # rises as it is
    assert not rises_on_the_other_side(lat_deg=85.0, lon_deg=0.0, orbit_deg=20.0)  # nothing rises


def test_errors_say_what_is_allowed():
    with pytest.raises(MethodRangeError, match="2025"):
        aim(lat_deg=45.0, lon_deg=0.0, orbit_deg=13.0, on_date=date(2031, 1, 1))
    with pytest.raises(MethodRangeError, match="-1000 to 100000 m"):
        aim(lat_deg=45.0, lon_deg=0.0, orbit_deg=13.0, height_amsl_m=-2000.0)
    with pytest.raises(InputError, match="Allowed"):
        aim(lat_deg=100.0, lon_deg=0.0, orbit_deg=13.0)
    assert compass_at(lat_deg=85.8, lon_deg=138.0, height_amsl_m=0.0, on_date=DAY).trust == "useless"
