"""Names of parts and items: as they stand in English, translated elsewhere, a plan's own untouched."""

import pytest

from siteplan.files.equipment import read_parts
from siteplan.signal_chain.systems import SYSTEMS, Choice, Wish, build
from siteplan.words.items import WORDS, item_name
from siteplan.words.language import speak

PARTS, _ = read_parts()


@pytest.fixture(params=["de", "fr"])
def language(request):
    speak(request.param)
    yield request.param
    speak()


def chains():
    for system in SYSTEMS:
        satellites = () if system == "TV alone" else ("Oriel", "Sula")
        count = 40 if system == "cascade" else 2
        wish = Wish(count, satellites, tv=True, to_house_m=9.0, to_outlet_m=9.0)
        yield build(system, wish, PARTS, Choice("Cable class A 7 mm", "Aerial UHF"))


@pytest.mark.quick
def test_english_names_stay_as_they_are():
    items = {item.id for chain in chains() for item in chain.items}
    names = {*PARTS, *items, *(chain.name for chain in chains()), "Dish 0.6 m", "my own 3"}
    assert {name: item_name(name) for name in names if item_name(name) != name} == {}


def test_every_part_and_item_of_ours_is_translated(language):
    assert set(PARTS) <= set(WORDS)
    same = {name for name in PARTS if item_name(name) == name}
    assert same <= {"LNB quad", "LNB octo", "LNB quattro", "LNB twin"}
    for chain in chains():
        left = {item.id for item in chain.items if item_name(item.id) == item.id and not item.id.startswith("LNB ")}
        assert left == set(), chain.system
    assert item_name("living room") == "living room" and item_name("cable 3 upstairs") == "cable 3 upstairs"


def test_names_within_names(language):
    wanted = {
        "de": ("Dämpfungsglied 6 an Kabel vom LNB Oriel 25E", "Schüssel 0,6 m"),
        "fr": ("Atténuateur 6 à câbles du LNB Oriel 25E", "Parabole 0,6 m"),
    }
    assert (item_name("Attenuator 6 at cables from LNB Oriel 25E"), item_name("Dish 0.6 m")) == wanted[language]
