"""What must hold for look angles at any place: mirror images, turns of the globe, bounds."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.sky.arc import arc_points, visible_stretches
from siteplan.sky.look_angles import look_angles
from siteplan.sky.refraction import refraction_deg

LAT = st.floats(-90, 90)
LON = st.floats(-180, 180)
HEIGHT = st.floats(-1000, 100_000)
seeded = settings(derandomize=True, deadline=None, max_examples=200)


def look(lat, lon, height, orbit):
    return look_angles(lat_deg=lat, lon_deg=lon, height_ell_m=height, orbit_deg=orbit)


def apart(first, second):
    return abs((first - second + 180.0) % 360.0 - 180.0)


@seeded
@given(LAT, LON, HEIGHT, LON)
def test_bounds(lat, lon, height, orbit):
    found = look(lat, lon, height, orbit)
    assert 0.0 <= found.azimuth_deg < 360.0
    assert -90.0 <= found.elevation_deg <= 90.0
    assert -90.0 < found.skew_deg <= 90.0
    assert 35_000.0 < found.range_km < 49_000.0


@seeded
@given(LAT, LON, HEIGHT, LON, st.floats(-360, 360))
def test_turning_the_globe_changes_nothing(lat, lon, height, orbit, turn):
    here, there = look(lat, lon, height, orbit), look(lat, lon + turn, height, orbit + turn)
    assert math.isclose(here.elevation_deg, there.elevation_deg, abs_tol=1e-7)
    assert math.isclose(here.range_km, there.range_km, abs_tol=1e-6)
    if abs(here.elevation_deg) < 89.99:
        assert apart(here.azimuth_deg, there.azimuth_deg) < 1e-6
        assert apart(2 * here.skew_deg, 2 * there.skew_deg) < 1e-5  # half a turn is the same polarisation


@seeded
@given(LAT, LON, HEIGHT, LON)
def test_mirror_images(lat, lon, height, orbit):
    here = look(lat, lon, height, orbit)
    east_west, north_south = look(lat, -lon, height, -orbit), look(-lat, lon, height, orbit)
    assert math.isclose(here.elevation_deg, east_west.elevation_deg, abs_tol=1e-7)
    assert math.isclose(here.elevation_deg, north_south.elevation_deg, abs_tol=1e-7)
    if abs(here.elevation_deg) < 89.99:
        assert apart(here.azimuth_deg, -east_west.azimuth_deg) < 1e-6
        assert apart(here.azimuth_deg, 180.0 - north_south.azimuth_deg) < 1e-6
        assert apart(2 * here.skew_deg, -2 * east_west.skew_deg) < 1e-5
        assert apart(2 * here.skew_deg, -2 * north_south.skew_deg) < 1e-5


@seeded
@given(st.floats(-80, 80), LON, st.floats(0.5, 75), st.floats(0.5, 5))
def test_farther_round_the_orbit_is_lower(lat, lon, away, more):
    assert look(lat, lon, 0.0, lon + away + more).elevation_deg < look(lat, lon, 0.0, lon + away).elevation_deg


@seeded
@given(st.floats(-1000, 100_000), st.lists(st.floats(-90, 90), min_size=2, max_size=30))
def test_refraction_keeps_the_order_of_rays(height, elevations):
    elevation = np.unique(elevations)
    lifted = elevation + refraction_deg(elevation_deg=elevation, height_amsl_m=height)
    # 1e-12: two elevations a rounding apart may come out equal
    assert (np.diff(lifted) >= -1e-12).all() and (np.diff(lifted)[np.diff(elevation) > 1e-6] > 0).all()


@seeded
@given(st.floats(-80, 80), LON, st.floats(1, 20), st.data())
def test_stretches_hold_exactly_the_points_that_are_seen(lat, lon, step, data):
    arc = arc_points(lat_deg=lat, lon_deg=lon, step_deg=step)
    seen = np.array(data.draw(st.lists(st.booleans(), min_size=len(arc.orbit_deg), max_size=len(arc.orbit_deg))), dtype=bool)
    found = visible_stretches(arc.orbit_deg, seen, widest_step_deg=1.01 * step)
    inside = np.zeros(seen.shape, dtype=bool)
    for begin, end in found:
        inside |= np.mod(arc.orbit_deg - begin, 360.0) <= np.mod(end - begin, 360.0) + 1e-9
    assert (inside == seen).all()


@seeded
@given(st.floats(-80, 80).filter(lambda lat: abs(lat) > 1.0), LON, st.floats(0.5, 70))
def test_skew_changes_sign_across_the_meridian(lat, lon, away):
    """North of the equator a satellite in the east leans one way, its mirror in the west the other; on the meridian it stands upright."""
    east, west, south = look(lat, lon, 0.0, lon + away), look(lat, lon, 0.0, lon - away), look(lat, lon, 0.0, lon)
    assert math.isclose(east.skew_deg, -west.skew_deg, abs_tol=1e-6) and abs(south.skew_deg) < 1e-6
    assert (east.skew_deg < 0.0) == (lat > 0.0)
