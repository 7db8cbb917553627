"""What stands against the sky: answers worked on paper, and the compiled search against plain numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scenes

from siteplan.errors import InputError
from siteplan.geodesy import kernels, projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, KIND_OBJECT, Grid, Layer, Surface
from siteplan.sky.horizon import elevation_at, heights_here, single_rays, skyline
from siteplan.terrain.view import local_view, prepare

pytestmark = pytest.mark.quick


def view_of(surface, radius_m=20_000.0, lat=scenes.LAT, lon=scenes.LON):
    return local_view(prepare(surface), lat_deg=lat, lon_deg=lon, radius_m=radius_m)


def degrees(rise, distance):
    return math.degrees(math.atan2(rise, distance))


def test_over_flat_land_the_horizon_dips_by_the_curve_of_the_earth():
    """e = -(h + d^2/2R)/d is greatest at d = sqrt(2 R h), where it is -sqrt(2 h / R): 6.18 km and -0.0556 degrees from 3 m."""
    view = view_of(scenes.flat(half=200, cell=50.0))
    for sky in (skyline(view, eye_amsl_m=103.0), single_rays(view, eye_amsl_m=103.0, azimuth_deg=np.arange(0, 360, 7.3))):
        np.testing.assert_allclose(sky.elevation_deg, math.degrees(-math.sqrt(2 * 3 / scenes.EARTH_M)), atol=2e-3)
        assert not sky.inside_obstruction and not sky.data_ended.any()
        assert (sky.kind == KIND_GROUND).all()
    assert sky.distance_m == pytest.approx(math.sqrt(2 * 3 * scenes.EARTH_M), rel=2e-3)
    np.testing.assert_allclose(sky.ground_elevation_deg, sky.elevation_deg)


def test_a_ridge_is_seen_where_it_stands():
    view = view_of(scenes.ridge(rise_m=50.0, at_m=80.0))
    sky = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[0.0, 30.0, 180.0])
    for k, azimuth in enumerate((0.0, 30.0)):
        distance = 80.0 / scenes.SCALE / math.cos(math.radians(azimuth))
        assert sky.distance_m[k] == pytest.approx(distance, abs=0.01)
        assert sky.elevation_deg[k] == pytest.approx(degrees(47.0, distance), abs=0.001)
        assert sky.obstacle_amsl_m[k] == pytest.approx(150.0, abs=0.02)
    assert sky.elevation_deg[2] < 0.0


def test_a_smooth_slope_has_its_paper_answer_and_no_cell_steps():
    """A valley's side that rises by 0.5 is seen at atan(0.5 - 3/d), greatest where it ends, 100 cells out."""
    view = view_of(scenes.valley(slope=0.5))
    sky = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[90.0])
    distance = 100.0 / scenes.SCALE
    assert sky.elevation_deg[0] == pytest.approx(degrees(0.5 * 100.0 - 3.0, distance), abs=0.001)
    assert sky.data_ended[0] and sky.known_to_m[0] == pytest.approx(distance, abs=0.01)


def test_between_cell_centres_the_surface_is_bilinear_and_its_greatest_angle_is_found_between_crossings():
    """Along a diagonal over one high cell z is a parabola: 4 h x (1 - x)-like pieces whose greatest angle lies between crossings."""
    top = scenes.square(lambda e, n: np.where((e == 10) & (n == 10), 130.0, 100.0), half=40)
    view = view_of(scenes.land(scenes.square(lambda e, n: 100.0 + 0 * e, half=40), top))
    azimuth = 47.0
    sky = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[azimuth])
    d = np.linspace(5.0, 25.0, 2_000_001)
    east, north = d * math.sin(math.radians(azimuth)) * scenes.SCALE, d * math.cos(math.radians(azimuth)) * scenes.SCALE
    z = 100.0 + 30.0 * np.clip(1 - np.abs(east - 10), 0, 1) * np.clip(1 - np.abs(north - 10), 0, 1)
    best = int(np.argmax((z - 103.0) / d))
    assert sky.elevation_deg[0] == pytest.approx(degrees(z[best] - 103.0, d[best]), abs=2e-4)
    assert sky.distance_m[0] == pytest.approx(d[best], abs=0.01)


def test_true_north_is_not_grid_north():
    """7 degrees east of the zone's meridian at 60 N grid north lies 6 degrees off; a mast at a true bearing is seen at that bearing."""
    lat, lon = 60.0, 22.0
    azimuth, distance = 40.0, 300.0
    lat2, lon2 = projection.geod_forward(lat_deg=lat, lon_deg=lon, azimuth_deg=azimuth, distance_m=distance)
    x0, y0 = projection.from_wgs84(lon, lat, scenes.CRS)
    x, y = projection.from_wgs84(lon2, lat2, scenes.CRS)

    def mast(e, n):
        return np.where(np.hypot(e - (x - x0), n - (y - y0)) < 1.5, 160.0, 100.0)

    ground = scenes.square(lambda e, n: 100.0 + 0 * e, half=350, lat=lat, lon=lon)
    view = view_of(scenes.land(ground, scenes.square(mast, half=350, lat=lat, lon=lon)), lat=lat, lon=lon)
    assert abs(projection.grid_convergence_deg(lat_deg=lat, lon_deg=lon, crs=scenes.CRS)) > 5.9
    sky = skyline(view, eye_amsl_m=103.0)
    assert abs(sky.azimuth_deg[int(np.argmax(sky.elevation_deg))] - azimuth) <= 0.5
    assert sky.elevation_deg.max() == pytest.approx(degrees(57.0, distance), abs=0.06)
    assert sky.distance_m[int(np.argmax(sky.elevation_deg))] == pytest.approx(distance, abs=2.0)


def test_one_mast_does_not_fall_between_sectors():
    """A single cell 900 m away is an eighth of a sector wide."""
    for east, north in ((700, 600), (-940, 5), (40, -945)):
        ground = scenes.square(lambda e, n: 100.0 + 0 * e, half=950)
        top = scenes.square(lambda e, n: np.where((e == east) & (n == north), 200.0, 100.0), half=950)  # noqa: B023
        view = view_of(scenes.land(ground, top))
        sky = skyline(view, eye_amsl_m=103.0)
        k = int(np.argmax(sky.elevation_deg))
        distance = math.hypot(east, north) / scenes.SCALE
        assert sky.elevation_deg[k] == pytest.approx(degrees(97.0, distance), abs=0.02)
        assert sky.kind[k] == KIND_BUILDING
        bearing = math.degrees(math.atan2(east, north)) % 360
        assert abs((sky.azimuth_deg[k] - bearing + 180) % 360 - 180) <= 0.25 + 0.07  # a far block may count an eighth of a sector outside


def test_in_a_street_the_roofs_stand_at_their_angle_and_own_support_is_left_out():
    view = view_of(scenes.street(width_m=20.0, height_m=15.0))
    sky = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[90.0, 0.0])
    assert sky.elevation_deg[0] == pytest.approx(degrees(12.0, 10.0 / scenes.SCALE), abs=0.01)
    assert sky.kind[0] == KIND_BUILDING and sky.ground_elevation_deg[0] < 0
    on_roof = view_of(scenes.flat(half=30))
    chimney = scenes.square(lambda e, n: np.where((np.abs(e) < 1) & (np.abs(n) < 1), 104.0, 100.0), half=30)
    view = view_of(scenes.land(on_roof.prepared.grids[0], chimney))
    inside = skyline(view, eye_amsl_m=103.0)
    assert inside.inside_obstruction and inside.elevation_deg.max() > 80.0
    held = skyline(view, eye_amsl_m=103.0, own_support_m=1.5)
    assert not held.inside_obstruction and held.elevation_deg.max() < 0.0


def test_growth_lifts_what_grows_and_nothing_else():
    ground = scenes.square(lambda e, n: 100.0 + 0 * e)
    top = scenes.square(lambda e, n: np.where(np.abs(np.abs(n) - 40) < 2, 110.0, 100.0))
    for grows, kind in ((True, KIND_GROWTH), (True, KIND_OBJECT), (False, KIND_BUILDING)):
        kinds = np.where(top.z_m > 105, kind, KIND_GROUND).astype(np.uint8)
        view = view_of(scenes.land(ground, top, kinds))
        for look in (skyline, lambda v, **how: single_rays(v, azimuth_deg=[0.0], **how)):
            now, later = look(view, eye_amsl_m=103.0), look(view, eye_amsl_m=103.0, growth_m=2.0)
            rise = np.tan(np.radians(later.elevation_deg[0])) - np.tan(np.radians(now.elevation_deg[0]))
            assert rise * now.distance_m[0] == pytest.approx(2.0 if grows else 0.0, abs=0.02)
            assert later.ground_elevation_deg[0] == now.ground_elevation_deg[0]


def test_holes_and_edges_fall_through_to_the_next_layer_and_without_one_the_ray_goes_on():
    fine = scenes.square(lambda e, n: np.where((n > 20) & (n < 40), np.nan, 100.0), half=60)
    coarse = scenes.square(lambda e, n: np.where(np.abs(n - 30) < 6, 120.0, np.where(np.abs(n - 150) < 6, 200.0, 100.0)), half=40, cell=5.0)
    both = view_of(Surface((Layer(fine), Layer(coarse))))
    near = single_rays(both, eye_amsl_m=103.0, azimuth_deg=[0.0], radius_m=60.0)
    assert near.obstacle_amsl_m[0] == pytest.approx(120.0) and near.distance_m[0] == pytest.approx(25.0, abs=0.1)
    far = single_rays(both, eye_amsl_m=103.0, azimuth_deg=[0.0])
    # the fine layer's own hole ends at its own last known square; its ridge at 150 m is the coarse layer's
    assert far.elevation_deg[0] == pytest.approx(max(degrees(17.0, 25.0), degrees(97.0, 145.0)), abs=0.1)
    assert far.known_to_m[0] == pytest.approx(200.0, abs=1.0)
    alone = single_rays(view_of(Surface((Layer(fine),))), eye_amsl_m=103.0, azimuth_deg=[0.0])
    assert alone.known_to_m[0] == pytest.approx(60.0 / scenes.SCALE, abs=0.01)
    assert alone.distance_m[0] == pytest.approx(60.0, abs=0.1) and alone.data_ended[0]
    sectors = skyline(both, eye_amsl_m=103.0)
    assert sectors.elevation_deg[0] == pytest.approx(far.elevation_deg[0], abs=0.02)


def test_a_finer_layer_hides_a_coarser_one_also_where_that_is_higher():
    fine = scenes.square(lambda e, n: 100.0 + 0 * e, half=60)
    coarse = scenes.square(lambda e, n: np.where(np.hypot(e, n) < 50, 300.0, 100.0), half=40, cell=5.0)
    for layers in ((Layer(fine), Layer(coarse)),):
        view = view_of(Surface(layers))
        assert skyline(view, eye_amsl_m=103.0).elevation_deg.max() < 0.1
        assert single_rays(view, eye_amsl_m=103.0, azimuth_deg=[12.0, 200.0]).elevation_deg.max() < 0.1


def test_where_nothing_is_known_nothing_is_said():
    void = scenes.square(lambda e, n: np.full(e.shape, np.nan), half=5)
    sky = skyline(view_of(Surface((Layer(void),))), eye_amsl_m=103.0)
    assert np.isnan(sky.elevation_deg).all() and sky.data_ended.all() and (sky.known_to_m == 0).all() and (sky.kind == 0).all()
    west_half = scenes.square(lambda e, n: np.where(e > 0.5, np.nan, 100.0), half=50)
    sky = skyline(view_of(Surface((Layer(west_half),))), eye_amsl_m=103.0)
    assert np.isnan(elevation_at(sky, [90.0]))[0] and np.isfinite(elevation_at(sky, [270.0]))[0]
    assert sky.known_to_m[540] == pytest.approx(50.0 / scenes.SCALE, abs=0.05)


def test_heights_here_and_bad_questions():
    surface = scenes.street()
    view = view_of(surface)
    assert heights_here(view) == (100.0, 100.0)
    assert heights_here(view, east_m=30.0, north_m=-20.0) == pytest.approx((100.0, 115.0))
    assert np.isnan(heights_here(view, east_m=5000.0)).all()
    for bad in (dict(eye_amsl_m=float("nan")), dict(eye_amsl_m=103.0, own_support_m=-1.0), dict(eye_amsl_m=103.0, sector_deg=0.7)):
        with pytest.raises(InputError):
            skyline(view, **bad)
    with pytest.raises(InputError):
        single_rays(view, eye_amsl_m=103.0, azimuth_deg=[float("inf")])


def test_the_compiled_search_is_the_plain_one():
    """The same ray uncompiled, and by brute force in numpy."""
    surface = scenes.rough(11, half=30, cell=1.0)
    view = view_of(surface, radius_m=29.0)
    land, order = view.prepared, view.prepared.surface_order
    line = np.zeros((2, 5, view.coef.shape[2]))
    grid = surface.layers[0].surface
    for azimuth in (0.3, 2.0, 5.5):
        kernels.line_through(view.coef, order, 0.0, 0.0, azimuth, line)
        aim, best, plain = np.array([104.0, -1.0, 0.5 / scenes.EARTH_M]), np.full(6, -1.0), np.full(6, -1.0)
        best[0] = plain[0] = -np.inf
        rest = (view.sizes, order, line, 0.0, np.zeros(3), 0.0, 0.01, 29.0, aim, 0.0, 0.0)
        kernels.march(*land.arrays, *rest, best)
        kernels.march.py_func(*land.arrays, *rest, plain)
        np.testing.assert_array_equal(best, plain)
        d = np.arange(0.01, 29.0, 0.0005)
        col, row = 30 + d * math.sin(azimuth) * scenes.SCALE, 30 - d * math.cos(azimuth) * scenes.SCALE
        i, j = np.floor(col).astype(int), np.floor(row).astype(int)
        u, v, z = col - i, row - j, grid.z_m.astype(float)
        height = (z[j, i] * (1 - u) + z[j, i + 1] * u) * (1 - v) + (z[j + 1, i] * (1 - u) + z[j + 1, i + 1] * u) * v
        brute = ((height - 104.0) / d - d * aim[2]).max()
        assert best[0] == pytest.approx(brute, abs=2e-4) and best[0] >= brute - 1e-6


def test_a_bound_is_never_under_what_it_bounds():
    rng = np.random.default_rng(8)
    for slope in (-1.0, 0.4):
        aim = np.array([100.0, slope, 0.5 / scenes.EARTH_M])
        for _ in range(300):
            d0 = rng.uniform(0.01, 30_000)
            d1 = d0 + rng.uniform(0, 5_000)
            z = rng.uniform(50, 150)
            d = np.linspace(d0, d1, 50)
            assert kernels.bound(z, d0, d1, aim) >= max(kernels.value(z, x, aim) for x in d) - 1e-12


def test_layers_of_another_system_meet_without_a_step():
    """The same tilted plane in metres, and in degrees around it: the horizon is the same whichever layer answers."""
    def plane(e, n):
        return 100.0 + 0.05 * n

    near = scenes.square(plane, half=40, cell=2.0)
    metres = scenes.square(plane, half=60, cell=20.0)
    cell = 1 / 3600 / 1.5
    cols = np.arange(-40, 41)
    east, north = projection.from_wgs84(*np.meshgrid(scenes.LON + cols * cell, scenes.LAT - cols * cell), scenes.CRS)
    degrees_grid = Grid(
        plane(east - 500_000, north - 5_300_000).astype(np.float32),
        (cell, 0, scenes.LON - 40.5 * cell, 0, -cell, scenes.LAT + 40.5 * cell), "EPSG:4326", 17.0,
    )  # fmt: skip
    how = dict(eye_amsl_m=103.0, azimuth_deg=np.arange(0, 360, 11.0), radius_m=500.0)
    one, two = (single_rays(view_of(Surface((Layer(near), Layer(far)))), **how) for far in (metres, degrees_grid))
    np.testing.assert_allclose(one.elevation_deg, two.elevation_deg, atol=0.002)


@pytest.mark.parametrize("turn_deg", [0.0, 31.0, 90.0])
def test_a_small_fine_layer_far_away_is_met_where_it_lies(turn_deg):
    """A 200 m square of 1 m cells 5 km out with a hill on it, over a level coarse layer, at bearings all around."""
    coarse = Layer(scenes.square(lambda e, n: 100.0 + 0 * e, half=200, cell=40.0))
    for bearing in (0.0, 77.0, 201.0, 333.3):
        lat, lon = projection.geod_forward(lat_deg=scenes.LAT, lon_deg=scenes.LON, azimuth_deg=bearing, distance_m=5_000.0)
        hill = scenes.square(lambda e, n: 300.0 - np.hypot(e, n), half=100, lat=float(lat), lon=float(lon), turn_deg=turn_deg)
        view = view_of(Surface((Layer(hill), coarse)))
        top = degrees(197.0 - 5_000.0**2 / 2 / scenes.EARTH_M, 5_000.0)
        assert single_rays(view, eye_amsl_m=103.0, azimuth_deg=[bearing]).elevation_deg[0] == pytest.approx(top, abs=0.01)
        sky = skyline(view, eye_amsl_m=103.0)
        assert sky.elevation_deg.max() == pytest.approx(top, abs=0.02)
        # 141 m to either side at most are 1.6 degrees
        assert (np.abs((sky.azimuth_deg[sky.elevation_deg > 0.1] - bearing + 180) % 360 - 180) < 2.2).all()
