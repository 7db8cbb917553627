"""From antenna to outlet at one address: the system, the levels at every outlet, what to change where one fails, and the kit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from siteplan.errors import InputError, told
from siteplan.radio.lnb import best_lnb
from siteplan.records.findings import AddressFinding, Aim, MobileFinding, SatelliteFinding, SatelliteView, TerrestrialFinding
from siteplan.records.parts import Chain, Change, DishUse, Item, KitLine, LevelProfile, OutletFinding, OutletState, Part, Window
from siteplan.records.plan import Plan
from siteplan.records.verdict import SERVICES, Reason, State
from siteplan.services.outlets.antennas import antenna_kit, behind, dishes_for, larger_dishes, mobile_kit
from siteplan.services.outlets.carriers import of_aerial, of_mobile, of_satellites
from siteplan.signal_chain.changes import passing, past_help, smallest_changes
from siteplan.signal_chain.kit import kit_of, round_kit
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.network import faults
from siteplan.signal_chain.parts import lacking
from siteplan.signal_chain.profiles import profile_named
from siteplan.signal_chain.single_cable import positions
from siteplan.signal_chain.supply import overdrawn
from siteplan.signal_chain.systems import RULES, SYSTEMS, Choice, Rule, Wish, build, build_auto

SYSTEM_NAMES = SYSTEMS  # that a plan may name
_GOES_UP = (State.BOOK, State.SURVEY_FIRST)


def work(
    row: AddressFinding, plan: Plan, parts: Mapping[str, Part], *, outlet_count: int, to_house_m: float = math.nan
) -> OutletFinding | None:
    """Return the way to the outlets of one address; None where no antenna that needs one goes up.

    outlet_count  how many outlets this house has
    to_house_m    cable from the dish to the house where it was worked out, else the plan's own

    What is wrong with the chain, or with what the plan names, comes back as reasons; nothing is raised.
    """
    satellites = _satellites(row)
    aim = _aim(row)
    cells = row.mobile is not None and bool(row.mobile.lines) and row.verdicts["mobile"].state in _GOES_UP
    if not satellites and aim is None:
        if not cells:
            return None
        kit = _merged(antenna_kit(row, (), tv=False, mobile=True), mobile_kit(row))
        return OutletFinding(None, None, kit=kit, access=access_for(row, plan), minutes=minutes_for(row, plan, 0))
    wish = Wish(
        outlets=outlet_count, satellites=tuple(view.satellite.name for view in satellites), tv=aim is not None,
        to_house_m=to_house_m if math.isfinite(to_house_m) else plan.installation.to_house_m, to_outlet_m=plan.installation.to_outlet_m,
        one_cable=plan.installation.one_old_cable, flats=plan.installation.flats, tuners=plan.installation.tuners,
        positions=tuple(view.tuning.position for view in satellites if view.tuning is not None and view.tuning.position),
    )  # fmt: skip
    used = dishes_for(satellites, row.satellite.dish.shared if row.satellite is not None and row.satellite.dish is not None else (), plan)
    bare = OutletFinding(
        None, None, kit=_merged(antenna_kit(row, used, tv=aim is not None, mobile=cells), mobile_kit(row) if cells else ()),
        access=access_for(row, plan), minutes=minutes_for(row, plan, outlet_count, used), dishes=used,
    )  # fmt: skip
    try:
        profile = limits_named(plan)
        chain = chain_for(wish, plan, parts)
    except InputError as wrong:
        return replace(bare, reasons=(Reason("outlets_no_chain", {"why": str(wrong)}),))
    broken = faults(chain) or _other_lnbs(satellites, chain, plan)
    if broken:
        return replace(bare, chain=chain, profile=profile, reasons=broken)
    carriers = (*behind(used, satellites, of_satellites(satellites, plan)), *of_aerial(aim), *of_mobile(row.terrestrial, aim))
    states = metered(outlets(chain, carriers, profile), plan.installation.meter_sigma_db)
    changes, lost = (), ()
    if carriers and not passing(states):
        larger = larger_dishes(used, satellites, plan)
        lost = past_help(chain, carriers, profile, larger)
        changes = smallest_changes(chain, [one for one in carriers if one not in lost], profile, parts, dishes=larger)
    shaded = [view.satellite.name for view in satellites if view.clearance is not None and view.clearance.state in ("partly", "blocked")]
    return OutletFinding(
        chain, profile, states, changes, tuple(one.name for one in lost),
        _kit(row, chain, used, changes, tv=aim is not None, mobile=cells),
        access=access_for(row, plan), minutes=minutes_for(row, plan, outlet_count, used), if_clear=tuple(shaded), dishes=used,
        positions=positions(chain),
    )  # fmt: skip


def _kit(
    row: AddressFinding, chain: Chain, used: Sequence[DishUse], changes: Sequence[Change], *, tv: bool, mobile: bool
) -> tuple[KitLine, ...]:
    """Return what the van must carry for one address; where the chain fails, with the first change that makes it pass."""
    if changes:
        chain, larger = changes[0].chain, dict(changes[0].dishes)
        used = [replace(one, dish_m=larger.get(tuple(name for name, _ in one.satellites), one.dish_m)) for one in used]
    return _merged(kit_of(chain), antenna_kit(row, used, tv=tv, mobile=mobile), mobile_kit(row) if mobile else ())


def _merged(*lists: Sequence[KitLine]) -> tuple[KitLine, ...]:
    sums: dict[tuple[str, str], float] = {}
    for line in (line for some in lists for line in some):
        sums[line.part, line.unit] = sums.get((line.part, line.unit), 0.0) + line.quantity
    return tuple(KitLine(part, quantity, unit) for (part, unit), quantity in sorted(sums.items()))


def metered(states: Sequence[OutletState], meter_sigma_db: float) -> tuple[OutletState, ...]:
    """Return outlets with the meter's own error in the tolerance of each level: what a reading may be off by."""
    return tuple(
        replace(
            state, readings=tuple(replace(one, level_sigma_db=math.hypot(one.level_sigma_db, meter_sigma_db)) for one in state.readings)
        )
        for state in states
    )


def _other_lnbs(satellites: Sequence[SatelliteView], chain: Chain, plan: Plan) -> tuple[Reason, ...]:
    """Return where the plan's LNB of a satellite and the chain's are not of one kind: what one hands out the other would not carry."""
    found = []
    for view in satellites:
        lnb = best_lnb(view.satellite.transponders, plan.kit.lnb)
        item = next((one for one in chain.items if one.serves == view.satellite.name), None)
        if lnb is not None and item is not None and (lnb.outputs == "wideband pair") != item.part.wideband:
            values = {"satellite": view.satellite.name, "lnb": lnb.name, "item": item.id, "part": item.part.name}
            found.append(Reason("outlets_other_lnb", values))
    return tuple(found)


def chain_for(wish: Wish, plan: Plan, parts: Mapping[str, Part]) -> Chain:
    """Return the chain of a house: one of the plan's own by name, else built by the rules. Raises InputError."""
    named = plan.installation.system
    for table in plan.chains:
        if table.name == named:
            return own_chain(table.name, plan, parts)
    rules = tuple(Rule(rule.up_to, rule.system, rule.satellites) for rule in plan.installation.rules) or RULES
    choice = Choice(plan.installation.cable, plan.installation.tv_aerial)
    return build_auto(wish, parts, choice, rules) if named == "auto" else build(named, wish, parts, choice)


def own_chain(name: str, plan: Plan, parts: Mapping[str, Part]) -> Chain:
    """Return a chain that the plan writes out. Raises InputError: no such chain, or a part that the list lacks."""
    table = next((one for one in plan.chains if one.name == name), None)
    if table is None:
        raise InputError(
            told(
                "the plan has no [[chains]] called {name!r}; it has: {name_2}",
                name=name,
                name_2=", ".join(one.name for one in plan.chains) or "none",
            )
        )
    items = []
    for line in table.items:
        if line.part not in parts:
            raise InputError(told("item {id!r}, part: {lacking}", id=line.id, lacking=lacking(line.part, parts)))
        items.append(Item(line.id, parts[line.part], line.fed_from, line.length_m, line.serves, line.user_bands))
    return Chain(name, tuple(items), name)


def overdrawn_parts(chain: Chain) -> tuple[Reason, ...]:
    """Return once for each supply of a sound chain what is wrong with it: more current is drawn than it gives."""
    found: dict[str, Reason] = {}
    for some in overdrawn(chain).values():
        for one in some:
            found.setdefault(str(one.values["item"]), one)
    return tuple(found.values())


def limits_named(plan: Plan) -> LevelProfile:
    """Return the limits that a plan asks for by name, those between homes where it says flats. Raises InputError naming those there are."""
    limits = profile_named(plan.installation.profile, own_profiles(plan))
    return replace(limits, isolation_db=max(limits.isolation_db, limits.isolation_flats_db)) if plan.installation.flats else limits


def own_profiles(plan: Plan) -> tuple[LevelProfile, ...]:
    """Return the limits that the plan names itself."""
    made = []
    for table in plan.profiles:
        windows = tuple(Window(w.modulation, w.min_dbuv, w.max_dbuv, "the plan", w.cn_over_threshold_db) for w in table.windows)
        made.append(
            LevelProfile(table.name, windows, table.slope_db, table.isolation_db, table.headroom_db, "the plan", table.isolation_flats_db)
        )
    return tuple(made)


# up to a mount height above ground -> what is brought: common practice, no source
ACCESS = ((3.0, "access_step"), (7.0, "access_extension"), (12.0, "access_long"))


def access_for(row: AddressFinding, plan: Plan) -> str:
    """Return what is brought to reach the highest mount of an address: the plan's words or a code of words; "" where nothing goes up."""
    heights = [found.spot.height_agl_m for found in _going(row) if found.spot is not None]
    if not heights:
        return ""
    classes = [(table.up_to_m, table.bring) for table in plan.installation.ladders] or ACCESS
    return next((bring for most, bring in sorted(classes) if max(heights) <= most), "access_lift")


def minutes_for(row: AddressFinding, plan: Plan, outlet_count: int, dishes: Sequence[DishUse] = ()) -> float:
    """Return the time of a job by its class: each antenna, each further dish or LNB, each outlet, more on a roof; travel is not counted."""
    wiring = plan.installation
    each = {"satellite": wiring.minutes_satellite, "terrestrial": wiring.minutes_terrestrial, "mobile": wiring.minutes_mobile}
    going = _going(row)
    if not going:
        return math.nan
    names = [name for name in each if row.verdicts[name].state in _GOES_UP and getattr(row, name) is not None]
    roof = any(found.spot is not None and found.spot.kind in ("roof", "chimney") for found in going)
    more = wiring.minutes_more_dish * max(len(dishes) - 1, 0) + wiring.minutes_more_lnb * sum(len(one.satellites) - 1 for one in dishes)
    return sum(each[name] for name in names) + more + wiring.minutes_outlet * outlet_count + (wiring.minutes_roof if roof else 0.0)


def _going(row: AddressFinding) -> list[SatelliteFinding | TerrestrialFinding | MobileFinding]:
    """Return the findings of the services whose antenna goes up."""
    return [getattr(row, name) for name in SERVICES if getattr(row, name) is not None and row.verdicts[name].state in _GOES_UP]


def van_list(kits: Sequence[Sequence[KitLine]], parts: Mapping[str, Part], plan: Plan) -> tuple[KitLine, ...]:
    """Return the list for a day's round over the kits of its addresses, with spares."""
    return round_kit(kits, parts, plan.kit.dishes_m)


def _satellites(row: AddressFinding) -> tuple[SatelliteView, ...]:
    if row.satellite is None or row.verdicts["satellite"].state not in _GOES_UP:
        return ()
    return tuple(view for view in row.satellite.views if view.state in _GOES_UP)


def _aim(row: AddressFinding) -> Aim | None:
    if row.terrestrial is None or not row.terrestrial.aims or row.verdicts["terrestrial"].state not in _GOES_UP:
        return None
    return row.terrestrial.aims[0]
