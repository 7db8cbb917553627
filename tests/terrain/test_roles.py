"""Which raster is ground, surface or heights above ground: by heights alone."""

import numpy as np
import pytest
from shared_data import need_shared
from terrain_makers import grid_of

from siteplan.files import rasters
from siteplan.terrain.roles import look, middle_where_nothing, relation, unseen_share

ROWS, COLS = np.mgrid[0:60, 0:80]
GROUND = 40.0 + 0.05 * COLS + 2.0 * np.sin(ROWS / 9.0)


def with_houses(z, height=7.0):
    out = z.copy()
    out[10:18, 10:22] += height
    out[30:42, 50:60] += height
    return out


def test_a_surface_lies_over_its_ground_and_not_the_other_way_round():
    top, base = [grid_of(with_houses(GROUND))], [grid_of(GROUND)]
    up, down = relation(top, base), relation(base, top)
    assert up.above and not up.agrees and up.not_below == 1.0 and up.middle_m == pytest.approx(0.0, abs=1e-4)
    assert not down.above and not down.agrees
    assert relation(base, base).agrees and not relation(base, base).above


def test_noise_of_centimetres_is_let_pass_and_a_crossing_is_not():
    noise = np.random.default_rng(5).normal(0.0, 0.1, GROUND.shape)
    assert relation([grid_of(with_houses(GROUND) + noise)], [grid_of(GROUND)]).above
    assert relation([grid_of(GROUND + noise)], [grid_of(GROUND)]).agrees
    other = relation([grid_of(GROUND + np.where(COLS < 40, 5.0, -5.0))], [grid_of(GROUND)])
    assert not other.above and not other.agrees
    far = relation([grid_of(GROUND + 100.0)], [grid_of(GROUND)])
    assert not far.above and far.low_m == pytest.approx(100.0, abs=1e-3)
    assert relation([grid_of(GROUND)], [grid_of(np.full_like(GROUND, np.nan))]).cells == 0


def test_heights_above_ground_begin_with_a_step_and_land_out_of_the_sea_does_not():
    houses = with_houses(np.zeros_like(GROUND))
    assert look([grid_of(houses)]).stands
    coast = np.maximum(0.0, 0.2 * (COLS - 45.0))
    assert look([grid_of(coast)]).nothing_share > 0.5 and not look([grid_of(coast)]).stands
    assert not look([grid_of(houses - 0.2)]).stands, "a height below nothing"
    assert not look([grid_of(with_houses(np.zeros_like(GROUND), 90.0))]).stands, "over 80 m"
    assert not look([grid_of(np.full_like(GROUND, np.nan))]).stands


def test_walls_show_in_fine_cells_only():
    assert look([grid_of(with_houses(GROUND))]).walled and not look([grid_of(GROUND)]).walled
    assert np.isnan(look([grid_of(with_houses(GROUND), cell=5.0)]).wall_share)


def test_what_a_surface_does_not_show():
    trees = np.zeros_like(GROUND)
    trees[45:55, 5:20] = 9.0
    standing, ground = [grid_of(trees)], [grid_of(GROUND)]
    assert unseen_share(standing, [grid_of(with_houses(GROUND))], ground) == 1.0
    assert unseen_share(standing, [grid_of(GROUND + trees)], ground) == 0.0
    assert np.isnan(unseen_share([grid_of(np.zeros_like(GROUND))], [grid_of(GROUND)], ground))
    assert middle_where_nothing(standing, ground) == pytest.approx(float(np.median(GROUND[trees == 0])), abs=0.01)


@pytest.mark.parametrize(
    ("top", "base"),
    [
        ("city_dsm_1m.tif", "city_dtm_1m.tif"),
        ("river_park_dsm_2m.tif", "river_park_dtm_2m.tif"),
        ("river_park_dsm_6ft.tif", "river_park_dtm_2m.tif"),
    ],
)
def test_real_pairs(top, base):
    folder = need_shared("terrain")
    grids = {name: [rasters.read(rasters.describe(folder / name))] for name in (top, base)}
    assert relation(grids[top], grids[base]).above and not relation(grids[base], grids[top]).above
    assert look(grids[top]).walled and not look(grids[base]).walled


def test_real_heights_above_ground():
    folder = need_shared("terrain")
    for name in ("city_canopy_1m.tif", "valley_building_height_2m5.tif", "valley_canopy_height_2m5.tif"):
        assert look([rasters.read(rasters.describe(folder / name))]).stands, name
    for name in ("city_dtm_1m.tif", "valley_dtm_5m.tif", "city_dsm_1m.tif"):
        assert not look([rasters.read(rasters.describe(folder / name))]).stands, name
