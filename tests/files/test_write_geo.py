"""Layers out: every row of the input, what blocks where it stands, lines that end where they should, the same bytes each time."""

import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyogrio
import pytest
from files.hand_rows import CAIRN, HALLOW, findings

from siteplan.errors import OutputError
from siteplan.files.write_geo import verdicts_geojson, write_verdicts_gpkg
from siteplan.records.places import AddressList


def layer(path: Path, name: str):
    return pyogrio.read_dataframe(path, layer=name)


@pytest.mark.quick
def test_geojson_has_every_row_and_null_where_there_is_no_place() -> None:
    read = json.loads(verdicts_geojson(findings()))
    assert read["type"] == "FeatureCollection" and "crs" not in read
    assert [feature["id"] for feature in read["features"]] == [2, 3, 4, 5, 6, 7]
    assert read["features"][0]["geometry"] == {"type": "Point", "coordinates": [-9.5, 47.502]}
    assert read["features"][5]["geometry"] is None
    properties = read["features"][1]["properties"]
    assert properties["name"] == '=HYPERLINK("x")' and properties["satellite_25e_dish_m"] is None
    assert properties["satellite_25e_azimuth_deg"] == 148.6
    assert list(properties)[:4] == ["id", "name", "row_given", "Notes"]


@pytest.mark.quick
def test_package_has_four_layers_with_every_row_in_the_first(tmp_path: Path) -> None:
    path = tmp_path / "verdicts.gpkg"
    write_verdicts_gpkg(path, findings())
    assert [name for name, _ in pyogrio.list_layers(path)] == ["addresses", "obstacles", "aim_lines", "profiles"]
    table = layer(path, "addresses")
    assert list(table["row"]) == [2, 3, 4, 5, 6, 7] and table.crs.to_epsg() == 4326
    assert table.geometry.iloc[0].coords[0] == (-9.5, 47.502) and table.geometry.iloc[5] is None
    assert np.isnan(table["satellite_25e_dish_m"].iloc[1]) and table["satellite_25e_dish_m"].iloc[0] == 0.8
    assert table["name"].iloc[2] == "<script>alert(1)</script>" and table["row_given"].iloc[5] == ""
    read = pyogrio.read_info(path, layer="addresses")
    info = dict(zip(read["fields"], read["dtypes"], strict=True))
    assert info["row"] == "int64" and info["satellite_ask"] == "object"  # typed even where nothing is in it


@pytest.mark.quick
def test_what_blocks_stands_at_its_bearing_and_distance(tmp_path: Path) -> None:
    path = tmp_path / "verdicts.gpkg"
    write_verdicts_gpkg(path, findings())
    table = layer(path, "obstacles")
    tree = table[(table["row"] == 2) & (table["service"] == "satellite")].iloc[0]
    # 34.2 m at 157 degrees from 47.502 N: 31.5 m south, 13.4 m east, on a sphere of 111.2 km a degree (0.3 m is its error)
    assert (47.502 - tree.geometry.y) * 111_200 == pytest.approx(31.5, abs=0.3)
    assert (tree.geometry.x + 9.5) * 111_200 * np.cos(np.radians(47.5)) == pytest.approx(13.4, abs=0.3)
    assert tree["kind"] == "growth" and tree["height_agl_m"] == 9.1 and tree["towards"] == "Oriel 25E"
    assert len(table[table["towards"] == "Gannet 30W"]) == 0  # clear: nothing to show
    edge = table[(table["row"] == 2) & (table["service"] == "terrestrial")].iloc[0]
    assert edge["distance_m"] == 4100 and edge.geometry.x == pytest.approx(-9.5, abs=1e-7) and edge.geometry.y > 47.53


@pytest.mark.quick
def test_lines_reach_what_they_aim_at(tmp_path: Path) -> None:
    path = tmp_path / "verdicts.gpkg"
    write_verdicts_gpkg(path, findings())
    lines = layer(path, "aim_lines")
    mine = lines[lines["row"] == 2]
    assert list(mine["towards"]) == ["Oriel 25E", "Gannet 30W", "Hallow Hill", "Corvid Mill Lane"]
    assert mine.iloc[2].geometry.coords[1] == (HALLOW.lon_deg, HALLOW.lat_deg) and mine.iloc[2].geometry.coords[0] == (-9.5, 47.502)
    assert list(mine["distance_m"]) == [34, 150, 11119, 1500]
    assert CAIRN.name not in set(lines["towards"])  # the best one only
    profile = layer(path, "profiles").iloc[0]
    assert profile["points"] == 3 and profile.geometry.has_z and profile.geometry.coords[0] == (-9.5, 47.6, 200.0)
    assert profile.geometry.coords[2][1] == pytest.approx(47.5, abs=1e-4)
    assert set(layer(path, "profiles")["row"]) == {2, 3, 4, 5}


@pytest.mark.quick
def test_names_that_differ_by_case_or_hold_quotes_make_a_layer(tmp_path: Path) -> None:
    run = findings()
    names = ("Id", "ID", 'a"b', "fid")
    cells = {"Id": "1", "ID": "2", 'a"b': "3\x00", "fid": "4"}
    rows = tuple(replace(row, row=replace(row.row, cells=cells)) for row in run.rows)
    write_verdicts_gpkg(tmp_path / "v.gpkg", replace(run, rows=rows, addresses=AddressList("x", names, run.addresses.rows)))
    table = layer(tmp_path / "v.gpkg", "addresses")
    assert list(table.columns[:4]) == ["Id", "ID_2", "a_b", "fid_2"] and list(table.iloc[0][:4]) == ["1", "2", "3\ufffd", "4"]


@pytest.mark.quick
def test_a_run_without_rows_makes_empty_layers(tmp_path: Path) -> None:
    write_verdicts_gpkg(tmp_path / "v.gpkg", replace(findings(), rows=()))
    assert [len(layer(tmp_path / "v.gpkg", name)) for name in ("addresses", "obstacles", "aim_lines", "profiles")] == [0, 0, 0, 0]


def test_same_bytes_in_another_process_hour_and_zone(tmp_path: Path) -> None:
    write_verdicts_gpkg(tmp_path / "a.gpkg", findings())
    time.sleep(1.1)
    code = (
        "from pathlib import Path; from files.hand_rows import findings; from siteplan.files.write_geo import write_verdicts_gpkg;"
        f"write_verdicts_gpkg(Path({str(tmp_path / 'b.gpkg')!r}), findings())"
    )
    tests = str(Path(__file__).resolve().parents[1])
    environment = {**os.environ, "PYTHONPATH": tests, "TZ": "Pacific/Auckland", "LC_ALL": "C", "PYTHONHASHSEED": "7"}
    subprocess.run([sys.executable, "-c", code], check=True, env=environment)
    assert (tmp_path / "a.gpkg").read_bytes() == (tmp_path / "b.gpkg").read_bytes()
    assert b"2026-06-11T00:00:00.000Z" in (tmp_path / "a.gpkg").read_bytes()


@pytest.mark.quick
def test_no_place_to_write_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="can't write"):
        write_verdicts_gpkg(tmp_path / "no" / "such" / "v.gpkg", findings())
