"""Real terrain: the files beside this checkout against the facts written down about them, and the model that matplotlib ships."""

from __future__ import annotations

import csv
import json

import numpy as np
import pytest
from shared_data import need_shared
from terrain_makers import plan_of, write_tif

from siteplan.files import rasters
from siteplan.geodesy import projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, KIND_OBJECT
from siteplan.studies.surfaces import describe_terrain, load_surface
from siteplan.terrain.footprints import building_at
from siteplan.terrain.hillshade import backdrop
from siteplan.terrain.surface import corners, heights_at

FILES = [
    *(f"city_{what}_1m.tif" for what in ("canopy", "dsm", "dtm")),
    *(f"river_park_{what}_{cell}.tif" for what in ("dsm", "dtm") for cell in ("2m", "6ft")),
    *(f"valley_{what}.tif" for what in ("building_height_2m5", "canopy_height_2m5", "dtm_5m")),
    "hills_dem_3arcsec.tif",
]  # fmt: skip


def shared(name):
    return need_shared(f"terrain/{name}")


def facts():
    return json.loads(shared("facts.json").read_text())


@pytest.mark.parametrize("name", FILES)
def test_each_file_holds_what_is_written_about_it(name):
    fact = facts()["rasters"][name]
    info = rasters.describe(shared(name))
    z = rasters.read(info).z_m.astype(float)
    unit = {"metre": 1.0, "foot": 0.3048}[fact["vertical_unit"]]
    assert z.shape == (fact["height"], fact["width"]) and info.crs_name.endswith(f"({fact['crs']})")
    assert np.isfinite(z).sum() == fact["valid_cells"]
    assert np.nanmin(z) == pytest.approx(fact["min"] * unit, abs=1e-4)
    assert np.nanmax(z) == pytest.approx(fact["max"] * unit, abs=1e-4)
    assert info.unit_to_m == unit and info.unit_source == "band unit"
    a, b, c, d, e, f = info.transform
    assert (c, f + e * fact["height"], c + a * fact["width"], f) == pytest.approx(tuple(fact["bounds"]), rel=0, abs=1e-6)


@pytest.mark.parametrize(
    ("ground", "surface", "unit"),
    [("river_park_dtm_2m.tif", "river_park_dsm_2m.tif", 1.0), ("river_park_dtm_6ft.tif", "river_park_dsm_6ft.tif", 0.3048),
     ("city_dtm_1m.tif", "city_dsm_1m.tif", 1.0)],
)  # fmt: skip
def test_surfaces_below_ground_are_clamped_and_counted_as_written(tmp_path, ground, surface, unit):
    fact = facts()["pairs"][f"{ground} + {surface}"]
    loaded = load_surface(plan_of(tmp_path, {"ground": shared(ground), "surface": shared(surface)}))
    (note,) = [note for note in loaded.notes if note.code == "surface_below_ground"]
    assert note.values["of"] == fact["cells"]
    assert 100 * note.values["share"] == pytest.approx(fact["percent_dsm_below_dtm"], abs=0.011)
    if unit == 1.0:
        assert 100 * note.values["over_half_metre"] / fact["cells"] == pytest.approx(fact["percent_below_by_more_than_0_5"], abs=1e-3)
    assert -note.values["worst_m"] == pytest.approx(fact["min_difference"] * unit, abs=0.01)
    (layer,) = loaded.layers
    with np.errstate(invalid="ignore"):
        assert not (layer.surface.z_m < layer.ground.z_m).any()
    assert layer.knows_buildings and layer.knows_trees


def river(tmp_path, cell):
    return load_surface(
        plan_of(tmp_path, {"ground": shared(f"river_park_dtm_{cell}.tif"), "surface": shared(f"river_park_dsm_{cell}.tif")})
    )


def test_the_same_park_in_metres_and_in_feet(tmp_path):
    metres, feet = river(tmp_path, "2m"), river(tmp_path, "6ft")
    west, south, east, north = corners(metres.layers[0].ground)
    rng = np.random.default_rng(11)
    at = {"lat_deg": rng.uniform(south, north, 4000), "lon_deg": rng.uniform(west, east, 4000)}
    ground, top, _, _ = heights_at(metres, **at)
    ground_ft, top_ft, _, _ = heights_at(feet, **at)
    both = np.isfinite(ground) & np.isfinite(ground_ft)
    assert both.sum() > 2000
    assert abs(np.median(ground[both] - ground_ft[both])) < 0.02
    assert np.median(np.abs(ground[both] - ground_ft[both])) < 0.05
    both = np.isfinite(top) & np.isfinite(top_ft)
    assert abs(np.median(top[both] - top_ft[both])) < 0.02


def test_ground_at_the_points_of_the_independent_table(tmp_path):
    surface = river(tmp_path, "2m")
    with shared("clearance_truth.csv").open() as stream:
        rows = [row for row in csv.DictReader(stream) if row["dataset"].startswith("river") or row["crs"] == "EPSG:26910"]
    assert len(rows) == 120
    lon, lat = projection.to_wgs84([float(row["x"]) for row in rows], [float(row["y"]) for row in rows], "EPSG:26910")
    ground, top, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    np.testing.assert_allclose(ground, [float(row["ground_dtm_m"]) for row in rows], atol=0.002)
    above = np.array([float(row["dsm_minus_dtm_m"]) for row in rows])
    # the table is not clamped: where the raw surface dips below the ground ours is the ground
    np.testing.assert_allclose(top - ground, np.maximum(above, 0.0), atol=0.06)
    np.testing.assert_allclose(lat, [float(row["lat"]) for row in rows], atol=1e-6)


def test_the_city_with_canopy_and_outlines_that_cross_themselves(tmp_path):
    table = {
        "ground": shared("city_dtm_1m.tif"), "surface": shared("city_dsm_1m.tif"), "surface_has": ("buildings",),
        "canopy_height": (shared("city_canopy_1m.tif"),), "buildings": shared("city_buildings.gpkg"),
    }  # fmt: skip
    surface = load_surface(plan_of(tmp_path, table))
    (layer,) = surface.layers
    assert layer.knows_buildings and layer.knows_trees
    note = next(note for note in surface.notes if note.code == "footprints_repaired")
    assert (note.values["count"], note.values["of"]) == (2, 137)
    z, base, kind = layer.surface.z_m, layer.ground.z_m, layer.kind
    canopy = rasters.read(rasters.describe(shared("city_canopy_1m.tif"))).z_m
    dsm = rasters.read(rasters.describe(shared("city_dsm_1m.tif"))).z_m
    np.testing.assert_allclose(z, np.maximum(np.maximum(dsm, base + canopy), base), atol=1e-5)
    trees = (base + canopy > dsm + 1e-4) & (canopy > 0.6)
    assert trees.sum() > 1000 and (kind[trees] == KIND_GROWTH).all()
    assert set(np.unique(kind)) == {KIND_GROUND, KIND_BUILDING, KIND_GROWTH}
    # cells that the footprints call building stand well above ground, nearly all
    houses = kind == KIND_BUILDING
    assert np.median((z - base)[houses]) > 5.0
    # a point well inside an outline that lies on the raster is found there
    west, south, east, north = corners(layer.ground)
    on = [p for p in surface.footprints.polygons if west < p.centroid.x < east and south < p.centroid.y < north and p.area > 1e-8]
    assert len(on) > 5
    spot = on[0].representative_point()
    hit = building_at(surface.footprints, lat_deg=spot.y, lon_deg=spot.x, within_m=15.0)
    assert hit.inside and hit.polygon.contains(spot)


def test_the_city_without_its_canopy_knows_no_trees_unless_the_plan_says_so(tmp_path):
    table = {"ground": shared("city_dtm_1m.tif"), "surface": shared("city_dsm_1m.tif"), "buildings": shared("city_buildings.gpkg")}
    surface = load_surface(plan_of(tmp_path, table))  # the surface as delivered holds buildings alone, and nothing in the file says so
    assert surface.layers[0].knows_buildings and not surface.layers[0].knows_trees
    assert "surface_without_trees" in [note.code for note in surface.notes]
    surface = load_surface(plan_of(tmp_path, {**table, "surface_has": ("buildings", "trees")}))
    assert surface.layers[0].knows_trees


def test_the_valley_with_heights_on_another_grid(tmp_path):
    table = {
        "ground": shared("valley_dtm_5m.tif"), "building_height": (shared("valley_building_height_2m5.tif"),),
        "canopy_height": (shared("valley_canopy_height_2m5.tif"),),
    }  # fmt: skip
    surface = load_surface(plan_of(tmp_path, table))
    (layer,) = surface.layers
    assert layer.surface.cell_m == pytest.approx(2.5021 / 0.9996, rel=1e-3) and layer.ground.cell_m == pytest.approx(5.0, rel=2e-3)
    assert layer.knows_buildings and layer.knows_trees and layer.height_error_m == 1.0
    buildings = rasters.read(rasters.describe(shared("valley_building_height_2m5.tif")))
    lon, lat = _centres(buildings, np.argwhere(buildings.z_m == 52.0)[:1])
    ground, top, kind, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    assert top[0] - ground[0] == pytest.approx(52.0, abs=0.3) and kind[0] == KIND_BUILDING
    canopy = rasters.read(rasters.describe(shared("valley_canopy_height_2m5.tif")))
    high = np.argwhere((canopy.z_m > 20) & (buildings.z_m == 0))
    lon, lat = _centres(canopy, high[:: max(1, len(high) // 200)])
    ground, top, kind, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    known = np.isfinite(top)
    assert known.mean() > 0.95 and (kind[known] == KIND_GROWTH).all() and ((top - ground)[known] > 19.5).all()


def _centres(grid, at):
    a, b, c, d, e, f = grid.transform
    return projection.to_wgs84(a * (at[:, 1] + 0.5) + c, e * (at[:, 0] + 0.5) + f, grid.crs)


def test_the_valley_as_plain_heights(tmp_path):
    heights = (shared("valley_building_height_2m5.tif"), shared("valley_canopy_height_2m5.tif"))
    (layer,) = load_surface(plan_of(tmp_path, {"ground": shared("valley_dtm_5m.tif"), "height_above_ground": heights})).layers
    assert set(np.unique(layer.kind)) <= {0, KIND_GROUND, KIND_OBJECT} and layer.knows_trees


def test_the_hills_in_degrees_know_no_trees(tmp_path):
    surface = load_surface(plan_of(tmp_path, {"ground": shared("hills_dem_3arcsec.tif")}))
    check_places(surface)
    assert surface.layers[0].surface is None and not surface.layers[0].knows_trees
    (told,) = describe_terrain(plan_of(tmp_path, {"ground": shared("hills_dem_3arcsec.tif")}))
    assert told["cell_m"] == pytest.approx(83.7, abs=0.1) and told["height_error_m"] == 10.0 and not told["has_surface"]


def check_places(surface):
    """A gap and two towns whose heights are noted beside the data, to a cell or two: on these slopes up to 10 m."""
    places = [(36.383, -84.120, 330.0), (36.330, -84.184, 335.0), (36.218, -84.155, 265.0)]
    ground, _, kind, index = heights_at(surface, lat_deg=np.array([p[0] for p in places]), lon_deg=np.array([p[1] for p in places]))
    np.testing.assert_allclose(ground, [p[2] for p in places], atol=10.0)
    assert (kind == KIND_GROUND).all() and (index == 0).all()


def test_the_elevation_model_that_matplotlib_ships(tmp_path):
    """Its rows run from 36.733 "ymin" to 36.446 "ymax" at the source; the land fits with 36.44625 as the NORTH edge, row 0 there."""
    matplotlib = pytest.importorskip("matplotlib")
    from matplotlib.cbook import get_sample_data

    assert matplotlib
    with get_sample_data("jacksboro_fault_dem.npz") as dem:
        z, west = dem["elevation"], float(dem["xmin"])
    cell, north = 1.0 / 1200.0, 36.44625
    from rasterio.transform import Affine

    path = write_tif(tmp_path / "hills.tif", z.astype(np.float32), crs="EPSG:4326", transform=Affine(cell, 0, west, 0, -cell, north))
    surface = load_surface(plan_of(tmp_path, {"ground": path}))
    (layer,) = surface.layers
    assert layer.ground.z_m.shape == (344, 403) and (layer.ground.z_m.min(), layer.ground.z_m.max()) == (236.0, 1076.0)
    check_places(surface)
    w, s, e, n = corners(layer.ground)
    assert (s, n) == (pytest.approx(36.159583, abs=1e-6), pytest.approx(36.44625, abs=1e-9)) and e - w == pytest.approx(
        403 / 1200, abs=1e-6
    )
    (picture,) = backdrop(surface, largest_side=500)
    # a grid in degrees fills its box: at most a rim of half a cell on each side is unknown
    assert (picture.alpha == 255).mean() > 0.98 and picture.shade[picture.alpha == 255].std() > 5
