"""Levels, noise, slope, current and isolation, each worked by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from siteplan.errors import MethodRangeError
from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier, Chain, Item, KitLine, Part
from siteplan.signal_chain.kit import kit_of, round_kit
from siteplan.signal_chain.levels import arrival, outlets
from siteplan.signal_chain.network import trace
from siteplan.signal_chain.noise import cascade_noise_figure_db, cn_after, floor_dbuv
from siteplan.signal_chain.parts import cable_loss_db, cable_terms, gain_db
from siteplan.signal_chain.profiles import EN_60728_1, PRACTICE, window_of
from siteplan.signal_chain.systems import Choice, Wish, build

PARTS, _ = read_parts()
CHOICE = Choice("Cable class A 7 mm", "Aerial UHF")
pytestmark = pytest.mark.quick
SAT = Carrier("O1", "Oriel", "HH", 2004.0, 33.0, 72.0, 14.0, 8.0, "DVB-S2")
TV = Carrier("M1", "TV", "TV", 586.0, 8.0, 58.0, 28.0, 18.9, "DVB-T2 256QAM 2/3", 3.0)


def chain_of(*items):
    return Chain("by hand", tuple(items))


def one_way(length_m, *, lnb="LNB single", cable="Cable class A 7 mm"):
    return chain_of(
        Item("lnb", PARTS[lnb], serves="Oriel"), Item("cable", PARTS[cable], ("lnb",), length_m), Item("out", PARTS["Receiver"], ("cable",))
    )


def test_attenuation_follows_root_f_and_f_between_the_points():
    """Pure root-f data give root-f back: 10 dB at 100 MHz is 20 dB at 400 MHz and 40 dB at 1600."""
    pure = Part("pure", "cable", gain_points=((100.0, 10.0), (400.0, 20.0)))
    assert cable_terms(pure.gain_points) == pytest.approx((1.0, 0.0), abs=1e-9)
    assert cable_loss_db(pure, 50.0, 1600.0) == pytest.approx(20.0, abs=1e-6)
    mixed = Part("mixed", "cable", gain_points=tuple((f, 0.5 * math.sqrt(f) + 0.002 * f) for f in (50.0, 500.0, 2000.0)))
    assert cable_terms(mixed.gain_points) == pytest.approx((0.5, 0.002), rel=1e-6)
    one = Part("one point", "cable", gain_points=((860.0, 18.0),))
    assert cable_loss_db(one, 100.0, 2150.0) == pytest.approx(18.0 * math.sqrt(2150 / 860), rel=1e-9)


def test_between_the_points_of_a_data_sheet_lie_straight_lines():
    points = ((47.0, -18.0), (862.0, -18.5), (950.0, -6.0), (2150.0, -8.0))
    part = Part("p", "splitter", 5.0, 2400.0, gain_points=points)
    for mhz in (5.0, 47.0, 100.0, 862.0, 900.0, 949.9, 950.0, 1999.0, 2150.0, 2400.0):
        wanted = float(np.interp(mhz, [f for f, _ in points], [g for _, g in points]))
        assert gain_db(Item("p", part), mhz) == pytest.approx(wanted, abs=1e-12)


def test_a_part_says_where_its_data_end():
    with pytest.raises(MethodRangeError, match="no data at 3500 MHz"):
        gain_db(Item("c", PARTS["Cable class A 7 mm"], (), 10.0), 3500.0)


def test_thermal_noise_in_8_mhz():
    """k T0 B = -174.0 + 10 log 8e6 = -104.94 dBm; + 108.75 = 3.81 dBuV at 75 ohm."""
    assert floor_dbuv(8.0) == pytest.approx(3.81, abs=0.02)


def test_friis_cascade_two_stages():
    """Amplifier 20 dB, F 3 dB (2.0), then 10 dB loss (F 10): 2 + 9/100 = 2.09 = 3.20 dB. Loss first: 10 + (2-1)/0.1 = 20 = 13 dB."""
    assert cascade_noise_figure_db(((20.0, 3.0103), (-10.0, 10.0))) == pytest.approx(3.2015, abs=1e-3)
    assert cascade_noise_figure_db(((-10.0, 10.0), (20.0, 3.0103))) == pytest.approx(13.0103, abs=1e-3)


def test_carrier_to_noise_step_by_step_is_friis():
    """Through any stages, C/N at the end equals that of one stage with the cascade's noise figure."""
    stages = ((-7.0, 7.0), (18.0, 6.0), (-21.0, 21.0), (15.0, 8.0))
    level, cn = 45.0, 200.0
    for gain, figure in stages:
        cn = cn_after(cn, level_in_dbuv=level, noise_figure_db=figure, bandwidth_mhz=8.0)
        level += gain
    assert cn == pytest.approx(
        cn_after(200.0, level_in_dbuv=45.0, noise_figure_db=cascade_noise_figure_db(stages), bandwidth_mhz=8.0), abs=1e-9
    )


def test_a_level_after_a_cable_by_hand():
    """Class A cable, fitted: 20 m at 2004 MHz cost 20 x 0.2884 = 5.77 dB; 72 - 5.77 = 66.2 dBuV. C/N stays: far over the noise."""
    chain = one_way(20.0)
    k1, k2 = cable_terms(PARTS["Cable class A 7 mm"].gain_points)
    loss = (k1 * math.sqrt(2004.0) + k2 * 2004.0) * 0.2
    assert loss == pytest.approx(5.7, abs=0.3)
    seen = arrival(trace(chain, chain.items[-1], SAT), SAT, carriers=20)
    assert seen.level_dbuv == pytest.approx(72.0 - loss, abs=1e-9)
    assert seen.cn_db == pytest.approx(14.0, abs=0.01)
    assert [step.item for step in seen.steps] == ["cable", "out"]


def test_voltage_at_the_lnb_by_ohms_law():
    """200 mA over 60 m of 5.0 ohm per 100 m: 18 - 0.2 x 3.0 = 17.4 V; over 400 m 14.0 V, which selects the other polarisation."""
    near = outlets(one_way(60.0, lnb="LNB quad", cable="Cable thin 5 mm"), [SAT], PRACTICE)[0]
    assert near.volts == (("Oriel", pytest.approx(17.4), pytest.approx(200.0)),)
    far = outlets(one_way(400.0, lnb="LNB quad", cable="Cable thin 5 mm"), [SAT], PRACTICE)[0]
    assert far.volts[0][1] == pytest.approx(14.0)
    assert "outlet_voltage" in [reason.code for reason in far.reasons]


def test_current_over_the_supply_is_told():
    hungry = replace(PARTS["LNB quad"], current_ma=500.0)
    chain = one_way(5.0)
    chain = replace(chain, items=(replace(chain.items[0], part=hungry), *chain.items[1:]))
    state = outlets(chain, [SAT], PRACTICE)[0]
    assert [reason.code for reason in state.reasons] == ["outlet_current"]


def test_an_active_multiswitch_feeds_the_lnb_itself():
    chain = build("multiswitch", Wish(4, ("Oriel",), tv=False, to_house_m=20.0, to_outlet_m=60.0), PARTS, CHOICE)
    state = outlets(chain, [SAT], EN_60728_1)[0]
    assert state.volts[0][1] == pytest.approx(18.0 - 0.2 * 0.018 * 20.0)  # the drop to the outlet does not count


def test_gain_controlled_output_holds_its_level_whatever_comes_in():
    chain = build("single-cable", Wish(2, ("Oriel",), tv=False, to_house_m=20.0, to_outlet_m=10.0), PARTS, CHOICE)
    strong, weak = (outlets(chain, [replace(SAT, level_dbuv=level)], EN_60728_1)[0].readings[0] for level in (80.0, 60.0))
    assert strong.level_dbuv == pytest.approx(weak.level_dbuv)
    assert strong.frequency_mhz == 1210.0


def test_slope_before_a_gain_controlled_output_does_not_pass_it():
    """100 m between LNB and unit would slope by 11 dB; only what lies behind the unit counts: 22 m of cable, splitter 0.5, outlet 1."""
    short = build("single-cable", Wish(2, ("Oriel",), tv=False, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)
    long = replace(short, items=tuple(replace(i, length_m=100.0) if i.id == "cables from LNB Oriel" else i for i in short.items))
    slopes = [dict(outlets(chain, [SAT], EN_60728_1)[0].slopes)["satellite"] for chain in (short, long)]
    cable = cable_loss_db(PARTS["Cable class A 7 mm"], 22.0, 2150.0) - cable_loss_db(PARTS["Cable class A 7 mm"], 22.0, 950.0)
    assert slopes[0] == slopes[1] == pytest.approx(-cable - 0.5 - 1.0)


def test_headroom_falls_with_the_number_of_carriers():
    """Rating 114 dBuV, 72 + 23.4 dBuV out: two carriers leave 18.6 dB, 20 carriers 7.5 log 19 = 9.6 dB less."""
    items = one_way(0.5).items
    amplifier = Item("amp", PARTS["Amplifier satellite and TV 20"], ("cable",))
    chain = chain_of(*items[:2], amplifier, replace(items[2], fed_from=("amp",)))
    few, many = (arrival(trace(chain, chain.items[-1], SAT), SAT, carriers=count).headroom_db for count in (2, 20))
    assert few - many == pytest.approx(7.5 * math.log10(19), abs=1e-9)
    (crowded,) = outlets(chain, [replace(SAT, level_dbuv=85.0, on_line=20)], EN_60728_1)  # nineteen more, of unknown strength
    (lonely,) = outlets(chain, [replace(SAT, level_dbuv=85.0)], EN_60728_1)
    assert "outlet_overload" in {reason.code for r in crowded.readings for reason in r.reasons}
    assert "outlet_overload" not in {reason.code for r in lonely.readings for reason in r.reasons}
    loud = replace(SAT, level_dbuv=95.0)
    state = outlets(chain, [loud, *[replace(loud, name=f"n{n}") for n in range(20)]], EN_60728_1)[0]
    assert "outlet_overload" in {reason.code for reading in state.readings for reason in reading.reasons}


def test_windows_by_modulation():
    assert (window_of(EN_60728_1, "DVB-S2X").min_dbuv, window_of(EN_60728_1, "DVB-S2X").max_dbuv) == (47.0, 77.0)
    assert window_of(EN_60728_1, "DVB-T2 256QAM 2/3").min_dbuv == 44.0
    assert window_of(EN_60728_1, "DVB-T 64QAM 2/3").min_dbuv == 45.0
    assert window_of(PRACTICE, "anything").max_dbuv == 100.0


def test_an_outlet_is_asked_only_for_what_feeds_it():
    chain = build("direct", Wish(1, ("Oriel",), tv=True, to_house_m=5.0, to_outlet_m=10.0), PARTS, CHOICE)
    by_outlet = {state.outlet: [reading.carrier.name for reading in state.readings] for state in outlets(chain, [SAT, TV], EN_60728_1)}
    assert by_outlet == {"outlet 1": ["O1"], "TV outlet 1": ["M1"]}


def test_kit_counts_bundles_and_the_round_has_spares():
    chain = build("multiswitch", Wish(4, ("Oriel",), tv=True, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)
    kit = {line.part: line.quantity for line in kit_of(chain)}
    assert kit["Cable class A 7 mm"] == 4 * 12 + 12 + 4 * 10
    assert kit["Connector F"] == 2 * (4 + 1 + 4)
    assert kit["LNB quattro"] == 1
    one = (*kit_of(chain), KitLine("Dish 0.8 m", 1.0))
    used = (*one, KitLine("Attenuator 6", 1.0))
    day = {line.part: line for line in round_kit([used] * 2, PARTS, (0.6, 0.8, 1.0))}
    assert (day["Cable class A 7 mm"].quantity, day["Cable class A 7 mm"].spare) == (200, 20)
    assert (day["Connector F"].quantity, day["Connector F"].spare) == (36, 18)
    assert day["LNB quattro"].spare == 1
    assert day["Dish 1 m"].spare == 1 and day["Dish 0.8 m"].quantity == 2
    assert {name for name, line in day.items() if line.spare and not line.quantity} >= {"Attenuator 12", "Filter below 694"}
    assert (day["Attenuator 6"].quantity, day["Attenuator 6"].spare) == (2, 1)
    largest = {line.part: line for line in round_kit([(KitLine("Dish 1 m", 1.0),)], PARTS, (0.6, 0.8, 1.0))}
    assert largest["Dish 1 m"].quantity == 1 and not any(name.startswith("Dish") and name != "Dish 1 m" for name in largest)
