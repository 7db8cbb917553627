"""From antenna to outlet at one address: what is expected there, and what a plan with faults is told."""

import math
from dataclasses import replace

import pytest
from ready_findings import findings

from siteplan.files.equipment import read_parts
from siteplan.files.expected import kit_csv
from siteplan.files.plan_file import read_plan
from siteplan.records.verdict import State
from siteplan.services.outlets.carriers import of_satellites
from siteplan.services.outlets.judge import own_chain, own_profiles, work
from siteplan.studies.outlets import day_kits, days_of, faults_of, outlets_of
from siteplan.words import sentences

PARTS, _ = read_parts()


@pytest.fixture(scope="module")
def row():
    made = findings()
    return next(
        one
        for one in made.rows
        if one.satellite and one.satellite.views and any(math.isfinite(x.cn_db) for v in one.satellite.views for x in v.links)
    )


@pytest.fixture(scope="module")
def plan():
    return findings().plan


def alone(row):
    """The same address with the first of its satellites alone."""
    return replace(row, satellite=replace(row.satellite, views=row.satellite.views[:1]))


def test_a_direct_system_for_one_outlet_and_a_quad_for_four(row, plan):
    one = work(row, plan, PARTS, outlet_count=1)
    assert one.chain.system == "direct"
    assert one.outlets and one.kit
    four = work(alone(row), plan, PARTS, outlet_count=4)
    assert four.chain.system == "quad"
    assert len({state.outlet for state in four.outlets if not state.outlet.startswith("TV")}) == 4
    both = work(row, plan, PARTS, outlet_count=4)  # two satellites: one multiswitch of nine inputs, a quattro LNB for each
    assert both.chain.system == "multiswitch"
    kit = {line.part: line.quantity for line in both.kit}
    assert kit["LNB quattro"] == 2 and kit["Multiswitch 8 to 8 active"] == 1


def test_level_at_the_lnb_by_hand(row, plan):
    """EIRP - free space + dish gain + 55 dB + 30 + 108.75: the level before the cable, from the run's own numbers."""
    found = work(row, plan, PARTS, outlet_count=1)
    reading = next(r for state in found.outlets for r in state.readings if r.carrier.source != "TV")
    view = next(v for v in row.satellite.views if v.satellite.name == reading.carrier.source)
    line = next(x for x in view.links if x.transponder.name == reading.carrier.name)
    f, d = line.transponder.frequency_mhz, line.dish_m
    free = 20 * math.log10(4 * math.pi * view.look.range_km * 1e3 * f * 1e6 / 299792458.0)
    gain = 10 * math.log10(plan.kit.dish_efficiency * (math.pi * d * f * 1e6 / 299792458.0) ** 2)
    assert reading.carrier.level_dbuv == pytest.approx(line.transponder.eirp_dbw - free + gain + 55.0 + 30.0 + 108.75, abs=0.02)
    lost = reading.carrier.level_dbuv - reading.level_dbuv
    assert 3.0 < lost < 15.0  # 22 m of class A cable and an outlet


def test_an_eirp_of_a_footprint_reaches_the_outlets(row, plan):
    """The row states no EIRP, a footprint gives 50 dBW: the carrier arrives as if the row stated 50."""
    view = next(v for v in row.satellite.views if any(math.isfinite(line.cn_db) for line in v.links))
    line = next(line for line in view.links if math.isfinite(line.cn_db))
    said = replace(line, transponder=replace(line.transponder, eirp_dbw=50.0), eirp_dbw=50.0)
    drawn = replace(line, transponder=replace(line.transponder, eirp_dbw=math.nan), eirp_dbw=50.0, eirp_from="footprint")
    (one,), (other,) = (of_satellites([replace(view, links=(link,))], plan) for link in (said, drawn))
    assert one.level_dbuv == other.level_dbuv and math.isfinite(one.level_dbuv)
    assert of_satellites([replace(view, links=(replace(drawn, eirp_dbw=math.nan, cn_db=math.nan),))], plan) == ()


def test_more_outlets_than_the_rules_hold_is_said(row, plan):
    found = work(row, plan, PARTS, outlet_count=100)
    assert found.chain is None
    assert "100 outlets" in sentences(found.reasons)


def test_a_plan_with_its_own_chain_profile_and_faults(tmp_path, row):
    (tmp_path / "plan.toml").write_text(
        """
[installation]
system = "ours"
profile = "house rules"
[[profiles]]
name = "house rules"
windows = [{ modulation = "DVB-S", min_dbuv = 55, max_dbuv = 70, cn_over_threshold_db = 3 }]
[[chains]]
name = "ours"
items = [
  { id = "lnb", part = "LNB quattro", serves = "Oriel 25E" },
  { id = "cable", part = "Cable class A 7 mm", fed_from = "lnb", length_m = 15 },
  { id = "living room", part = "Outlet", fed_from = "cable" },
]
""",
        encoding="utf-8",
    )
    plan = read_plan(tmp_path / "plan.toml")
    chain = own_chain("ours", plan, PARTS)
    assert [item.id for item in chain.items] == ["lnb", "cable", "living room"]
    assert own_profiles(plan)[0].windows[0].cn_over_threshold_db == 3
    found = work(row, plan, PARTS, outlet_count=1)
    assert "quattro LNB" in sentences(found.reasons)
    lacking = plan.model_copy(update={"installation": plan.installation.model_copy(update={"profile": "nobody's"})})
    assert "there are: EN 60728-1" in sentences(work(row, lacking, PARTS, outlet_count=1).reasons)


def test_a_chain_that_fails_leaves_kit_time_and_ladder_and_a_wideband_lnb_is_told(row, plan):
    """Nothing can be said of levels then; what is brought and how long it takes stays."""
    lost = plan.model_copy(update={"installation": plan.installation.model_copy(update={"cable": "Cable of gold"})})
    found = work(row, lost, PARTS, outlet_count=1)
    assert "no 'Cable of gold'" in sentences(found.reasons) and found.chain is None
    assert found.minutes == work(row, plan, PARTS, outlet_count=1).minutes and found.access and found.kit
    wide = tuple(replace(lnb, outputs="wideband pair") for lnb in plan.kit.lnb)
    other = plan.model_copy(update={"kit": plan.kit.model_copy(update={"lnb": wide})})
    told = work(alone(row), other, PARTS, outlet_count=6)
    assert [reason.code for reason in told.reasons] == ["outlets_other_lnb"] and told.outlets == () and told.kit


def test_number_of_outlets_from_the_list(plan):
    assert outlets_of({"Outlets": "4"}, plan) == (4, "")
    assert outlets_of({"Outlets": ""}, plan) == (1, "")
    assert outlets_of({"street": "x"}, plan) == (1, "")
    for odd in ("many", "0", "65", "2.5", "-1"):
        assert outlets_of({"outlets": odd}, plan) == (1, odd)


def test_access_and_time_by_class(row, plan):
    """A dish on a roof, one outlet: 90 + 20 + 30 minutes, and 60 more with a TV aerial; the ladder by the highest mount."""
    found = work(row, plan, PARTS, outlet_count=1)
    going = [
        name
        for name in ("satellite", "terrestrial", "mobile")
        if getattr(row, name) and str(row.verdicts[name].state) in ("book", "survey first")
    ]
    each = {"satellite": 90.0, "terrestrial": 60.0, "mobile": 75.0}
    roof = 30.0 if any(getattr(row, name).spot.kind in ("roof", "chimney") for name in going) else 0.0
    dishes = 45.0 * (len(found.dishes) - 1)
    assert found.minutes == sum(each[name] for name in going) + dishes + 20.0 + roof
    assert len(found.dishes) == 2  # two satellites far apart
    highest = max(getattr(row, name).spot.height_agl_m for name in going)
    wanted = "access_step" if highest <= 3 else "access_extension" if highest <= 7 else "access_long" if highest <= 12 else "access_lift"
    assert found.access == wanted


def test_the_kit_counts_the_first_change_where_the_chain_fails(row, plan):
    """An LNB of 75 dB gain drives the outlet over its window: the kit carries the attenuator that the first change puts in."""
    far = plan.model_copy(update={"installation": plan.installation.model_copy(update={"to_outlet_m": 6.0})})
    near = work(alone(row), far, PARTS, outlet_count=1, to_house_m=2.0)
    cheap = {name: replace(part, price=0.001) if name == "Attenuator 20" else part for name, part in PARTS.items()}
    strong = far.model_copy(update={"installation": far.installation.model_copy(update={"lnb_gain_db": 75.0})})
    found = work(alone(row), strong, cheap, outlet_count=1, to_house_m=2.0)
    assert near.changes == () and "Attenuator 20" not in {line.part for line in near.kit}
    assert found.changes[0].what[0].values["part"] == "Attenuator 20"
    assert {line.part: line.quantity for line in found.kit}["Attenuator 20"] == 1


def test_the_van_list_is_made_day_by_day(row, plan):
    """Two jobs on Monday, one on Tuesday, one without a day: quantities of each day, and one spare LNB of each type on each day."""
    found = work(row, plan, PARTS, outlet_count=1)
    days = ("Mon", "Mon", "Tue", "")
    rows = tuple(
        replace(row, row=replace(row.row, row=number, cells={**row.row.cells, "Day": day}), outlets=found, job=State.BOOK)
        for number, day in enumerate(days, 2)
    )
    made = replace(findings(), rows=rows, plan=plan)
    kits = {day: {line.part: line for line in lines} for day, lines in day_kits(made).items()}
    assert list(kits) == ["Mon", "Tue", "no day"]
    lnb, cable = next(line for line in found.kit if line.part.startswith("LNB")), next(line for line in found.kit if line.unit == "m")
    assert (kits["Mon"][lnb.part].quantity, kits["Tue"][lnb.part].quantity) == (2 * lnb.quantity, lnb.quantity)
    assert kits["Mon"][lnb.part].spare == kits["Tue"][lnb.part].spare == 1
    metres = math.ceil(2 * cable.quantity)
    assert (kits["Mon"][cable.part].quantity, kits["Mon"][cable.part].spare) == (metres, math.ceil(0.1 * 2 * cable.quantity))
    nobody = replace(made, rows=tuple(replace(one, row=replace(one.row, cells={})) for one in rows))
    assert list(day_kits(nobody)) == ["all"]
    text = kit_csv(made, day_kits(made), days_of(made)).decode()
    assert f"\nMon,,,{lnb.part},{2 * lnb.quantity:g},,1\n" in text
    assert f"\nTue,{row.row.address.id},4,{lnb.part},{lnb.quantity:g},,\n" in text


def test_faults_of_chains_are_told_by_check(tmp_path):
    (tmp_path / "plan.toml").write_text(
        '[installation]\nprofile = "none such"\n[[chains]]\nname = "round"\nitems = [{ id = "a", part = "Outlet", fed_from = "b" }, '
        '{ id = "b", part = "Outlet", fed_from = "a" }]\n[[chains]]\nname = "odd"\nitems = [{ id = "a", part = "Gizmo" }]\n',
        encoding="utf-8",
    )
    said = faults_of(read_plan(tmp_path / "plan.toml"), PARTS)
    assert said[0] == "plan.toml, chain round, item 1 (a), fed_from = b: The chain runs in a circle through a."
    assert said[1].startswith("plan.toml, chain odd: item 'a', part: the parts list has no 'Gizmo'; it has ") and len(said[1]) < 200
    assert "there are: EN 60728-1" in said[2] and len(said) == 3


def test_names_in_installation_that_are_nothing(tmp_path):
    (tmp_path / "plan.toml").write_text(
        '[installation]\nsystem = "mulitswitch"\ncable = "Outlet"\nrules = [{ up_to = 9, system = "magic" }]\n'
        '[[chains]]\nname = "twice"\nitems = []\n[[chains]]\nname = "twice"\nitems = []\n',
        encoding="utf-8",
    )
    told = faults_of(read_plan(tmp_path / "plan.toml"), PARTS)
    assert told[0] == "plan.toml, chain twice: There is more than one chain of this name; the first is taken."
    assert told[-3].startswith("plan.toml, [installation] system = mulitswitch: not known; allowed: auto, direct, quad")
    assert "[installation] cable = Outlet: not known; allowed: Cable class A 7 mm, " in told[-2]
    assert "[installation] rules, entry 1, system = magic" in told[-1]


def test_a_cable_without_data_fails_its_carriers_alone(row, plan):
    """A cable known to 1500 MHz: carriers above it say so, those below are worked."""
    short = {**PARTS, "Cable class A 7 mm": replace(PARTS["Cable class A 7 mm"], high_mhz=1500.0)}
    found = work(alone(row), plan, short, outlet_count=1)
    readings = [r for state in found.outlets for r in state.readings if r.carrier.source != "TV"]
    above = [r for r in readings if r.carrier.frequency_mhz > 1500.0]
    assert above and len(above) < len(readings)
    assert all("has no data at" in sentences(r.reasons) and "from 5 to 1500 MHz" in sentences(r.reasons) for r in above)
    assert all(math.isfinite(r.level_dbuv) for r in readings if r not in above)
