"""A run in German: its pages say nothing of the catalogue in English and write numbers and dates as German does; states in tables stay."""

import html
import re

import catalogues
import pytest
from small_job import SATELLITES, SECTORS, TABLES, TRANSMITTERS, at

from siteplan.words.language import speak

X, Y = at(900, 100)


@pytest.fixture
def german(job):
    """A small job run with language = "de"."""
    job.write("satellites.csv", SATELLITES)
    job.write("transmitters.csv", f"{TRANSMITTERS}Hill,{X},{Y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n")
    job.write("sectors.csv", f"{SECTORS}Corvid,Mast,1,{X},{Y},30,LTE,800,806,20,200\n")
    job.plan(TABLES + '[outputs]\nlanguage = "de"\n')
    done = job.run()
    assert done.code == 0, done.err
    yield job
    speak()


def pieces(template):
    """Return the stretches between a template's places for values that are long enough to be nobody else's."""
    parts = (part.strip() for part in re.split(r"\{[^}]*\}|</?\w+>", template))
    return [part for part in parts if len(part) > 11 and " " in part]


def test_pages_are_german_and_tables_are_not(german):
    rows = german.verdicts()
    assert {row["job_verdict"] for row in rows} <= {"book", "survey first", "not feasible", "not judged"}
    translated = {one.id: one.string for one in catalogues.catalogue("de") if one.id and one.string}
    theirs = "\n".join(translated.values())
    english = sorted({part for text in translated for part in pieces(text) if part not in theirs})
    assert len(english) > 800
    sheet = german.out / rows[0]["sheet"]
    for path in (german.out / "index.html", german.out / "map.html", german.out / "list.html", sheet):
        page = path.read_text(encoding="utf-8")
        assert '<html lang="de"' in page
        said = html.unescape(re.sub(r"<script>.*?</script>|<style>.*?</style>", "", page, flags=re.S))
        said = re.sub(r'<td class="from">.*?</td>', "", said, flags=re.S)  # sources of a budget's lines name standards and plan keys
        assert [part for part in english if part in said] == [], path.name
        assert "11. Juni 2026" in said, path.name
    words = re.sub(r"<[^>]+>", " ", re.sub(r"<(script|style|svg)\b.*?</\1>", "", sheet.read_text(encoding="utf-8"), flags=re.S))
    assert re.search(r"\d,\d°", words) and not re.search(r"\d\.\d°", words)
    assert re.search(r"\d,\d m\b", words) and not re.search(r"\d\.\d m\b", words)
