"""What to change where an outlet fails: each remedy in a case where it is the cheapest, and that its own levels pass."""

import math
from dataclasses import replace

import pytest

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier, Chain, Item
from siteplan.signal_chain.changes import LargerDish, passing, past_help, smallest_changes
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.profiles import EN_60728_1
from siteplan.signal_chain.systems import Choice, Wish, build
from siteplan.words import sentence

PARTS, _ = read_parts()
SAT = Carrier("O1", "Oriel", "HH", 2004.0, 33.0, 72.0, 14.0, 8.0, "DVB-S2")
TV = Carrier("M1", "TV", "TV", 586.0, 8.0, 58.0, 40.0, 18.9, "DVB-T2 256QAM 2/3", 3.0)
LOOSE = replace(EN_60728_1, isolation_db=0.0)
THIN = Choice("Cable thin 5 mm", "Aerial UHF")


def one_way(*lengths_m, cable="Cable class A 7 mm", lnb="LNB single"):
    items, last = [Item("lnb", PARTS[lnb], serves="Oriel")], "lnb"
    for number, length in enumerate(lengths_m):
        items.append(Item(f"cable {number}", PARTS[cable], (last,), length))
        last = f"cable {number}"
    return Chain("by hand", (*items, Item("out", PARTS["Receiver"], (last,))))


def tv_way(length_m, *between):
    items, last = [Item("aerial", PARTS["Aerial UHF"], serves="TV")], "aerial"
    for part in between:
        items.append(Item(part, PARTS[part], (last,)))
        last = part
    items += [Item("cable", PARTS["Cable class A 7 mm"], (last,), length_m), Item("out", PARTS["Receiver"], ("cable",))]
    return Chain("TV by hand", tuple(items))


def cheapest(chain, carriers, only=None, profile=LOOSE, **more):
    """The first change; every one offered passes when worked anew, and none is cheaper than the one before."""
    parts = PARTS if only is None else {name: part for name, part in PARTS.items() if part.kind in only}
    assert not passing(outlets(chain, carriers, profile))
    changes = smallest_changes(chain, carriers, profile, parts, **more)
    assert [one.price for one in changes] == sorted(one.price for one in changes)
    for one in changes:
        if not more:
            assert passing(outlets(one.chain, carriers, profile))
        assert passing(one.outlets)
        levels = [reading.level_dbuv for state in one.outlets for reading in state.readings]
        assert (one.lowest_dbuv, one.highest_dbuv) == (min(levels), max(levels))
    return changes[0] if changes else None


def test_a_shorter_run_costs_nothing_and_comes_first():
    """95 m at 28.5 dB per 100 m leave 72 - 27.1 = 44.9 dBuV; a fifth less, 76 m, leaves 50.3: passes 47."""
    first = cheapest(one_way(95.0), [SAT])
    assert (first.what[0].code, first.price) == ("change_shorter", 0.0)
    assert first.lowest_dbuv == pytest.approx(50.3, abs=0.3)


def test_better_cable():
    """Twelve pieces of thin cable, 54 m at 40.5 dB per 100 m: 66 - 21.9 = 44; class A for eleven of them, 49.5 m at 0.9, leaves 49.9."""
    first = cheapest(one_way(*[4.5] * 12, cable="Cable thin 5 mm"), [replace(SAT, level_dbuv=66.0)])
    assert sentence(first.what[0]) == "Use Cable class A 7 mm for cable 1 and 10 like it (50 m in all)."
    assert first.price == pytest.approx(44.55) and first.lowest_dbuv == pytest.approx(49.9, abs=0.3)


def test_line_amplifier_and_where():
    """Class A in pieces: 120 m lose 34 dB; from 62 dBuV that is 28. An amplifier of 23 dB gives 51; behind too many pieces it is too late
    only for noise: 14 dB stay 14 wherever. Before the first piece it would be at 85 dBuV, well under its 114."""
    first = cheapest(one_way(*[4.8] * 25), [replace(SAT, level_dbuv=62.0)], ("amplifier",))
    assert first.what[0].values["part"] == "Amplifier satellite and TV 20" and first.what[0].code.startswith("change_insert")
    assert sentence(first.what[0]) == "Put Amplifier satellite and TV 20 before cable 0."  # where it adds least noise


def test_attenuator():
    first = cheapest(one_way(3.0), [replace(SAT, level_dbuv=84.0)])
    assert (first.what[0].values["part"], first.price) == ("Attenuator 12", 5.0)


def test_slope_equaliser():
    """110 m of class A fall 29.6 - 18.9 dB per 100 m: 11.9 dB over the band; 10 dB allowed. The equaliser takes 9.5 of it for 12."""
    strict = replace(LOOSE, slope_db=10.0)
    chain, loud = one_way(*[4.4] * 25), [replace(SAT, level_dbuv=90.0), replace(SAT, name="low", frequency_mhz=974.0, level_dbuv=90.0)]
    before = dict(outlets(chain, loud, strict)[0].slopes)["satellite"]
    assert before == pytest.approx(-12.0, abs=0.5)
    first = cheapest(chain, loud, ("equaliser", "amplifier", "attenuator"), strict)
    assert first.what[0].values["part"] == "Slope equaliser 10" and first.price == 12.0
    assert dict(first.outlets[0].slopes)["satellite"] == pytest.approx(before + 9.5, abs=0.01)


def test_active_multiswitch_for_a_passive_one():
    """Passive: 63 dBuV less 5.8 dB of bundle, 7.8 of tap, 2.9 and 2.4 to the outlet: 44; the active one gives 9.5 dB more for 70."""
    made = build("multiswitch", Wish(4, ("Oriel",), tv=False, to_house_m=4.0, to_outlet_m=4.0), PARTS, Choice("Cable class A 7 mm", "-"))
    passive = replace(
        made, items=tuple(replace(i, part=PARTS["Multiswitch 4 to 4 passive"]) if i.id == "multiswitch" else i for i in made.items)
    )
    weak = [replace(SAT, level_dbuv=58.0)]
    first = cheapest(passive, weak, ("multiswitch", "cable", "amplifier"))
    assert (first.what[0].code, first.what[0].values["part"], first.price) == ("change_active", "Multiswitch 4 to 8 active", 70.0)


def test_mast_head_amplifier():
    """58 dBuV less 50 m at 15 dB per 100 m is 50.6, so 48 dBuV of the aerial gives 40.6, under 44; 16 dB more at the aerial for 28."""
    first = cheapest(tv_way(50.0), [replace(TV, level_dbuv=48.0)], ("mast_head", "amplifier"))
    assert sentence(first.what[0]) == "Put Mast-head amplifier 16 before cable." and first.price == 28.0


def test_filter_against_mobile_signals():
    """A mobile signal at 783 MHz with 104 dBuV drives a 16 dB mast-head amplifier of 104 dBuV to 120; the filter takes it off for 14, and
    20 dB of attenuator for 6 would leave 50 - 20 + 16 - 3 = 43 dBuV of TV, under 44."""
    wide = replace(PARTS["Mast-head amplifier 16"], name="Mast", high_mhz=862.0, gain_points=((470.0, 16.0), (862.0, 16.0)))
    chain = tv_way(20.0, "Mast-head amplifier 16")
    lead = Item("lead", PARTS["Cable class A 7 mm"], ("aerial",), 1.0)
    behind = [replace(i, part=wide, fed_from=("lead",)) if i.part.kind == "mast_head" else i for i in chain.items]
    chain = replace(chain, items=(*behind, lead))
    mobile = Carrier("Fern Mobile 783 MHz", "TV", "TV", 783.0, 10.0, 104.0, math.inf, -math.inf, "", most_over_db=45.0)
    quiet = replace(TV, level_dbuv=50.0)
    state = outlets(chain, [quiet, mobile], LOOSE)[0]
    assert {reason.code for reason in state.reasons} == {"outlet_overload", "outlet_mobile"}
    assert [reading.carrier.name for reading in state.readings] == ["M1"]  # nobody reads the mobile signal
    first = cheapest(chain, [quiet, mobile])
    assert (first.what[0].values["part"], first.price) == ("Filter below 694", 14.0)
    weak = [replace(TV, level_dbuv=50.0), replace(mobile, level_dbuv=97.0)]  # 47 dB over it: a receiver bears 45
    bare = tv_way(20.0)
    assert [reason.code for reason in outlets(bare, weak, LOOSE)[0].reasons] == ["outlet_mobile"]
    assert cheapest(bare, weak).what[0].values["part"] == "Filter below 694"


def test_larger_dish_alone_helps_carrier_to_noise():
    """1 dB short at the antenna; a 1.0 m dish for 0.8 brings 1.9 dB. Nothing behind the LNB can."""
    weak = replace(SAT, cn_db=7.0)
    dish = LargerDish(1.0, (("Oriel", 20.0 * math.log10(1.0 / 0.8)),), 50.0)
    first = cheapest(one_way(10.0), [weak], dishes=[dish])
    assert sentence(first.what[0]) == "Use a 1 m dish for Oriel."
    assert first.outlets[0].readings[0].cn_db == pytest.approx(7.0 + 1.938, abs=0.01)
    assert past_help(one_way(10.0), [weak], LOOSE) == (weak,) and past_help(one_way(10.0), [weak], LOOSE, [dish]) == ()


def test_outlets_that_fail_alike_are_mended_together():
    """Four drops of thin cable at a quad: all fail, one sentence mends all."""
    chain = build("quad", Wish(4, ("Oriel",), tv=False, to_house_m=40.0, to_outlet_m=25.0), PARTS, THIN)
    assert sum(not state.passes for state in outlets(chain, [SAT], LOOSE)) == 4
    first = cheapest(chain, [SAT], ("cable",))
    assert sentence(first.what[0]) == "Make cable 1 and 3 like it 13 m shorter (52 m each)."


def test_a_pair_where_no_single_change_will_do():
    """Too steep and too low at once: an equaliser mends the slope and takes more level; only with an amplifier both pass."""
    strict = replace(LOOSE, slope_db=5.0)  # 12 dB of cable: the amplifier's rise of 6 dB is not enough, 9.5 of the equaliser alone too low
    chain, quiet = one_way(*[4.4] * 25), [replace(SAT, level_dbuv=61.0), replace(SAT, name="low", frequency_mhz=974.0, level_dbuv=61.0)]
    first = cheapest(chain, quiet, ("equaliser", "amplifier"), strict)
    assert {one.values["part"] for one in first.what} == {"Slope equaliser 10", "Amplifier satellite and TV 20"}
    assert first.price == 57.0


def test_nothing_where_all_passes_and_nothing_where_nothing_helps():
    assert smallest_changes(one_way(10.0), [SAT], LOOSE, PARTS) == ()
    assert smallest_changes(one_way(10.0), [replace(SAT, cn_db=1.0)], LOOSE, PARTS) == ()
    no_way = [replace(SAT, source="Oriel", line="HH"), replace(SAT, name="B", level_dbuv=20.0)]  # 52 dB apart on one line: none can mend
    assert smallest_changes(one_way(10.0), no_way, LOOSE, PARTS) == ()
