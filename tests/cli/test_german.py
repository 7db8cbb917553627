"""A run in German: its pages say nothing of the catalogue in English and write numbers and dates as German does; states in tables stay."""

import html
import re

import catalogues
import pytest
from small_job import SATELLITES, SECTORS, TABLES, TRANSMITTERS, at, place

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
    for path in (*(german.out / name for name in ("index.html", "map.html", "list.html", "methods.html")), sheet):
        page = path.read_text(encoding="utf-8")
        assert '<html lang="de"' in page
        said = html.unescape(re.sub(r"<script>.*?</script>|<style>.*?</style>", "", page, flags=re.S))
        said = re.sub(r'<td class="from">.*?</td>', "", said, flags=re.S)  # sources of a budget's lines name standards and plan keys
        if path.name == "methods.html":  # what the code itself says, and parts of standards by their own words, stay
            said = re.sub(r"<details>.*?</details>|<dt>(?:Gleichungen|Ausgabe)</dt><dd>.*?</dd>", "", said, flags=re.S)
        assert [part for part in english if part in said] == [], path.name
        assert "11. Juni 2026" in said, path.name
    words = re.sub(r"<[^>]+>", " ", re.sub(r"<(script|style|svg)\b.*?</\1>", "", sheet.read_text(encoding="utf-8"), flags=re.S))
    assert re.search(r"\d,\d°", words) and not re.search(r"\d\.\d°", words)
    assert re.search(r"\d,\d m\b", words) and not re.search(r"\d\.\d m\b", words)


def test_sentences_in_files_follow_the_language_and_states_do_not(german):
    job = german
    row = next(row for row in job.verdicts() if row["satellite_verdict"] in ("book", "survey first"))
    assert re.search(r"\b(?:Schüssel|Sicht|Gelände|Bäume)\b", row["satellite_reasons"]), row["satellite_reasons"]
    shapes = (job.out / "verdicts.geojson").read_text(encoding="utf-8")
    assert row["satellite_reasons"][:40] in shapes and '"satellite_verdict": "' + row["satellite_verdict"] in shapes


def test_rejects_and_check_speak_the_plans_language(job):
    job.write("addresses.csv", "id,name,lat_deg,lon_deg\n1,Lane 1,47.5x,11\n2,Lane 2,,\n3,Lane 3,{},{}\n".format(*place(566, 506)))
    job.plan('[outputs]\nlanguage = "de"\n')
    done = job.check()
    assert "Breite ist keine Zahl" in done.out and "is not a number" not in done.out + done.err
    assert job.tables().code == 0
    assert [row["reason"] for row in job.rejects()] == ["Breite ist keine Zahl", "Breite und Länge sind leer"]
    speak()


def test_a_broken_plan_is_told_in_the_language_it_names_and_else_in_english(job):
    for language, said in (("de", "unbekannter Schlüssel"), ("fr", "clé inconnue"), ("xx", "language: this value is not known")):
        job.plan(("" if language == "xx" else "[limits]\nbook_probabilty = 0.9\n") + f'[outputs]\nlanguage = "{language}"\n')
        done = job.run()
        assert done.code == 3 and said in done.err, done.err
    job.plan('[outputs]\nlanguage = "de"\n[limits\n')
    assert "das ist kein gültiges TOML" in job.run().err
    job.plan("[limits]\nbook_probabilty = 0.9\n")
    assert "unknown key; did you mean book_probability?" in job.run().err
    speak()
