"""Path profiles and lines of sight: hand-worked land, and the points that heights_at gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scenes

from siteplan.errors import InputError
from siteplan.geodesy import projection
from siteplan.records.ground import Layer, Surface
from siteplan.terrain.kernels import walk
from siteplan.terrain.line_of_sight import clearances_m, least_clearance
from siteplan.terrain.profile import ZONE_COASTAL, ZONE_INLAND, ZONE_SEA, profile_between
from siteplan.terrain.surface import heights_at
from siteplan.terrain.view import prepare

pytestmark = pytest.mark.quick


def at(east=0.0, north=0.0):
    lon, lat = projection.to_wgs84(500_000.0 + east, 5_300_000.0 + north, scenes.CRS)
    return float(lat), float(lon)


def between(surface, tx, rx, **how):
    (lat1, lon1), (lat2, lon2) = at(*tx), at(*rx)
    return profile_between(surface, tx_lat_deg=lat1, tx_lon_deg=lon1, rx_lat_deg=lat2, rx_lon_deg=lon2, **how)


def along(found, distance):
    lat, lon = at(-8000, -6000)
    return projection.geod_forward(lat_deg=lat, lon_deg=lon, azimuth_deg=found.bearing_deg, distance_m=distance)


def spiky(half=500, cell=20.0):
    rng = np.random.default_rng(3)
    ground = scenes.square(lambda e, n: 200.0 + 20 * np.sin(e / 400) * np.cos(n / 300), half=half, cell=cell)
    top = scenes.square(lambda e, n: 200.0 + 20 * np.sin(e / 400) * np.cos(n / 300), half=half, cell=cell)
    top.z_m[...] += np.where(rng.random(top.z_m.shape) < 0.1, rng.uniform(3, 25, top.z_m.shape), 0).astype(np.float32)
    return scenes.land(ground, top)


def test_every_point_is_what_the_land_holds_there():
    surface = spiky()
    found = between(prepare(surface), (-8000, -6000), (8500, 7000))
    lat, lon = along(found, found.distance_m)
    ground, top, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    np.testing.assert_allclose(found.ground_amsl_m, ground, atol=0.01)
    np.testing.assert_allclose(found.clutter_m[1:-1], (top - ground)[1:-1], atol=0.02)
    assert found.clutter_m[0] == found.clutter_m[-1] == 0.0
    assert found.complete and found.surface_known == pytest.approx(1.0) and found.ground_known == 1.0
    assert found.distance_m[0] == 0.0 and (np.diff(found.distance_m) > 1e-3).all() and found.distance_m.size <= 1501
    assert found.distance_m[-1] == pytest.approx(math.hypot(16_500, 13_000) / scenes.SCALE, rel=1e-4)
    assert (found.zone == ZONE_INLAND).all()
    assert found.lat_mid_deg == pytest.approx(at(250, 500)[0], abs=1e-3)


def test_full_resolution_at_the_ends_and_the_maximum_between():
    surface = spiky()
    found = between(surface, (-8000, -6000), (8500, 7000))
    path = found.distance_m[-1]
    step = np.diff(found.distance_m)
    middle = 0.5 * (found.distance_m[1:] + found.distance_m[:-1])
    assert step[(middle < 990) | (middle > path - 990)].max() <= 20.0 + 1e-6
    # the stretches between hold the highest surface there is: a walk of 1 m steps finds nothing higher in any 300 m
    dense = np.arange(1100.0, path - 1100.0, 1.0)
    lat, lon = along(found, dense)
    _, top, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    ours = found.ground_amsl_m + found.clutter_m
    for start in np.arange(1200.0, dense[-1] - 500.0, 331.0):
        inside = (dense >= start) & (dense < start + 300.0)
        mine = (found.distance_m >= start - 50) & (found.distance_m < start + 350.0)
        # stretches leave out half a metre at their ends
        assert ours[mine].max() >= top[inside].max() - 0.5


def test_one_row_of_trees_is_not_stepped_over():
    """A 2 m strip 25 m high in the middle of a 6 km path over 2 m cells: bins are 50 m long, the strip is kept."""
    ground = scenes.square(lambda e, n: 100.0 + 0 * e, half=1600, cell=2.0)
    top = scenes.square(lambda e, n: np.where(np.abs(e - 136.0) < 1.5, 125.0, 100.0), half=1600, cell=2.0)
    found = between(scenes.land(ground, top), (-3000, 0), (3000, 0))
    k = int(np.argmax(found.clutter_m))
    assert found.clutter_m[k] > 23.0 and found.distance_m[k] == pytest.approx(3136.0 / scenes.SCALE, abs=2.0)


def test_a_short_path_is_taken_in_full_and_the_same_place_is_refused():
    surface = scenes.street(half=300)
    found = between(surface, (-8, 0), (9, 5))
    assert 15 <= found.distance_m.size <= 25 and found.distance_m[-1] == pytest.approx(math.hypot(17, 5) / scenes.SCALE, abs=0.01)
    assert between(surface, (0, 0), (0.6, 0)).distance_m.size >= 3
    with pytest.raises(InputError, match="same place"):
        between(surface, (0, 0), (0, 0))
    with pytest.raises(InputError, match="latitude"):
        profile_between(surface, tx_lat_deg=95.0, tx_lon_deg=0.0, rx_lat_deg=1.0, rx_lon_deg=2.0)


def test_holes_are_bridged_and_said():
    def with_hole(width):
        return Surface((Layer(scenes.square(lambda e, n: np.where(np.abs(e) < width / 2, np.nan, 100.0 + e / 50), half=250, cell=10.0)),))

    small, big = (between(with_hole(width), (-2000, 0), (2000, 0)) for width in (100.0, 900.0))
    assert small.complete and small.ground_known < 1.0
    assert not big.complete and big.ground_known == pytest.approx(1 - 920 / 4000, abs=0.03)
    for found in (small, big):
        np.testing.assert_allclose(found.ground_amsl_m, 100.0 + (found.distance_m * scenes.SCALE - 2000) / 50, atol=0.3)
    outside = between(scenes.flat(half=100), (-500, 0), (50, 0))
    assert not outside.complete and np.isfinite(outside.ground_amsl_m).all()
    nothing = between(Surface((Layer(scenes.square(lambda e, n: np.full(e.shape, np.nan), half=50)),)), (-20, 0), (20, 0))
    assert not nothing.complete and np.isnan(nothing.ground_amsl_m).all()


def test_sea_coast_and_inland():
    """From 3 km of sea over low land, a hill over 100 m, and low land again: coastal until the hill."""
    def profile_of(level_at_sea):
        def coast(e, n):
            land = np.where(e < 2000, 20.0, np.where(e < 3000, 150.0, 30.0))
            return np.where(e < 0, level_at_sea, land)

        return between(Surface((Layer(scenes.square(coast, half=300, cell=20.0)),)), (-5000, 0), (5000, 0))

    found = profile_of(0.0)
    d = found.distance_m * scenes.SCALE - 5000
    assert (found.zone[d < -30] == ZONE_SEA).all()
    assert (found.zone[(d > 30) & (d < 1970)] == ZONE_COASTAL).all()
    assert (found.zone[d > 2030] == ZONE_INLAND).all()
    assert (profile_of(3.0).zone == ZONE_INLAND).all()


def test_surface_known_is_the_share_of_the_way():
    fine = scenes.street(half=200)
    coarse = scenes.square(lambda e, n: 100.0 + 0 * e, half=200, cell=20.0)
    found = between(Surface((*fine.layers, Layer(coarse))), (-150, 0), (1850, 0))
    assert found.surface_known == pytest.approx(350 / 2000, abs=0.03)


def test_the_walk_uncompiled_is_the_same():
    surface = prepare(spiky(half=20))
    line = np.zeros((2, 5, 8))
    line[:, 0, :2], line[:, 1, :2], line[:, 4, :3] = (3.0, 0.05), (20.0, 0.01), (1, 0, 1e9)
    sizes = np.array([[20.0, 1e4], [20.0, 1e4]])
    starts = np.array([0.0, 10.0, 60.0, 400.0, 5000.0])
    ends = np.array([0.0, 10.0, 300.0, 450.0, 5100.0])
    how = (*surface.arrays, sizes, surface.surface_order, surface.ground_order, line, starts, ends)
    np.testing.assert_array_equal(walk(*how), walk.py_func(*how))


def test_lines_of_sight_on_paper():
    """Over flat land of 10 km the chord sinks by 25e6 / 2R = 1.96 m at its middle; a 12 m wall stands in a line at 10 m."""
    flat = between(scenes.flat(half=300, cell=50.0), (-5000, 0), (5000, 0))
    clear = least_clearance(flat, tx_height_agl_m=10.0, rx_height_agl_m=10.0)
    assert clear.clear and clear.clearance_m == pytest.approx(10 - (flat.distance_m[-1] / 2) ** 2 / 2 / scenes.EARTH_M, abs=0.01)
    assert clear.distance_m == pytest.approx(flat.distance_m[-1] / 2, abs=60)
    bent = least_clearance(flat, tx_height_agl_m=10.0, rx_height_agl_m=10.0, radius_m=scenes.EARTH_M * 4 / 3)
    assert 10 - bent.clearance_m == pytest.approx(0.75 * (10 - clear.clearance_m), rel=1e-3)
    walled = between(scenes.wall(near_m=40.0, height_m=12.0), (0, 0), (0, -90))
    stopped = least_clearance(walled, tx_height_agl_m=10.0, rx_height_agl_m=10.0)
    assert not stopped.clear and stopped.clearance_m == pytest.approx(-2.0, abs=0.01) and stopped.obstacle_amsl_m == pytest.approx(112.0)
    assert least_clearance(walled, tx_height_agl_m=10.0, rx_height_agl_m=10.0, with_clutter=False).clear
    assert clearances_m(walled, tx_height_agl_m=10.0, rx_height_agl_m=10.0)[0] == pytest.approx(10.0)
    with pytest.raises(InputError):
        least_clearance(flat, tx_height_agl_m=float("nan"), rx_height_agl_m=1.0)
