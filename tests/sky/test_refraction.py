"""Refraction against the ray integral it was fitted to, worked here from the atmosphere alone."""

import numpy as np
import pytest

from siteplan.errors import MethodRangeError
from siteplan.sky.refraction import horizon_lift_deg, lowest_visible_deg, refraction_deg

pytestmark = pytest.mark.quick
RADIUS_KM = 6370.0


def index(x_km):
    return 1.0 + 0.000315 * np.exp(-0.1361 * x_km)


def bending_deg(apparent_deg, height_km):
    """Rec. ITU-R P.834-7, eqs (4) to (8): the bend of a ray from a height up through the whole atmosphere, apparent_deg >= 0."""
    u = np.linspace(1e-6, 11.0, 40_001)  # x = height + u^2 takes the root out of the level ray's integrand
    x = height_km + u * u
    c = (RADIUS_KM + height_km) * index(height_km) * np.cos(np.radians(apparent_deg))
    tangent = np.sqrt(np.maximum(((RADIUS_KM + x) * index(x)) ** 2 - c * c, 1e-12)) / c
    return np.degrees(np.trapezoid(0.000315 * 0.1361 * np.exp(-0.1361 * x) / index(x) / tangent * 2 * u, u))


@pytest.mark.parametrize("height_km", [0.0, 0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("apparent", [0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 25.0, 45.0, 70.0, 89.0])
def test_against_the_ray_integral(apparent, height_km):
    bend = bending_deg(apparent, height_km)
    # 0.013 deg is what the equation itself differs by from the integral; a tenth of a dish's beam is 0.2 deg
    assert refraction_deg(elevation_deg=apparent - bend, height_amsl_m=1000 * height_km) == pytest.approx(bend, abs=0.013)


def test_down_to_the_lowest_ray():
    """From 3000 m a ray that dips by 1.5 deg turns upward again: twice the bend from its lowest point, less the part above."""
    apparent, height = -1.5, 3.0
    c = (RADIUS_KM + height) * index(height) * np.cos(np.radians(apparent))
    heights = np.linspace(-0.5, 3.0, 350_001)
    lowest = heights[np.argmin(np.abs((RADIUS_KM + heights) * index(heights) - c))]
    bend = 2 * bending_deg(0.0, lowest) - bending_deg(-apparent, height)
    assert refraction_deg(elevation_deg=apparent - bend, height_amsl_m=3000.0) == pytest.approx(bend, abs=0.02)


def test_heights_beyond_the_fit_follow_the_air():
    for height_km in (-0.4, 5.0, 8.8):
        for apparent in (0.5, 3.0, 8.0):
            bend = bending_deg(apparent, height_km)
            found = refraction_deg(elevation_deg=apparent - bend, height_amsl_m=1000 * height_km)
            assert found == pytest.approx(bend, abs=0.03)


def test_no_step_where_the_equation_hands_over():
    for edge, by, side in ((10.0, 1e-6, "elevation"), (3000.0, 1e-3, "height"), (0.0, 1e-3, "height")):
        for other in (0.5, 4.0, 9.0):
            if side == "elevation":
                both = refraction_deg(elevation_deg=[edge - by, edge + by], height_amsl_m=300 * other)
            else:
                both = refraction_deg(elevation_deg=other, height_amsl_m=[edge - by, edge + by])
            assert both[0] == pytest.approx(both[1], abs=1e-6)
    lowest = lowest_visible_deg(height_amsl_m=1500.0)
    both = refraction_deg(elevation_deg=[lowest - 1e-6, lowest + 1e-6], height_amsl_m=1500.0)
    assert both[0] == pytest.approx(both[1], abs=1e-5)


def test_two_rays_never_change_order():
    elevation = np.linspace(-20.0, 90.0, 40_001)
    for height in (-1000.0, 0.0, 700.0, 1500.0, 3000.0, 4800.0, 8800.0, 30_000.0):
        lifted = elevation + refraction_deg(elevation_deg=elevation, height_amsl_m=height)
        assert (np.diff(lifted) > 0).all()
        assert (refraction_deg(elevation_deg=elevation, height_amsl_m=height) >= 0).all()


def test_lowest_visible_ray():
    # the equation's own anchor at the sea: theta_m = 0, tau = 1 / 1.314
    assert lowest_visible_deg(height_amsl_m=0.0) == pytest.approx(-1 / 1.314)
    assert (np.diff(lowest_visible_deg(height_amsl_m=np.linspace(0, 10_000, 101))) < 0).all()
    assert lowest_visible_deg(height_amsl_m=-400.0) == lowest_visible_deg(height_amsl_m=0.0)


def test_the_unknown_and_the_impossible():
    assert np.isnan(refraction_deg(elevation_deg=[np.nan, 3.0], height_amsl_m=0.0)).tolist() == [True, False]
    assert refraction_deg(elevation_deg=90.0) == pytest.approx(0.0, abs=1e-12)
    for height in (-1001.0, 2e5):
        with pytest.raises(MethodRangeError, match="-1000 to 100000 m"):
            refraction_deg(elevation_deg=3.0, height_amsl_m=height)


def test_lift_of_a_hilltop_is_the_effective_earth_radius():
    """The lapse is 42.87 N-units/km at the sea: the lift is what an Earth 157 / (157 - 42.87) times as wide takes off the drop."""
    lapse = 1e6 * 0.000315 * 0.1361
    true_drop, effective_drop = (np.degrees(20e3 / (2 * radius)) for radius in (1e9 / 157.0, 1e9 / (157.0 - lapse)))
    assert horizon_lift_deg(distance_m=20e3) == pytest.approx(true_drop - effective_drop, rel=1e-9)
    assert horizon_lift_deg(distance_m=1000.0) == pytest.approx(0.00123, abs=1e-5)
    assert horizon_lift_deg(distance_m=0.0) == 0.0
