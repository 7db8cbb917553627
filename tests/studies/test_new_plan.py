"""`siteplan new`: which file becomes what, what is said of it, and that the plan it writes can be used as it stands and line by line."""

import re
from datetime import date

import numpy as np
import pytest
from shared_data import need_shared
from table_makers import write_book
from terrain_makers import ORIGIN, write_tif

from siteplan.errors import InputError, OutputError
from siteplan.files.plan_file import defaults_table, read_plan
from siteplan.files.plan_text import SENDER_FILES, toml_value
from siteplan.records.plan import Plan
from siteplan.studies.check import check
from siteplan.studies.new_plan import new_plan

DAY = date(2026, 6, 11)
ROWS, COLS = np.mgrid[0:60, 0:80]
GROUND = (40.0 + 0.05 * COLS + 2.0 * np.sin(ROWS / 9.0)).astype(np.float32)
HOUSES = np.zeros_like(GROUND)
HOUSES[10:18, 10:22] = HOUSES[30:42, 50:60] = HOUSES[44:50, 6:16] = 7.0
LIST = "id,lat_deg,lon_deg\nA1,47.8531,15.0003\nA2,47.8530,15.0006\nA3,,\n"


def made(folder, **keys):
    return new_plan(folder, addresses=keys.get("addresses"), terrain=keys.get("terrain"), on_date=DAY)


def said(plan):
    return "\n".join(plan.lines)


@pytest.fixture
def land(tmp_path):
    folder = tmp_path / "land"
    folder.mkdir()
    return folder


def test_a_pair_of_rasters_with_names_that_mislead(land, tmp_path):
    write_tif(land / "dsm.tif", GROUND)
    write_tif(land / "dtm.tif", GROUND + HOUSES)
    made_plan = made(tmp_path / "job", terrain=land)
    table = read_plan(made_plan.plan).terrain[0]
    assert (table.ground.name, table.surface.name) == ("dsm.tif", "dtm.tif")
    assert "dtm.tif taken as surface (ground with what stands on it): it is as high as dsm.tif" in said(made_plan)
    assert 'ground = "../land/dsm.tif"' in made_plan.plan.read_text(encoding="utf-8")


def test_names_are_a_hint_that_is_said_where_heights_do_not_tell(land, tmp_path):
    write_tif(land / "area_dsm.tif", GROUND)
    write_tif(land / "area_dtm.tif", GROUND)
    first = made(tmp_path / "job", terrain=land)
    assert read_plan(first.plan).terrain[0].surface.name == "area_dsm.tif"
    assert "their NAMES say ground and surface, and that was followed" in said(first)
    (land / "area_dsm.tif").rename(land / "copy.tif")
    second = made(tmp_path / "other", terrain=land)
    assert read_plan(second.plan).terrain[0].surface is None
    assert "Not placed: copy.tif holds the same heights as area_dtm.tif." in said(second)


def test_heights_above_ground_by_their_values(land, tmp_path):
    write_tif(land / "a.tif", HOUSES)
    write_tif(land / "b.tif", GROUND)
    table = read_plan(made(tmp_path / "job", terrain=land).plan).terrain[0]
    assert table.ground.name == "b.tif" and [path.name for path in table.height_above_ground] == ["a.tif"]
    assert table.height_above_ground_has == (), "nobody says whether they are buildings or trees"
    write_tif(land / "c.tif", GROUND + HOUSES)
    again = made(tmp_path / "other", terrain=land)
    table = read_plan(again.plan).terrain[0]
    assert table.surface.name == "c.tif" and not table.height_above_ground
    assert "Not placed: a.tif holds heights above ground that the surface c.tif shows already." in said(again)


def test_a_surface_that_lacks_what_the_other_holds_is_not_taken_for_whole(land, tmp_path):
    trees = np.zeros_like(GROUND)
    trees[2:8, 40:70] = 11.0
    write_tif(land / "g.tif", GROUND)
    write_tif(land / "s.tif", GROUND + HOUSES)
    write_tif(land / "h.tif", trees)
    made_plan = made(tmp_path / "job", terrain=land)
    table = read_plan(made_plan.plan).terrain[0]
    assert (table.surface.name, table.surface_has, [path.name for path in table.height_above_ground]) == ("s.tif", (), ["h.tif"])
    assert "surface_has is left empty in the plan, fill it in" in said(made_plan)


def test_a_surface_without_ground_is_not_taken_for_ground(land, tmp_path):
    write_tif(land / "only.tif", GROUND + HOUSES)
    made_plan = made(tmp_path / "job", terrain=land)
    assert read_plan(made_plan.plan).terrain == ()
    assert "Not placed: only.tif looks like a surface with buildings and trees" in said(made_plan)
    assert "No terrain was placed" in said(made_plan)
    wide = np.full((40, 40), 42.0, dtype=np.float32)
    write_tif(land / "wide.tif", wide, cell=20.0, origin=(ORIGIN[0] - 300, ORIGIN[1] + 300))
    again = read_plan(made(tmp_path / "other", terrain=land).plan).terrain
    assert [(table.ground.name, table.surface and table.surface.name) for table in again] == [("wide.tif", "only.tif"), ("wide.tif", None)]


def test_what_can_not_be_placed_is_named_with_its_reason(land, tmp_path):
    write_tif(land / "nocrs.tif", GROUND, crs=None)
    write_tif(land / "picture.tif", np.zeros((3, 60, 80), dtype=np.uint8))
    (land / "cut.tif").write_bytes(write_tif(land / "whole.tif", GROUND).read_bytes()[:300])
    write_tif(land / "high.tif", GROUND + 300)
    write_tif(land / "void.tif", np.full_like(GROUND, 32767.0), origin=(600_000, 5_200_000))
    made_plan = made(tmp_path / "job", terrain=land)
    text = said(made_plan)
    for part in (
        "Not placed: nocrs.tif: the file names no coordinate system", "Not placed: picture.tif: this is a picture",
        "Not placed: cut.tif: this GeoTIFF is damaged",
        "high.tif lies far above whole.tif everywhere (300 m in the median)", "Not placed: void.tif: 4,800 of 4,800 cells hold 32767",
    ):  # fmt: skip
        assert part in text
    assert read_plan(made_plan.plan).terrain == ()


def test_large_files_are_compared_in_windows(land, tmp_path, monkeypatch):
    monkeypatch.setattr("siteplan.studies.terrain_roles.WHOLE_CELLS", 1000)
    monkeypatch.setattr("siteplan.studies.terrain_roles.WINDOW_REACH", 8)
    write_tif(land / "a.tif", GROUND + HOUSES)
    write_tif(land / "b.tif", GROUND)
    table = read_plan(made(tmp_path / "job", terrain=land).plan).terrain[0]
    assert (table.ground.name, table.surface.name) == ("b.tif", "a.tif")


def test_outlines_of_houses_and_plots_of_land(land, tmp_path):
    import geopandas
    from shapely.geometry import box

    write_tif(land / "g.tif", GROUND)
    x, y = ORIGIN
    houses = [box(x + 10 + 12 * k, y - 20, x + 16 + 12 * k, y - 12) for k in range(4)]
    plots = [box(x + 15 * k, y - 60, x + 15 * (k + 1), y) for k in range(5)]
    geopandas.GeoDataFrame({"height": [5.0] * 4}, geometry=houses, crs="EPSG:32633").to_file(land / "houses.gpkg")
    geopandas.GeoDataFrame({"n": range(5)}, geometry=plots, crs="EPSG:32633").to_file(land / "plots.gpkg")
    made_plan = made(tmp_path / "job", terrain=land)
    assert read_plan(made_plan.plan).terrain[0].buildings.name == "houses.gpkg"
    assert "houses.gpkg taken as building outlines: 4 of them, 48 m² in the median, 4 with a height." in said(made_plan)
    assert "Not placed: plots.gpkg holds outlines that look like plots of land" in said(made_plan)


def test_everything_in_one_folder_without_a_flag(tmp_path):
    write_tif(tmp_path / "g.tif", GROUND)
    write_book(tmp_path / "list.xlsx", {"Liste": [["Nummer", "Breite", "Länge"], ["A1", 47.8531, 15.0003], ["A2", 47.8530, 15.0006]]})
    (tmp_path / "notes.csv").write_text("a,b\n1,2\n")
    made_plan = made(tmp_path)
    plan = read_plan(made_plan.plan)
    assert plan.date == DAY and plan.addresses.file.name == "list.xlsx" and plan.terrain[0].ground.name == "g.tif"
    assert "list.xlsx taken as address list: 2 of 2 rows have coordinates, 2 of them on the ground taken." in said(made_plan)
    assert "Breite as latitude" in said(made_plan) and made_plan.lines[-1].endswith(f"siteplan check {made_plan.plan}")
    assert check(made_plan.plan)["addresses"]["accepted"] == 2


def test_a_list_that_is_not_understood_is_named_with_its_columns(tmp_path):
    (tmp_path / "list.csv").write_text("who,there,yonder\nA1,47.8531,15.0003\n")
    made_plan = made(tmp_path / "job", addresses=tmp_path / "list.csv")
    assert "no row has coordinates" in said(made_plan)
    text = made_plan.plan.read_text(encoding="utf-8")
    assert "The columns of this list: who, there, yonder" in text
    assert '#columns = { id = "...", name = "...", lat_deg = "...", lon_deg = "..." }' in text
    assert read_plan(made_plan.plan).addresses.file.name == "list.csv"


def test_two_lists_in_a_folder_are_both_named_and_none_taken(tmp_path):
    for name in ("one.csv", "two.csv"):
        (tmp_path / name).write_text(LIST)
    made_plan = made(tmp_path)
    assert "(one.csv and two.csv): none was taken" in said(made_plan) and read_plan(made_plan.plan).addresses.file is None


def test_every_line_behind_a_hash_can_be_used(tmp_path):
    write_tif(tmp_path / "ground.tif", GROUND)
    write_tif(tmp_path / "surface.tif", GROUND + HOUSES)
    (tmp_path / "list.csv").write_text(LIST)
    plan_file = made(tmp_path).plan
    text = plan_file.read_text(encoding="utf-8")
    used = re.sub(r"(?m)^#(?=[\[a-z])", "", text)
    assert used.count("\n[") > text.count("\n[")
    plan_file.write_text(used, encoding="utf-8")
    plan = read_plan(plan_file)
    assert plan.satellites.wanted == (25.0, -5.0) and plan.satellites.file.name == "satellites.csv"
    for key, default, _, _ in defaults_table():
        table, name = key.split(".")
        assert getattr(getattr(plan, table), name) == default, key
    assert plan.mount == Plan(file=plan_file).mount


def test_the_examples_of_senders_can_be_used(tmp_path):
    write_tif(tmp_path / "ground.tif", GROUND)
    (tmp_path / "list.csv").write_text(LIST)
    made(tmp_path)
    (tmp_path / "plan.toml").unlink()
    for file, columns, example in SENDER_FILES.values():
        assert (tmp_path / file).read_text() == ",".join(columns) + "\n"
        with (tmp_path / file).open("a") as out:
            out.write(example + "\n")
    again = made(tmp_path)
    found = check(again.plan)
    assert (found["satellites"]["transponders"], found["transmitters"]["multiplexes"], found["mobile"]["accepted"]) == (1, 1, 1)
    assert not any(found[key]["rejects"] for key in ("satellites", "transmitters", "mobile"))
    assert "satellites.csv was here already and has 1 rows that can be used: named in the plan." in said(again)


def test_empty_tables_of_senders_do_no_harm(tmp_path):
    write_tif(tmp_path / "ground.tif", GROUND)
    (tmp_path / "list.csv").write_text(LIST)
    plan = made(tmp_path).plan
    idle = r"(?m)^#(?=\[(satellites|transmitters|mobile)\]|file = \"(satellites|transmitters|sectors))"
    plan.write_text(re.sub(idle, "", plan.read_text("utf-8")), "utf-8")
    found = check(plan)
    assert [found[key]["accepted"] for key in ("satellites", "transmitters", "mobile")] == [0, 0, 0] and found["problem"] is None


def test_a_plan_that_is_there_is_not_touched(tmp_path):
    (tmp_path / "plan.toml").write_text("mine")
    with pytest.raises(OutputError, match="is there already, so it is not overwritten; nothing was changed"):
        made(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["plan.toml"] and (tmp_path / "plan.toml").read_text() == "mine"
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="can't be a folder for a plan"):
        made(tmp_path / "file")
    with pytest.raises(InputError, match="no such address list"):
        made(tmp_path / "new", addresses=tmp_path / "none.csv")
    with pytest.raises(InputError, match="no such terrain folder"):
        made(tmp_path / "new", terrain=tmp_path / "none")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("name", ['a" \n[kit]\ndishes_m = [9]\n#', "a'b", "back\\slash", "ü ß €", "tab\there"])
def test_names_of_files_never_become_keys(tmp_path, name):
    folder = tmp_path / name
    folder.mkdir()
    write_tif(folder / "g.tif", GROUND)
    plan = read_plan(made(folder).plan)
    assert plan.kit == Plan(file=folder).kit and plan.terrain[0].ground.name == "g.tif"
    (folder / f"{name.split(chr(10))[0]}x.csv").write_text(LIST)
    (folder / "plan.toml").unlink()
    assert read_plan(made(folder).plan).kit == Plan(file=folder).kit


def test_toml_values():
    assert toml_value(['a"b', 0.65, True, {"x": "\u2028"}]) == '["a\\"b", 0.65, true, { x = "\\U00002028" }]'


def test_real_rasters_without_their_names(tmp_path):
    shared = need_shared("terrain")
    city = ["city_dtm_1m", "city_dsm_1m", "city_canopy_1m"]
    names = [*city, "valley_dtm_5m", "valley_building_height_2m5", "valley_canopy_height_2m5", "hills_dem_3arcsec"]
    for number, name in enumerate(sorted(names, key=lambda name: name[::-1])):
        (tmp_path / f"{number}.tif").symlink_to(shared / f"{name}.tif")
    true = {path.name: path.resolve().stem for path in tmp_path.glob("*.tif")}
    tables = read_plan(made(tmp_path).plan).terrain
    told = {
        true[table.ground.name]: (
            table.surface and true[table.surface.name], sorted(true[path.name] for path in table.height_above_ground),
        )
        for table in tables
    }  # fmt: skip
    assert told == {
        "city_dtm_1m": ("city_dsm_1m", ["city_canopy_1m"]),
        "valley_dtm_5m": (None, ["valley_building_height_2m5", "valley_canopy_height_2m5"]),
        "hills_dem_3arcsec": (None, []),
    }
