"""The whole job on real ground: the elevation model that matplotlib ships, and the survey data beside the checkout where they are."""

import csv
import io
import json
import re
import shlex
from collections import Counter
from datetime import UTC, datetime

import numpy as np
import pytest
from shared_data import need_shared
from terrain_makers import write_tif

from siteplan.geodesy.projection import to_wgs84

CLOCK = datetime(2026, 6, 11, 12, 0, tzinfo=UTC)
SATELLITES = (
    "satellite,orbit_deg,transponder,frequency_mhz,polarisation,symbol_rate_kbaud,system,modulation,code_rate,eirp_dbw,eirp_source\n"
    "Heron,{near},1,11258,H,27500,DVB-S2,8PSK,3/4,51,stated\n"
    "Bittern,{far},1,12100,V,27500,DVB-S,QPSK,3/4,50,stated\n"
)
TRANSMITTERS = "transmitter,lat_deg,lon_deg,antenna_height_agl_m,multiplex,channel,erp_kw,polarisation,mode\n"
SECTORS = "operator,site,sector,lat_deg,lon_deg,antenna_height_agl_m,technology,band,frequency_mhz,re_eirp_dbm,azimuth_deg,downtilt_deg\n"
PLAN = """name = "Real ground"
date = 2026-06-11
{tables}
[addresses]
file = "addresses.csv"
[satellites]
wanted = [{near}, {far}]
file = "satellites.csv"
[transmitters]
file = "transmitters.csv"
[mobile]
file = "sectors.csv"
"""


def job(folder, terrain, addresses, *, near, far, transmitters, sectors):
    """Write a plan with these terrain tables and rows, run it, and return (done, rows of verdicts.csv)."""
    from siteplan.studies.job import do_job

    lines = [f"{i},Place {i},{lat:.6f},{lon:.6f}\n" for i, (lat, lon) in enumerate(addresses, 1)]
    (folder / "addresses.csv").write_text("id,name,lat_deg,lon_deg\n" + "".join(lines))
    (folder / "satellites.csv").write_text(SATELLITES.format(near=near, far=far))
    (folder / "transmitters.csv").write_text(TRANSMITTERS + transmitters)
    (folder / "sectors.csv").write_text(SECTORS + sectors)
    tables = "\n".join("[[terrain]]\n" + "\n".join(f"{key} = {value!r}" for key, value in table.items()) for table in terrain)
    (folder / "plan.toml").write_text(PLAN.format(tables=tables, near=near, far=far))
    done = do_job(folder / "plan.toml", folder / "out", say=lambda text: None, clock=lambda: CLOCK)
    rows = list(csv.DictReader(io.StringIO((folder / "out" / "verdicts.csv").read_text(encoding="utf-8-sig"))))
    return done, rows


def whole(done, rows, count):
    """Hold what must be true of any run: as many rows as read, four states that add up, pages that exist."""
    assert len(rows) == count == len(done.findings.rows)
    for service in ("satellite", "terrestrial", "mobile"):
        states = Counter(row[f"{service}_verdict"] for row in rows)
        assert sum(states.values()) == count
        assert set(states) <= {"book", "survey first", "not feasible", "not judged"}
        assert all(row[f"{service}_reasons"] for row in rows)
    out = done.findings.plan.file.parent / "out"
    record = json.loads((out / "run.json").read_text())
    assert record["made_by"] == "siteplan"
    for name in ("index.html", "map.html", "verdicts.xlsx", "verdicts.gpkg", "verdicts.geojson"):
        assert (out / name).stat().st_size > 1000, name
    assert len(list((out / "sheets").iterdir())) == sum(bool(row.sheet_file) for row in done.findings.rows)


def test_hills_that_matplotlib_ships(tmp_path):
    """Bare ground only, 236 to 1076 m: nothing may be booked for a satellite, and a valley wall must be proof."""
    from matplotlib import cbook

    with cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        z = data["elevation"].astype(np.float32)
        west = float(data["xmin"])
    # the source's latitudes are wrong; with 36.44625 as the north edge the town gaps lie where they should
    step = 1.0 / 1200.0
    from rasterio.transform import Affine

    write_tif(tmp_path / "hills.tif", z, crs="EPSG:4326", transform=Affine(step, 0, west, 0, -step, 36.44625))
    rng = np.random.default_rng(20260611)
    rows, cols = rng.integers(40, z.shape[0] - 40, 40), rng.integers(40, z.shape[1] - 40, 40)
    places = [(36.44625 - (r + 0.5) * step, west + (c + 0.5) * step) for r, c in zip(rows, cols, strict=True)]
    peak = np.unravel_index(np.argmax(z[40:-40, 40:-40]), z[40:-40, 40:-40].shape)
    lat, lon = 36.44625 - (peak[0] + 40.5) * step, west + (peak[1] + 40.5) * step
    done, got = job(
        tmp_path,
        [{"ground": "hills.tif"}],
        places,
        near=-100.0,
        far=-148.0,
        transmitters=f"Ridge,{lat:.6f},{lon:.6f},60,A,24,10,h,DVB-T2 256QAM 2/3\n",
        sectors=f"Ouzel,Ridge,1,{lat:.6f},{lon:.6f},40,LTE,800,806,30,180,2\n",
    )
    whole(done, got, 40)
    satellite = Counter(row["satellite_verdict"] for row in got)
    assert satellite["book"] == 0
    assert satellite["not feasible"] >= 1 and satellite["survey first"] >= 1
    assert {row["terrestrial_transmitter"] for row in got if row["terrestrial_verdict"] != "not judged"} == {"Ridge"}
    # heights read back are those of the raster at its own cells
    for row, r, c in zip(got, rows, cols, strict=True):
        assert float(row["ground_amsl_m"]) == pytest.approx(float(z[r, c]), abs=0.11)


@pytest.mark.parametrize(
    ("name", "terrain", "crs", "box", "near", "far"),
    [
        (
            "river park",
            {"ground": "river_park_dtm_2m.tif", "surface": "river_park_dsm_2m.tif"},
            "EPSG:26910",
            (494_080, 4_877_440, 494_300, 4_877_540),
            -119.0,
            -91.0,
        ),
        (
            "city",
            {
                "ground": "city_dtm_1m.tif",
                "surface": "city_dsm_1m.tif",
                "canopy_height": "city_canopy_1m.tif",
                "buildings": "city_buildings.gpkg",
            },
            "EPSG:3007",
            (147_760, 6_398_600, 147_910, 6_398_740),
            13.0,
            28.2,
        ),
        (
            "valley",
            {
                "ground": "valley_dtm_5m.tif",
                "building_height": "valley_building_height_2m5.tif",
                "canopy_height": "valley_canopy_height_2m5.tif",
            },
            "EPSG:25830",
            None,
            -5.0,
            19.2,
        ),
    ],
)
def test_survey_data(tmp_path, name, terrain, crs, box, near, far):
    """Surfaces with trees and buildings: the job runs, something is booked, something is not, and paths come again from their files."""
    table = {key: str(need_shared(f"terrain/{file}")) for key, file in terrain.items()}
    if box is None:
        facts = json.loads(need_shared("terrain/facts.json").read_text())["rasters"]["valley_dtm_5m.tif"]["bounds"]
        box = (facts[0] + 600, facts[1] + 600, facts[2] - 600, facts[3] - 600)
    rng = np.random.default_rng(7)
    x, y = rng.uniform(box[0], box[2], 30), rng.uniform(box[1], box[3], 30)
    lon, lat = to_wgs84(x, y, crs)
    lon_t, lat_t = (float(v) for v in to_wgs84((box[0] + box[2]) / 2, (box[1] + box[3]) / 2, crs))
    done, got = job(
        tmp_path,
        [table],
        list(zip(lat.tolist(), lon.tolist(), strict=True)),
        near=near,
        far=far,
        transmitters=f"Middle,{lat_t:.6f},{lon_t:.6f},60,A,24,0.1,h,DVB-T2 256QAM 2/3\n",
        sectors=f"Ouzel,Middle,1,{lat_t:.6f},{lon_t:.6f},30,LTE,800,806,20,,2\n",
    )
    whole(done, got, 30)
    states = Counter(row["satellite_verdict"] for row in got)
    assert states["not judged"] < 30 and len(states) >= 2, states
    _paths_come_again(done)


def _paths_come_again(done):
    """Run the command that each sheet prints, on the profile file the run wrote: the same loss to a thousandth of a dB."""
    from typer.testing import CliRunner

    from siteplan.cli.table import app

    out = done.findings.plan.file.parent / "out"
    tried = 0
    for row in done.findings.rows:
        for line in row.mobile.lines if row.mobile else ():
            if line.path_command and line.profile is not None:
                words = shlex.split(line.path_command)
                answer = CliRunner().invoke(app(), ["path", str(out / words[2]), *words[3:], "--json"])
                assert answer.exit_code == 0, answer.output
                assert json.loads(answer.stdout)["loss_db"] == pytest.approx(line.loss_db, abs=0.001)
                assert re.fullmatch(r"profiles/[a-z0-9-]+\.csv", words[2])
                tried += 1
    assert tried > 0
