"""Look angles at the places where formulas break, each with the answer known beforehand."""

import math

import numpy as np
import pytest

from siteplan.errors import InputError
from siteplan.sky.look_angles import look_angles, look_angles_array

pytestmark = pytest.mark.quick


def look(lat, lon, orbit, height=0.0):
    return look_angles(lat_deg=lat, lon_deg=lon, height_ell_m=height, orbit_deg=orbit)


def test_straight_overhead():
    found = look(0.0, 30.0, 30.0)
    assert found.elevation_deg == pytest.approx(90.0) and found.range_km == pytest.approx(42164.0 - 6378.137)
    assert found.azimuth_deg == 0.0 and found.skew_deg == 0.0
    beside = look(1e-5, 30.0, 30.0)  # one metre north of it the dish leans south again
    assert beside.azimuth_deg == pytest.approx(180.0)


@pytest.mark.parametrize("lat", [90.0, -90.0])
def test_at_a_pole_every_satellite_is_equally_below(lat):
    elevations = [look(lat, 0.0, orbit).elevation_deg for orbit in range(-180, 180, 30)]
    assert max(elevations) - min(elevations) < 1e-9 and max(elevations) < -8.0
    assert look(lat, 0.0, 0.0).skew_deg == pytest.approx(0.0, abs=1e-9)


def test_on_the_meridian_the_dish_faces_due_south_or_north():
    for lon in (-180.0, -73.5, 0.0, 179.9):
        assert look(48.0, lon, lon).azimuth_deg == pytest.approx(180.0, abs=1e-9)
        assert look(48.0, lon, lon).skew_deg == pytest.approx(0.0, abs=1e-9)
        south = look(-48.0, lon, lon).azimuth_deg
        assert min(south, 360.0 - south) < 1e-9 and 0.0 <= south < 360.0


def test_on_the_equator_the_polarisation_lies_on_its_side():
    """The Earth axis is level there: 90 degrees whichever way one turns, and never -90."""
    for orbit in (-60.0, -1e-3, 1e-3, 45.0):
        assert look(0.0, 0.0, orbit).skew_deg == pytest.approx(90.0, abs=1e-6)


def test_the_sense_of_skew():
    """In the north a satellite to the east (left of south) leans its polarisation anticlockwise, in the south clockwise."""
    assert look(51.0, 0.0, 28.2).skew_deg < -5 and look(51.0, 0.0, -30.0).skew_deg > 5
    assert look(-34.0, 18.0, 68.5).skew_deg > 5 and look(-34.0, 18.0, -20.0).skew_deg < -5


def test_skew_drawn_with_vectors():
    """The definition, put together from pyproj's Earth-centred coordinates and nothing of the module."""
    import pyproj

    to_ecef = pyproj.Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)
    lat, lon, orbit = 40.0, -3.0, 19.2
    here, above = (np.array(to_ecef.transform(lon, lat, h)) for h in (650.0, 1650.0))
    satellite = 42_164_000.0 * np.array([math.cos(math.radians(orbit)), math.sin(math.radians(orbit)), 0.0])
    ray, up, axis = satellite - here, above - here, np.array([0.0, 0.0, 1.0])
    ray /= np.linalg.norm(ray)
    vertical, field = (v - ray * (v @ ray) for v in (up, axis))
    right = np.cross(ray, up)  # facing the satellite, head up
    angle = math.degrees(math.atan2(field @ right / np.linalg.norm(right), field @ vertical / np.linalg.norm(vertical)))
    assert look(lat, lon, orbit, 650.0).skew_deg == pytest.approx(angle, abs=1e-6)


def test_below_the_horizon_is_an_answer():
    assert look(45.0, 0.0, 179.0).elevation_deg < -40.0
    assert look(0.0, 0.0, 180.0).elevation_deg == pytest.approx(-90.0)


def test_arrays_broadcast_and_keep_the_unknown_unknown():
    found = look_angles_array(lat_deg=[[45.0], [np.nan]], lon_deg=5.0, height_ell_m=0.0, orbit_deg=[19.2, np.nan, -30.0])
    assert found.azimuth_deg.shape == found.skew_deg.shape == found.refraction_deg.shape == (2, 3)
    assert np.isfinite(found.elevation_deg).tolist() == [[True, False, True], [False, False, False]]
    assert np.isnan(found.azimuth_deg).tolist() == np.isnan(found.skew_deg).tolist() == [[False, True, False], [True, True, True]]
    one = look(45.0, 5.0, 19.2)
    assert (one.azimuth_deg, one.skew_deg, one.range_km) == (found.azimuth_deg[0, 0], found.skew_deg[0, 0], found.range_km[0, 0])


@pytest.mark.parametrize("lat", [90.01, -91.0, float("nan"), float("inf")])
def test_no_place(lat):
    with pytest.raises(InputError, match="Allowed: latitude"):
        look(lat, 0.0, 0.0)
