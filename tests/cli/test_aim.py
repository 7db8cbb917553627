"""`siteplan aim` as a person and as a program sees it."""

import json
import math
import re
from datetime import date

import pytest
import typer
from typer.testing import CliRunner

from siteplan.cli.aim import aim
from siteplan.errors import MethodRangeError

pytestmark = pytest.mark.quick
FIXED_KEYS = ("azimuth_deg", "magnetic_azimuth_deg", "elevation_deg", "refraction_deg", "skew_deg", "range_km", "declination_deg")


def app():
    made = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
    made.command("aim")(aim)
    made.callback()(lambda: None)
    return made


def call(*flags):
    return CliRunner().invoke(app(), ["aim", *flags])


def answer(*flags):
    done = call(*flags, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_keys_and_the_numbers():
    found = answer("--lat-deg=45", "--lon-deg=0", "--orbit-deg=75", "--date=2026-11-25")
    assert tuple(found)[:7] == FIXED_KEYS
    assert found["azimuth_deg"] == pytest.approx(100.6995, abs=1e-4)
    assert found["elevation_deg"] == pytest.approx(1.8643, abs=1e-4)
    assert found["declination_deg"] == pytest.approx(1.57, abs=0.01)
    assert found["magnetic_azimuth_deg"] == pytest.approx(100.6995 - found["declination_deg"], abs=1e-4)
    assert found["refraction_deg"] == pytest.approx(0.35, abs=0.01)
    assert found["date"] == "2026-11-25" and found["notes"] == [] and found["horizon"] == "above"


def test_the_table_is_plain_text():
    done = call("--lat-deg=45", "--lon-deg=0", "--orbit-deg=75", "--date=2026-11-25")
    assert done.exit_code == 0 and "\x1b" not in done.stdout
    assert re.search(r"azimuth +100\.70°  east; clockwise from true north", done.stdout)
    assert re.search(r"compass bearing +99\.13°  magnetic; declination 1\.57° east", done.stdout)
    assert "facing the satellite, turn the LNB anticlockwise 44°" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 120


def test_negative_values_either_way():
    glued = answer("--lat-deg=-34.5", "--lon-deg=-58.4", "--orbit-deg=-70", "--height-amsl-m=-1.5", "--date=2026-11-25")
    apart = answer("--lat-deg", "-34.5", "--lon-deg", "-58.4", "--orbit-deg", "-70", "--height-amsl-m", "-1.5", "--date", "2026-11-25")
    assert glued == apart and glued["inputs"]["height_amsl_m"] == -1.5


def test_today_is_taken_and_said():
    found = answer("--lat-deg=45", "--lon-deg=0", "--orbit-deg=13")
    assert found["date"] == date.today().isoformat() and any("today" in note for note in found["notes"])


def test_a_satellite_that_never_rises_is_an_answer():
    done = call("--lat-deg=45", "--lon-deg=-70", "--orbit-deg=30", "--date=2026-11-25")
    assert done.exit_code == 0 and "below the horizon" in done.stdout and "Did you mean 30 W?" in done.stdout
    found = answer("--lat-deg=45", "--lon-deg=-70", "--orbit-deg=30", "--date=2026-11-25")
    assert found["elevation_deg"] < 0 and found["refraction_deg"] is None and found["horizon"] == "below"
    nowhere = answer("--lat-deg=89", "--lon-deg=0", "--orbit-deg=30", "--date=2026-11-25")
    assert not any("Did you mean" in note for note in nowhere["notes"])


def test_longitudes_to_360_are_read_as_west_and_said():
    found = answer("--lat-deg=45", "--lon-deg=290", "--orbit-deg=270", "--date=2026-11-25")
    same = answer("--lat-deg=45", "--lon-deg=-70", "--orbit-deg=-90", "--date=2026-11-25")
    assert found["azimuth_deg"] == same["azimuth_deg"] and found["inputs"] == same["inputs"]
    assert "orbit_deg 270 was read as 90 W." in found["notes"]


@pytest.mark.parametrize(
    "flag",
    ["--lat-deg=90.5", "--lat-deg=nan", "--lon-deg=-181", "--lon-deg=inf", "--orbit-deg=361", "--height-amsl-m=-1001",
     "--height-amsl-m=200000", "--date=25.11.2026", "--date=2026-02-30", "--lat-deg=north", "--no-such-flag"],
)  # fmt: skip
def test_a_wrong_flag_is_exit_2(flag):
    flags = {"--lat-deg": "45", "--lon-deg": "0", "--orbit-deg": "13"}
    flags[flag.split("=")[0]] = flag.partition("=")[2]
    done = call(*(f"{name}={value}" for name, value in flags.items()))
    assert done.exit_code == 2


def test_a_date_beyond_the_magnetic_model_is_refused_but_today_never_is(monkeypatch):
    done = call("--lat-deg=45", "--lon-deg=0", "--orbit-deg=13", "--date=2031-01-01")
    assert isinstance(done.exception, MethodRangeError) and done.exception.exit_code == 3 and "2029" in str(done.exception)

    from siteplan.studies.calc_aim import aim_for_one, aim_lines

    found = aim_for_one(lat_deg=45.0, lon_deg=0.0, orbit_deg=13.0, on_date=date(2031, 1, 1), date_given=False)
    assert found["declination_deg"] is None and found["magnetic_azimuth_deg"] is None and found["azimuth_deg"] > 160
    assert any("Magnetic north is not known" in note for note in found["notes"])
    assert any("compass bearing" in line and "unknown" in line for line in aim_lines(found))


def test_near_a_magnetic_pole_and_straight_overhead():
    assert answer("--lat-deg=85.8", "--lon-deg=138", "--orbit-deg=138", "--date=2026-11-25")["compass"] == "useless"
    assert any("overhead" in note for note in answer("--lat-deg=0", "--lon-deg=5", "--orbit-deg=5", "--date=2026-11-25")["notes"])


def test_numbers_are_numbers():
    found = answer("--lat-deg=0", "--lon-deg=0", "--orbit-deg=-40", "--date=2026-11-25")
    assert found["skew_deg"] == 90.0 and all(isinstance(found[key], float) and math.isfinite(found[key]) for key in FIXED_KEYS)
