"""A German run in feet: no length in metres and no English figure is left that a person reads, but for exceptions named here."""

import csv

import pytest
from page_texts import left, visible
from small_job import SATELLITES, SECTORS, TABLES, TRANSMITTERS, at

from siteplan.words.language import speak

X, Y = at(900, 100)
PAGES = ("index.html", "map.html", "list.html", "review.html", "sheets", "proof")  # methods.html: the figures of its sources are theirs
# What stays in metres, and why.
METRES_STAY = (
    r"[\w-]+_\d+m\b|\w+\.(?:tif|csv|geojson|gpkg)",  # names of files
    r"--?[a-z][\w-]*=\S+",  # options of a command, to be typed as they are
    r"\d+ mm\b",  # gauges of cables are part of their names
    r"42\.164 km",  # radius of the geostationary orbit
    r"[a-z]+_m\b",  # names of columns
    r"Höhen in m\b|Höhenbezug: .*",  # the unit and datum that a terrain file itself is in
)
# What keeps its decimal point or comma, and why.
FIGURES_STAY = (
    r"\d+\.\d{5} [NS], \d+\.\d{5} [EW]",  # a place, as phones take it
    r"\d+(?:\.\d)?[EW]\b",  # orbits, as satellites are called
    r"--?[a-z][\w-]*=\S+",  # options of a command
    # numbers of standards and of their parts
    r"\b(?:P|BT|BO|BS|TS|TR|EN|No|clause|sections?|eqs?|annex|tables?)[. ]+\(?\d[\d.-]*(?:(?:, | and | to )\(?\d[\d.-]*\)?)*",
    r"siteplan \d+\.\d+\.\d+",  # version of the program
    r"(?:Q1|beta) \d\.\d+",  # constants as their standard prints them
    r"\d{4}-\d\d-\d\d",
)


METRES = r"\d[\d.,]*[\s\u00a0\u202f]?(?:m|km|cm)\b(?![/²])|\b(?:metres?|Metern?|mètres?)\b"
ENGLISH_FIGURES = r"(?<![\w.,/-])\d+\.\d{1,2}(?![\w.])|(?<![\w.,])\d{1,3},\d{3}(?![\d,])"


def test_the_searches_find_what_they_look_for():
    assert left("Höhe 5,1 m über Grund, 23 km weit", METRES, METRES_STAY) and not left("Höhe 17 ft, Kabel 7 mm", METRES, METRES_STAY)
    assert left("Reserve 2.5 dB", ENGLISH_FIGURES, FIGURES_STAY) and left("1,234 Zeilen", ENGLISH_FIGURES, FIGURES_STAY)
    assert not left("2,5 dB, 1.234 Zeilen, 19.2E, Rec. ITU-R P.618-13, section 2.5", ENGLISH_FIGURES, FIGURES_STAY)


@pytest.fixture
def said(job):
    """Everything that a German job in feet says: name of a page, or of a command -> its text."""
    job.write("satellites.csv", SATELLITES)
    job.write("transmitters.csv", f"{TRANSMITTERS}Hill,{X},{Y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n")
    job.write("sectors.csv", f"{SECTORS}Corvid,Mast,1,{X},{Y},30,LTE,800,806,20,200\n")
    plan = job.plan(TABLES + '[outputs]\nlanguage = "de"\nunits = "feet"\nsheets = "all"\n')
    done = {"check": job.call("check", plan), "run": job.run()}
    expected = list(csv.DictReader((job.out / "expected.csv").read_text(encoding="utf-8-sig").splitlines()))
    first = next(row for row in expected if row.get("level_dbuv"))
    reading = f"id,carrier,level_dbuv,cn_db\n{first['id']},{first['carrier']},{float(first['level_dbuv']) - 2:.1f},14.5\n"
    done["readings"] = job.call("readings", plan, job.write("read.csv", reading))
    done["proof"] = job.call("proof", plan, first["id"])
    done["review"] = job.call("review", plan)
    assert {name: one.code for name, one in done.items()} == dict.fromkeys(done, 0), [one.err for one in done.values()]
    pages = [job.out / name for name in PAGES]
    files = [file for path in pages for file in (sorted(path.glob("*.html")) if path.is_dir() else [path])]
    assert len(files) >= 8
    yield {file.name: visible(file.read_text(encoding="utf-8")) for file in files} | {name: one.out + one.err for name, one in done.items()}
    speak()


def test_a_german_run_in_feet_says_no_metres_and_no_english_figures(said):
    metres = {name: found for name, text in said.items() if (found := left(text, METRES, METRES_STAY))}
    figures = {name: found for name, text in said.items() if (found := left(text, ENGLISH_FIGURES, FIGURES_STAY))}
    lines = [f"{name}: {one}" for found in (metres, figures) for name in found for one in found[name]]
    assert lines == [], "\n".join(lines)
