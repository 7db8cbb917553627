"""The round Earth, worked on paper."""

import math

import numpy as np
import pytest

from siteplan.errors import MethodRangeError
from siteplan.geodesy import earth

pytestmark = pytest.mark.quick


def test_effective_radius():
    # 157 / (157 - 45) = 1.401786, 6371 km x 1.401786 = 8930.78 km, the ae of the published P.1812 cases
    assert earth.effective_radius_m(45.0) == pytest.approx(8_930_776.786, abs=0.001)
    assert earth.k_factor(0.0) == 1.0
    assert earth.k_factor(157.0 / 4) == pytest.approx(4 / 3)


@pytest.mark.parametrize("delta_n", [-1.0, 157.0, 400.0, float("nan")])
def test_no_effective_radius(delta_n):
    with pytest.raises(MethodRangeError, match="delta_n"):
        earth.effective_radius_m(delta_n)


def test_bulge_and_drop():
    # 50 km path, middle: 25 km x 25 km / (2 x 6371 km) = 49.051 m
    assert earth.bulge_m(25e3, 50e3) == pytest.approx(49.051, abs=0.001)
    assert earth.bulge_m([0.0, 50e3], 50e3).tolist() == [0.0, 0.0]
    assert earth.drop_m(10e3) == pytest.approx(7.848, abs=0.001)
    assert earth.drop_m(45e3) == pytest.approx(6_371_000 * (1 / math.cos(45e3 / 6_371_000) - 1), abs=0.01)


def test_elevation_over_the_sphere():
    # level ground at 10 km lies half the central angle below the level plane: 10/6371/2 rad = 0.04497 deg
    assert earth.elevation_deg(eye_amsl_m=0.0, target_amsl_m=0.0, distance_m=10e3) == pytest.approx(-0.044966, abs=1e-5)
    # 100 m higher at 1 km: atan(0.1) less half of 1/6371 rad
    assert earth.elevation_deg(eye_amsl_m=50.0, target_amsl_m=150.0, distance_m=1e3) == pytest.approx(
        math.degrees(math.atan(0.1) - 0.5e3 / 6_371_000), abs=1e-4
    )
    # the eye's own sea horizon: cos c = R / (R + h)
    c = math.acos(6_371_000 / 6_371_100)
    found = earth.elevation_deg(eye_amsl_m=100.0, target_amsl_m=0.0, distance_m=c * 6_371_000)
    assert found == pytest.approx(-math.degrees(c), abs=1e-9)
    assert np.isnan(earth.elevation_deg(eye_amsl_m=0.0, target_amsl_m=[5.0, np.nan], distance_m=[0.0, 10.0])).all()


def test_distances_and_bearings():
    assert earth.earth_distance_m(lat1_deg=0, lon1_deg=0, lat2_deg=0, lon2_deg=1) == pytest.approx(111_194.93, abs=0.01)
    assert earth.earth_distance_m(lat1_deg=10, lon1_deg=179.9, lat2_deg=10, lon2_deg=-179.9) < 22_000
    assert earth.bearing_difference_deg([350.0, 10.0, 180.0, 0.0], [10.0, 350.0, 0.0, 180.0]).tolist() == [-20.0, 20.0, 180.0, 180.0]
