"""`siteplan skyline` as a person and as a program sees it."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
import typer
from terrain_makers import write_tif
from typer.testing import CliRunner

from siteplan.cli.skyline import skyline
from siteplan.errors import InputError, PlanError
from siteplan.geodesy.projection import to_wgs84
from siteplan.studies.calc_skyline import skyline_for_one

pytestmark = pytest.mark.quick
POINT_KEYS = {"azimuth_deg", "elevation_deg", "distance_m", "obstacle_amsl_m", "kind"}
X, Y = 500_060.5, 5_299_939.5  # centre of a cell, 60 m from the west and north edges


def app():
    made = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
    made.command("skyline")(skyline)
    made.callback()(lambda: None)
    return made


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    """A level square of 121 m with a wall 10 m high from edge to edge, 20 m south of the middle."""
    folder = tmp_path_factory.mktemp("skyline")
    ground = np.full((121, 121), 612.0, dtype=np.float32)
    top = ground.copy()
    top[80:84] += 10.0
    write_tif(folder / "ground.tif", ground)
    write_tif(folder / "surface.tif", top)
    path = folder / "plan.toml"
    path.write_text('[[terrain]]\nground = "ground.tif"\nsurface = "surface.tif"\n')
    return path


def call(*flags):
    return CliRunner().invoke(app(), ["skyline", *map(str, flags)])


def answer(*flags):
    done = call(*flags, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_single_rays_have_the_fixed_keys_and_the_numbers(plan):
    found = answer(plan, f"--at={X},{Y}", "--crs=EPSG:32633", "--height-agl-m=3", "--azimuth-deg=180,0")
    assert found["inside_obstruction"] is False
    assert found["ground_amsl_m"] == 612.0
    lon, lat = to_wgs84(X, Y, "EPSG:32633")
    assert found["place"] == f"{lat:.5f} N {lon:.5f} E, ground 612.0 m"
    south, north = found["points"]
    assert set(south) >= POINT_KEYS
    assert (south["azimuth_deg"], north["azimuth_deg"]) == (180.0, 0.0)
    assert south["elevation_deg"] == pytest.approx(math.degrees(math.atan2(7, 20 / 0.9996)), abs=1e-3)
    assert south["distance_m"] == pytest.approx(20.0, abs=0.02) and south["obstacle_amsl_m"] == pytest.approx(622.0)
    assert south["data_ended"] is False and north["data_ended"] is True
    assert north["known_to_m"] == pytest.approx(60.02, abs=0.01)


def test_longitude_and_latitude_are_the_default_and_mean_the_same(plan):
    lon, lat = to_wgs84(X, Y, "EPSG:32633")
    one = answer(plan, f"--at={lon:.9f},{lat:.9f}", "--height-agl-m=3", "--azimuth-deg=180")["points"][0]
    other = answer(plan, f"--at={X},{Y}", "--crs=EPSG:32633", "--height-agl-m=3", "--azimuth-deg=180")["points"][0]
    assert one["elevation_deg"] == pytest.approx(other["elevation_deg"], abs=1e-3)


def test_sectors_all_around(plan):
    found = answer(plan, f"--at={X},{Y}", "--crs=EPSG:32633", "--height-agl-m=3")
    assert len(found["points"]) == 720 and found["rays"] == "sectors"
    assert [p["azimuth_deg"] for p in found["points"]] == list(np.arange(720) / 2)
    best = max(found["points"], key=lambda p: p["elevation_deg"])
    assert abs(best["azimuth_deg"] - 180) <= 1.0


def test_inside_what_stands_there_is_told(plan):
    found = answer(plan, f"--at={X},{Y - 22}", "--crs=EPSG:32633", "--height-agl-m=3", "--azimuth-deg=0")
    assert found["inside_obstruction"] is True and "inside what stands" in found["notes"][0]
    assert answer(plan, f"--at={X},{Y - 22}", "--crs=EPSG:32633", "--height-agl-m=11", "--azimuth-deg=0")["inside_obstruction"] is False


def test_the_table_is_for_people(plan):
    done = call(plan, f"--at={X},{Y}", "--crs=EPSG:32633", "--height-agl-m=3")
    assert done.exit_code == 0 and "ground 612.0 m" in done.stdout and "a tree or building" in done.stdout
    assert len(done.stdout.splitlines()) < 85
    assert max(map(len, done.stdout.splitlines()[:70])) < 110


@pytest.mark.parametrize(
    ("at", "crs", "words"),
    [((1.0, 2.0), "", "covers latitude"), ((47.8528, 15.0006), "", "turned round"), ((X, Y), "", "--crs"),
     ((1e9, 1e9), "EPSG:32633", "outside")],
)  # fmt: skip
def test_a_point_outside_says_what_the_terrain_covers(plan, at, crs, words):
    with pytest.raises(InputError, match=words):
        skyline_for_one(plan, at=at, crs=crs, height_agl_m=3.0)


def test_other_bad_questions(plan, tmp_path):
    for bad in (dict(height_agl_m=-1.0), dict(height_agl_m=float("nan")), dict(crs="EPSG:1"), dict(azimuth_deg=[float("inf")])):
        with pytest.raises(InputError):
            skyline_for_one(plan, **{"at": (X, Y), "crs": "EPSG:32633", "height_agl_m": 3.0, **bad})
    with pytest.raises(PlanError):
        skyline_for_one(tmp_path / "none.toml", at=(X, Y), height_agl_m=3.0)
    for flags in ("--at=1 --height-agl-m=3", "--at=a,b --height-agl-m=3", "--at=1,2", "--at=1,2 --height-agl-m=3 --azimuth-deg=x"):
        assert call(plan, *flags.split()).exit_code == 2


def test_a_hole_at_the_point_is_told(tmp_path):
    z = np.full((41, 41), 612.0, dtype=np.float32)
    z[18:23, 18:23] = -9999.0
    write_tif(tmp_path / "ground.tif", z, nodata=-9999.0)
    (tmp_path / "plan.toml").write_text('[[terrain]]\nground = "ground.tif"\n')
    with pytest.raises(InputError, match="hole"):
        skyline_for_one(tmp_path / "plan.toml", at=(500_020.5, 5_299_979.5), crs="EPSG:32633", height_agl_m=3.0)
