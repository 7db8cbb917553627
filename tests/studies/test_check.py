"""What check says of a plan: every row accounted for, on real little rasters; and what run gets from the same reading."""

import json
import subprocess
import sys

import numpy as np
import pytest
from terrain_makers import write_tif

from siteplan.errors import InputError, PlanError
from siteplan.files.plan_file import read_plan
from siteplan.studies.check import check, check_lines, defaults_lines, defaults_values
from siteplan.studies.inputs import OUTSIDE, ground_frames, read_inputs

X, Y = 500_000, 5_300_000  # north-west corner of the ground; the central meridian of UTM 33: 15 degrees east


@pytest.fixture
def area(tmp_path):
    """A plan of 100 x 100 cells of 10 m whose north-west quarter is void, with this address list (and more TOML)."""

    def make(addresses: str, more: str = "", **keys):
        z = np.full((100, 100), 300.0, dtype=np.float32)
        z[:50, :50] = -9999
        write_tif(tmp_path / "g.tif", z, cell=10.0, origin=(X, Y), nodata=-9999, **keys)
        (tmp_path / "a.csv").write_text(addresses, encoding="utf-8")
        plan = tmp_path / "plan.toml"
        plan.write_text(f'[[terrain]]\nground = "g.tif"\n[addresses]\nfile = "a.csv"\n{more}', encoding="utf-8")
        return plan

    return make


MAP = (
    "id;x;y;name\n"
    f"in;{X + 800};{Y - 800};a\n"
    f"void;{X + 100};{Y - 100};b\n"
    f"far;{X + 5000};{Y - 100};c\n"
    f"turned;{Y - 700};{X + 700};d\n"
    "none;;;e\n"
    f"in;{X + 700};{Y - 300};f\n"
    f"in 2;{X + 300};{Y - 700};g\n"
)


def test_every_row_is_accepted_or_rejected_with_its_reason(area):
    found = check(area(MAP))
    addresses = found["addresses"]
    assert (addresses["read"], addresses["accepted"], addresses["rejected"]) == (7, 2, 5)
    assert addresses["accepted_ids"] == ["in", "in 2"] and found["problem"] is None
    assert [(one["row"], one["field"]) for one in addresses["rejects"]] == [(3, "position"), (4, "position"), (5, "x"), (6, "x"), (7, "id")]
    assert [one["reason"] for one in addresses["rejects"][:2]] == [OUTSIDE, OUTSIDE]
    assert "x and y swapped" in addresses["rejects"][2]["reason"] and "empty" in addresses["rejects"][3]["reason"]
    assert "already taken by row 2" in addresses["rejects"][4]["reason"]
    assert found["terrain"][0]["name"] == "g.tif" and found["terrain"][0]["knows_trees"] is False
    json.loads(json.dumps(found, allow_nan=False))


def test_what_check_says_in_words(area):
    lines = check_lines(check(area(MAP)))
    text = "\n".join(lines)
    assert lines[0] == "a.csv: rows read: 7. Placed: 2. Not placed: 5."
    assert "rows 3-4" in text and f"{OUTSIDE}" in text and "row 7, column id (in): the id in is already taken by row 2" in text
    assert "x and y name no coordinate system: taken in WGS 84 / UTM zone 33N (EPSG:32633), in which 4 of 7 rows" in text
    assert "g.tif (ground): cells of 10 m, buildings and trees unknown; nobody says when it was flown." in text
    assert "Satellites: this plan lists none." in text


def test_run_keeps_rows_outside_the_ground_for_their_verdict(area):
    inputs = read_inputs(read_plan(area(MAP)))
    assert [row.row for row in inputs.addresses.rows if row.address is not None] == [2, 3, 4, 8]
    assert [reject.row for reject in inputs.rejects] == [5, 6, 7]


def test_no_row_on_the_terrain_is_an_error(area):
    plan = area("id,lat,lon\n1,10,10\n2,,\n")
    found = check(plan)
    assert (found["addresses"]["read"], found["addresses"]["accepted"], found["addresses"]["rejected"]) == (2, 0, 2)
    assert "none of 2 rows can be placed" in found["problem"] and "The ground covers latitude 47.8" in found["problem"]
    with pytest.raises(InputError, match="none of 1 placed rows lies on the ground of this plan, which covers latitude 47.8"):
        read_inputs(read_plan(plan))
    nowhere = area("id,lat,lon\n1,,\n")
    assert "works offline" in check(nowhere)["problem"]
    with pytest.raises(InputError, match="none of 1 rows can be placed"):
        read_inputs(read_plan(nowhere))


def test_no_addresses_and_no_terrain(area, tmp_path):
    found = check(area("name\na\nb\n"))
    rows = found["addresses"]
    assert (rows["read"], rows["accepted"], rows["rejected"], rows["accepted_ids"]) == (2, 0, 2, [])  # said of the list, once
    assert [reject["row"] for reject in rows["rejects"]] == [2, 3]
    assert {reject["reason"] for reject in rows["rejects"]} == {"the list has no columns of coordinates"}
    assert "no column is recognised" in found["problem"] and found["terrain"]
    found = check(area("id,lat_deg,lon_deg\n"))
    assert found["addresses"]["read"] == 0 and "there is no row below the heading" in found["problem"]
    found = check(area(""))
    assert found["addresses"]["read"] == 0 and "is empty (0 bytes)" in found["problem"]
    (tmp_path / "plan.toml").write_text('[addresses]\nfile = "a.csv"\n')
    with pytest.raises(PlanError, match="no terrain"):
        check(tmp_path / "plan.toml")


SENDERS = '[satellites]\nwanted = ["25E"]\nfile = "s.csv"\n[transmitters]\nfile = "t.csv"\n[mobile]\nfile = "m.csv"\n'


def test_senders_are_counted_and_their_bad_rows_told(area, tmp_path):
    (tmp_path / "s.csv").write_text(
        "satellite,orbit_deg,transponder,frequency_mhz,polarisation,symbol_rate_kbaud,system,modulation,code_rate\n"
        "Oriel,25E,T1,11000,H,27500,DVB-S2,8PSK,3/4\nOriel,25E,T2,11040,Q,27500,DVB-S2,8PSK,3/4\n"
    )
    (tmp_path / "t.csv").write_text(
        "transmitter,x,y,antenna_height_agl_m,channel,erp_kw,polarisation,mode\n"
        f"Hallow,{X + 500},{Y - 500},100,24,1,h,DVB-T2 256QAM 2/3\nHallow,{X + 500},{Y - 500},100,25,-1,h,DVB-T2 256QAM 2/3\n"
    )
    (tmp_path / "m.csv").write_text(
        "operator,lat_deg,lon_deg,antenna_height_agl_m,technology,frequency_mhz,re_eirp_dbm\nCorvid,47.84,15.0,25,LTE,806,35\n"
    )
    found = check(area(MAP, SENDERS))
    assert (found["satellites"]["accepted"], found["satellites"]["transponders"]) == (1, 1)
    assert (found["transmitters"]["accepted"], found["transmitters"]["names"]) == (1, ["Hallow"])
    assert (found["mobile"]["accepted"], found["mobile"]["operators"]) == (1, ["Corvid"])
    assert [one["reason"] for one in found["transmitters"]["rejects"]] == ["a power can't be negative"]
    text = "\n".join(check_lines(found))
    assert "t.csv, row 3, column erp_kw (-1): a power can't be negative" in text and "s.csv, row 3, column polarisation (Q)" in text
    rejects = read_inputs(read_plan(area(MAP, SENDERS))).rejects
    assert [reject.file for reject in rejects] == ["a.csv"] * 3 + ["s.csv", "t.csv"]


def test_a_terminal_is_not_steered_by_cells(area):
    text = "\n".join(check_lines(check(area(f'id,lat,lon\n1,47.84,15.005\n2,"\x1b[2J\x07evil",15\n3,{"9" * 200},15\n'))))
    assert "\x1b" not in text and "\x07" not in text and "9" * 100 not in text


def test_frames_know_a_turned_and_a_geographic_raster(tmp_path):
    from rasterio.transform import Affine

    z = np.full((10, 10), 5.0, dtype=np.float32)
    turned = Affine.translation(X, Y) @ Affine.rotation(45) @ Affine.scale(10, -10)
    write_tif(tmp_path / "g.tif", z, transform=turned)
    write_tif(tmp_path / "w.tif", z, transform=Affine(0.01, 0, 179.95, 0, -0.01, 10.0), crs="EPSG:4326")
    (tmp_path / "plan.toml").write_text('[[terrain]]\nground = "g.tif"\n[[terrain]]\nground = "w.tif"\n')
    frames = ground_frames(read_plan(tmp_path / "plan.toml"))
    lat = np.array([9.95, 9.95, 9.95, 9.95, np.nan])
    lon = np.array([179.96, -179.96, 179.94, -179.94, 0.0])
    assert frames.inside(lat, lon).tolist() == [True, True, False, False, False]
    assert len(frames.systems) == 2


def test_defaults_are_printed_with_their_source():
    lines = defaults_lines()
    assert any(line.startswith("mount.dish_height_agl_m ") and line.endswith("[common practice, no source]") for line in lines)
    assert len(lines) == len(defaults_values()) and json.loads(json.dumps(defaults_values()))


def test_the_command(area):
    plan = area(MAP)

    def run(*words):
        return subprocess.run([sys.executable, "-m", "siteplan", "check", *words], capture_output=True, text=True, encoding="utf-8")

    done = run(str(plan), "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == json.loads(json.dumps(check(plan)))
    assert run(str(plan)).stdout.startswith("a.csv: rows read: 7.")
    plan = area("id,lat,lon\n1,,\n2,10,10\n")
    done = run(str(plan), "--json")
    assert (
        done.returncode == 3
        and json.loads(done.stdout)["addresses"]["accepted"] == 0
        and done.stderr.startswith("siteplan: a.csv: none of 2")
    )
    assert run("nowhere.toml").returncode == 3 and run().returncode == 2
    assert "dish centre above ground" in run("--defaults").stdout
