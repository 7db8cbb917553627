"""The block of a sheet that says how well each satellite will work, from hand-made links."""

import math
from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.records.emitters import Transponder
from siteplan.records.links import BudgetLine, DishLine, LinkLine
from siteplan.records.verdict import State
from siteplan.report import sheet_link, sheet_page
from siteplan.words.link import decibels, line_value, note, outage

pytestmark = pytest.mark.quick
NAN = float("nan")
RUN = ready.findings()
TERMS = (
    BudgetLine("term_eirp_dbw", 52.0, "dBW", "table of satellites: stated"),
    BudgetLine("term_polarisation_db", -0.004, "dB", "geometry"),
    BudgetLine("ci_adjacent", "", "dB", "nobody & nothing"),
    BudgetLine("available", 99.97, "% of the average year", "P.618-13"),
)


def link(name="T1", margin=7.2, weather=3.1, mhz=11_000.0, **more):
    carrier = Transponder(name, mhz, "H", 27_500.0, "DVB-S2", "8PSK", "3/4", 52.0, "stated")
    known = {"cni_db": margin + 8.9, "weather_margin_db": weather, "hours_per_year": 3.6, "hours_worst_month": 0.8, "terms": TERMS}
    return LinkLine(carrier, 0.8, margin + 9.0, 8.9, margin, 49.0, ("rain",), **(known | more))


def block(*links, dishes=None, state=State.BOOK, row=None, **changes):
    row = row or RUN.rows[1]
    dishes = dishes if dishes is not None else (DishLine(0.6, "T2", 4.0, 1.0, False, -2.0), DishLine(0.8, "T2", 7.0, 3.0, True, 1.0))
    view = replace(row.satellite.views[0], links=tuple(links), dishes=tuple(dishes), state=state, **changes)
    return sheet_link.block(RUN, replace(row, satellite=replace(row.satellite, views=(view,))))


def words(html):
    import re

    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("\u00a0", " ").split())


def test_what_to_expect_and_the_weakest_ones_budget():
    said = words(block(link(mhz=12_000.0), link("T2", 7.0, 3.0)))
    assert "The 0.8 m dish is the smallest of the kit that holds 6 dB of reserve in clear sky and a picture for 99.7 % of the year" in said
    assert "The weakest is T2" in said and "T2: About four hours a year without picture in heavy rain." in said
    assert "In the wettest month about 50 minutes" in said
    assert "power cuts, faults and snow on the dish come on top" in said
    assert "T2: 11000 MHz H 15.9 dB 7.0 dB 3.0 dB about four hours T1: 12000 MHz H 16.1 dB 7.2 dB 3.1 dB about four hours" in said
    assert "Link budget of T2, line by line" in said and "EIRP 52.00 dBW table of satellites: stated" in said
    assert "polarisation mismatch 0.00 dB" in said and "C/I, neighbouring satellites none nobody &amp; nothing" in said
    assert "Needs at least" not in said


def test_where_no_dish_holds_and_where_nothing_is_known():
    none = (DishLine(0.6, "T2", 4.0, -3.0, False, -3.0), DishLine(0.8, "T1", 6.5, -1.0, False, -1.0))
    said = words(block(link(), dishes=none))
    assert "No dish of the kit holds" in said and "The 0.8 m dish comes nearest; the weakest carrier is T1" in said
    lost = {"cni_db": NAN, "weather_margin_db": NAN, "hours_per_year": NAN, "wanted": False, "needs_by_dish": ((0.6, 51.2), (0.8, 48.6))}
    said = words(block(link("T1", NAN, NAN, **lost), dishes=()))
    assert "is not known: no reserve can be told" in said and "0.6 m: 51 dBW and 0.8 m: 49 dBW" in said
    assert "not counted for the dish" in said
    assert "nan" not in said.split() and "Link budget of" not in said


def test_notes_and_long_lists():
    said = words(block(*(link(f"T{n}", mhz=11_000.0 + n, notes=("low_elevation", "neighbour_unknown")) for n in range(20))))
    assert "and 8 more in the plan" in said and said.count("nobody says how strongly") == 1 and said.count("Elevation under 5°") == 1
    for code in ("weather_unknown", "outside_footprint", "beam_unknown"):
        assert note(code)


def test_no_dish_no_block():
    assert block(link(), state=State.NOT_FEASIBLE) == "" and block() == ""
    nobody = replace(RUN.rows[1], satellite=None)
    assert sheet_link.block(RUN, nobody) == ""
    assert block(replace(link(), terms=())) == ""  # an older run's links


def test_names_are_data():
    assert "<b>x" not in block(link("<b>x</b>"), dishes=(DishLine(0.8, "<b>x</b>", 7.0, 3.0, True, 1.0),))


def test_it_stands_on_the_sheet():
    row = RUN.rows[1]
    views = tuple(replace(view, links=(link(),), dishes=(DishLine(0.8, "T1", 7.0, 3.0, True, 1.0),)) for view in row.satellite.views)
    page = sheet_page.page(RUN, replace(row, satellite=replace(row.satellite, views=views)))
    assert page.count("How well it will work") == 1 and len(page) < 300_000


def test_values_as_words():
    assert (decibels(-1.26), decibels(math.inf), decibels(NAN)) == ("\u22121.3 dB", "unknown", "unknown")
    assert (line_value(-0.004, "dB"), line_value("", "dB"), line_value(NAN, "dB")) == ("0.00 dB", "none", "unknown")
    assert line_value(99.97314, "% of the average year") == "99.97 % of the average year"
    assert (outage(0.05, "under"), outage(440.0, "over"), outage(NAN, "")) == ("under five minutes", "over 18 days", "unknown")
