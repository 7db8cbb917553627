"""Maps of an area from the plan to the folder: what is written, how it describes itself, and how a later run takes it up."""

import json
from datetime import UTC, datetime

import numpy as np
import pytest
import rasterio
from area_makers import CELL, lon_lat, village

from siteplan.errors import InputError, OutputError, PlanError
from siteplan.files.plan_file import read_plan
from siteplan.studies.area_job import do_area
from siteplan.studies.area_maps import key_for, maps_in
from siteplan.studies.job import do_job

RASTERS = {
    "area-satellites.tif", "area-mount-height.tif", "area-dish.tif", "area-satellite-margin.tif", "area-arc.tif",
    "area-transmitter.tif", "area-tv-field.tif", "area-sector.tif", "area-rsrp.tif",
}  # fmt: skip
MORE = "[area]\ncell_m = 5\nradio_paths = 150\nmargin_m = 60\n"


def clock():
    return datetime(2026, 6, 11, 9, tzinfo=UTC)


def make(plan, out=None, **how):
    said = []
    done = do_area(plan, out, clock=clock, say=said.append, **how)
    return done, said


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("area")
    plan = village(folder, more=MORE)
    done, said = make(plan)
    return plan, folder / "outputs", done, said


def test_the_folder_holds_rasters_their_table_and_a_page(made):
    _, out, done, said = made
    assert {path.name for path in out.iterdir()} == RASTERS | {"area.json", "area.html", "run.json"}  # no work folder is left
    assert done.last_line == f"Open {out / 'area.html'}"
    assert any("cells of 5 m in WGS 84 / UTM zone 33N" in line for line in said)
    assert any(line.startswith("Southbird: ") for line in done.lines) and any(line.startswith("TV: worked every") for line in done.lines)
    listed = {line["file"] for line in json.loads((out / "run.json").read_bytes())["files"]}
    assert listed == RASTERS | {"area.json", "area.html"}


def test_every_band_says_what_it_holds(made):
    _, out, _, _ = made
    table = json.loads((out / "area.json").read_bytes())
    for one in table["rasters"]:
        with rasterio.open(out / one["file"]) as found:
            assert found.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
            tags = found.tags()
            assert tags["SITEPLAN_VERSION"] and tags["PLAN"] == "Village (invented)" and tags["DATE"] == "2026-06-11"
            assert [band["holds"] for band in one["bands"]] == list(found.descriptions)
            for band, unit, nodata in zip(one["bands"], found.units, found.nodatavals, strict=True):
                assert band["unit"] == (unit or "")
                stated = "NaN" if np.isnan(nodata) else f"{nodata:.0f}"
                assert stated in band["holds"]  # the value of unknown cells is told in words too
    with rasterio.open(out / "area-transmitter.tif") as found:
        names = json.loads(found.tags()["NAMES"])
        assert names == ["North Mast", "East Mast"] == [one["name"] for one in table["transmitters"]]
        assert set(np.unique(found.read(1))) <= {0, 1, 65_535}


def test_dishes_and_margins_lie_where_a_dish_sees(made):
    plan, out, done, _ = made
    with rasterio.open(out / "area-mount-height.tif") as found:
        everyone, *heights = found.read()
    with rasterio.open(out / "area-dish.tif") as found:
        largest, *dishes = found.read()
        assert json.loads(found.tags()["DISHES_M"]) == [0.6, 0.8, 1.0, 1.2] and found.units == ("m", "m", "m")
    with rasterio.open(out / "area-satellite-margin.tif") as found:
        margins = found.read()
        assert found.units == ("dB", "dB") and "99.7 % of the average year" in found.descriptions[0]
    for height, dish, margin in zip(heights, dishes, margins, strict=True):
        assert np.array_equal(np.isfinite(height), np.isfinite(margin)) and np.isfinite(dish).any()
        assert set(np.unique(dish[np.isfinite(dish)]).astype(float).round(2).tolist()) <= {0.6, 0.8, 1.0, 1.2}
    both = np.isfinite(largest)
    assert both.any() and np.array_equal(largest[both], np.maximum(*dishes)[both]) and not (both & np.isnan(everyone)).any()
    assert any("dish will do at" in line for line in done.lines)
    questions = {one.question for one in maps_in(out, key_for(read_plan(plan), "2026-06-11")).overlays}
    assert {"Which dish does Southbird need?", "Which dish do all satellites need?", "How much does rain leave of Eastbird?"} <= questions


def test_count_states_and_heights_fit_together(made):
    _, out, _, _ = made
    with rasterio.open(out / "area-satellites.tif") as found:
        count, *states = found.read()
    with rasterio.open(out / "area-mount-height.tif") as found:
        everyone, *heights = found.read()
    known = count != 255
    assert known.any() and np.array_equal(count[known], sum((state == 3).astype(int) for state in states)[known])
    for state, height in zip(states, heights, strict=True):
        assert set(np.unique(state)) <= {0, 1, 2, 3, 255}
        assert np.isfinite(height[state == 3]).all() and np.isnan(height[(state == 0) | (state == 255)]).all()
        assert (height[state == 3] >= 3.0 - 1e-6).all()
    assert np.array_equal(everyone, np.where(np.isnan(heights).any(axis=0), np.nan, np.max(heights, axis=0)), equal_nan=True)


def test_shares_add_up_to_the_known_area(made):
    table = json.loads((made[1] / "area.json").read_bytes())
    for one in table["satellites"]:
        assert sum(one["shares"].values()) == pytest.approx(1.0, abs=0.001)
    assert set(table["radio"]["terrestrial"]["differences"]) == {"n", "median_db", "p90_db", "most_db", "same_name"}


def test_again_gives_the_same_bytes(made, tmp_path):
    plan, out, _, _ = made
    make(plan, tmp_path / "again")
    for name in RASTERS | {"area.json", "area.html"}:
        assert (out / name).read_bytes() == (tmp_path / "again" / name).read_bytes(), name


def test_the_questions_lie_where_the_land_lies(made):
    """The middle of the block of flats is on its roof in the picture too: to half a cell of 5 m."""
    plan, out, done, _ = made
    found = maps_in(out, key_for(read_plan(plan), "2026-06-11"))
    assert [one.name for one in found.overlays] == [
        "sees-1", "sees-2", "sees-how-many", "mount-height", "arc", "dish-1", "dish-2", "dish-3", "rain-1", "rain-2", "best-terrestrial",
        "tv-margin", "tv-programmes", "tv-open", "best-mobile", "best-mobile-band", "mobile-strength",
    ]  # fmt: skip
    height = found.overlays[3]
    assert height.unit == "m" and height.values.dtype == np.float32
    assert height.question == "How high must the dish stand to see all satellites?"
    lon, lat = lon_lat(100 * CELL, 63 * CELL)
    y = [np.arctanh(np.sin(np.radians(value))) for value in (height.north_deg, lat, height.south_deg)]
    row = int((y[0] - y[1]) / (y[0] - y[2]) * height.values.shape[0])
    col = int((lon - height.west_deg) / (height.east_deg - height.west_deg) * height.values.shape[1])
    assert height.values[row, col] == pytest.approx(25.0, abs=0.01)  # 24 m of house and 1 m over its roof
    sees = found.overlays[0]
    assert sees.question == "Where does a dish see Southbird?" and sees.values.dtype == np.uint8
    assert [key for _, key, _ in sees.classes] == ["unknown", "blocked", "partly", "clear"] and "3.0 m up" in sees.legend
    north_of_flats = lon_lat(100 * CELL, 55 * CELL)
    y_there = np.arctanh(np.sin(np.radians(north_of_flats[1])))
    row = int((y[0] - y_there) / (y[0] - y[2]) * sees.values.shape[0])
    assert sees.values[row, col] == 1  # 24 m high, 10 m to the south


def test_a_run_takes_the_maps_up_and_keeps_them(made, tmp_path):
    plan = village(tmp_path, more=MORE)
    make(plan)
    out = tmp_path / "outputs"
    before = {name: (out / name).read_bytes() for name in RASTERS}
    done = do_job(plan, None, clock=clock, say=lambda text: None)
    assert len(done.findings.overlays) == 17
    assert all((out / name).read_bytes() == bytes_ for name, bytes_ in before.items())
    listed = {line["file"] for line in json.loads((out / "run.json").read_bytes())["files"]}
    assert RASTERS | {"area.json", "area.html", "map.html", "verdicts.csv"} <= listed
    # maps of an older list of addresses are not shown as if they were of this one
    addresses = (tmp_path / "addresses.csv").read_text(encoding="utf-8")
    (tmp_path / "addresses.csv").write_text(addresses + "more,,,1,\n", encoding="utf-8")
    done = do_job(plan, None, clock=clock, say=lambda text: None, tables_only=True)
    assert not done.findings.overlays and not (out / "area.json").exists()
    assert any("other data or settings" in line for line in done.lines)


def test_after_a_run_the_files_of_the_run_stay(tmp_path):
    plan = village(tmp_path, more=MORE)
    do_job(plan, None, clock=clock, say=lambda text: None, tables_only=True)
    make(plan)
    out = tmp_path / "outputs"
    record = json.loads((out / "run.json").read_bytes())
    assert (out / "verdicts.csv").exists() and record["counts"]["job"]["rows"] == 4
    assert record["added_later"][0]["area"]["cell_m"] == 5.0
    assert {"verdicts.csv", *RASTERS} <= {line["file"] for line in record["files"]}


def test_without_addresses_an_area_needs_bounds(tmp_path):
    plan = village(tmp_path)
    text = plan.read_text(encoding="utf-8").replace('[addresses]\nfile = "addresses.csv"\n', "")
    plan.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="--bounds"):
        make(plan)
    (west, north), (east, south) = lon_lat(100.0, 100.0), lon_lat(140.0, 130.0)
    done, _ = make(plan, bounds=(west, south, east, north), cell_m=10.0)
    assert done.coverage.grid.cells <= 30 and (tmp_path / "outputs" / "area.html").exists()


def test_addresses_far_from_the_fine_terrain_do_not_stretch_the_map(tmp_path):
    far = lon_lat(-4_000.0, 4_000.0)
    near = lon_lat(100.0, 100.0)
    rows = "".join(f"{name},{lat:.6f},{lon:.6f}\n" for name, (lon, lat) in {"near": near, "far": far}.items())
    plan = village(tmp_path, addresses="id,lat_deg,lon_deg\n" + rows, more=MORE)
    done, said = make(plan, cell_m=20.0)
    assert done.coverage.grid.cells < 100 and any("1 of 2 placed addresses" in line for line in said)


def test_unfinished_work_is_ours_and_is_taken_up(tmp_path, monkeypatch):
    plan = village(tmp_path, more=MORE)

    def stop(what, done, total):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make(plan, progress=stop)
    out = tmp_path / "outputs"
    (work,) = out.glob(".siteplan-work-*")
    assert list(work.glob("*.npz")) and not (out / "area.json").exists()
    done = do_job(plan, None, clock=clock, say=lambda text: None, tables_only=True)
    assert not any("Left alone" in line for line in done.lines) and work.exists()  # ours: a run neither names nor removes it
    make(plan)
    assert not work.exists() and (out / "area.json").exists()


@pytest.mark.parametrize(
    ("how", "kind", "says"),
    [
        ({"bounds": (15.0, 10.0, 15.1, 10.1), "cell_m": 0.3}, InputError, "larger cells"),
        ({"bounds": (20.0, 10.0, 10.0, 11.0)}, InputError, "enclose no area"),
    ],
)
def test_refusals(tmp_path, how, kind, says):
    with pytest.raises(kind, match=says):
        make(village(tmp_path), **how)
    assert not (tmp_path / "outputs").exists()


def test_no_terrain_and_a_folder_that_is_a_file(tmp_path):
    plan = tmp_path / "empty.toml"
    plan.write_text('name = "Nothing"\ndate = 2026-06-11\n', encoding="utf-8")
    with pytest.raises(PlanError, match="no terrain"):
        make(plan, bounds=(15.0, 47.0, 15.1, 47.1))
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError):
        make(village(tmp_path / "v"), tmp_path / "file")


def test_somebody_elses_table_is_not_ours(tmp_path):
    table = '{"made_by": "siteplan area", "rasters": [{"file": "../../etc/passwd"}], "key": "x"}'
    (tmp_path / "area.json").write_text(table, encoding="utf-8")
    assert not maps_in(tmp_path, lambda grid: "x").files
    (tmp_path / "area.json").write_text("[1, 2", encoding="utf-8")
    assert not maps_in(tmp_path, lambda grid: "x").overlays


def test_a_plan_without_a_date_says_which_it_took(tmp_path):
    _, said = make(village(tmp_path, date="", more=MORE), cell_m=50.0)
    assert any("2026-06-11" in line for line in said)


