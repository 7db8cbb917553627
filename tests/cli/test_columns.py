"""`siteplan columns` as a person and as a program sees it."""

import json

import pytest
import typer
from typer.testing import CliRunner

from siteplan.cli.columns import columns
from siteplan.errors import InputError
from siteplan.words.language import speak

pytestmark = pytest.mark.quick


@pytest.fixture(autouse=True)
def english():
    yield
    speak()


def call(*flags):
    made = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
    made.command("columns")(columns)
    made.callback()(lambda: None)
    return CliRunner().invoke(made, ["columns", *flags])


def test_text_json_and_heading():
    assert "orbit_deg" in call("satellites").stdout
    assert json.loads(call("satellites", "--json").stdout)["satellites"]["columns"][1]["needed"] == "yes"
    assert call("beams", "--empty").stdout.startswith("satellite,orbit_deg,beam,eirp_dbw,")
    assert "nötig" in call("beams", "--language", "de").stdout


@pytest.mark.parametrize("flags", [("trees",), ("kit", "--empty"), ("--empty",), ("beams", "--language", "xx")])
def test_what_is_not_known_is_told(flags):
    done = call(*flags)
    assert isinstance(done.exception, InputError) and done.exception.exit_code == 3
