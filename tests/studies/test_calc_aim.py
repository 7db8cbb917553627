"""The aim calculator called without the command line: ranges, words, and numbers that never read 360 or minus zero."""

from datetime import date

import pytest

from siteplan.errors import InputError
from siteplan.studies.calc_aim import aim_for_one, aim_lines
from siteplan.words import aim as words

pytestmark = pytest.mark.quick
GOOD = {"lat_deg": 45.0, "lon_deg": 0.0, "orbit_deg": 13.0, "height_amsl_m": 0.0, "on_date": date(2026, 11, 25)}


@pytest.mark.parametrize(
    ("key", "value"), [("lat_deg", 90.1), ("lon_deg", -180.5), ("orbit_deg", 360.5), ("height_amsl_m", 1e6), ("orbit_deg", float("nan"))]
)
def test_out_of_range(key, value):
    with pytest.raises(InputError, match=f"{key} is .*Allowed: "):
        aim_for_one(**{**GOOD, key: value})


def test_the_same_question_gets_the_same_answer():
    assert aim_for_one(**GOOD) == aim_for_one(**GOOD) and aim_lines(aim_for_one(**GOOD)) == aim_lines(aim_for_one(**GOOD))


def test_due_north_is_0_and_no_turn_is_plain_0():
    found = aim_for_one(**{**GOOD, "lat_deg": -45.0, "orbit_deg": 0.0})
    assert found["azimuth_deg"] == 0.0 and str(found["skew_deg"]) == "0.0"
    assert any("no turn of the LNB" in line for line in aim_lines(found))


def test_grazing_is_said():
    found = aim_for_one(**{**GOOD, "lat_deg": 81.5, "orbit_deg": 0.0})
    assert found["horizon"] == "grazing" and found["refraction_deg"] > 0.5
    assert any("Do not count on it" in note for note in found["notes"])


def test_words():
    assert [words.longitude(v) for v in (-30.0, 19.2, 0.0, -0.1278)] == ["30 W", "19.2 E", "0 E", "0.1278 W"]
    assert [words.latitude(v) for v in (-34.5, 100 / 3, 0.0)] == ["34.5 S", "33.3333 N", "0 N"]
    assert words.skew(17.4) == "standing behind the dish, facing the satellite, turn the LNB clockwise 17°"
    assert "anticlockwise 17°" in words.skew(-17.4) and "either way 90°" in words.skew(90.0) and words.skew(0.2) == "no turn of the LNB"
