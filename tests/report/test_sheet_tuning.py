"""The tuning card and its spectrum, from hand-made findings."""

import math
import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
import ready_findings as ready

from siteplan.files.lnb_key import lnb_of
from siteplan.radio.lnb import GROUND_BANDS, at_lnb
from siteplan.records.emitters import Transponder
from siteplan.records.orbit import DayOfOrbit
from siteplan.records.plan import LNBS
from siteplan.records.tuning import FalseFriend, Neighbour, Tuning, TuningLine
from siteplan.records.verdict import Reason
from siteplan.report import sheet_page, sheet_tuning, spectrum_plot
from siteplan.words.tuning import TEXTS

pytestmark = pytest.mark.quick
NAN = float("nan")


def line(name, mhz, polarisation="V", level=0.0, first=0, friends=(), **more):
    t = Transponder(name, mhz, polarisation, 27_500.0, "DVB-S2", "8PSK", "3/4", 50.0, "stated", **more)
    return TuningLine(at_lnb(t, LNBS[0]), level, friends, first)


S1 = Transponder("S1", 10_850.0, "V", 27_500.0, "DVB-S2", "8PSK", "3/4")
FRIEND = FalseFriend("Sula <10E>", 10.0, S1, 3.0, ("network_id", "programmes"))
LINES = (
    line("O1", 10_847.0, friends=(FRIEND,), network_id=4025, programmes=("One & <b>Two</b>",)),
    line("O2", 11_223.0, "H", -1.5, 2, network_id=4025, original_network_id=4025, transport_stream_id=12),
    line("O3", 12_604.0, "H", NAN, 3), line("O4", 12_090.0, "V", -0.5, 1, encrypted=True, programmes=("Gull",)),
)  # fmt: skip
NEAR = Neighbour("Sula <10E>", 10.0, -15.0, 17.25, -2.1, 3, 1)
TUNING = Tuning(LNBS[0], 1, 2, LINES, (NEAR,), (Reason("lnb_band", {
    "satellite": "Oriel 25E", "transponder": "C1", "frequency_mhz": 3900.0, "polarisation": "H", "lnb": "universal single",
    "bands": "10700-12750",
}),))  # fmt: skip


def shown(tuning, which=0):
    run = ready.findings()
    row = run.rows[which]
    views = (replace(row.satellite.views[0], tuning=tuning), *row.satellite.views[1:])
    return run, replace(row, satellite=replace(row.satellite, views=views))


def plain(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html).replace("\u00a0", " ").replace("\u2011", "-"))


def test_what_an_installer_reads():
    words = plain(sheet_tuning.block(*shown(TUNING)))
    assert "Switch (DiSEqC): input 1 of 2." in words and "A lock alone is no proof" in words
    assert words.index("O4: 12090 MHz V") < words.index("O2: 11223 MHz H") < words.index("O3: 12604 MHz H") < words.index("O1: 10847 MHz V")
    assert "IF 1490 MHz, vertical, high band 13 V, 22 kHz on" in words and "IF 1473 MHz, horizontal, low band 18 V, 22 kHz off" in words
    assert "network 4025, transport stream 12" in words and "original" not in words
    assert "nothing is listed that confirms it" in words and "encrypted: name only, no picture" in words
    assert "the network and the programme tell them apart" in words
    assert "17.2° to the right, 2.1° lower; 1 of ours may be taken for one of its 3 carriers" in words
    assert "O4 and O2: IF where mobile phones at 1500 MHz also send: screened cable and outlet; if only this one fails, look here." in words
    assert "outside what the LNB of this plan takes" in words


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("universal single-cable", "IF 1097 MHz inside the LNB, vertical, low band; the receiver’s own user band on the cable"),
        ("wideband pair", "IF 447 MHz, output vertical"),
        ("universal quattro", "IF 1097 MHz, vertical, low band 13 V, 22 kHz off"),
    ],
)
def test_what_is_set_behind_each_kind_of_lnb(words, said):
    lnb = lnb_of(words)
    tuning = Tuning(lnb, 0, 1, (TuningLine(at_lnb(LINES[0].at.transponder, lnb), 0.0, (), 1),))
    shows = plain(sheet_tuning.block(*shown(tuning)))
    assert said in shows and f"LNB: {words}." in shows


def test_an_orbit_is_told():
    day = DayOfOrbit(99025, datetime(2026, 6, 9, 12), 25.01, 0.02, 0.06, 0.0, 1.5)
    run, row = shown(TUNING)
    first = replace(row.satellite.views[0], box_deg=0.07, beam_deg=2.1)
    first = replace(first, satellite=replace(first.satellite, day=day))
    row = replace(row, satellite=replace(row.satellite, views=(first, *row.satellite.views[1:])))
    words = plain(sheet_tuning.block(run, row))
    assert "stands at 25E on that day and moves 0.06° north and south, 0.02° east and west (orbit of 9 June 2026)" in words
    assert "it wanders 0.07° over the day; the dish’s beam is 2.1° wide" in words


def test_every_text_exists_and_is_used():
    folder = Path(sheet_tuning.__file__).parent
    code = "".join((folder / name).read_text(encoding="utf-8") for name in ("sheet_tuning.py", "spectrum_plot.py"))
    asked = set(re.findall(r'\bsaid\(\s*"(\w+)"', code))
    assert len(asked) > 30 and asked <= set(TEXTS)
    quoted = set(re.findall(r"[\"'](\w+)[\"']", code))
    built = ("told_", "band_", "way_", "network", "original", "transport", "programmes")
    assert [name for name in TEXTS if name not in quoted and not name.startswith(built)] == []


def test_text_from_files_stays_text():
    html = sheet_tuning.block(*shown(TUNING))
    assert "<b>Two" not in html and "&lt;b&gt;Two" in html and "&lt;10E&gt;" in html


def test_no_card_where_no_dish_goes_up():
    run, row = shown(TUNING, which=2)  # not feasible
    assert sheet_tuning.block(run, row) == ""
    assert sheet_tuning.block(*shown(None)) == ""


def test_the_sheet_holds_the_card_once():
    assert sheet_page.page(*shown(TUNING)).count("Tuning card: Oriel 25E") == 1


def test_a_block_is_as_wide_as_its_carrier_and_as_high_as_its_level():
    drawing = spectrum_plot.chart(TUNING, satellite="W", key="k", slim=False)
    blocks = [tuple(map(float, found)) for found in re.findall(r'class="carrier[^"]*" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', drawing)]
    assert len(blocks) == 4 and drawing.count('class="carrier first unknown"') == 1
    # 33 MHz of the 1200 MHz from 950 to 2150 over 720 - 34 - 8 px
    assert all(width == pytest.approx(33.0 * 678.0 / 1200.0, abs=0.11) for _, _, width in blocks)
    assert blocks[0][0] == pytest.approx(34.0 + (1097.0 - 16.5 - 950.0) * 678.0 / 1200.0, abs=0.11)
    assert drawing.count('class="write"') == 4 and drawing.count("\u2605") == 3


def test_many_carriers_keep_their_words_apart():
    lines = tuple(line(f"Carrier {n}", 10_720.0 + 39.0 * n, level=-0.1 * n) for n in range(24))
    drawing = spectrum_plot.chart(Tuning(LNBS[0], 0, 1, lines), satellite="W", key="k", slim=True)
    words = [(float(x), float(y)) for x, y in re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="label', drawing)]
    assert 1 <= len(words) < 10
    assert all(abs(a[0] - b[0]) > 60 for i, a in enumerate(words) for b in words[:i] if abs(a[1] - b[1]) < 11)


def test_a_wideband_if_shows_what_it_reaches():
    assert spectrum_plot._ends(LINES) == (950.0, 2150.0)
    low = replace(LINES[0], at=replace(LINES[0].at, low_mhz=290.0, high_mhz=320.0))
    assert spectrum_plot._ends((low, LINES[1])) == (270.0, pytest.approx(1509.5))


def test_the_stripes_are_the_bands_that_warn():
    assert sorted(spectrum_plot._GROUND) == sorted(GROUND_BANDS.values())
    assert math.isnan(TUNING.lines[2].level_db)
