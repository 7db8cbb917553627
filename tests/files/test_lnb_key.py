"""kit.lnb: trade words and tables; each complaint with its line, value and what is allowed."""

import pytest

from siteplan.errors import PlanError
from siteplan.files.plan_file import read_plan

pytestmark = pytest.mark.quick


def plan(tmp_path, text):
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    return read_plan(tmp_path / "plan.toml")


def test_words(tmp_path):
    found = plan(tmp_path, '[kit]\nlnb = ["Universal quad", "universal circular single cable", "wideband", "C-band twin"]\n').kit.lnb
    assert [(one.polarisation, one.outputs, len(one.oscillators)) for one in found] == [
        ("linear", "quad", 2), ("circular", "single-cable", 2), ("linear", "wideband pair", 1), ("linear", "twin", 1),
    ]  # fmt: skip


def test_a_table(tmp_path):
    text = '[kit.lnb]\npolarisation = "circular"\noscillators_mhz = [18250]\nbands_mhz = [19200, 20200]\noutputs = "twin"\n'
    (one,) = plan(tmp_path, text).kit.lnb
    assert one.name == "circular 18250 MHz twin" and one.oscillators[0].from_mhz == 19200.0


def test_the_default_takes_linear_and_circular(tmp_path):
    assert [str(one) for one in plan(tmp_path, "").kit.lnb] == ["universal single", "universal circular single"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('lnb = "diagonal single"', "this LNB is not known"),
        ('lnb = "universal triple"', "'triple' says nothing about an LNB"),
        ("lnb = 9750", "this is no LNB"),
        ("lnb = []", "name an LNB"),
        ('lnb = "C band quattro"', "four sub-bands"),
        ("lnb = { oscillators_mhz = [9750] }", "bands_mhz"),
        ("lnb = { oscillators_mhz = [9750], bands_mhz = [[12750, 10700]] }", "bands_mhz"),
        ("lnb = { oscillators_mhz = [11000], bands_mhz = [[10700, 11700]] }", "would bring"),
        ("lnb = { oscillators_mhz = [9.75], bands_mhz = [[10700, 11700]] }", "would bring"),
        ('lnb = { oscillators_mhz = [9750], bands_mhz = [[10700, 11700]], outputs = "five" }', "outputs 'five'"),
        ('lnb = { oscillators_mhz = [9750], bands_mhz = [[10700, 11700]], polarisation = "H" }', "polarisation 'H'"),
        ('lnb = { lo = 9750 }', "unknown key lo"),
        ('lnb = "universal quattro"', "a receiver on it gets a quarter of all"),
        ('lnb = "universal quad"\nlnb_feeds = "multiswitch"', "a multiswitch wants fixed sub-bands"),
        ('lnb_feeds = "multiswitch"', "a multiswitch wants fixed sub-bands"),
    ],
)  # fmt: skip
def test_complaints(tmp_path, text, said):
    with pytest.raises(PlanError, match="plan.toml, line [23], key kit.lnb") as wrong:
        plan(tmp_path, f"[kit]\n{text}\n")
    assert said in str(wrong.value)


def test_a_quattro_before_a_multiswitch_is_fine(tmp_path):
    (one,) = plan(tmp_path, '[kit]\nlnb = "universal quattro"\nlnb_feeds = "multiswitch"\n').kit.lnb
    assert one.outputs == "quattro"
