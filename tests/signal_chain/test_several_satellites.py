"""Several satellites: the rules' choice, sound chains, quantities, trunk and tap losses, positions of single-cable systems."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier
from siteplan.signal_chain.kit import kit_of
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.network import ends, faults
from siteplan.signal_chain.parts import gain_db
from siteplan.signal_chain.profiles import EN_60728_1
from siteplan.signal_chain.single_cable import channel_change, positions
from siteplan.signal_chain.systems import Choice, Rule, Wish, build, build_auto, system_for

PARTS, _ = read_parts()
CHOICE = Choice("Cable class A 7 mm", "Aerial UHF")
NAMES = ("Oriel", "Sula", "Tern", "Gannet", "Skua")
pytestmark = pytest.mark.quick


def wish(outlet_count, count, **more):
    return Wish(outlet_count, NAMES[:count], tv=True, to_house_m=12.0, to_outlet_m=10.0, **more)


def carriers(count):
    """One carrier for each sub-band of each satellite: 4 * count."""
    return [
        Carrier(f"{name} {line}", name, line, 2004.0, 33.0, 78.0, 14.0, 8.0, "DVB-S2")
        for name in NAMES[:count]
        for line in ("VL", "HL", "VH", "HH")
    ]


@pytest.mark.parametrize(
    ("outlet_count", "count", "system"),
    [
        (1, 1, "direct"), (2, 1, "direct"), (3, 1, "quad"), (8, 1, "octo"), (16, 1, "multiswitch"), (17, 1, "cascade"),
        (1, 2, "direct"), (2, 4, "direct"), (3, 2, "multiswitch"), (16, 2, "multiswitch"), (17, 2, "cascade"), (8, 4, "multiswitch"),
        (64, 4, "cascade"),
    ],
)  # fmt: skip
def test_the_rules_by_outlets_and_satellites(outlet_count, count, system):
    assert system_for(wish(outlet_count, count)) == system
    made = build_auto(wish(outlet_count, count), PARTS, CHOICE)
    assert made.system == system and faults(made) == ()
    sources = {one.serves for one in made.items if one.part.kind == "lnb"}
    assert sources == set(NAMES[:count])
    sat = [end for end in ends(made) if not end.id.startswith("TV")]
    assert len(sat) == outlet_count
    for state in outlets(made, carriers(count), EN_60728_1):
        for reading in state.readings:  # every sub-band of every satellite finds its way to every outlet
            assert math.isfinite(reading.level_dbuv), (state.outlet, reading.carrier.name)
        assert state.outlet.startswith("TV") or len(state.readings) == 4 * count


def test_flats_one_old_cable_and_the_plans_own_rules():
    assert system_for(wish(4, 2, flats=True)) == "cascade"
    assert system_for(wish(4, 2, one_cable=True)) == "single-cable"
    assert system_for(wish(4, 2), (Rule(4, "quad"),)) == "quad"
    with pytest.raises(InputError, match="5 satellites at 3 outlets: the rules of this plan end at 4"):
        system_for(wish(3, 5))
    with pytest.raises(InputError, match="99 outlets: the rules of this plan end at 64"):
        system_for(wish(99, 1))


def test_three_satellites_at_more_outlets_than_one_multiswitch_has_take_a_cascade():
    made = build_auto(wish(12, 3), PARTS, CHOICE)
    assert made.system == "cascade" and faults(made) == ()
    kit = {line.part: line.quantity for line in kit_of(made)}
    assert kit["Cascade switch 8 for 4"] == 2 and kit["Head amplifier 16 and TV"] == 1 and kit["LNB quattro"] == 3


def test_direct_with_two_satellites_counts_by_hand():
    """Two outlets: a twin for each satellite, a switch for each outlet, a lead of 1 m from each LNB to each switch, 22 m to each outlet."""
    kit = {line.part: line.quantity for line in kit_of(build("direct", replace(wish(2, 2), tv=False), PARTS, CHOICE))}
    assert kit == {
        "LNB twin": 2, "DiSEqC switch 2": 2, "Outlet": 2, "Cable class A 7 mm": 4 * 1.0 + 2 * 22.0, "Connector F": 2 * (4 + 2),
    }  # fmt: skip


def test_a_switch_has_an_input_for_the_position_that_the_sheet_names():
    """The third of three wanted goes up beside the first: input 3, so a switch of four inputs."""
    made = build("direct", replace(wish(1, 2), positions=(1, 3)), PARTS, CHOICE)
    assert next(one.part.name for one in made.items if one.part.kind == "switch") == "DiSEqC switch 4"


def test_a_nine_way_cascade_by_hand():
    """Two quattros, 16 outlets, 2004 MHz, HH. Cable 12 m + 4 m + 4 m + 10 m at k1 sqrt f + k2 f; head +25.3; first switch on -5.26 by the
    trunk, second to the outlet -13.2 by its tap; outlet -2.38. Nine lines lie in each trunk."""
    made = build("cascade", replace(wish(16, 2), tv=True), PARTS, CHOICE)
    (last,) = [state for state in outlets(made, carriers(2), EN_60728_1) if state.outlet == "outlet 16"]
    reading = next(one for one in last.readings if one.carrier.name == "Sula HH")
    by_id = {one.id: one for one in made.items}
    cable = -sum(gain_db(by_id[name], 2004.0) for name in ("cables from LNB Sula", "trunk 1", "trunk 2", "cable 16"))
    share = (2004.0 - 950.0) / 1200.0
    head, through, tap, outlet = 20 + 6 * share, -3.5 - 2.0 * share, -15 + 2 * share, -1.5 - share
    assert reading.level_dbuv == pytest.approx(78.0 - cable + head + through + tap + outlet, abs=1e-9)
    assert (round(head, 1), round(through, 2), round(tap, 1), round(outlet, 2)) == (25.3, -5.26, -13.2, -2.38)
    kit = {line.part: line.quantity for line in kit_of(made)}
    assert kit["Cable class A 7 mm"] == pytest.approx(2 * 4 * 12 + 12 + 2 * 9 * 4 + 16 * 10)
    assert kit["Connector F"] == 2 * (8 + 1 + 18 + 16)


def test_trunk_and_tap_losses_differ_by_band():
    """TV 586 MHz and satellite 2004 MHz on the same switch: trunk 3.2 and 5.3 dB, tap 20 and 13.2 dB."""
    switch = next(one for one in build("cascade", wish(17, 2), PARTS, CHOICE).items if one.id == "switch 1")
    values = [gain_db(switch, mhz, tap=tap) for mhz in (586.0, 2004.0) for tap in (False, True)]
    assert values == pytest.approx([-3.33, -20.0, -5.26, -13.24], abs=0.01)


def test_one_old_cable_with_two_positions():
    """EN 50607, 16 bands after two quattros: positions 0 and 1 by the order of the feeds; the command says so in bits 7 to 2 of data 3."""
    made = build("single-cable", replace(wish(4, 2), one_cable=True, tuners=2, tv=False), PARTS, CHOICE)
    assert faults(made) == () and positions(made) == (("Oriel", 0), ("Sula", 1))
    unit = next(one.part for one in made.items if one.part.kind == "single_cable")
    assert (unit.name, unit.standard) == ("Single-cable switch 16 for 2", "EN 50607")
    states = outlets(made, carriers(2), EN_60728_1)
    assert [band for state in states for band, _ in state.user_bands] == list(range(1, 9))
    asked = channel_change(
        standard=unit.standard, user_band=3, user_band_mhz=1680.0, position=dict(positions(made))["Sula"], horizontal=True, high_band=True,
        if_mhz=2004.0,
    )  # fmt: skip
    assert asked.message[3] >> 2 == 1 and asked.message[3] & 3 == 3
    one = build("single-cable", replace(wish(4, 1), one_cable=True, tv=False), PARTS, CHOICE)
    assert next(i.part.standard for i in one.items if i.part.kind == "single_cable") == "EN 50494"


def test_positions_of_both_standards_are_those_of_the_facts():
    """Where ../shared lies beside the checkout, the facts file says 2 and 64 positions, 8 and 32 user bands."""
    from siteplan.signal_chain.network import POSITIONS
    from siteplan.signal_chain.single_cable import USER_BANDS

    facts = Path(__file__).parents[3] / "shared" / "standards" / "single_cable_en50494_en50607.csv"
    if not facts.exists():
        pytest.skip("../shared/standards is not beside the checkout")
    rows = {(row["standard"], row["key"]): row["value"] for row in csv.DictReader(facts.open(encoding="utf-8"))}
    for standard in POSITIONS:
        assert POSITIONS[standard] == int(rows[standard, "satellite_positions_max"])
        assert USER_BANDS[standard] == int(rows[standard, "user_bands_max"])


def test_a_user_band_high_on_the_cable_is_the_one_that_is_held_against_the_window():
    """Two tuners at 1210 and 2040 MHz (bands 1 and 4) on one outlet: the reading is that of 2040, which the cable takes more of."""
    made = build("single-cable", replace(wish(1, 1), one_cable=True, tv=False, to_house_m=60.0), PARTS, CHOICE)
    both = replace(made, items=tuple(replace(i, user_bands=(1, 4)) if i.user_bands else i for i in made.items))
    (state,) = outlets(both, carriers(1)[:1], EN_60728_1)
    assert state.readings[0].frequency_mhz == 2040.0 and state.user_bands == ((1, 1210.0), (4, 2040.0))


def test_more_than_the_parts_hold_is_said():
    with pytest.raises(InputError, match="no single-cable unit with 20 user bands for 5 satellites"):
        build("single-cable", replace(wish(20, 5), one_cable=True), PARTS, CHOICE)
    with pytest.raises(InputError, match="no cascade switch .* with 21 inputs, which 5 satellites and TV need"):
        build("cascade", wish(20, 5), PARTS, CHOICE)
