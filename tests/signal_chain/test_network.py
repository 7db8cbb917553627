"""Chains as trees: what is told of a broken one, and the way a carrier takes."""

from dataclasses import replace

import pytest

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier, Chain, Item
from siteplan.signal_chain.network import conductors, ends, faults, trace
from siteplan.signal_chain.systems import Choice, Wish, build

PARTS, REJECTS = read_parts()
CHOICE = Choice("Cable class A 7 mm", "Aerial UHF")
OUT = PARTS["Outlet"]
CABLE = PARTS["Cable class A 7 mm"]
pytestmark = pytest.mark.quick


def item(name, part, *fed_from, **more):
    if PARTS[part].kind == "cable":
        more.setdefault("length_m", 5.0)
    return Item(name, PARTS[part], fed_from, **more)


def codes(*items):
    return [reason.code for reason in faults(Chain("by hand", items))]


LNB = item("lnb", "LNB quad", serves="Oriel")
QUATTRO = item("lnb", "LNB quattro", serves="Oriel")


def test_the_shipped_parts_are_all_read():
    assert not REJECTS
    assert len(PARTS) > 35


@pytest.mark.parametrize("system", ["direct", "quad", "octo", "multiswitch", "cascade", "single-cable", "TV alone"])
def test_every_system_of_the_rule_table_is_a_sound_chain(system):
    wish = Wish(4, () if system == "TV alone" else ("Oriel",), tv=True, to_house_m=12.0, to_outlet_m=10.0)
    chain = build(system, wish, PARTS, CHOICE)
    assert faults(chain) == ()
    assert len(ends(chain)) in (4, 8)


def test_several_satellites_take_a_switch_or_more_inputs():
    two = Wish(2, ("Oriel", "Sula"), tv=False, to_house_m=12.0, to_outlet_m=10.0)
    assert any(one.part.kind == "switch" for one in build("direct", two, PARTS, CHOICE).items)
    many = build("multiswitch", Wish(6, ("Oriel", "Sula"), tv=True, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)
    assert faults(many) == ()
    assert next(one.part for one in many.items if one.part.kind == "multiswitch").inputs == 9


def test_broken_chains_say_what_is_wrong():
    cable, out = item("cable", CABLE.name, "lnb", length_m=10.0), item("out", "Outlet", "cable")
    assert codes(LNB, cable, out) == []
    assert codes(LNB, LNB, cable, out) == ["chain_id_twice"]
    assert codes(LNB, item("cable", CABLE.name, "lbn"), out) == ["chain_unknown_feed"]
    loop = (item("a", CABLE.name, "b"), item("b", CABLE.name, "a"), item("out", "Outlet", "b"))
    assert codes(*loop) == ["chain_loop"]
    assert "chain_no_source" in codes(item("cable", CABLE.name), out)
    assert "chain_ends_nowhere" in codes(LNB, cable, out, item("spare", CABLE.name, "lnb"))
    assert "chain_no_outlet" in codes(LNB, cable)
    two = item("cable", CABLE.name, "lnb", "lnb2")
    assert "chain_two_on_one_port" in codes(LNB, item("lnb2", "LNB quad", serves="Sula"), two, out)
    assert "chain_two_on_one_port" in codes(
        LNB, item("lnb2", "LNB quad", serves="Sula"), item("sp", "Splitter 2", "lnb", "lnb2"), item("o", "Outlet", "sp")
    )
    assert "chain_port_taken_twice" in codes(
        LNB, item("c1", CABLE.name, "lnb:1"), item("c2", CABLE.name, "lnb:1"), item("o1", "Outlet", "c1"), item("o2", "Outlet", "c2")
    )
    drops = [item(f"o{n}", "Outlet", "sp") for n in range(3)]
    assert "chain_too_many_outputs" in codes(LNB, cable, item("sp", "Splitter 2", "cable"), *drops)
    assert "chain_source_fed" in codes(LNB, item("aerial", "Aerial UHF", "lnb", serves="TV"), item("o", "Outlet", "aerial"))
    assert "chain_serves_nothing" in codes(item("lnb", "LNB quad"), cable, out)


def test_quad_and_quattro_are_not_interchangeable():
    cable, out = item("cable", CABLE.name, "lnb", length_m=10.0), item("out", "Outlet", "cable")
    assert codes(QUATTRO, cable, out) == ["chain_quattro_direct"]
    switch = item("ms", "Multiswitch 4 to 8 active", "cable")
    assert codes(LNB, cable, switch, item("out", "Outlet", "ms")) == ["chain_quad_on_multiswitch"]
    assert codes(QUATTRO, cable, switch, item("out", "Outlet", "ms")) == []


def test_no_tv_aerial_on_a_wideband_coax():
    wide = item("lnb", "LNB wideband pair", serves="Oriel")
    aerial = item("aerial", "Aerial UHF", serves="TV")
    both = item("both", "Combiner satellite and TV", "lnb", "aerial")
    assert "chain_wideband_with_tv" in codes(wide, aerial, both, item("out", "Outlet", "both"))
    assert "chain_wideband_with_tv" not in codes(LNB, aerial, both, item("out", "Outlet", "both"))


def test_user_bands_are_each_given_once():
    head = (QUATTRO, item("c", CABLE.name, "lnb"), item("unit", "Single-cable unit 8", "c"))
    split = item("sp", "Splitter 2 diode", "unit")
    one = item("o1", "Outlet", "sp", user_bands=(1,))
    assert codes(*head, split, one, item("o2", "Outlet", "sp", user_bands=(2,))) == []
    assert codes(*head, split, one, item("o2", "Outlet", "sp", user_bands=(1,))) == ["chain_user_band_clash"]
    assert codes(*head, split, one, item("o2", "Outlet", "sp", user_bands=(9,))) == ["chain_user_band_unknown"]
    assert codes(*head, split, one, item("o2", "Outlet", "sp")) == ["chain_user_band_missing"]
    plain = item("sp", "Splitter 2", "unit")
    assert codes(*head, plain, one) == ["chain_splitter_no_diode"]
    assert codes(LNB, item("o", "Outlet", "lnb", user_bands=(1,))) == ["chain_user_band_without"]


def test_50_and_75_ohm_are_not_joined_and_mobile_leads_are_alike():
    pair, thin = item("pair", "Mobile antenna pair", serves="mobile"), "Cable 50 ohm 5 mm"
    assert codes(LNB, item("c", thin, "lnb"), item("r", "Outlet", "c")) == ["chain_impedances"] * 2
    router = item("r", "Mobile router", "a", "b")
    assert codes(pair, item("a", thin, "pair:1", length_m=8.0), item("b", thin, "pair:2", length_m=8.0), router) == []
    for other in (item("b", thin, "pair:2", length_m=9.0), item("b", "Cable 50 ohm 10 mm", "pair:2", length_m=8.0)):
        assert codes(pair, item("a", thin, "pair:1", length_m=8.0), other, router) == ["chain_pair_unequal"]
    assert codes(pair, item("a", thin, "pair"), item("r", "Mobile router", "a")) == ["chain_pair_single"]


def test_a_carrier_takes_its_own_sub_band():
    low = Carrier("O1", "Oriel", "VL", 1097.0, 33.0, 70.0, 14.0, 8.0, "DVB-S2")
    cables = [item(f"c{line}", CABLE.name, f"lnb:{line}") for line in ("VL", "HH")]
    chain = Chain("two lines", (QUATTRO, *cables, item("ms", "Multiswitch 4 to 8 active", "cVL", "cHH"), item("out", "Outlet", "ms")))
    assert faults(chain) == ()
    assert [hop.item.id for hop in trace(chain, chain.items[-1], low)] == ["lnb", "cVL", "ms", "out"]
    high = Carrier("O2", "Oriel", "HL", 1097.0, 33.0, 70.0, 14.0, 8.0, "DVB-S2")
    assert trace(chain, chain.items[-1], high) is None


def test_a_wideband_pair_carries_each_polarisation_on_its_own_line():
    """V takes VL and VH, H the others; a multiswitch that is not wideband is told, one that is takes both lines."""
    wide = item("lnb", "LNB wideband pair", serves="Oriel")
    cables = [item(f"c{port}", CABLE.name, f"lnb:{port}") for port in "VH"]
    switch = Item("ms", replace(PARTS["Multiswitch 4 to 8 active"], wideband=True, inputs=3), ("cV", "cH"))
    chain = Chain("wide", (wide, *cables, switch, item("out", "Outlet", "ms")))
    assert faults(chain) == ()
    for line in ("VL", "VH", "HL", "HH"):
        seen = Carrier("O", "Oriel", line, 1500.0, 33.0, 70.0, 14.0, 8.0, "DVB-S2")
        assert trace(chain, chain.items[-1], seen)[1].item.id == f"c{line[0]}"
    plain = item("ms", "Multiswitch 4 to 8 active", "cV", "cH")
    assert codes(wide, *cables, plain, item("out", "Outlet", "ms")) == ["chain_wideband_on_multiswitch"]
    assert codes(wide, *cables[:1], item("out", "Outlet", "cV")) == ["chain_wideband_direct"]


def test_a_bundle_from_a_quattro_counts_four_cables():
    chain = build("multiswitch", Wish(4, ("Oriel",), tv=True, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)
    by_id = {one.id: one for one in chain.items}
    assert conductors(chain, by_id["cables from LNB Oriel"]) == 4
    assert conductors(chain, by_id["cable from TV aerial"]) == 1
    assert conductors(chain, by_id["cable 1"]) == 1
