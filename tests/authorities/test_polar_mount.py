"""Polar mounts against the worked example of a handbook (satellite communications, 4th edition, chapter 3; memory, reproduced).

Its example: latitude 49 north, sphere of 6371 km, orbit 42 164 km. The satellite on the meridian stands at 33.79 degrees, so the tilt is
90 - 33.79 - 49 = 7.21 degrees.
"""

import numpy as np
import pytest

from siteplan.sky.look_angles import look_angles
from siteplan.sky.polar_mount import polar_mount, polar_tilt_deg

pytestmark = pytest.mark.quick


def test_tilt_of_the_handbook():
    assert polar_tilt_deg(lat_deg=49.0) == pytest.approx(7.21, abs=0.01)
    assert polar_tilt_deg(lat_deg=-49.0) == polar_tilt_deg(lat_deg=49.0) and polar_tilt_deg(lat_deg=0.0) == 0.0


@pytest.mark.parametrize("lat_deg", [-60.0, -34.0, 0.0, 10.0, 36.0, 49.0, 65.0])
def test_axis_and_bend_add_up_to_the_satellite_on_the_meridian(lat_deg):
    mount = polar_mount(lat_deg=lat_deg, lon_deg=10.0, orbit_deg=[10.0])
    look = look_angles(lat_deg=lat_deg, lon_deg=10.0, height_ell_m=0.0, orbit_deg=10.0)
    assert mount.motor_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert 90.0 - mount.axis_elevation_deg - mount.declination_deg - mount.miss_deg[0] == pytest.approx(look.elevation_deg, abs=1e-6)
    # the textbook tilt is shared out between axis and dish
    both = mount.axis_elevation_deg - abs(lat_deg) + mount.declination_deg
    assert both == pytest.approx(float(polar_tilt_deg(lat_deg=lat_deg)), abs=0.25)


@pytest.mark.parametrize("lat_deg", [-34.0, 10.0, 36.0, 49.0, 60.0])
def test_the_dish_stays_on_the_arc_over_the_motors_travel(lat_deg):
    orbit = 10.0 + np.array([-60.0, -45.0, -20.0, 0.0, 20.0, 45.0, 60.0])
    mount = polar_mount(lat_deg=lat_deg, lon_deg=10.0, orbit_deg=orbit)
    assert np.abs(mount.miss_deg).max() < 0.02
    assert (np.diff(mount.motor_deg) > 0.0).all()  # east is positive, north and south of the equator
    assert mount.motor_deg == pytest.approx(-mount.motor_deg[::-1], abs=1e-9)


def test_motor_angle_by_plane_geometry():
    """At the equator the axis lies level and the turn is that of the plane: atan(a sin 30 / (a cos 30 - R)) = 35.7 degrees."""
    mount = polar_mount(lat_deg=0.0, lon_deg=0.0, orbit_deg=[30.0])
    by_hand = np.degrees(np.arctan2(42_164.0 * 0.5, 42_164.0 * np.sqrt(0.75) - 6_378.137))
    assert mount.motor_deg[0] == pytest.approx(by_hand, abs=1e-6) and by_hand == pytest.approx(34.9, abs=0.1)
