"""Isolation between outlets, each sum worked by hand."""

import math
from dataclasses import replace

import pytest

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier, Chain, Item, Part
from siteplan.signal_chain.isolation import isolations
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.network import faults
from siteplan.signal_chain.profiles import EN_60728_1
from siteplan.signal_chain.systems import Choice, Wish, build
from siteplan.words import sentence

PARTS, _ = read_parts()
pytestmark = pytest.mark.quick
SAT = Carrier("O1", "Oriel", "HH", 2004.0, 33.0, 72.0, 14.0, 8.0, "DVB-S2")

# flat parts: the same at every frequency, so that sums can be done in the head
LNB = Part("lnb", "lnb", 950.0, 2150.0, inputs=0, outputs=2, isolation_db=25.0)
CABLE = Part("cable", "cable", 5.0, 2400.0, gain_points=((100.0, 10.0), (1e5, 10.0 * math.sqrt(1000.0))))  # 1 dB a metre at 10 000 MHz
OUT = Part("outlet", "outlet", 5.0, 2400.0, gain_points=((5.0, -1.5), (2400.0, -1.5)))
SPLIT = Part("split", "splitter", 5.0, 2400.0, gain_points=((5.0, -4.0),), inputs=1, outputs=2, isolation_db=20.0)
AMPLIFIER = Part("amp", "amplifier", 5.0, 2400.0, gain_points=((5.0, 18.0),), noise_figure_db=6.0)


def pad(db):
    return Part(f"pad {db}", "attenuator", 5.0, 2400.0, gain_points=((5.0, -float(db)),))


def chain(*items):
    return Chain("by hand", items)


def two(left, right, split=SPLIT):
    """One LNB, a splitter, and to each outlet what is named."""
    items = [Item("lnb", LNB, serves="Oriel"), Item("split", split, ("lnb",))]
    for side, parts in (("left", left), ("right", right)):
        last = "split"
        for number, part in enumerate(parts):
            items.append(Item(f"{side} {number}", part, (last,)))
            last = f"{side} {number}"
        items.append(Item(side, OUT, (last,)))
    return chain(*items)


def test_both_branches_and_the_port_isolation_add():
    """3 dB + outlet 1.5 on one side, 5 dB + outlet 1.5 on the other, 20 dB between the ports: 31 dB, told at both."""
    found = isolations(two([pad(3)], [pad(5)]))
    assert {name: (one.isolation_db, one.other, one.part) for name, one in found.items()} == {
        "left": (31.0, "right", "split"), "right": (31.0, "left", "split"),
    }  # fmt: skip


def test_cable_counts_at_the_frequency_where_it_takes_least():
    """Class A cable, 15 m to each of two outlets of a quad: at 950 MHz 2.83 + 1.5 on both sides and 25 dB in the LNB: 33.66 dB."""
    made = build("quad", Wish(2, ("Oriel",), tv=False, to_house_m=5.0, to_outlet_m=10.0), PARTS, Choice("Cable class A 7 mm", "Aerial UHF"))
    found = isolations(made)
    assert [one.isolation_db for one in found.values()] == pytest.approx([33.66] * 2, abs=0.01)
    assert {one.frequency_mhz for one in found.values()} == {950.0}


def test_an_amplifier_in_a_branch_brings_outlets_nearer():
    """Right has 18 dB more gain: what left sends arrives 20 + 4.5 - (18 - 1.5) = 8 dB down; back through it nothing is counted, so 26."""
    found = isolations(two([pad(3)], [AMPLIFIER]))
    assert found["left"].isolation_db == found["right"].isolation_db == pytest.approx(3 + 1.5 + 20.0 - 18.0 + 1.5)


def test_a_quieter_pair_further_up_does_not_hide_a_worse_one():
    """Two splitters in a row: 1 and 2 part at the second (20 + 1.5 + 1.5 = 23), 3 leaves at the first: 20 + 1.5 + 1.5 + 4 = 27."""
    made = chain(
        Item("lnb", LNB, serves="Oriel"), Item("s1", SPLIT, ("lnb",)), Item("s2", SPLIT, ("s1",)),
        Item("1", OUT, ("s2",)), Item("2", OUT, ("s2",)), Item("3", OUT, ("s1",)),
    )  # fmt: skip
    found = isolations(made)
    assert (found["1"].isolation_db, found["1"].other) == (23.0, "2")
    assert found["3"].isolation_db == 27.0 and found["3"].part == "s1"


def test_each_outlet_of_a_cascade_by_hand():
    """Cascade of two, drops of 10 m: on one switch 28 + 2 x (1.89 + 1.5) = 34.8 dB at 950 MHz; across the trunk the tap (14 dB) and
    4 m of trunk come on top, so the nearest is always one on the same switch."""
    wish = Wish(12, ("Oriel",), tv=False, to_house_m=5.0, to_outlet_m=10.0)
    found = isolations(build("cascade", wish, PARTS, Choice("Cable class A 7 mm", "Aerial UHF")))
    assert [one.isolation_db for one in found.values()] == pytest.approx([34.77] * 12, abs=0.01)
    assert found["outlet 1"].part == "switch 1" and found["outlet 12"].part == "switch 2"
    alone = isolations(build("cascade", replace(wish, outlets=9), PARTS, Choice("Cable class A 7 mm", "Aerial UHF")))["outlet 9"]
    trunk = 28.0 + 2 * (1.886 + 1.5) + 14.0 + 0.754
    assert alone.isolation_db == pytest.approx(trunk, abs=0.01) and alone.part == "switch 1"


def test_outlets_along_a_line_of_taps_by_hand():
    """Three taps in a row, each 30 dB between its two outputs, 1.5 dB to each outlet. 1 and 2 part at the first tap: 30 + 1.5 on one side,
    and the second tap (15) and its outlet (1.5) on the other: 48. 2 and 3, at the second tap, the same. 1 and 3: 1 dB more, through."""
    tap = Part("tap", "tap", 5.0, 2400.0, gain_points=((5.0, -1.0),), tap_points=((5.0, -15.0),), isolation_db=30.0)
    made = chain(
        Item("lnb", LNB, serves="Oriel"), Item("t1", tap, ("lnb",)), Item("t2", tap, ("t1:through",)), Item("t3", tap, ("t2:through",)),
        Item("1", OUT, ("t1",)), Item("2", OUT, ("t2",)), Item("3", OUT, ("t3",)),
    )  # fmt: skip
    found = isolations(made)
    assert [(found[name].isolation_db, found[name].other) for name in "123"] == [(48.0, "2"), (48.0, "1"), (48.0, "2")]
    shorter = replace(made, items=(*(i for i in made.items if i.id not in ("2",)), Item("2", OUT, ("t2",)), Item("x", OUT, ("t2:1",))))
    assert "chain_too_many_outputs" in {one.code for one in faults(shorter)}
    states = {state.outlet: state.readings[0].level_dbuv for state in outlets(made, [SAT], EN_60728_1)}
    assert states == {"1": 72.0 - 15 - 1.5, "2": 72.0 - 1 - 15 - 1.5, "3": 72.0 - 2 - 15 - 1.5}


def test_two_satellites_behind_switches_part_at_the_worse_lnb():
    """Both outlets can look at either LNB; the second has 22 dB between its outputs: 22 + 2 x (switch 3 + 1.5) = 31 dB."""
    worse = replace(LNB, name="worse", isolation_db=22.0)
    switch = Part("switch", "switch", 950.0, 2150.0, gain_points=((950.0, -3.0),), inputs=2)
    items = [Item("A", LNB, serves="Oriel"), Item("B", worse, serves="Sula")]
    for side in ("left", "right"):
        items += [Item(f"switch {side}", switch, ("A", "B")), Item(side, OUT, (f"switch {side}",))]
    found = isolations(chain(*items))
    assert found["left"].isolation_db == 31.0 and found["left"].part == "B"


def test_an_outlet_alone_and_a_part_that_states_none():
    alone = isolations(chain(Item("lnb", LNB, serves="Oriel"), Item("o", OUT, ("lnb",))))
    assert alone["o"].isolation_db == math.inf
    silent = two([], [], replace(SPLIT, isolation_db=math.nan))
    found = isolations(silent)["left"]
    assert (found.isolation_db, found.known) == (3.0, False)
    state = outlets(silent, [SAT], EN_60728_1)[0]
    assert "split states no isolation" in sentence(next(r for r in state.reasons if r.code == "outlet_isolation_unknown"))


def test_the_worst_pair_is_named_against_the_profile():
    state = outlets(two([], [pad(9)]), [SAT], replace(EN_60728_1, isolation_db=35.0))[0]
    (said,) = [reason for reason in state.reasons if reason.code == "outlet_isolation"]
    assert sentence(said) == "left is only 32.0 dB apart from right (by split, at 950 MHz); 35 dB is wanted."
    assert outlets(two([], [pad(9)]), [SAT], EN_60728_1)[0].reasons == ()
