"""Languages and units: catalogues true to their templates, numbers as each language writes them, feet where wanted."""

import re
import string

import catalogues
import pytest

from siteplan import words
from siteplan.records.verdict import Reason, State
from siteplan.words.formats import compass, distance, height, hours, number
from siteplan.words.language import LANGUAGES, speak

pytestmark = pytest.mark.quick
TEXTS = catalogues.texts()


@pytest.fixture(autouse=True)
def english_again():
    yield
    speak()


def places(template):
    """Names, formats and tags of a template: what a translation must keep."""
    fields = sorted((name, spec) for _, name, spec, _ in string.Formatter().parse(template) if name)
    return fields, sorted(re.findall(r"</?\w+>", template))


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_every_translation_keeps_the_places_for_values(language):
    wrong = [one.id for one in catalogues.catalogue(language) if one.id and one.string and places(one.id) != places(one.string)]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_every_text_is_translated(language):
    known = {one.id: one.string for one in catalogues.catalogue(language) if one.id}
    # plan files are written in English: their keys are
    missing = [text for text in TEXTS if not known.get(text)]
    assert missing == []


def test_kinds_keep_their_capitals_in_german():
    speak("de")
    values = {"kind": "building", "distance_m": 34.0, "bearing_deg": 180.0, "satellite": "Heron", "height_agl_m": 5.1, "raise_m": 2.0}
    assert words.sentence(Reason("sat_clear_raised", values)).startswith("Ein Gebäude 34 m Richtung Süd steht vor Heron.")


def test_numbers_and_lengths_by_language_and_unit():
    assert (distance(2340.0), height(5.14), number(-1234.5, 1)) == ("2.3 km", "5.1 m", "\u22121234.5")
    speak("de")
    assert (distance(2340.0), height(5.14), number(-1234.5, 1)) == ("2,3 km", "5,1 m", "\u22121234,5")
    speak("en", "feet")
    assert (distance(34.0), distance(620.0), distance(2340.0), height(5.14)) == ("110 ft", "2000 ft", "1.5 mi", "17.0 ft")
    assert distance(20.0) == "66 ft"


def test_a_text_without_translation_stays_english():
    speak("fr")
    assert words.sentence(Reason("no_such_code", {"a": 1})).startswith("no such code")


def test_states_and_compass_follow_the_language():
    speak("de")
    assert words.state_word(State.BOOK) == "buchbar"
    assert compass(180.0) == "Süd"
    assert hours(4.0) == "vier Stunden"
