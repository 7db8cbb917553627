"""One layer from its grids: clamping, kinds, what is known, heights above ground on another grid, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from terrain_makers import ORIGIN, UTM, grid_of

from siteplan.errors import RasterError
from siteplan.geodesy import projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, KIND_OBJECT, KIND_UNKNOWN, Grid
from siteplan.terrain.assembly import Outlines, Standing, assemble, default_error_m, knows, onto
from siteplan.terrain.fit import best_fit

FLAT = np.full((12, 12), 100.0)


def with_block(height, rows=slice(3, 6), cols=slice(3, 6), base=FLAT):
    z = base.copy()
    z[rows, cols] += height
    return z


def outline(rows=slice(3, 6), cols=slice(3, 6), height=np.nan, complete=False):
    inside = np.zeros(FLAT.shape, dtype=bool)
    inside[rows, cols] = True
    return Outlines(inside, np.where(inside, height, np.nan).astype(np.float32), complete)


def test_ground_alone():
    layer, notes = assemble(grid_of(FLAT, cell=30.0))
    assert layer.surface is None and layer.kind is None and not layer.knows_trees and notes == ()
    assert layer.height_error_m == default_error_m(30.0) == 5.0
    assert assemble(grid_of(FLAT), height_error_m=0.7)[0].height_error_m == 0.7


def test_a_surface_without_footprints_holds_objects():
    layer, notes = assemble(grid_of(FLAT), surface=grid_of(with_block(8.0)))
    assert layer.kind[4, 4] == KIND_OBJECT and layer.kind[0, 0] == KIND_GROUND
    assert layer.knows_buildings and layer.knows_trees and notes == ()


def test_footprints_tell_buildings_from_growth_with_a_cell_of_tolerance():
    top = with_block(8.0, slice(3, 7), slice(3, 7))
    top[9, 9] += 6.0
    layer, _ = assemble(grid_of(FLAT), surface=grid_of(top), outlines=outline())
    assert (layer.kind[3:7, 3:7] == KIND_BUILDING).all()  # row and column 6 are the tolerance
    assert layer.kind[9, 9] == KIND_GROWTH


def test_the_surface_is_clamped_to_the_ground_and_counted():
    top = with_block(-0.2, slice(0, 2), slice(0, 5))
    top[11, 11] -= 3.0
    layer, (note,) = assemble(grid_of(FLAT), surface=grid_of(top, name="dsm.tif"))
    assert (layer.surface.z_m >= FLAT).all()
    assert note.code == "surface_below_ground"
    assert dict(note.values) == {"file": "dsm.tif", "cells": 11, "of": 144, "share": 11 / 144, "over_half_metre": 1, "worst_m": 3.0}


def test_half_a_metre_is_ground_and_more_is_not():
    top = FLAT.copy()
    top[0, 0] += 0.5
    top[0, 1] += 0.625
    layer, _ = assemble(grid_of(FLAT), surface=grid_of(top))
    assert layer.kind[0, 0] == KIND_GROUND and layer.kind[0, 1] == KIND_OBJECT


def test_a_surface_that_lies_under_its_ground_is_refused():
    with pytest.raises(RasterError, match=r"dsm.tif: half of it lies more than 1.5 m under its ground dtm.tif"):
        assemble(grid_of(FLAT, name="dtm.tif"), surface=grid_of(FLAT - 1.5, name="dsm.tif"))
    assemble(grid_of(FLAT), surface=grid_of(FLAT - 0.9))


def test_grids_that_do_not_meet_are_refused_and_windows_are_not():
    far = grid_of(FLAT, origin=(ORIGIN[0] + 5000, ORIGIN[1]), name="far.tif")
    with pytest.raises(RasterError, match="far.tif and by hand do not overlap"):
        assemble(grid_of(FLAT), surface=far)
    with pytest.raises(RasterError, match="do not overlap"):
        assemble(grid_of(FLAT), standing=[Standing(far, KIND_OBJECT)])
    layer, _ = assemble(grid_of(FLAT), surface=far, whole=False)
    assert layer.surface.z_m.shape == (12, 12) and (layer.kind[~np.isnan(layer.surface.z_m)] == KIND_OBJECT).all()


def test_canopy_over_a_surface_without_trees_the_highest_wins():
    canopy = np.zeros((12, 12))
    canopy[4:9, 4:9] = 15.0
    layer, _ = assemble(
        grid_of(FLAT), surface=grid_of(with_block(8.0)), standing=[Standing(grid_of(canopy), KIND_GROWTH, ("trees",))],
        surface_has=("buildings",),
    )  # fmt: skip
    assert layer.surface.z_m[3, 3] == 108.0 and layer.kind[3, 3] == KIND_BUILDING
    assert layer.surface.z_m[5, 5] == 115.0 and layer.kind[5, 5] == KIND_GROWTH
    assert layer.surface.z_m[0, 0] == 100.0 and layer.kind[0, 0] == KIND_GROUND
    assert layer.knows_buildings and layer.knows_trees


def test_heights_on_another_grid_take_the_ground_between_its_cells():
    rows, cols = np.mgrid[0:12, 0:12]
    ground = grid_of(100.0 + 2.0 * cols, cell=4.0)  # 0.5 m a metre to the east
    heights = np.zeros((30, 40))
    heights[10, 20] = 9.0
    layer, _ = assemble(ground, standing=[Standing(grid_of(heights, cell=1.0), KIND_BUILDING, ("buildings",))])
    assert layer.surface.z_m.shape == (30, 40) and layer.surface.cell_m == 1.0
    expected = 100.0 + 0.5 * (20.5 - 2.0)  # centre of column 20 is 20.5 m east, centre of ground column 0 is 2 m east
    assert layer.surface.z_m[11, 20] == pytest.approx(expected, abs=1e-3)
    assert layer.surface.z_m[10, 20] == pytest.approx(expected + 9.0, abs=1e-3)
    assert layer.kind[10, 20] == KIND_BUILDING and layer.knows_buildings and not layer.knows_trees
    assert layer.height_error_m == default_error_m(4.0)  # no better than its ground


def test_several_heights_meet_on_the_finest_grid_and_walls_stay_walls():
    coarse = np.zeros((6, 6))
    coarse[1, 1] = 5.0  # metres 2..4 east, 2..4 south
    fine = np.zeros((12, 12))
    fine[3, 3] = 9.0
    layer, _ = assemble(
        grid_of(FLAT), standing=[Standing(grid_of(coarse, cell=2.0), KIND_BUILDING), Standing(grid_of(fine), KIND_GROWTH)]
    )
    assert layer.surface.z_m.shape == (12, 12)
    np.testing.assert_array_equal(layer.surface.z_m[1:5, 2], [100, 105, 105, 100])
    assert layer.surface.z_m[3, 3] == 109.0 and layer.kind[3, 3] == KIND_GROWTH and layer.kind[2, 2] == KIND_BUILDING


def test_a_void_in_the_canopy_is_no_open_view_but_a_wall_stays():
    canopy = np.zeros((12, 12))
    canopy[0:8, 0:8] = np.nan
    layer, _ = assemble(
        grid_of(FLAT), surface=grid_of(with_block(8.0)), standing=[Standing(grid_of(canopy), KIND_GROWTH, ("trees",))],
        surface_has=("buildings",),
    )  # fmt: skip
    assert np.isnan(layer.surface.z_m[0, 0]) and layer.kind[0, 0] == KIND_UNKNOWN
    assert layer.surface.z_m[4, 4] == 108.0 and layer.surface.z_m[9, 9] == 100.0


def test_footprints_with_heights_make_a_surface_that_knows_no_trees():
    layer, _ = assemble(grid_of(FLAT), outlines=outline(height=6.0, complete=True))
    assert layer.surface.z_m[4, 4] == 106.0 and layer.kind[4, 4] == KIND_BUILDING
    assert layer.surface.z_m[0, 0] == 100.0 and layer.kind[0, 0] == KIND_GROUND
    assert layer.knows_buildings and not layer.knows_trees
    assert not assemble(grid_of(FLAT), outlines=outline(height=6.0))[0].knows_buildings  # some heights are missing
    assert assemble(grid_of(FLAT), outlines=outline())[0].surface is None  # none has a height


@pytest.mark.parametrize(("cell", "known"), [(1.0, True), (2.5, True), (2.5021, True), (2.53, False), (5.0, False)])
def test_only_fine_cells_know_trees(cell, known):
    layer, _ = assemble(grid_of(FLAT, cell=cell), surface=grid_of(with_block(8.0), cell=cell))
    assert (layer.knows_buildings, layer.knows_trees) == (known, known)


def test_a_coarse_canopy_does_not_make_fine_buildings_know_trees():
    assert knows(surface_cell_m=None, standing=[(1.0, ("buildings",)), (10.0, ("trees",))]) == (True, False)
    assert knows(surface_cell_m=1.0, surface_has=("buildings",)) == (True, False)
    assert knows(surface_cell_m=None, outlines_cell_m=1.0) == (True, False)


def test_heights_above_sea_given_as_heights_above_ground_are_refused():
    rows, cols = np.mgrid[0:12, 0:12]
    hill = 400.0 + rows + cols
    with pytest.raises(RasterError, match="above sea level.*`surface`"):
        assemble(grid_of(hill), standing=[Standing(grid_of(hill + 3.0), KIND_OBJECT)])


def test_negative_and_mostly_void_heights_are_said():
    heights = np.zeros((12, 12))
    heights[0, :4] = -2.0
    _, (note,) = assemble(grid_of(FLAT), standing=[Standing(grid_of(heights, name="chm.tif"), KIND_GROWTH)])
    assert (note.code, note.values["cells"], note.values["worst_m"]) == ("height_below_zero", 4, -2.0)
    heights = np.full((12, 12), np.nan)
    heights[3:5] = 7.0
    _, (note,) = assemble(grid_of(FLAT), standing=[Standing(grid_of(heights, name="chm.tif"), KIND_GROWTH)])
    assert note.code == "heights_mostly_void" and note.values["share"] == pytest.approx(10 / 12, abs=1e-4)


def rolling(seed=2):
    """Rolling ground of 120 x 120 cells and a surface with blocks on a fifth of it."""
    rng = np.random.default_rng(seed)
    rows, cols = np.mgrid[0:140, 0:140]
    ground = 200 + 6 * np.sin(rows / 9.0) + 5 * np.cos(cols / 7.0)
    top = ground.copy()
    for r, c in rng.integers(0, 130, (60, 2)):
        top[r : r + 8, c : c + 8] += rng.uniform(3, 12)
    return ground, top


@pytest.mark.parametrize(("rows", "cols", "up"), [(2, -3, 0.0), (0, 1, 0.0), (0, 0, 0.9), (-2, 2, -0.4)])
def test_a_shifted_surface_is_warned_of_with_its_shift(rows, cols, up):
    ground, top = rolling()
    moved = np.roll(top, (rows, cols), axis=(0, 1)) + up
    fit = best_fit(ground[10:130, 10:130], moved[10:130, 10:130])
    assert (fit.rows, fit.cols) == (rows, cols) and fit.up_m == pytest.approx(up, abs=0.11) and fit.shifted
    _, notes = assemble(grid_of(ground[10:130, 10:130]), surface=grid_of(moved[10:130, 10:130], name="dsm.tif"))
    (note,) = [note for note in notes if note.code == "surface_shifted"]
    assert (note.values["west_cells"], note.values["north_cells"]) == (-cols, -rows)


def test_a_surface_in_its_place_is_not_warned_of():
    ground, top = rolling()
    noise = np.random.default_rng(1).normal(0, 0.15, ground.shape)
    fit = best_fit(ground, top + noise)
    assert (fit.rows, fit.cols) == (0, 0) and not fit.shifted
    assert best_fit(ground[:9, :9], top[:9, :9]) is None


def test_a_grid_in_another_system_is_moved_to_the_frame():
    rows, cols = np.mgrid[0:60, 0:60]
    ground = grid_of(10.0 + 0.1 * cols + 0.2 * rows, cell=10.0)
    frame = Grid(np.full((20, 20), np.nan, np.float32), (0.0001, 0, 15.003, 0, -0.0001, 47.8517), "EPSG:4326", 9.0)
    x, y = projection.from_wgs84(15.003 + 0.0001 * 7.5, 47.8517 - 0.0001 * 3.5, UTM)
    expected = 10.0 + 0.1 * ((x - ORIGIN[0]) / 10 - 0.5) + 0.2 * ((ORIGIN[1] - y) / 10 - 0.5)
    assert onto(ground, frame)[3, 7] == pytest.approx(expected, abs=1e-3)
