"""Which building a point lies on, and its walls."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, affinity, box, transform

from siteplan.geodesy.projection import geod_forward, geod_inverse
from siteplan.records.ground import Footprints
from siteplan.terrain.footprints import building_at, facades, metres_per_degree, roof_point

LAT, LON = 62.0, 9.0  # well north, where a degree of longitude is half one of latitude


def on_earth(shape):
    """A shape in metres around LAT, LON as degrees."""
    north, east = metres_per_degree(LAT)
    return transform(shape, lambda at: at / [east, north] + [LON, LAT])


def at(x, y):
    lat, lon = geod_forward(lat_deg=LAT, lon_deg=LON, azimuth_deg=np.degrees(np.arctan2(x, y)), distance_m=np.hypot(x, y))
    return {"lat_deg": float(lat), "lon_deg": float(lon)}


HOUSES = Footprints(tuple(on_earth(shape) for shape in (box(0, 0, 10, 8), box(20, 0, 30, 8), box(24, 2, 28, 6))), np.full(3, np.nan))


def test_metres_per_degree_against_the_geodesic():
    north, east = metres_per_degree(LAT)
    up = geod_inverse(lat1_deg=LAT - 0.005, lon1_deg=LON, lat2_deg=LAT + 0.005, lon2_deg=LON)[2]
    across = geod_inverse(lat1_deg=LAT, lon1_deg=LON, lat2_deg=LAT, lon2_deg=LON + 0.01)[2]
    assert (north, east) == (pytest.approx(100 * float(up), rel=1e-6), pytest.approx(100 * float(across), rel=1e-6))


def test_a_point_on_a_building():
    hit = building_at(HOUSES, **at(3, 3), within_m=15)
    assert (hit.index, hit.inside, hit.distance_m) == (0, True, 0.0)
    assert geod_inverse(lat1_deg=hit.lat_deg, lon1_deg=hit.lon_deg, lat2_deg=at(3, 3)["lat_deg"], lon2_deg=at(3, 3)["lon_deg"])[2] < 0.01


def test_a_point_in_the_street_finds_the_nearer_house():
    hit = building_at(HOUSES, **at(14, 4), within_m=15)
    assert (hit.index, hit.inside) == (0, False) and hit.distance_m == pytest.approx(4.0, abs=0.01)
    near = at(10, 4)
    assert geod_inverse(lat1_deg=hit.lat_deg, lon1_deg=hit.lon_deg, lat2_deg=near["lat_deg"], lon2_deg=near["lon_deg"])[2] < 0.02
    assert building_at(HOUSES, **at(16, 4), within_m=15).index == 1


def test_too_far_none_at_all_and_unknown():
    assert building_at(HOUSES, **at(-15.5, 4), within_m=15) is None
    assert building_at(HOUSES, **at(-14.5, 4), within_m=15).distance_m == pytest.approx(14.5, abs=0.01)
    assert building_at(None, lat_deg=LAT, lon_deg=LON, within_m=15) is None
    assert building_at(Footprints((), np.zeros(0)), lat_deg=LAT, lon_deg=LON, within_m=15) is None
    assert building_at(HOUSES, lat_deg=float("nan"), lon_deg=LON, within_m=15) is None


def test_of_two_that_hold_the_point_the_first_in_the_file_is_taken():
    assert building_at(HOUSES, **at(26, 4), within_m=15).index == 1


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("turn", [0.0, 30.0])
def test_the_walls_of_a_box_look_outwards(turn, reverse):
    shape = affinity.rotate(box(0, 0, 10, 8), -turn)  # clockwise
    shape = Polygon(shape.exterior.coords[::-1]) if reverse else shape
    walls = sorted(facades(on_earth(shape)), key=lambda wall: round(wall.outward_deg, 3))
    expected = sorted((bearing + turn) % 360 for bearing in (0.0, 90.0, 180.0, 270.0))
    assert [wall.outward_deg for wall in walls] == pytest.approx(expected, abs=0.01)
    by = {round((wall.outward_deg - turn) % 360) % 360: wall for wall in walls}
    assert (by[0].length_m, by[90].length_m) == (pytest.approx(10.0, abs=0.01), pytest.approx(8.0, abs=0.01))
    lat, lon = roof_point(on_earth(shape))
    for wall in walls:  # each wall's midpoint lies straight out from the middle of the box
        bearing, _, distance = geod_inverse(lat1_deg=lat, lon1_deg=lon, lat2_deg=wall.lat_deg, lon2_deg=wall.lon_deg)
        assert abs((bearing - wall.outward_deg + 180) % 360 - 180) < 0.1 and distance == pytest.approx(9 - wall.length_m / 2, abs=0.02)


def test_courtyard_walls_look_into_the_courtyard_and_small_bends_are_no_walls():
    ring = Polygon(box(0, 0, 20, 20).exterior, [box(8, 8, 12, 12).exterior])
    walls = facades(on_earth(ring))
    assert len(walls) == 8
    lat, lon = roof_point(on_earth(box(0, 0, 20, 20)))
    inner = [wall for wall in walls if wall.length_m < 5]
    for wall in inner:
        bearing = geod_inverse(lat1_deg=wall.lat_deg, lon1_deg=wall.lon_deg, lat2_deg=lat, lon2_deg=lon)[0]
        assert abs((bearing - wall.outward_deg + 180) % 360 - 180) < 0.5
    bent = Polygon([(0, 0), (5, -0.1), (10, 0), (10, 8), (9.7, 8), (9.7, 8.3), (0, 8.3)])
    assert len(facades(on_earth(bent))) == 4


def test_the_roof_point_of_an_angle_lies_on_the_roof():
    angle = on_earth(Polygon([(0, 0), (20, 0), (20, 3), (3, 3), (3, 20), (0, 20)]))
    lat, lon = roof_point(angle)
    from shapely import Point

    assert not angle.contains(angle.centroid) and angle.contains(Point(lon, lat))
