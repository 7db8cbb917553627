"""`siteplan fade` as a person and as a program sees it."""

import json
import re

import pytest
import typer
from authorities.authority_rows import rows_of
from typer.testing import CliRunner

from siteplan.cli.fade import fade
from siteplan.errors import InputError, MethodRangeError

pytestmark = pytest.mark.quick
FIXED_KEYS = ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db")
HERE = ("--lat-deg=51.5", "--lon-deg=-0.14", "--frequency-mhz=14250", "--elevation-deg=31.07699124", "--time-pct=0.1")


def call(*flags):
    made = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
    made.command("fade")(fade)
    made.callback()(lambda: None)
    return CliRunner().invoke(made, ["fade", *flags])


def answer(*flags):
    done = call(*flags, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_keys_and_the_numbers():
    """Row 4 of the validation examples of P.618-13."""
    dish = ("--height-amsl-m=31.382984", "--dish-m=1", "--dish-efficiency=0.65", "--tilt-deg=0")
    found = answer(*HERE, *dish, "--rain-001-mm-per-h=26.48052")
    assert tuple(found)[:5] == FIXED_KEYS
    wanted = (2.185843298, 0.226874038, 0.455169824, 0.422845379, 2.901523272)
    assert [found[key] for key in FIXED_KEYS] == pytest.approx(wanted, abs=0.0005)
    assert found["hours_per_year"] == pytest.approx(8.766)
    assert found["editions"]["method"] == "Rec. ITU-R P.618-13 (2017)"
    assert not any("No height" in note for note in found["notes"])


@pytest.mark.parametrize("row", rows_of("p618_13_total.csv")[::7], ids=lambda row: f"row{row['row']}")
def test_validation_rows_through_the_command_line(row):
    """0.05 dB as the maps (test_p618)."""
    found = answer(
        f"--lat-deg={row['lat_deg']}",
        f"--lon-deg={row['lon_deg']}",
        f"--frequency-mhz={1000 * float(row['f_ghz'])}",
        f"--elevation-deg={row['el_deg']}",
        f"--time-pct={row['p_pct']}",
        f"--height-amsl-m={1000 * float(row['hs_km'])}",
        f"--dish-m={row['dish_m']}",
        f"--dish-efficiency={row['eta']}",
        f"--tilt-deg={row['tau_deg']}",
    )
    assert found["total_db"] == pytest.approx(float(row["a_total_db"]), abs=0.05)
    assert found["gas_db"] == pytest.approx(float(row["a_gas_1pct_db"]), abs=0.001)
    assert found["cloud_db"] == pytest.approx(float(row["a_cloud_1pct_db"]), abs=0.001)


def test_the_table_is_plain_text():
    done = call(*HERE)
    assert done.exit_code == 0 and "\x1b" not in done.stdout
    assert re.search(r"rain +2\.10 dB  rain of 26\.5 mm/h", done.stdout)
    assert re.search(r"total +2\.8\d dB  .*not the sum", done.stdout)
    assert "about nine hours a year" in done.stdout
    assert "No height was given; 31 m above sea level" in done.stdout
    assert "K noisier" in done.stdout


def test_defaults_are_said():
    inputs = answer(*HERE)["inputs"]
    assert (inputs["dish_m"], inputs["dish_efficiency"], inputs["tilt_deg"]) == (0.8, 0.65, 45.0)
    assert inputs["height_amsl_m"] is None and inputs["rain_001_mm_per_h"] is None


def test_more_rain_than_the_map_says():
    assert answer(*HERE, "--rain-001-mm-per-h=60")["rain_db"] > answer(*HERE)["rain_db"]
    dry = answer(*HERE, "--rain-001-mm-per-h=0")
    assert dry["rain_db"] == 0.0 and dry["cross_polar_db"] is None
    assert any("less than 0.01 % of the year" in note for note in dry["notes"])


def test_above_the_rain():
    found = answer(*HERE, "--height-amsl-m=4000")
    assert found["rain_db"] == 0.0
    assert any("lies above the rain height" in note for note in found["notes"])


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ("--elevation-deg=3", "Elevation under 5°"),
        ("--frequency-mhz=30000", "4 to 20 GHz"),
        ("--time-pct=0.005", "0.01 % of the year and more"),
    ],
)
def test_a_stretched_range_is_said(changed, words):
    assert not any(words in note for note in answer(*HERE)["notes"])
    assert any(words in note for note in answer(*HERE, changed)["notes"])


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ("--frequency-mhz=55001", "1000 to 55000 MHz; 55001 MHz"),
        ("--frequency-mhz=12.5", "Give the downlink frequency in MHz"),
        ("--time-pct=5.5", "0.001 to 5 %"),
        ("--time-pct=0", "0.001 to 5 %"),
        ("--elevation-deg=-2", "1 to 90 degrees; -2"),
        ("--lat-deg=89", "do not reach latitude 89"),
    ],
)
def test_out_of_the_method_is_exit_3_and_said(changed, words):
    wrong = call(*HERE, changed).exception
    assert isinstance(wrong, MethodRangeError) and wrong.exit_code == 3
    assert words in str(wrong)


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ("--lat-deg=91", "lat_deg"),
        ("--lon-deg=400", "lon_deg"),
        ("--frequency-mhz=nan", "frequency_mhz"),
        ("--time-pct=inf", "time_pct"),
        ("--elevation-deg=95", "elevation_deg"),
        ("--height-amsl-m=12000", "height_amsl_m"),
        ("--dish-m=0", "dish_m"),
        ("--dish-m=80", "dish_m"),
        ("--dish-efficiency=65", "dish_efficiency"),
        ("--tilt-deg=400", "tilt_deg"),
        ("--rain-001-mm-per-h=-1", "rain_001_mm_per_h"),
    ],
)
def test_a_wrong_number_is_named(changed, name):
    wrong = call(*HERE, changed).exception
    assert isinstance(wrong, InputError) and name in str(wrong) and "Allowed:" in str(wrong)


def test_a_longitude_the_other_way_round():
    one, other = answer(*HERE), answer(*HERE, "--lon-deg=359.86")
    assert [other[key] for key in FIXED_KEYS] == pytest.approx([one[key] for key in FIXED_KEYS], abs=1e-5)
    assert other["inputs"]["lon_deg"] == pytest.approx(-0.14)


def test_the_command_is_listed():
    from siteplan.cli.table import COMMANDS

    assert COMMANDS["fade"][0] == "fade"


def test_same_bytes_again():
    assert call(*HERE, "--json").stdout == call(*HERE, "--json").stdout
