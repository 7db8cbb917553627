"""A surface without its trees is told by what stands outside the building outlines; a full one is never suspected."""

from __future__ import annotations

import numpy as np
import pytest
from degraded_land import Degradation, degraded, truth
from shared_data import need_shared

from siteplan.records.ground import Grid
from siteplan.terrain.assembly import Outlines, assemble
from siteplan.terrain.treeless import treeless

UTM = "EPSG:32633"


def _town(trees: int, *, noise_m: float = 0.0, size: int = 200):
    """Return (top, ground, outlines) of 1 m cells: 16 houses of 10 x 10 m, 8 m high, and trees of 3 x 3 m, 9 m high."""
    rng = np.random.default_rng(5)
    ground = np.full((size, size), 100.0, dtype=np.float32)
    top = ground + noise_m * rng.standard_normal(ground.shape).astype(np.float32)
    inside = np.zeros(ground.shape, dtype=bool)
    for row in range(20, size - 20, 45):
        for col in range(20, size - 20, 45):
            inside[row : row + 10, col : col + 10] = True
    top[inside] += 8.0
    for n in range(trees):
        row, col = 40 + (n * 45) % 135, 8 + n * 6
        top[row : row + 3, col : col + 3] = 109.0
    return top, ground, inside


@pytest.mark.quick
def test_a_town_without_a_tree_is_suspected_and_one_with_twenty_is_not():
    # 16 houses leave 200^2 - 16 * 18^2 = 34 816 cells; twenty trees are 180 of them, 0.52 %
    assert treeless(*_town(0), 1.0) == (0, 34_816)
    assert treeless(*_town(20), 1.0) is None


@pytest.mark.quick
def test_noise_is_no_tree():
    found = treeless(*_town(0, noise_m=1.5), 1.0)  # 2.3 % of cells stand over 3 m, as many lie as far under
    assert found is not None


@pytest.mark.quick
def test_little_land_and_foreign_outlines_prove_nothing():
    top, ground, inside = _town(0)
    assert treeless(top[:80, :80], ground[:80, :80], inside[:80, :80], 1.0) is None
    assert treeless(top, ground, np.roll(inside, 25, axis=1), 1.0) is None  # outlines where nothing stands
    assert treeless(top, ground, np.zeros_like(inside), 1.0) is None


def test_the_layer_then_knows_no_trees_unless_somebody_says_it_does():
    top, ground, inside = _town(0)
    base, surface = (Grid(z, (1.0, 0.0, 500_000.0, 0.0, -1.0, 5_500_000.0), UTM, 1.0, name) for z, name in ((ground, "g"), (top, "s")))
    outlines = Outlines(inside, np.full(inside.shape, np.nan, dtype=np.float32))
    layer, notes = assemble(base, surface=surface, outlines=outlines)
    assert (layer.knows_buildings, layer.knows_trees) == (True, False)
    assert [note.code for note in notes] == ["surface_without_trees"]
    layer, notes = assemble(base, surface=surface, outlines=outlines, stated=True)
    assert layer.knows_trees and not notes


@pytest.mark.parametrize("cell_m", [None, 2.0, 2.5])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 1.0])
def test_a_real_town_with_its_trees_taken_out_is_suspected_and_as_it_is_never(cell_m, noise_m):
    need_shared("terrain")
    for how in ("mean", "max", "nearest") if cell_m else ("mean",):
        worse = {"cell_m": cell_m, "noise_m": noise_m, "how": how, "shift_m": 1.5}
        full = degraded(truth("city"), Degradation("full", **worse), 3)
        bare = degraded(truth("city"), Degradation("bare", **worse, canopy=False, says_so=False), 3)
        assert full.surface.layers[0].knows_trees
        told = (cell_m, how, noise_m) != (2.5, "max", 1.0)  # the highest of so much noise stands up by itself: 0.75 %
        assert bare.surface.layers[0].knows_trees is not told, how
