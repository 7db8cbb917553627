"""EIRP between contours and off a boresight, worked by hand; the satellite stands at 10 E."""

import math

import numpy as np
import pytest

from siteplan.radio.footprint import beam_eirp_dbw, view_angles_deg
from siteplan.records.beams import Beam, Contour

pytestmark = pytest.mark.quick


def square(value, half, *, closed=True, lat=0.0, lon=10.0):
    """A square of contour about a middle; open: without its eastern side."""
    lats = np.array([-half, half, half, -half, -half]) + lat
    lons = np.array([half, half, -half, -half, half]) + lon
    order = slice(None) if closed else slice(1, None)
    return Contour(value, lats[order], lons[order], closed)


def at(beam, *places, orbit_deg=10.0):
    lat, lon = np.array(places, dtype=float).T
    return beam_eirp_dbw(beam, lat_deg=lat, lon_deg=lon, orbit_deg=orbit_deg).tolist()


def test_between_rings_by_the_distances_to_both():
    """Squares of 2, 4 and 8 degrees at 54, 52 and 48 dBW: 3 degrees out is half way, 5 a quarter of the way from 52 to 48."""
    beam = Beam(contours=(square(48.0, 8.0), square(54.0, 2.0), square(52.0, 4.0)))
    found = at(beam, (0.0, 13.0), (0.0, 7.0), (3.0, 10.0), (5.0, 10.0), (0.0, 10.0), (0.0, 12.0))
    assert found[:5] == pytest.approx([53.0, 53.0, 53.0, 51.0, 54.0], abs=1e-9) and found[5] == pytest.approx(54.0)
    assert all(math.isnan(value) for value in at(beam, (0.0, 18.5), (9.0, 10.0), (-40.0, 150.0)))
    inside, outside = at(beam, (0.0, 17.999), (0.0, 18.001))
    assert inside == pytest.approx(48.0, abs=0.01) and math.isnan(outside)


def test_a_hole_and_two_islands():
    """A ring within a ring of one level is a hole; two islands of a level are both inside."""
    bowl = Beam(contours=(square(50.0, 8.0), square(50.0, 2.0)))
    assert math.isnan(at(bowl, (0.0, 10.0))[0]) and at(bowl, (0.0, 15.0)) == pytest.approx([50.0])
    islands = Beam(contours=(square(50.0, 1.0, lat=5.0), square(50.0, 1.0, lat=-5.0), square(46.0, 9.0)))
    assert at(islands, (5.0, 10.0), (-5.0, 10.0)) == pytest.approx([50.0, 50.0]) and 46.0 < at(islands, (0.0, 10.0))[0] < 50.0


def test_open_lines_tell_inside_from_outside_by_what_they_cross():
    beam = Beam(contours=(square(48.0, 8.0, closed=False), square(54.0, 2.0, closed=False), square(52.0, 4.0, closed=False)))
    assert at(beam, (3.0, 10.0), (5.0, 10.0), (0.0, 7.0), (0.0, 9.0)) == pytest.approx([53.0, 51.0, 53.0, 54.0])
    assert math.isnan(at(beam, (9.0, 10.0))[0]) and math.isnan(at(beam, (0.0, 1.0))[0])


def test_a_footprint_across_the_date_line_is_the_same_footprint():
    there = Beam(contours=tuple(square(value, half, lon=lon) for value, half, lon in ((48.0, 8.0, 179.0), (54.0, 2.0, 179.0))))
    shifted = Beam(contours=tuple(Contour(one.eirp_dbw, one.lat_deg, (one.lon_deg + 180.0) % 360.0 - 180.0) for one in there.contours))
    assert at(there, (0.0, -176.0), orbit_deg=179.0) == pytest.approx(at(shifted, (0.0, 184.0), orbit_deg=179.0))


def test_degrees_of_longitude_are_shorter_in_the_north():
    """At 60 N a degree east is half as far as one north: 1 degree from the western line, 2 from the northern is the same distance."""
    low = Contour(48.0, np.array([50.0, 70.0]), np.array([8.0, 8.0]), False)
    high = Contour(50.0, np.array([61.0, 61.0]), np.array([9.0, 30.0]), False)
    assert at(Beam(contours=(low, high)), (60.0, 10.0)) == pytest.approx([49.0], abs=0.01)


def test_a_round_beam_by_hand():
    """4 degrees wide at -3 dB: 2 degrees off is 3 dB down, 1 degree 0.75; nothing is said 15 dB down and beyond."""
    beam = Beam(peak_eirp_dbw=54.0, boresight_east_deg=0.0, boresight_north_deg=0.0, beamwidth_deg=4.0)
    assert at(beam, (0.0, 10.0)) == pytest.approx([54.0])
    for lat in (10.0, 25.0, -25.0):
        _, up = view_angles_deg(lat_deg=np.array(lat), east_deg=np.array(0.0))
        assert at(beam, (lat, 10.0))[0] == pytest.approx(54.0 - 12.0 * (float(up) / 4.0) ** 2)
    assert math.isnan(at(beam, (60.0, 10.0))[0])
    assert math.isnan(at(beam, (0.0, 100.0))[0])  # behind the Earth's limb


def test_view_angles_by_hand():
    """45 degrees along the equator: atan(6378.1 sin 45 / (42 164 - 6378.1 cos 45)) = 6.830; 45 N is less, the Earth is flat there."""
    right, up = view_angles_deg(lat_deg=np.array([45.0, 0.0]), east_deg=np.array([0.0, 45.0]))
    height, depth = 6378.137 * math.sin(math.radians(45)), 42164.0 - 6378.137 * math.cos(math.radians(45))
    assert right[1] == pytest.approx(math.degrees(math.atan2(height, depth)), abs=1e-6)
    assert right[1] - 0.04 < up[0] < right[1]


def test_an_ellipse_turns_with_its_rotation():
    """Twice as wide along as across: what lies 1 degree out along the long axis is a quarter of the fall across."""
    place = {"boresight_lat_deg": 0.0, "boresight_lon_deg": 10.0, "beamwidth_deg": 4.0, "beamwidth_across_deg": 2.0}
    flat, upright = Beam(peak_eirp_dbw=54.0, **place), Beam(peak_eirp_dbw=54.0, rotation_deg=90.0, **place)
    east, north = (0.0, 15.0), (5.0, 10.0)
    fall = [54.0 - at(beam, spot)[0] for beam in (flat, upright) for spot in (east, north)]
    assert fall[0] == pytest.approx(fall[3], rel=0.02) and fall[1] == pytest.approx(fall[2], rel=0.02)
    assert fall[1] == pytest.approx(4.0 * fall[0], rel=0.03)
    slanted = Beam(peak_eirp_dbw=54.0, rotation_deg=45.0, **place)
    assert at(slanted, (4.0, 14.0))[0] > at(slanted, (4.0, 6.0))[0]  # from east towards north: north-east is the long way
