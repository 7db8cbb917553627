"""Tiles of one survey answer as the whole survey does, along their seams too."""

from __future__ import annotations

import numpy as np
import pytest
from terrain_makers import ORIGIN, UTM, grid_of, plan_of, write_tif

from siteplan.geodesy import projection
from siteplan.records.ground import KIND_BUILDING, Layer, Surface
from siteplan.studies.surfaces import load_surface
from siteplan.terrain.seams import join_seams
from siteplan.terrain.surface import heights_at, stack

CUTS = ((slice(0, 24), slice(0, 30)), (slice(0, 24), slice(30, 60)), (slice(24, 50), slice(0, 30)), (slice(24, 50), slice(30, 60)))


def land():
    rng = np.random.default_rng(8)
    ground = (100 + rng.uniform(0, 5, (50, 60))).astype(np.float32)
    top = ground.copy()
    top[20:28, 26:34] += 9.0  # a house across the four corners
    return ground, top


def tile(z, cut, cell=2.0):
    return grid_of(z[cut], cell=cell, origin=(ORIGIN[0] + cut[1].start * cell, ORIGIN[1] - cut[0].start * cell))


def points(count=3000, cell=2.0):
    rng = np.random.default_rng(2)
    x, y = ORIGIN[0] + rng.uniform(0.51, 59.49, count) * cell, ORIGIN[1] - rng.uniform(0.51, 49.49, count) * cell
    lon, lat = projection.to_wgs84(x, y, UTM)
    return {"lat_deg": lat, "lon_deg": lon}


def test_four_tiles_are_one_survey():
    ground, top = land()
    kind = np.where(top > ground + 0.5, KIND_BUILDING, 1).astype(np.uint8)
    whole = Surface((Layer(grid_of(ground, cell=2.0), grid_of(top, cell=2.0), kind, True, True),))
    tiles = [Layer(tile(ground, cut), tile(top, cut), kind[cut], True, True) for cut in CUTS]
    at = points()
    one, many, apart = (heights_at(surface, **at) for surface in (whole, stack(join_seams(tiles)), stack(tiles)))
    assert np.isnan(apart[0]).sum() > 50  # without the rim a strip between tiles is blind
    for mine, theirs in zip(one[:3], many[:3], strict=True):
        np.testing.assert_allclose(mine, theirs, atol=2e-4)


def test_tiles_that_only_nearly_fit_or_lie_apart_are_left_alone():
    ground, _ = land()
    first, second = tile(ground, CUTS[0]), tile(ground, CUTS[1])
    off = grid_of(second.z_m, cell=2.0, origin=(ORIGIN[0] + 60.7, ORIGIN[1]))
    far = grid_of(second.z_m, cell=2.0, origin=(ORIGIN[0] + 600.0, ORIGIN[1]))
    for other in (off, far, grid_of(second.z_m, cell=5.0, origin=(ORIGIN[0] + 60.0, ORIGIN[1]))):
        layers = [Layer(first), Layer(other)]
        assert [layer.ground for layer in join_seams(layers)] == [first, other]


def test_a_hole_beside_the_seam_stays_a_hole():
    ground, _ = land()
    first, second = tile(ground, CUTS[0]), tile(ground, CUTS[1])
    first.z_m[10, 29] = np.nan
    joined = join_seams([Layer(first), Layer(second)])[0].ground
    assert np.isnan(joined.z_m[11, 30]) and joined.z_m[11, 31] == ground[10, 30] and np.isnan(joined.z_m[0]).all()


@pytest.mark.parametrize("order", [1, -1])
def test_tiles_as_tables_of_a_plan(tmp_path, order):
    ground, top = land()
    tables = []
    for number, cut in enumerate(CUTS):
        origin = (ORIGIN[0] + cut[1].start * 2.0, ORIGIN[1] - cut[0].start * 2.0)
        files = [write_tif(tmp_path / f"{name}{number}.tif", z[cut], cell=2.0, origin=origin) for name, z in (("g", ground), ("s", top))]
        tables.append({"ground": files[0], "surface": files[1]})
    whole = {"ground": write_tif(tmp_path / "g.tif", ground, cell=2.0), "surface": write_tif(tmp_path / "s.tif", top, cell=2.0)}
    at = points()
    one = heights_at(load_surface(plan_of(tmp_path, whole)), **at)
    many = heights_at(load_surface(plan_of(tmp_path, *tables[::order])), **at)
    for mine, theirs in zip(one[:3], many[:3], strict=True):
        np.testing.assert_allclose(mine, theirs, atol=2e-4)
