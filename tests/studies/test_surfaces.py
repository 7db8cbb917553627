"""From terrain tables to a surface: windows of large files, footprints on coarse ground, layers that contradict each other."""

from __future__ import annotations

import json

import geopandas
import numpy as np
import pytest
from shapely import box
from terrain_makers import ORIGIN, UTM, plan_of, write_tif

from siteplan.errors import PlanError, RasterError
from siteplan.geodesy import projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, KIND_OBJECT
from siteplan.studies import surfaces, terrain_files
from siteplan.terrain.surface import heights_at
from siteplan.words import sentence


def lat_lon(east, south):
    """WGS84 of a point so many metres east and south of the origin."""
    lon, lat = projection.to_wgs84(ORIGIN[0] + np.asarray(east, float), ORIGIN[1] - np.asarray(south, float), UTM)
    return {"lat_deg": lat, "lon_deg": lon}


def place(east, south, near_m):
    at = lat_lon(east, south)
    return float(at["lat_deg"]), float(at["lon_deg"]), near_m


def rough(rows, cols, seed=0):
    rng = np.random.default_rng(seed)
    r, c = np.mgrid[0:rows, 0:cols]
    return (200 + 30 * np.sin(r / 40.0) + 20 * np.cos(c / 60.0) + rng.uniform(0, 1, (rows, cols))).astype(np.float32)


def test_no_terrain_is_a_plan_error(tmp_path):
    with pytest.raises(PlanError, match="no terrain"):
        surfaces.load_surface(plan_of(tmp_path))


def test_a_small_plan_whole(tmp_path):
    z = rough(50, 60)
    top = z.copy()
    top[10:14, 10:14] += 7
    plan = plan_of(tmp_path, {"ground": write_tif(tmp_path / "g.tif", z), "surface": write_tif(tmp_path / "s.tif", top)})
    surface = surfaces.load_surface(plan, around=[place(30, 25, 10.0)])
    ground, high, kind, index = heights_at(surface, **lat_lon([12.0, 40.0], [12.0, 40.0]))
    assert high[0] - ground[0] == pytest.approx(7.0, abs=0.01) and kind.tolist() == [KIND_OBJECT, KIND_GROUND] and index.tolist() == [0, 0]
    at = lat_lon(30, 25)
    assert surfaces.covers(surface, float(at["lat_deg"]), float(at["lon_deg"])) and not surfaces.covers(surface, 10.0, 10.0)
    assert surface.layers[0].knows_trees and surface.layers[0].height_error_m == 0.3


def large(tmp_path, monkeypatch, whole=20_000):
    """A file of 400 x 500 cells of 2 m that counts as large, with a mast at each of two places."""
    monkeypatch.setattr(terrain_files, "WHOLE_CELLS", whole)
    monkeypatch.setattr(terrain_files, "RINGS", ((4, 200.0), (16, float("inf"))))
    z = rough(400, 500)
    top = z.copy()
    top[100, 100] += 25.0
    top[300, 400] += 30.0
    ground, surface = (write_tif(tmp_path / f"{name}.tif", data, cell=2.0, tiled=True) for name, data in (("g", z), ("s", top)))
    return z, top, plan_of(tmp_path, {"ground": ground, "surface": surface})


def test_a_large_file_is_read_in_windows_and_coarser_farther_out(tmp_path, monkeypatch):
    z, top, plan = large(tmp_path, monkeypatch)
    around = [place(200, 200, 60.0), place(230, 200, 60.0), place(900, 700, 40.0)]
    surface = surfaces.load_surface(plan, around=around, far_m=2000.0)
    cells = [round(layer.surface.cell_m) for layer in surface.layers]
    assert cells == [2, 2, 8, 32]  # the first two places are joined
    assert sum(layer.ground.z_m.size for layer in surface.layers) < z.size / 2
    # at full resolution near: the same heights as the whole file gives
    monkeypatch.setattr(terrain_files, "WHOLE_CELLS", 10**9)
    whole = surfaces.load_surface(plan)
    rng = np.random.default_rng(1)
    near = lat_lon(200 + rng.uniform(-55, 55, 200), 200 + rng.uniform(-55, 55, 200))
    np.testing.assert_allclose(heights_at(surface, **near)[1], heights_at(whole, **near)[1], atol=1e-3)
    assert (heights_at(surface, **near)[3] < 2).all()
    # far out: still known, and the highest of each block survives
    everywhere = lat_lon(rng.uniform(40, 960, 300), rng.uniform(40, 760, 300))
    assert np.isfinite(heights_at(surface, **everywhere)[1]).all()
    assert np.nanmax(surface.layers[2].surface.z_m) >= top[100, 100] and np.nanmax(surface.layers[3].surface.z_m) == top.max()
    assert surface.layers[0].knows_trees and not surface.layers[2].knows_trees and not surface.layers[3].knows_trees
    assert surface.layers[3].height_error_m >= surface.layers[0].height_error_m


def test_without_places_a_large_file_comes_coarsened_and_that_is_said(tmp_path, monkeypatch):
    _, _, plan = large(tmp_path, monkeypatch)
    surface = surfaces.load_surface(plan)
    (layer,) = surface.layers
    assert round(layer.surface.cell_m) == 8 and [note.code for note in surface.notes] == ["terrain_coarsened"]


def test_places_too_far_apart_narrow_the_windows_and_that_is_said(tmp_path, monkeypatch):
    _, _, plan = large(tmp_path, monkeypatch)
    monkeypatch.setattr(terrain_files, "WINDOW_CELLS", 5_000)
    surface = surfaces.load_surface(plan, around=[place(200, 200, 100.0), place(800, 600, 100.0)], far_m=2000.0)
    (note,) = [note for note in surface.notes if note.code == "terrain_window_narrowed"]
    assert note.values["share"] < 0.7
    fine = [layer for layer in surface.layers if round(layer.surface.cell_m) == 2]
    assert sum(layer.surface.z_m.size for layer in fine) <= 5_000
    assert (heights_at(surface, **lat_lon([200, 800], [200, 600]))[3] < 2).all()


def test_places_off_the_terrain(tmp_path, monkeypatch):
    _, _, plan = large(tmp_path, monkeypatch)
    with pytest.raises(RasterError, match="none of the terrain lies near"):
        surfaces.load_surface(plan, around=[(10.0, 10.0, 100.0)], far_m=2000.0)


def houses(tmp_path, heights, **more):
    shapes = geopandas.GeoSeries([box(100, -120, 120, -100), box(300, -310, 312, -300)]).translate(*ORIGIN)
    geopandas.GeoDataFrame({"height": heights, **more}, geometry=shapes.values, crs=UTM).to_file(tmp_path / "b.gpkg")
    return tmp_path / "b.gpkg"


def test_footprints_with_heights_on_coarse_ground_stand_on_cells_of_a_metre(tmp_path):
    ground = write_tif(tmp_path / "g.tif", np.full((50, 50), 80.0, np.float32), cell=10.0)
    plan = plan_of(tmp_path, {"ground": ground, "buildings": houses(tmp_path, ["9 m", "12 m"])})
    surface = surfaces.load_surface(plan)
    fine, coarse = surface.layers
    assert fine.surface.cell_m == 1.0 and coarse.surface is None and coarse.ground.cell_m > 9
    assert fine.knows_buildings and not fine.knows_trees and fine.height_error_m == coarse.height_error_m == 2.0
    ground, top, kind, index = heights_at(surface, **lat_lon([110, 306, 110, 450, 98], [110, 305, 130, 450, 110]))
    np.testing.assert_allclose(top, [89, 92, 80, 80, 80], atol=1e-3)
    assert kind.tolist() == [KIND_BUILDING, KIND_BUILDING, KIND_GROUND, KIND_GROUND, KIND_GROUND]
    assert index.tolist() == [0, 0, 0, 1, 0]
    # only near the places asked for, and only where there are houses
    near = surfaces.load_surface(plan, around=[place(110, 110, 50.0), place(450, 50, 30.0)])
    assert len(near.layers) == 2 and near.layers[0].surface.z_m.size < 3_000
    assert heights_at(near, **lat_lon(306, 305))[1] == 80.0


def test_footprints_without_heights_change_no_heights(tmp_path):
    ground = write_tif(tmp_path / "g.tif", np.full((50, 50), 80.0, np.float32), cell=10.0)
    surface = surfaces.load_surface(plan_of(tmp_path, {"ground": ground, "buildings": houses(tmp_path, [None, ""])}))
    assert len(surface.layers) == 1 and surface.layers[0].surface is None and len(surface.footprints.polygons) == 2


def test_heights_from_levels_are_said(tmp_path):
    ground = write_tif(tmp_path / "g.tif", np.full((50, 50), 80.0, np.float32), cell=10.0)
    plan = plan_of(tmp_path, {"ground": ground, "buildings": houses(tmp_path, [None, ""], **{"building:levels": ["2", "4"]})})
    surface = surfaces.load_surface(plan)
    assert heights_at(surface, **lat_lon(306, 305))[1] == pytest.approx(92.0, abs=1e-3)
    assert [note.code for note in surface.notes] == ["footprint_heights_from_levels"]


def test_one_raster_of_heights_alone_is_not_told_until_the_plan_tells(tmp_path):
    ground = write_tif(tmp_path / "g.tif", np.full((50, 50), 80.0, np.float32))
    heights = np.zeros((50, 50), np.float32)
    heights[20:25, 20:25] = 11.0
    chm = write_tif(tmp_path / "h.tif", heights)
    surface = surfaces.load_surface(plan_of(tmp_path, {"ground": ground, "height_above_ground": (chm,)}))
    assert not surface.layers[0].knows_trees and [note.code for note in surface.notes] == ["heights_not_told"]
    assert heights_at(surface, **lat_lon(22.5, 22.5))[2] == KIND_OBJECT
    for key, kind, known in (("canopy_height", KIND_GROWTH, (False, True)), ("building_height", KIND_BUILDING, (True, False))):
        layer = surfaces.load_surface(plan_of(tmp_path, {"ground": ground, key: (chm,)})).layers[0]
        assert (layer.knows_buildings, layer.knows_trees) == known and layer.kind[22, 22] == kind
    both = {"ground": ground, "height_above_ground": (chm,), "height_above_ground_has": ("buildings", "trees")}
    assert surfaces.load_surface(plan_of(tmp_path, both)).layers[0].knows_trees


def test_voids_of_heights_are_zero_only_where_the_plan_says_so(tmp_path):
    ground = write_tif(tmp_path / "g.tif", np.full((50, 50), 80.0, np.float32))
    heights = np.full((50, 50), -9999.0, np.float32)
    heights[20:25, 20:25] = 11.0
    table = {"ground": ground, "canopy_height": (write_tif(tmp_path / "h.tif", heights, nodata=-9999.0),)}
    surface = surfaces.load_surface(plan_of(tmp_path, table))
    assert np.isnan(surface.layers[0].surface.z_m[0, 0]) and [note.code for note in surface.notes] == ["heights_mostly_void"]
    surface = surfaces.load_surface(plan_of(tmp_path, {**table, "height_void_is_zero": True}))
    assert surface.layers[0].surface.z_m[0, 0] == 80.0 and surface.notes == ()


@pytest.mark.parametrize(("factor", "unit"), [(3.28084, "feet"), (100.0, "centimetres"), (1 / 3.28084, "feet")])
def test_a_layer_in_another_unit_is_found_by_the_layer_below(tmp_path, factor, unit):
    coarse = write_tif(tmp_path / "coarse.tif", rough(100, 100)[::2, ::2] / 4, cell=20.0)
    fine = write_tif(tmp_path / "fine.tif", np.repeat(np.repeat(rough(100, 100)[:20:2, :20:2] / 4, 10, 0), 10, 1) * factor, cell=2.0)
    plan = plan_of(tmp_path, {"ground": coarse}, {"ground": fine})
    with pytest.raises(RasterError, match=f"fine.tif and coarse.tif.*in {unit}; write its vertical_unit"):
        surfaces.load_surface(plan)


def test_layers_on_other_datums_are_said_and_those_that_agree_are_not(tmp_path):
    coarse = write_tif(tmp_path / "coarse.tif", np.full((50, 50), 300.0, np.float32), cell=20.0)
    near = write_tif(tmp_path / "near.tif", np.full((100, 100), 303.0, np.float32), cell=2.0)
    off = write_tif(tmp_path / "off.tif", np.full((100, 100), 347.0, np.float32), cell=2.0)
    assert surfaces.load_surface(plan_of(tmp_path, {"ground": near}, {"ground": coarse})).notes == ()
    (note,) = surfaces.load_surface(plan_of(tmp_path, {"ground": off}, {"ground": coarse})).notes
    assert note.code == "layers_disagree" and note.values["median_m"] == 47.0
    assert "off.tif lies +47.0 m above coarse.tif" in sentence(note)


def test_grids_of_one_table_that_do_not_overlap_are_said(tmp_path):
    ground = write_tif(tmp_path / "g.tif", rough(20, 20))
    surface = write_tif(tmp_path / "s.tif", rough(20, 20), origin=(ORIGIN[0] + 9000, ORIGIN[1]))
    with pytest.raises(RasterError, match=r"s.tif and g.tif do not overlap"):
        surfaces.load_surface(plan_of(tmp_path, {"ground": ground, "surface": surface}))


def test_description_is_plain_values_and_complete(tmp_path):
    z = rough(50, 60)
    z[0, :6] = -9999
    table = {
        "ground": write_tif(tmp_path / "g.tif", z, nodata=-9999.0, unit="metre"), "surface": write_tif(tmp_path / "s.tif", rough(50, 60)),
        "buildings": houses(tmp_path, [None, "3"]), "flown_on": "2024-05-01",
    }  # fmt: skip
    (told,) = surfaces.describe_terrain(plan_of(tmp_path, table))
    assert json.loads(json.dumps(told))["cell_m"] == pytest.approx(1.0, abs=0.001)
    assert [file["role"] for file in told["files"]] == ["ground", "surface"]
    ground = told["files"][0]
    assert ground["nodata_share"] == pytest.approx(6 / 3000, abs=1e-4) and ground["crs"].endswith("(EPSG:32633)")
    assert (ground["vertical_unit"], ground["vertical_unit_known_from"]) == ("m", "band unit")
    assert (told["files"][1]["vertical_unit_known_from"], told["flown_on"]) == ("not stated", "2024-05-01")
    assert told["vertical_datum"] == "not stated: taken as metres above mean sea level"
    assert (told["knows_buildings"], told["knows_trees"], told["has_surface"]) == (True, True, True)
    assert told["footprints"]["with_height"] == 1 and ground["extent"]["west_deg"] == pytest.approx(15.0)


def test_the_description_finds_what_a_run_would_find(tmp_path):
    z = rough(50, 60)
    ground = write_tif(tmp_path / "g.tif", z)
    with pytest.raises(RasterError, match="under its ground"):
        surfaces.describe_terrain(plan_of(tmp_path, {"ground": ground, "surface": write_tif(tmp_path / "low.tif", z - 3)}))
    bad = z.copy()
    bad[3, 3] = -9999.0
    with pytest.raises(RasterError, match="1 of 3,000 cells hold -9999"):
        surfaces.describe_terrain(plan_of(tmp_path, {"ground": write_tif(tmp_path / "bad.tif", bad)}))
    dips = z.copy()
    dips[:5] -= 0.25
    surface = write_tif(tmp_path / "dips.tif", dips)
    (told, _) = surfaces.describe_terrain(plan_of(tmp_path, {"ground": ground, "surface": surface}, {"ground": ground}))
    assert "below the ground in 300 of 3,000 cells" in told["notes"][0]


def test_a_large_file_is_described_from_a_sample(tmp_path, monkeypatch):
    _, _, plan = large(tmp_path, monkeypatch)
    (told,) = surfaces.describe_terrain(plan)
    assert told["knows_trees"] and [file["nodata_share"] for file in told["files"]] == [0.0, 0.0]


def test_every_note_has_its_sentence(tmp_path):
    from siteplan.words.terrain import SENTENCES

    values = dict.fromkeys(("file", "ground", "fine", "coarse"), "a.tif") | dict.fromkeys(
        ("cells", "of", "over_half_metre", "west_cells", "north_cells", "count", "factor"), 3
    )
    values |= dict.fromkeys(("worst_m", "across_m", "down_m", "share", "metres_per_level", "cell_m", "median_m"), 0.25)
    from siteplan.records.verdict import Reason

    for code in SENTENCES:
        assert "{" not in sentence(Reason(code, values)) and "a.tif" in sentence(Reason(code, values))
