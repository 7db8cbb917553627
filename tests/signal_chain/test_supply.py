"""Direct current: who feeds what, each sum worked by hand from the parts list."""

from dataclasses import replace

import pytest

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Chain, Item
from siteplan.signal_chain.network import Ways, ends
from siteplan.signal_chain.supply import currents, overdrawn
from siteplan.signal_chain.systems import Choice, Wish, build
from siteplan.words import sentence

PARTS, _ = read_parts()
CHOICE = Choice("Cable class A 7 mm", "Aerial UHF")
pytestmark = pytest.mark.quick


def built(system, outlets, *satellites):
    return build(system, Wish(outlets, satellites or ("Oriel",), tv=False, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)


def with_part(chain, kind, **changed):
    return replace(chain, items=tuple(replace(i, part=replace(i.part, **changed)) if i.part.kind == kind else i for i in chain.items))


def test_a_head_feeds_the_lnb_and_every_cascaded_switch():
    """Quattro 200 mA and four switches of 60 mA: 440 of 800 mA, and the line amplifier feeds the next four; of 160 mA each the head is
    asked for 840, the line amplifier for 640."""
    assert overdrawn(built("cascade", 16)) == {}
    full = built("cascade", 64)
    assert overdrawn(full) == {}
    found = overdrawn(with_part(full, "multiswitch", current_ma=160.0))
    assert len(found) == 64 and {len(reasons) for reasons in found.values()} == {1}
    assert sentence(found["outlet 1"][0]) == "840 mA are drawn from the supply of head amplifier; it gives 800 mA."


def test_a_multiswitch_feeds_both_its_lnbs_at_once():
    """Two quattros of 200 mA: 400 of 1000 mA; of 600 mA each 1200."""
    two = built("multiswitch", 6, "Oriel", "Sula")
    assert overdrawn(two) == {}
    assert overdrawn(with_part(two, "lnb", current_ma=600.0))["outlet 1"][0].values["current_ma"] == 1200.0


def test_a_receiver_feeds_one_lnb_at_a_time():
    """Two twins of 150 mA behind a switch of 15 mA: 165 mA, not 315; of 340 mA each 355, over 350."""
    direct = built("direct", 2, "Oriel", "Sula")
    assert overdrawn(direct) == {}
    found = overdrawn(with_part(direct, "lnb", current_ma=340.0))
    assert {name: one[0].values["current_ma"] for name, one in found.items()} == {"outlet 1": 355.0, "outlet 2": 355.0}


def test_a_receiver_feeds_a_single_cable_unit_and_its_lnb():
    """Unit 100 mA and quattro 200 mA: 300 of 350 mA; a thirsty LNB of 260 mA is too much."""
    single = built("single-cable", 2)
    assert overdrawn(single) == {}
    assert overdrawn(with_part(single, "lnb", current_ma=260.0))["outlet 2"][0].values == {
        "item": "outlet 2", "current_ma": 360.0, "limit_ma": 350.0,
    }  # fmt: skip


def test_18_volts_sag_under_15_on_a_long_thin_cable():
    """200 mA over 300 m of 5 ohm per 100 m: 18 - 0.2 x 15 = 15.0 V; with 310 m 14.9 V."""
    for metres, volts in ((300.0, 15.0), (310.0, 14.9)):
        items = (
            Item("lnb", PARTS["LNB quad"], serves="Oriel"), Item("cable", PARTS["Cable thin 5 mm"], ("lnb",), metres),
            Item("out", PARTS["Receiver"], ("cable",)),
        )  # fmt: skip
        ways = Ways(Chain("by hand", items))
        assert currents(ways, ends(ways.chain)[0]) == (("Oriel", pytest.approx(volts), 200.0),)
