"""Which dishes go up: one for several satellites where it holds them all, and what is counted then."""

import math
from dataclasses import replace

import pytest
from ready_findings import findings

from siteplan.files.equipment import read_parts
from siteplan.radio.antenna import off_focus_loss_db
from siteplan.records.dish import DishFinding, Feed, SharedDish
from siteplan.records.links import DishLine
from siteplan.services.outlets.antennas import antenna_kit, behind, dishes_for, larger_dishes
from siteplan.services.outlets.carriers import of_satellites
from siteplan.services.outlets.judge import work

PARTS, _ = read_parts()
pytestmark = pytest.mark.quick
KIT_M = (0.6, 0.8, 1.0, 1.2)


@pytest.fixture(scope="module")
def row():
    made = findings()
    return next(
        one
        for one in made.rows
        if one.satellite and len(one.satellite.views) > 1 and any(math.isfinite(x.cn_db) for v in one.satellite.views for x in v.links)
    )


@pytest.fixture(scope="module")
def plan():
    made = findings().plan
    return made.model_copy(update={"kit": made.kit.model_copy(update={"dishes_m": KIT_M, "dish_focal_ratio": 0.6})})


def with_wish(plan, **more):
    return plan.model_copy(update={"installation": plan.installation.model_copy(update=more)})


def pair(row, apart_deg, spare_db):
    """Two views six degrees apart (or as told), each dish of the kit with something to spare: spare_db per dish."""
    views = tuple(
        replace(view, dish_m=0.6, dishes=tuple(DishLine(m, "x", 9.0, 9.0, s >= 0, s) for m, s in zip(KIT_M, spare_db, strict=True)))
        for view in row.satellite.views[:2]
    )
    names = [view.satellite.name for view in views]
    shared = SharedDish(0.6, (Feed(names[0], 0.0, 0.0, 0.0, 0.0), Feed(names[1], apart_deg, 0.0, apart_deg, 0.2)))
    return views, (shared,), names


def test_one_dish_where_it_holds_both_and_the_smallest_that_does(row, plan):
    views, shared, names = pair(row, 6.0, (0.01, 1.0, 2.0, 3.0))
    (one,) = dishes_for(views, shared, plan)
    top = max(t.frequency_mhz for t in views[1].satellite.transponders)
    lost = {m: float(off_focus_loss_db(6.0, dish_m=m, frequency_mhz=top, focal_ratio=0.6)) for m in KIT_M}
    assert lost[0.6] > 0.01 and lost[0.8] < 1.0  # beside the focus 0.6 m no longer holds, 0.8 m does
    assert one.dish_m == 0.8 and one.satellites == ((names[0], 0.0), (names[1], pytest.approx(lost[0.8])))


def test_two_dishes_where_none_holds_both_where_strength_is_unknown_and_where_the_plan_says_so(row, plan):
    for views, shared, _ in (pair(row, 9.9, (0.01, 0.01, 0.01, 0.01)), pair(row, 6.0, (math.nan,) * 4)):
        assert [len(one.satellites) for one in dishes_for(views, shared, plan)] == [1, 1]
        assert [len(one.satellites) for one in dishes_for(views, shared, with_wish(plan, satellites_on="one dish"))] == [2]
    views, shared, _ = pair(row, 6.0, (1.0, 2.0, 3.0, 4.0))
    assert [len(one.satellites) for one in dishes_for(views, shared, with_wish(plan, satellites_on="dishes"))] == [1, 1]
    assert [len(one.satellites) for one in dishes_for(views, (), plan)] == [1, 1]


def test_what_the_lnb_beside_the_focus_loses_reaches_the_outlets(row, plan):
    views, shared, names = pair(row, 6.0, (-1.0, 1.0, 2.0, 3.0))
    used = dishes_for(views, shared, plan)
    before = of_satellites(views, plan)
    worked = {view.satellite.name: view.links[0].dish_m for view in views if view.links}
    for old, new in zip(before, behind(used, views, before), strict=True):
        more = 20.0 * math.log10(used[0].dish_m / worked[old.source]) - dict(used[0].satellites)[old.source]
        assert (new.level_dbuv - old.level_dbuv, new.cn_db - old.cn_db) == (pytest.approx(more), pytest.approx(more))


def test_a_larger_dish_gains_by_its_area_and_loses_more_beside_the_focus(row, plan):
    views, shared, names = pair(row, 6.0, (-1.0, 1.0, 2.0, 3.0))
    used = dishes_for(views, shared, plan)
    larger = larger_dishes(used, views, plan)
    assert [one.dish_m for one in larger] == [1.0, 1.2]
    top = max(t.frequency_mhz for t in views[1].satellite.transponders)
    lost = {m: float(off_focus_loss_db(6.0, dish_m=m, frequency_mhz=top, focal_ratio=0.6)) for m in KIT_M}
    gain = 20.0 * math.log10(1.2 / 0.8)
    assert dict(larger[1].more_db)[names[0]] == pytest.approx(gain)
    assert dict(larger[1].more_db)[names[1]] == pytest.approx(gain - (lost[1.2] - lost[0.8]))


def test_the_kit_counts_one_dish_one_bracket_and_a_bar(row, plan):
    views, shared, _ = pair(row, 6.0, (0.01, 1.0, 2.0, 3.0))
    kinds = {"wall": "Wall bracket", "roof": "Roof mast", "chimney": "Chimney strap and mast", "ground": "Ground mast"}
    kind = kinds[row.satellite.spot.kind]
    one = {line.part: line.quantity for line in antenna_kit(row, dishes_for(views, shared, plan), tv=False)}
    assert one == {"Dish 0.8 m": 1, kind: 1, "Bar for several LNBs": 1}
    two = {line.part: line.quantity for line in antenna_kit(row, dishes_for(views, (), plan), tv=False)}
    assert two == {"Dish 0.6 m": 2, kind: 2 if kind == "Wall bracket" else 1}
    wall = replace(row, satellite=replace(row.satellite, spot=replace(row.satellite.spot, kind="wall")))
    assert antenna_kit(wall, dishes_for(views, (), plan), tv=False)[1].quantity == 2


def test_the_whole_address_with_one_dish_and_with_two(row, plan):
    """Kit, time and LNBs: two LNBs either way; one dish, one bracket, a bar and 20 minutes, or two dishes, two brackets and 45."""
    views, shared, names = pair(row, 6.0, (0.01, 1.0, 2.0, 3.0))
    near = replace(row, satellite=replace(row.satellite, views=views, dish=DishFinding(shared)))
    one, two = work(near, plan, PARTS, outlet_count=1), work(near, with_wish(plan, satellites_on="dishes"), PARTS, outlet_count=1)
    kits = [{line.part: line.quantity for line in found.kit} for found in (one, two)]
    assert [kit["LNB single"] for kit in kits] == [2, 2]
    assert [sum(count for part, count in kit.items() if part.startswith("Dish ")) for kit in kits] == [1, 2]
    assert [kit.get("Bar for several LNBs", 0) for kit in kits] == [1, 0]
    assert two.minutes - one.minutes == 45.0 - 20.0
    assert [len(found.dishes) for found in (one, two)] == [1, 2]
