"""The land made ready for rays: coarser levels by the maximum, and the map from bearing and distance to cells."""

from __future__ import annotations

import numpy as np
import pytest
import scenes

from siteplan.errors import InputError
from siteplan.geodesy import cells, projection
from siteplan.geodesy import kernels as geodesy_kernels
from siteplan.records.ground import KIND_GROWTH, KIND_OBJECT, Grid, Layer, Surface
from siteplan.terrain import kernels
from siteplan.terrain.view import FIT_CELLS, local_view, prepare

pytestmark = pytest.mark.quick


def test_kernels_and_records_mean_the_same_kinds():
    assert (geodesy_kernels.GROWTH, geodesy_kernels.OBJECT) == (KIND_GROWTH, KIND_OBJECT)


def test_every_level_holds_the_greatest_known_height_and_what_the_cells_are():
    rng = np.random.default_rng(4)
    z = rng.uniform(0, 100, (13, 22)).astype(np.float32)
    z[rng.random(z.shape) < 0.3] = np.nan
    kind = rng.integers(1, 5, z.shape).astype(np.uint8)
    ground = Grid(np.zeros_like(z), (1, 0, 500_000, 0, -1, 5_300_000), scenes.CRS, 1.0)
    land = prepare(Surface((Layer(ground, Grid(z, ground.transform, ground.crs, 1.0), kind),)))
    g = int(land.surface_order[0])
    first, count = land.arrays.grids[g]
    assert count == 6  # 13 x 22, 7 x 11, 4 x 6, 2 x 3, 1 x 2, 1 x 1
    for level in range(count):
        start, rows, cols, flags_at = land.arrays.levels[first + level]
        assert (rows, cols) == (-(-13 // 2**level), -(-22 // 2**level))
        for row in range(rows):
            for col in range(cols):
                size = 2**level
                block = np.s_[row * size : (row + 1) * size, col * size : (col + 1) * size]
                found, flags = land.arrays.heights[start + row * cols + col], land.arrays.flags[flags_at + row * cols + col]
                known = z[block][np.isfinite(z[block])]
                assert (known.size == 0 and np.isnan(found)) or found == known.max()
                if level == 0:
                    assert flags == kind[row, col]
                else:
                    grows = np.isin(kind[block], (KIND_GROWTH, KIND_OBJECT)).any()
                    assert flags == int(np.isnan(z[block]).any()) * 1 + int(grows) * 2
    assert land.highest_m == np.nanmax(z)


def test_halving_uncompiled_is_the_same():
    rng = np.random.default_rng(5)
    z = rng.uniform(0, 9, 7 * 5).astype(np.float32)
    z[3] = np.nan
    flags = np.empty(35, dtype=np.uint8)
    kernels.first_level.py_func(z, np.zeros(0, dtype=np.uint8), flags)
    assert flags.sum() == 1 and flags[3] == 1
    fast, plain = kernels.halve(z, flags, 7, 5), kernels.halve.py_func(z, flags, 7, 5)
    np.testing.assert_array_equal(fast[0], plain[0])
    np.testing.assert_array_equal(fast[1], plain[1])


SYSTEMS = {
    "metres": dict(crs="EPSG:32633", lat=47.85, lon=15.0),
    "6 degrees off the meridian (convergence 5 degrees)": dict(crs="EPSG:32633", lat=60.0, lon=21.0),
    "feet": dict(crs="EPSG:2994", lat=44.05, lon=-123.07, cell=6.0),
    "rotated": dict(crs="EPSG:32633", lat=47.85, lon=15.3, turn_deg=33.0),
    "south-up": dict(crs="EPSG:32633", lat=47.85, lon=15.3, south_up=True),
    "degrees": dict(crs="EPSG:4326", lat=46.0, lon=7.0, cell=1 / 3600),
    "degrees far north": dict(crs="EPSG:4326", lat=78.0, lon=16.0, cell=1 / 1200),
    "degrees over the date line": dict(crs="EPSG:4326", lat=-17.0, lon=179.999, cell=1 / 3600),
    "southern hemisphere": dict(crs="EPSG:32719", lat=-33.0, lon=-70.0),
}


@pytest.mark.parametrize("how", SYSTEMS.values(), ids=SYSTEMS.keys())
@pytest.mark.parametrize("reach_m", [300.0, 8_000.0, 60_000.0])
def test_bearing_and_distance_become_cells_in_any_system(how, reach_m):
    coarse = how.get("cell", 1.0) * (1.0 if reach_m < 1000 else reach_m / 300.0)
    surface = scenes.flat(half=150, **{**how, "cell": coarse})
    view = local_view(prepare(surface), lat_deg=how["lat"] + 0.0003, lon_deg=how["lon"] - 0.0004, radius_m=reach_m)
    rng = np.random.default_rng(6)
    azimuth, distance = rng.uniform(0, 360, 300), view.sizes[0, 1] * np.sqrt(rng.random(300))
    grid = surface.layers[0].ground
    lat, lon = projection.geod_forward(lat_deg=view.lat_deg, lon_deg=view.lon_deg, azimuth_deg=azimuth, distance_m=distance)
    if projection.is_geographic(grid.crs):
        lon = how["lon"] + np.mod(lon - how["lon"] + 180.0, 360.0) - 180.0
    x, y = (lon, lat) if projection.is_geographic(grid.crs) else projection.from_wgs84(lon, lat, grid.crs)
    col, row = cells.invert(grid.transform, x, y)
    east, north = distance * np.sin(np.radians(azimuth)), distance * np.cos(np.radians(azimuth))
    powers = np.arange(view.coef.shape[2])
    basis = east[:, None, None] ** powers[None, :, None] * north[:, None, None] ** powers[None, None, :]
    np.testing.assert_allclose((view.coef[0, 0] * basis).sum(axis=(1, 2)), col - 0.5, rtol=0, atol=2 * FIT_CELLS)
    np.testing.assert_allclose((view.coef[0, 1] * basis).sum(axis=(1, 2)), row - 0.5, rtol=0, atol=2 * FIT_CELLS)
    assert view.fit_error_cells[0] <= FIT_CELLS


def test_longitudes_counted_from_0_to_360_are_the_same_land():
    surface = scenes.flat(crs="EPSG:4326", lat=10.0, lon=-20.0, cell=1 / 3600, half=20)
    grid = surface.layers[0].ground
    a, b, c, d, e, f = grid.transform
    turned = Surface((Layer(Grid(grid.z_m, (a, b, c + 360.0, d, e, f), grid.crs, 31.0)),))
    one, other = (local_view(prepare(s), lat_deg=10.0, lon_deg=-20.0, radius_m=500.0) for s in (surface, turned))
    np.testing.assert_allclose(one.coef, other.coef, atol=1e-6)


def test_a_line_is_the_view_along_it_also_from_beside():
    surface = scenes.flat(half=150, lat=60.0, lon=20.0)
    view = local_view(prepare(surface), lat_deg=60.0, lon_deg=20.0, radius_m=500.0)
    out = np.zeros((1, 5, view.coef.shape[2]))
    order = view.prepared.surface_order
    powers = np.arange(view.coef.shape[2])

    def direct(east, north, axis):
        return float((view.coef[0, axis] * east ** powers[:, None] * north ** powers[None, :]).sum())

    for east0, north0, azimuth in ((0.0, 0.0, 0.0), (0.0, 0.0, 1.1), (12.0, -7.0, 4.0), (-30.0, 5.0, np.pi / 2)):
        geodesy_kernels.line_through(view.coef, order, east0, north0, azimuth, out)
        for d, s in ((0.0, 0.0), (50.0, 0.0), (120.0, 3.0)):
            col, row = geodesy_kernels.place(out, 0, d, s)
            east = east0 + d * np.sin(azimuth) + s * np.cos(azimuth)
            north = north0 + d * np.cos(azimuth) - s * np.sin(azimuth)
            assert (col, row) == pytest.approx((direct(east, north, 0), direct(east, north, 1)), abs=1e-6)


@pytest.mark.parametrize("bad", [dict(lat_deg=91.0), dict(lon_deg=float("nan")), dict(radius_m=0.0), dict(radius_m=float("nan"))])
def test_what_is_no_place_or_no_radius_is_refused(bad):
    land = prepare(scenes.flat(half=5))
    with pytest.raises(InputError):
        local_view(land, **{"lat_deg": scenes.LAT, "lon_deg": scenes.LON, "radius_m": 100.0, **bad})


def test_no_layer_and_no_cells_are_refused():
    with pytest.raises(InputError, match="terrain"):
        prepare(Surface(()))
    with pytest.raises(InputError, match="no cells"):
        prepare(Surface((Layer(Grid(np.zeros((0, 3), np.float32), (1, 0, 0, 0, -1, 0), scenes.CRS, 1.0)),)))
