"""What a plan is told of a chain that it writes out wrongly: file, chain, item, field and value; each fault once by hand."""

import json

import pytest

from siteplan.files.equipment import read_parts
from siteplan.files.plan_file import read_plan
from siteplan.studies.outlets import faults_of

PARTS, _ = read_parts()
CABLE = "Cable class A 7 mm"
BOTH = "Combiner satellite and TV"
AMPLIFIER = "Amplifier satellite and TV 20"


def lnb(kind="quad", id="l", serves="Oriel 25E"):
    return {"id": id, "part": f"LNB {kind}", "serves": serves}


def item(id, part, *feeds, **more):
    more = {"length_m": 9, **more} if part == CABLE else more
    return {"id": id, "part": part, "fed_from": list(feeds), **more}


OUT = item("o", "Outlet", "c")
SINGLE = (lnb("quattro"), item("b", CABLE, "l"), item("u", "Single-cable unit 8", "b"), item("s", "Splitter 2 diode", "u"))
CASES = [
    ([item("c", CABLE, "c"), OUT], "item 1 (c), fed_from = c: The chain runs in a circle through c."),
    ([lnb(), item("c", CABLE, "l")], "item 2 (c), id = c: c leads nowhere"),
    ([item("c", CABLE), OUT], "item 1 (c), fed_from = -: Nothing feeds c"),
    ([lnb(), item("c", CABLE, "x"), OUT], "item 2 (c), fed_from = x: c is fed from x, which this chain does not have; it has: c, l, o."),
    ([lnb(), lnb(id="m"), item("c", CABLE, "l", "m"), OUT], "item 3 (c), fed_from = l, m: c has 1 input"),
    ([lnb(), lnb(id="m"), item("x", BOTH, "l", "m"), item("c", CABLE, "x"), OUT], "item 3 (x), fed_from = l, m: x would put several LNBs"),
    ([lnb(), item("c", CABLE, "l:1"), OUT, item("d", CABLE, "l:1"), item("p", "Outlet", "d")], "Output 1 of l is used twice."),
    ([lnb(), item("c", CABLE, "l:7"), OUT], "part = LNB quad: l has no output called 7; outputs that may be named: 1, 2, 3, 4."),
    ([lnb("quattro"), item("c", CABLE, "l"), OUT], "item 1 (l), part = LNB quattro: l is a quattro LNB"),
    (
        [lnb(), item("c", CABLE, "l"), item("s", "Multiswitch 4 to 8 active", "c"), item("o", "Outlet", "s")],
        "item 1 (l), part = LNB quad: s needs the four fixed sub-bands of a quattro LNB",
    ),
    (
        [lnb("quattro"), lnb("quattro", "m", "Auk 30W"), item("c", CABLE, "l"), item("d", CABLE, "m"),
         item("s", "Multiswitch 4 to 8 active", "c", "d"), item("o", "Outlet", "s")],
        "item 5 (s), fed_from = c, d: s has 5 inputs; 8 lines are connected.",
    ),
    (
        [*SINGLE, item("o", "Outlet", "s", user_bands=[3]), item("p", "Outlet", "s", user_bands=[3])],
        "item 6 (p), user_bands = 3: p and o both use user band 3; give each tuner its own.",
    ),
    ([*SINGLE, item("o", "Outlet", "s", user_bands=[9])], "user_bands = 9: o wants user band 9; the single-cable unit has 1 to 8."),
    ([lnb(), item("c", CABLE, "l", length_m=0), OUT], "item 2 (c), length_m = 0: c is a cable without a length"),
    (
        [lnb("wideband pair"), item("t", "Aerial UHF", serves="TV"), item("x", BOTH, "l:V", "t"), item("c", CABLE, "x"), OUT],
        "item 3 (x), part = Combiner satellite and TV: At x a TV aerial would share the coax with a wideband LNB",
    ),
    (
        [lnb("octo"), item("a", AMPLIFIER, "l"), item("b", AMPLIFIER, "a"), item("c", CABLE, "b"), OUT],
        "item 5 (o), part = Outlet: 370 mA are drawn from the supply of o; it gives 350 mA.",
    ),
    ([lnb(), item("c", "Cable 50 ohm 10 mm", "l", length_m=5), OUT], "part = Cable 50 ohm 10 mm: c has 50 ohm, l before it 75 ohm"),
    ([], "chain ours: The chain ours has no outlet."),
    ([item(f"c{n}", CABLE, f"c{n - 1}") for n in range(501)], "chain ours: The chain ours has 501 parts; up to 500 are worked."),
]  # fmt: skip


def inline(one):
    return "{" + ", ".join(f"{key} = {json.dumps(value)}" for key, value in one.items()) + "}"


@pytest.mark.quick
@pytest.mark.parametrize(("items", "said"), CASES, ids=[said[:40] for _, said in CASES])
def test_each_fault_names_file_item_field_and_value(tmp_path, items, said):
    text = f'[[chains]]\nname = "ours"\nitems = [{", ".join(map(inline, items))}]\n'
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    told = faults_of(read_plan(tmp_path / "plan.toml"), PARTS)
    assert any(one.startswith("plan.toml, chain ours") and said in one for one in told), told


@pytest.mark.quick
def test_a_long_chain_of_five_hundred_parts_is_worked(tmp_path):
    """No depth of nesting breaks: 498 cables in a row between LNB and outlet."""
    items = [lnb(), item("c0", CABLE, "l"), *(item(f"c{n}", CABLE, f"c{n - 1}") for n in range(1, 497)), item("o", "Outlet", "c496")]
    (tmp_path / "plan.toml").write_text(f'[[chains]]\nname = "ours"\nitems = [{", ".join(map(inline, items))}]\n', encoding="utf-8")
    assert faults_of(read_plan(tmp_path / "plan.toml"), PARTS) == []
