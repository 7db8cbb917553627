"""Which dishes go up at one address: one for each satellite, or one for several with LNBs side by side; and what holds them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from siteplan.radio.antenna import off_focus_loss_db
from siteplan.records.dish import SharedDish
from siteplan.records.findings import AddressFinding, SatelliteView
from siteplan.records.parts import Carrier, DishUse, KitLine
from siteplan.records.plan import Plan
from siteplan.signal_chain.changes import LargerDish
from siteplan.signal_chain.kit import dish_name

DISH_PRICE_PER_M = 50.0  # of a dish by its diameter: common practice, no source
_HIGHEST_MHZ = 12_750.0
MOUNTS = {"wall": "Wall bracket", "roof": "Roof mast", "chimney": "Chimney strap and mast", "ground": "Ground mast"}
DISHES_ON_MAST = 2  # on one mast, one over the other; a wall bracket holds one: common practice, no source
BAR = "Bar for several LNBs"


def dishes_for(views: Sequence[SatelliteView], shared: Sequence[SharedDish], plan: Plan) -> tuple[DishUse, ...]:
    """Return the dishes that the satellites of an address need.

    views   of the satellites whose dish goes up
    shared  groups that could sit on one dish (services.satellite)

    By the plan's satellites_on: "auto" one dish for a group where a dish of the kit holds every carrier that counts of each, what the LNBs
    beside the focus lose counted; "one dish" for every group whatever it loses; "dishes" one each.
    """
    by_name = {view.satellite.name: view for view in views}
    used: list[DishUse] = []
    for group in shared if plan.installation.satellites_on != "dishes" else ():
        names = [feed.satellite for feed in group.feeds if feed.satellite in by_name]
        if len(names) > 1:
            one = _one_dish(group, names, by_name, plan)
            if one is not None:
                used.append(one)
    taken = {name for one in used for name, _ in one.satellites}
    alone = [DishUse(_dish_m(view), ((name, 0.0),)) for name, view in by_name.items() if name not in taken]
    order = list(by_name)
    return tuple(sorted((*used, *alone), key=lambda one: min(order.index(name) for name, _ in one.satellites)))


OUTDOORS = ("outdoor unit", "roof antenna")
# What each thing to bring for mobile internet is called on the van's list, by its code in words.mobile; cables apart.
MOBILE_PARTS = {
    "kit_antenna_ports": "Mobile antenna pair", "kit_connectors": "Connector 50 ohm", "kit_arresters": "Surge arrester 50 ohm",
    "kit_router_sockets": "Router with two antenna sockets", "kit_outdoor_unit": "Mobile outdoor unit",
    "kit_ethernet": "Network cable outdoor",
    "kit_injector": "Power injector", "kit_data_arresters": "Surge arrester network", "kit_device": "Mobile device",
}  # fmt: skip
_ONE_EACH = ("kit_antenna_ports", "kit_router_sockets")  # their count is that of their leads


def mobile_way(row: AddressFinding) -> str:
    """Return the way to the device that an address takes: the least that is enough, else the likeliest."""
    return "" if row.mobile is None or not row.mobile.lines else row.mobile.enough or row.mobile.lines[0].way


def mobile_kit(row: AddressFinding) -> tuple[KitLine, ...]:
    """Return what goes up and in for mobile internet: of a roof antenna an equal pair of 50 ohm cables and all that belongs to them."""
    lines = []
    for item in row.mobile.kit if row.mobile is not None else ():
        values = dict(item.values)
        if item.code == "kit_coax":
            lines.append(KitLine(f"Cable 50 ohm, {values['cable']}", float(values["count"]) * float(values["length_m"]), "m"))
        elif item.code in MOBILE_PARTS:
            lines.append(KitLine(MOBILE_PARTS[item.code], 1.0 if item.code in _ONE_EACH else float(values["count"])))
    return tuple(lines)


def _one_dish(group: SharedDish, names: Sequence[str], by_name: dict[str, SatelliteView], plan: Plan) -> DishUse | None:
    """Return the smallest dish that holds a group, None where none is known to; with "one dish" the group's own in that case."""
    for dish_m in sorted(plan.kit.dishes_m):
        lost = _lost(group, names, by_name, dish_m, plan)
        if all(_spare_db(by_name[name], dish_m) - loss >= 0.0 for name, loss in lost):
            return DishUse(dish_m, lost)
    if plan.installation.satellites_on == "one dish":
        return DishUse(group.dish_m, _lost(group, names, by_name, group.dish_m, plan))
    return None


def _lost(
    group: SharedDish, names: Sequence[str], by_name: dict[str, SatelliteView], dish_m: float, plan: Plan
) -> tuple[tuple[str, float], ...]:
    """Return (satellite, dB) that each LNB beside the focus loses on a dish of some size, at the satellite's highest carrier."""
    made = []
    for feed in group.feeds:
        if feed.satellite in names:
            mhz = max((one.frequency_mhz for one in by_name[feed.satellite].satellite.transponders), default=_HIGHEST_MHZ)
            loss = off_focus_loss_db(feed.apart_deg, dish_m=dish_m, frequency_mhz=mhz, focal_ratio=plan.kit.dish_focal_ratio)
            made.append((feed.satellite, float(loss)))
    return tuple(made)


def _spare_db(view: SatelliteView, dish_m: float) -> float:
    return next((line.spare_db for line in view.dishes if abs(line.dish_m - dish_m) < 1e-6 and line.holds), -math.inf)


def _dish_m(view: SatelliteView) -> float:
    return view.dish_m if math.isfinite(view.dish_m) else math.nan


def behind(used: Sequence[DishUse], views: Sequence[SatelliteView], carriers: Sequence[Carrier]) -> tuple[Carrier, ...]:
    """Return the carriers as these dishes hand them on: 20 log of the diameters' ratio, less what an LNB beside the focus loses.

    Level and C/N alike, for the noise stays. A dish whose size is not known leaves its carriers as they are.
    """
    worked = {view.satellite.name: view.links[0].dish_m for view in views if view.links}
    more: dict[str, float] = {}
    for one in used:
        for name, loss in one.satellites:
            grown = 20.0 * math.log10(one.dish_m / worked[name]) if math.isfinite(one.dish_m) and name in worked else 0.0
            more[name] = grown - loss
    return tuple(
        replace(one, level_dbuv=one.level_dbuv + more[one.source], cn_db=one.cn_db + more[one.source]) if more.get(one.source) else one
        for one in carriers
    )


def larger_dishes(used: Sequence[DishUse], views: Sequence[SatelliteView], plan: Plan) -> tuple[LargerDish, ...]:
    """Return every larger dish of the kit for each dish of an address, with what it brings its satellites (same noise)."""
    worked = {view.satellite.name: view.links[0].dish_m for view in views if view.links}
    made = []
    for one in used:
        names = tuple(name for name, _ in one.satellites)
        now_m = one.dish_m if math.isfinite(one.dish_m) else max((worked[name] for name in names if name in worked), default=math.nan)
        for dish_m in sorted(plan.kit.dishes_m):
            if dish_m > now_m:  # an LNB beside the focus loses as the square of the beams it is off: of the diameter
                more = {name: 20.0 * math.log10(dish_m / now_m) - loss * ((dish_m / now_m) ** 2 - 1.0) for name, loss in one.satellites}
                made.append(LargerDish(dish_m, tuple(more.items()), DISH_PRICE_PER_M * dish_m))
    return tuple(made)


def antenna_kit(row: AddressFinding, used: Sequence[DishUse], *, tv: bool, mobile: bool = False) -> tuple[KitLine, ...]:
    """Return dishes, what holds them, and bars for LNBs.

    A TV aerial, or a mobile antenna outdoors, takes a mast of its own unless it shares the roof mast of an antenna before it.
    """
    amounts: dict[str, float] = {}

    def more(part: str, count: int = 1) -> None:
        amounts[part] = amounts.get(part, 0.0) + count

    for one in used:
        more(dish_name(one.dish_m) if math.isfinite(one.dish_m) else "Dish of unknown size")
        if len(one.satellites) > 1:
            more(BAR)
    dish_spot = row.satellite.spot if row.satellite is not None and used else None
    if dish_spot is not None:
        more(MOUNTS[dish_spot.kind], len(used) if dish_spot.kind == "wall" else -(-len(used) // DISHES_ON_MAST))
    tv_spot = row.terrestrial.spot if tv and row.terrestrial is not None else None
    if tv_spot is not None and not (dish_spot is not None and dish_spot.kind == tv_spot.kind and tv_spot.kind in ("roof", "chimney")):
        more(MOUNTS[tv_spot.kind])
    mobile_spot = row.mobile.spot if mobile and row.mobile is not None and mobile_way(row) in OUTDOORS else None
    shared = {spot.kind for spot in (dish_spot, tv_spot) if spot is not None} & {"roof", "chimney"}
    if mobile_spot is not None and mobile_spot.kind not in shared:
        more(MOUNTS[mobile_spot.kind])
    return tuple(KitLine(part, count) for part, count in sorted(amounts.items()))
