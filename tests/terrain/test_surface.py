"""Heights at points: bilinear where all four cells are known, the finest layer first, holes and edges fall through."""

from __future__ import annotations

import numpy as np
import pytest
from terrain_makers import ORIGIN, UTM, grid_of

from siteplan.geodesy import cells, projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_UNKNOWN, Grid, Layer, Surface
from siteplan.terrain.surface import bilinear, corners, heights_at, place, stack


def lat_lon(col, row, cell=1.0, origin=ORIGIN):
    """WGS84 of a position counted in cells from the north-west corner."""
    lon, lat = projection.to_wgs84(origin[0] + np.asarray(col) * cell, origin[1] - np.asarray(row) * cell, UTM)
    return {"lat_deg": lat, "lon_deg": lon}


def test_between_four_centres_by_hand():
    z = np.array([[0.0, 10.0], [20.0, 50.0]], dtype=np.float32)
    col = np.array([0.5, 1.5, 1.0, 1.0, 0.75, 0.4, 1.6])
    row = np.array([0.5, 0.5, 0.5, 1.0, 1.25, 1.0, 1.0])
    # last but two: 3/4 along rows 0 -> 1, a quarter of the way along columns: (0.75*20+0.25*0) and (0.75*50+0.25*10)
    expected = [0.0, 10.0, 5.0, 20.0, 0.75 * 15.0 + 0.25 * 40.0, np.nan, np.nan]
    np.testing.assert_allclose(bilinear(z, col, row), expected)


def test_an_unknown_neighbour_makes_unknown_not_a_cliff():
    z = np.full((4, 4), 7.0, dtype=np.float32)
    z[1, 1] = np.nan
    out = bilinear(z, np.array([2.4, 2.6, 1.2]), np.array([2.4, 2.6, 3.4]))
    np.testing.assert_array_equal(out, [np.nan, 7.0, 7.0])


def test_a_slope_comes_back_exactly_at_any_point():
    rows, cols = np.mgrid[0:40, 0:50]
    ground = grid_of(100 + 0.5 * cols - 0.25 * rows, cell=2.0)
    col, row = np.random.default_rng(3).uniform(1, 39, (2, 200))
    z, top, kind, index = heights_at(Surface((Layer(ground),)), **lat_lon(col, row, 2.0))
    np.testing.assert_allclose(z, 100 + 0.5 * (col - 0.5) - 0.25 * (row - 0.5), atol=1e-4)
    np.testing.assert_array_equal(top, z)
    assert set(kind) == {KIND_GROUND} and set(index) == {0}


def test_shapes_and_points_outside():
    surface = Surface((Layer(grid_of(np.ones((5, 5)))),))
    at = lat_lon([[2.0, 99.0]], [[2.0, 2.0]])
    z, top, kind, index = heights_at(surface, **at)
    assert z.shape == top.shape == kind.shape == index.shape == (1, 2)
    assert z[0, 0] == 1.0 and np.isnan(z[0, 1]) and np.isnan(top[0, 1])
    assert kind[0, 1] == KIND_UNKNOWN and index[0, 1] == -1
    one = heights_at(surface, lat_deg=float(at["lat_deg"][0, 0]), lon_deg=float(at["lon_deg"][0, 0]))
    assert one[0].shape == () and float(one[0]) == 1.0
    assert np.isnan(heights_at(surface, lat_deg=np.nan, lon_deg=15.0)[0])


def fine_and_coarse():
    """A fine layer of 10 x 10 cells of 1 m at 50 m with a 3 m house and a hole, over a coarse one of 10 m cells at 40 m."""
    ground = np.full((10, 10), 50.0)
    top = ground.copy()
    top[2:4, 2:4] = 53.0
    kind = np.where(top > 50, KIND_BUILDING, KIND_GROUND).astype(np.uint8)
    top[7, 7] = np.nan
    fine = Layer(grid_of(ground), grid_of(top), kind, True, True)
    coarse = Layer(grid_of(np.full((20, 20), 40.0), cell=10.0, origin=(ORIGIN[0] - 100, ORIGIN[1] + 100)))
    return fine, coarse


def test_the_finest_layer_wins_and_holes_and_edges_fall_through():
    surface = stack(fine_and_coarse()[::-1])
    assert surface.layers[0].ground.cell_m == 1.0
    z, top, kind, index = heights_at(surface, **lat_lon([3.0, 5.5, 7.5, 9.4, 9.8, 30.0], [3.0, 5.5, 7.5, 5.0, 5.0, 5.0]))
    np.testing.assert_array_equal(z, [50, 50, 50, 50, 40, 40])
    # in the hole of the surface the ground stays the fine one; the coarse layer has no surface, and is never below the ground
    np.testing.assert_array_equal(top, [53, 50, 50, 50, 40, 40])
    np.testing.assert_array_equal(kind, [KIND_BUILDING] + [KIND_GROUND] * 5)
    np.testing.assert_array_equal(index, [0, 0, 1, 0, 1, 1])


def test_beside_a_wall_the_kind_is_that_of_the_wall_as_long_as_it_stands_out():
    surface = stack(fine_and_coarse())
    z, top, kind, _ = heights_at(surface, **lat_lon([4.2, 4.45], [3.0, 3.0]))
    assert 0.5 < top[0] - z[0] < 3.0 and kind[0] == KIND_BUILDING
    assert top[1] - z[1] < 0.5 and kind[1] == KIND_GROUND


@pytest.mark.parametrize("turn", ["south-up", "quarter turn", "37 degrees"])
def test_south_up_and_rotated_grids_answer_like_the_north_up_one(turn):
    rng = np.random.default_rng(4)
    z = rng.uniform(0, 30, (30, 40)).astype(np.float32)
    plain = grid_of(z, cell=3.0)
    a, _, c, _, e, f = plain.transform
    if turn == "south-up":
        other = Grid(z[::-1].copy(), (a, 0, c, 0, -e, f + 30 * e), UTM, 3.0)
    elif turn == "quarter turn":
        other = Grid(z.T.copy(), (0, a, c, e, 0, f), UTM, 3.0)
    else:  # a plane stays a plane on a grid turned by 37 degrees
        turned = np.radians(37.0)
        t = (3 * np.cos(turned), 3 * np.sin(turned), c + 10, 3 * np.sin(turned), -3 * np.cos(turned), f - 60)
        row, col = np.mgrid[0:30, 0:40] + 0.5
        x, y = cells.apply(t, col, row)
        other = Grid((0.1 * (x - c) + 0.2 * (y - f)).astype(np.float32), t, UTM, 3.0)
        row, col = np.mgrid[0:30, 0:40] + 0.5
        x, y = cells.apply(plain.transform, col, row)
        plain = Grid((0.1 * (x - c) + 0.2 * (y - f)).astype(np.float32), plain.transform, UTM, 3.0)
    at = lat_lon(rng.uniform(1, 39, 300), rng.uniform(1, 29, 300), 3.0)
    one, two = (heights_at(Surface((Layer(grid),)), **at)[0] for grid in (plain, other))
    both = np.isfinite(one) & np.isfinite(two)
    assert both.sum() > (60 if turn == "37 degrees" else 299)
    np.testing.assert_allclose(one[both], two[both], atol=2e-4)


def test_a_grid_in_degrees_and_one_that_counts_from_0_to_360():
    rows, cols = np.mgrid[0:20, 0:30]
    z = (100 + cols + 2 * rows).astype(np.float32)
    crs = projection.parse_crs("EPSG:4326")
    west = Grid(z, (0.01, 0, -85.0, 0, -0.01, 40.0), crs, 1000.0)
    round_ = Grid(z, (0.01, 0, 275.0, 0, -0.01, 40.0), crs, 1000.0)
    for grid in (west, round_):
        out = heights_at(Surface((Layer(grid),)), lat_deg=40.0 - 0.055, lon_deg=-85.0 + 0.125)[0]
        assert float(out) == pytest.approx(100 + 12 + 10, abs=1e-3)


def test_corners_and_place():
    grid = grid_of(np.ones((10, 20)), cell=5.0)
    west, south, east, north = corners(grid)
    col, row = place(grid, lat_deg=np.array([north, south]), lon_deg=np.array([west, east]))
    assert col[0] == pytest.approx(0, abs=0.01) and row[1] == pytest.approx(10, abs=0.01) and east > west and north > south
