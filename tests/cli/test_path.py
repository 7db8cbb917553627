"""`siteplan path`: flags, JSON, table and exit codes of a fresh process."""

import json
import subprocess
import sys

import pytest

PROFILE = "distance_km,height_amsl_m,clutter_m,zone\n" + "".join(
    f"{km},{100 + (60 if km == 6 else 0)},{8 if km == 9 else 0},inland\n" for km in range(11)
)
FLAGS = ["--frequency-mhz=618", "--tx-height-agl-m=60", "--rx-height-agl-m=10", "--lat-deg=-41.5"]


def siteplan(*args, cwd=None):
    return subprocess.run([sys.executable, "-m", "siteplan", "path", *args], capture_output=True, text=True, cwd=cwd, check=False)


@pytest.fixture
def profile(tmp_path):
    path = tmp_path / "profile.csv"
    path.write_text(PROFILE, encoding="utf-8")
    return path


def test_json(profile):
    done = siteplan(str(profile), *FLAGS, "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert {"loss_db", "field_strength_dbuv_per_m", "diffraction_50_db", "free_space_db", "troposcatter_db", "ducting_db"} <= set(found)
    assert found["blocking_edge_km"] == 6.0
    assert found["field_strength_dbuv_per_m"] == pytest.approx(199.36 + 20 * -0.2090115 - found["loss_db"], abs=1e-5)


def test_every_flag_and_the_table(profile):
    flags = ["--time-pct=10", "--location-pct=95", "--polarisation=v", "--delta-n=40", "--n0=320", "--tx-coast-km=3", "--rx-coast-km=20"]
    done = siteplan(str(profile), *FLAGS, *flags, "--erp-kw=0.5")
    assert done.returncode == 0, done.stderr
    named = dict(line.split(maxsplit=1) for line in done.stdout.splitlines())
    assert float(named["loss_db"]) > float(named["free_space_db"])
    assert float(named["location_db"]) == pytest.approx(9.05, abs=0.01)


def test_a_named_method_and_unknown_clutter(profile, tmp_path):
    done = siteplan(str(profile), *FLAGS, "--method=hata_suburban", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["method"] == "Okumura-Hata, suburban"
    assert found["over_mean_ground_m"] < 60.0
    bare = tmp_path / "bare.csv"
    bare.write_text("distance_km,height_amsl_m\n0,100\n3,100\n6,100\n", encoding="utf-8")
    low = [*FLAGS[:2], "--rx-height-agl-m=4", FLAGS[3]]
    done = siteplan(str(bare), *low, "--unknown-clutter=suburban", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["unknown_clutter_db"] > 5.0


@pytest.mark.parametrize(
    ("flags", "code", "says"),
    [
        ([*FLAGS, "--time-pct=0"], 3, "time percentage"),
        ([*FLAGS, "--erp-kw=-1.5"], 3, "power"),
        ([*FLAGS, "--polarisation=x"], 3, "polarisation"),
        ([*FLAGS[:3], "--lat-deg=-95"], 3, "latitude"),
        ([*FLAGS, "--method=none"], 3, "hata_open"),
        ([*FLAGS, "--method=hata_open", "--frequency-mhz=1600"], 3, "150 to 1500 MHz"),
        ([*FLAGS, "--unknown-clutter=urban"], 3, "count them twice"),
        ([*FLAGS, "--height=3"], 2, "No such option"),
        (FLAGS[:3], 2, "--lat-deg"),
    ],
)
def test_refusals(profile, flags, code, says):
    done = siteplan(str(profile), *flags)
    assert done.returncode == code
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_bad_profile(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text("distance_km,height_amsl_m\n0,1\n1,x\n2,3\n", encoding="utf-8")
    done = siteplan(str(path), *FLAGS)
    assert done.returncode == 3
    assert "bad.csv, row 3, column height_amsl_m" in done.stderr
