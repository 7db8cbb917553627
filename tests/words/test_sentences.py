"""Every reason has its sentence, numbers read well, and words kept off people's pages stay off."""

import re
from pathlib import Path

import pytest

import siteplan
from siteplan import words
from siteplan.records.verdict import Reason
from siteplan.words import formats
from siteplan.words.verdicts import SENTENCES

pytestmark = pytest.mark.quick
PACKAGE = Path(siteplan.__file__).parent


def test_every_reason_code_in_the_code_has_a_sentence():
    codes = set()
    for file in PACKAGE.rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        codes |= set(re.findall(r'Reason\(\s*"(\w+)"', text)) | set(re.findall(r'_say\(\s*"(\w+)"', text))
    assert len(codes) > 30
    assert codes - set(words._all_sentences()) == set()


def test_dispatchers_sentences_use_no_trade_abbreviations():
    # words that the pages' glossary keeps off what a dispatcher reads out
    banned = (
        "CRS",
        "EPSG",
        "raster",
        "nodata",
        "DTM",
        "DSM",
        "ERP",
        "EIRP",
        "dBµV",
        "RSRP",
        "C/N",
        "azimuth",
        "multiplex",
        "transponder",
        "skew",
        "amsl",
        "σ",
    )
    for code, text in SENTENCES.items():
        plain = re.sub(r"\{[^}]*\}", "", text)
        for word in banned:
            assert not re.search(rf"\b{re.escape(word)}\b", plain), (code, word)


@pytest.mark.parametrize(
    ("value", "text"), [(3.14, "3.1 m"), (34.4, "34 m"), (624.0, "620 m"), (998.0, "1.0 km"), (2345.0, "2.3 km"), (23456.0, "23 km")]
)
def test_distances_have_two_figures(value, text):
    assert formats.distance(value) == text


@pytest.mark.parametrize(
    ("bearing", "word"), [(0, "north"), (157, "south-south-east"), (359, "north"), (-90, "west"), (191.3, "south-south-west")]
)
def test_compass(bearing, word):
    assert formats.compass(bearing) == word


def test_orbits_and_chances():
    assert [formats.orbit(v) for v in (19.2, -30.0, 0.0, 25.0)] == ["19.2E", "30W", "0", "25E"]
    assert [formats.per_cent(v) for v in (0.001, 0.5, 0.996)] == ["under 1 %", "50 %", "over 99 %"]


def test_a_sentence_as_a_dispatcher_reads_it_out():
    reason = Reason(
        "sat_blocked",
        {
            "kind": "growth",
            "obstacle_agl_m": 9.0,
            "distance_m": 34.0,
            "bearing_deg": 157.0,
            "above_deg": 2.13,
            "satellite": "Oriel 25E",
            "highest_agl_m": 6.0,
        },
    )
    assert words.sentence(reason) == (
        "Growth about 9.0 m high, 34 m south-south-east, stands 2.1° above the line to Oriel 25E; "
        "no mount height up to 6.0 m helps from this point."
    )
