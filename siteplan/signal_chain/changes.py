"""What to change where an outlet fails: single changes first, then pairs, cheapest first, each worked through to its levels."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import combinations
from operator import or_

from siteplan.records.parts import Carrier, Chain, Change, Item, LevelProfile, OutletState, Part
from siteplan.records.verdict import Reason
from siteplan.signal_chain.levels import is_wanted, outlets, reading_passes
from siteplan.signal_chain.network import Ways, conductors, faults, split_feed, upstream
from siteplan.signal_chain.profiles import window_of

MOST_TRIALS, MORE_TRIALS = 400, 40  # chains worked until a change is found, and then for others that are dearer
PAIRED_OF_EACH = 10  # places at which each remedy is tried in pairs
LEAST_RUN_M = 3.0  # a cable is not shortened below this, nor by more than two fifths: common practice, no source
MOST_SHORTER = 0.4
_INSERTED = ("attenuator", "equaliser", "amplifier", "mast_head", "filter")


@dataclass(frozen=True, slots=True)
class LargerDish:
    """A larger dish for one that is up: its diameter, (satellite, dB more in level and C/N alike) for each LNB on it, its price."""

    dish_m: float
    more_db: tuple[tuple[str, float], ...]
    price: float

    def carriers(self, before: Sequence[Carrier]) -> tuple[Carrier, ...]:
        """Return the carriers with this dish."""
        more = dict(self.more_db)
        return tuple(
            replace(one, level_dbuv=one.level_dbuv + more[one.source], cn_db=one.cn_db + more[one.source]) if one.source in more else one
            for one in before
        )


@dataclass(frozen=True, slots=True)
class _Move:
    """One change: what it is, what it costs, and which items it changes alike (none: a dish)."""

    what: Reason
    price: float
    kind: str
    items: tuple[str, ...] = ()
    part: Part | None = None
    share: float = 1.0
    dish: LargerDish | None = None


def passing(states: Sequence[OutletState]) -> bool:
    """Return whether every outlet passes."""
    return bool(states) and all(state.passes for state in states)


def past_help(
    chain: Chain, carriers: Sequence[Carrier], profile: LevelProfile, dishes: Sequence[LargerDish] = ()
) -> tuple[Carrier, ...]:
    """Return the carriers whose C/N is short at the antenna already, with the largest dish too: no part behind it mends that."""
    sources = {item.serves for item in chain.items if item.serves}
    most: dict[str, float] = {}
    for dish in dishes:
        for name, more in dish.more_db:
            most[name] = max(most.get(name, 0.0), more)
    return tuple(
        one
        for one in carriers
        if one.source in sources
        and is_wanted(one)
        and one.cn_db + most.get(one.source, 0.0) - one.threshold_db < window_of(profile, one.modulation).cn_over_threshold_db
    )


def smallest_changes(
    chain: Chain,
    carriers: Sequence[Carrier],
    profile: LevelProfile,
    parts: Mapping[str, Part],
    *,
    dishes: Sequence[LargerDish] = (),
    most: int = 3,
) -> tuple[Change, ...]:
    """Return up to `most` changes that make every outlet pass, cheapest first; empty where none does (or nothing fails).

    Tried are a better cable, a shorter run, an active multiswitch for a passive one, and an attenuator, slope equaliser, line or mast-head
    amplifier or filter before or behind each cable; items that lie alike (the drops to all outlets) are changed together, those of one
    switch together, and each alone. Single changes first; pairs of the cheapest only where no single one passes; at most 400 chains are
    worked. Carriers that are `past_help` should be left out before.
    """
    now = outlets(chain, carriers, profile)
    if passing(now):
        return ()
    looked_at = _extremes(now)
    behind = _failing_behind(chain, now)
    everything = reduce(or_, behind.values(), 0)
    # of places that cost the same the one nearest to the antenna first: there an amplifier adds least noise, an attenuator spares it
    depth = {item.id: len(upstream(chain, item)) for item in chain.items if item.part.kind == "cable"}
    moves = sorted(
        _moves(chain, behind, parts, dishes),
        key=lambda move: (
            move.price, move.kind.split("_")[0], max((depth.get(name, 0) for name in move.items), default=0),
            move.kind != "insert_before", move.items,
        ),
    )  # fmt: skip
    found: list[Change] = []
    offered: set[tuple] = set()
    trials, limit = 0, MOST_TRIALS
    for size in (1, 2):
        some = combinations(_few_of_each(moves, behind), 2) if size == 2 else ((move,) for move in moves)
        for group in sorted(some, key=lambda group: sum(move.price for move in group)):
            if trials >= limit or len(found) >= most:
                break
            if _remedy(group) in offered or not _reaches_all(group, behind, everything):
                continue
            changed, sent = _changed(chain, carriers, group)
            if changed is None:
                continue
            trials += 1
            if not reading_passes(changed, sent, profile, looked_at) or faults(changed):  # most fall here
                continue
            states = outlets(changed, sent, profile)
            if passing(states):
                offered.add(_remedy(group))
                limit = min(limit, trials + MORE_TRIALS)
                found.append(_change(group, changed, states))
        if found:
            break
        limit = 2 * MOST_TRIALS
    return tuple(found)


def _few_of_each(moves: Sequence[_Move], behind: Mapping[str, int]) -> list[_Move]:
    """Return a few places of each remedy, those that most of what fails lies behind, in the order of moves."""
    places: dict[tuple, list[_Move]] = {}
    for move in moves:
        if move.kind != "insert_after":  # before and behind one cable are the same to a level
            places.setdefault((_remedy((move,)), move.part.name if move.part else "", move.share), []).append(move)
    most = (sorted(some, key=lambda move: _reached((move,), behind).bit_count(), reverse=True) for some in places.values())
    kept = {id(move) for some in most for move in some[:PAIRED_OF_EACH]}
    return [move for move in moves if id(move) in kept]


def _remedy(group: Sequence[_Move]) -> tuple:
    """Return what a change brings, wherever and how much of it: the same kind of part elsewhere, or a larger one, is no other way out."""
    named = ((move.kind.split("_")[0], move.part.kind if move.part else "", move.dish.more_db[0][0] if move.dish else "") for move in group)
    return tuple(sorted(named))


def _extremes(now: Sequence[OutletState]) -> tuple[str, ...]:
    """Return the outlet at which most fails, and those with the lowest and the highest level: a change is looked at there first."""

    def levels(state: OutletState) -> list[float]:
        return [reading.level_dbuv for reading in state.readings if math.isfinite(reading.level_dbuv)]

    worst = max(now, key=lambda state: sum(not reading.passes for reading in state.readings) + len(state.reasons))
    read = [state for state in now if levels(state)]
    some = [worst, *([min(read, key=lambda s: min(levels(s))), max(read, key=lambda s: max(levels(s)))] if read else [])]
    return tuple(dict.fromkeys(state.outlet for state in some))


def _failing_behind(chain: Chain, now: Sequence[OutletState]) -> dict[str, int]:
    """Return for each item what fails behind it, a bit each: a carrier at an outlet by its own way, and what fails there besides."""
    ways, found, bit = Ways(chain), {}, 1
    for state in now:
        if state.passes:
            continue
        end = ways.by_id[state.outlet]
        every = [end.id, *(item.id for item in upstream(chain, end))]
        for reading in state.readings:
            if not reading.passes:
                way = ways.way(end, reading.carrier.source, reading.carrier.line)
                for name in [hop.item.id for hop in way] if way is not None else every:
                    found[name] = found.get(name, 0) | bit
                bit <<= 1
        for name in every if state.reasons else ():
            found[name] = found.get(name, 0) | bit
        bit <<= 1
    return found


def _reached(moves: Sequence[_Move], behind: Mapping[str, int]) -> int:
    """Return what fails behind what some moves change."""
    return reduce(or_, (behind.get(name, 0) for move in moves for name in move.items), 0)


def _reaches_all(group: Sequence[_Move], behind: Mapping[str, int], everything: int) -> bool:
    """Return whether all that fails lies behind something that changes: else it goes on failing."""
    if any(move.dish is not None for move in group):
        return True
    return _reached(group, behind) == everything


def _changed(chain: Chain, carriers: Sequence[Carrier], group: Sequence[_Move]) -> tuple[Chain | None, Sequence[Carrier]]:
    changed: Chain | None = chain
    for move in group:
        changed = _apply(changed, move)
        carriers = move.dish.carriers(carriers) if move.dish is not None else carriers
    return changed, carriers


def _change(group: Sequence[_Move], chain: Chain, states: tuple[OutletState, ...]) -> Change:
    readings = [reading for state in states for reading in state.readings]
    levels = [reading.level_dbuv for reading in readings]
    return Change(
        tuple(move.what for move in group), sum(move.price for move in group), chain, states, min(levels), max(levels),
        min(reading.margin_db for reading in readings),
        tuple((tuple(name for name, _ in move.dish.more_db), move.dish.dish_m) for move in group if move.dish is not None),
    )  # fmt: skip


# ---- what may be changed -----------------------------------------------------------------------------------------------------


def _moves(chain: Chain, failing: Container[str], parts: Mapping[str, Part], dishes: Sequence[LargerDish]) -> Iterator[_Move]:
    kinds: dict[str, list[Part]] = {}
    for part in parts.values():
        kinds.setdefault(part.kind, []).append(part)
    by_id = {item.id: item for item in chain.items}
    for group in _alike([item for item in chain.items if item.part.kind == "cable" and item.id in failing], by_id):
        yield from _of_cables(chain, group, kinds)
    for item in chain.items:
        if item.part.kind == "multiswitch" and item.part.passes_dc and item.id in failing:
            for other in kinds.get("multiswitch", ()):
                fits = other.inputs >= item.part.inputs and other.outputs >= item.part.outputs and other.wideband == item.part.wideband
                if fits and not other.passes_dc and other.name != item.part.name:
                    yield _Move(Reason("change_active", {"item": item.id, "part": other.name}), _price(other), "swap", (item.id,), other)
    for dish in dishes:
        names = " + ".join(name for name, _ in dish.more_db)
        yield _Move(Reason("change_dish", {"dish_m": dish.dish_m, "satellites": names}), dish.price, "dish", dish=dish)


def _alike(cables: Sequence[Item], by_id: Mapping[str, Item]) -> list[tuple[Item, ...]]:
    """Return cables alone, those fed by one item together, and those fed by like items together; each set once."""
    sets: dict[tuple[str, ...], tuple[Item, ...]] = {}
    shared: dict[tuple, list[Item]] = {}
    for cable in cables:
        feeds = [split_feed(feed) for feed in cable.fed_from]
        size = cable.part.name, cable.length_m
        shared.setdefault((*size, "alone", cable.id), []).append(cable)
        shared.setdefault((*size, "item", *feeds), []).append(cable)
        shared.setdefault((*size, "part", *((by_id[name].part.name, port) for name, port in feeds)), []).append(cable)
    for group in shared.values():
        sets.setdefault(tuple(sorted(item.id for item in group)), tuple(group))
    return list(sets.values())


def _of_cables(chain: Chain, group: tuple[Item, ...], kinds: Mapping[str, Sequence[Part]]) -> Iterator[_Move]:
    by_id = {item.id: item for item in chain.items}
    first, names = group[0], tuple(item.id for item in group)
    metres = sum(item.length_m * conductors(chain, item) for item in group)
    for better in kinds.get("cable", ()):
        if better.name != first.part.name and better.impedance_ohm == first.part.impedance_ohm and _less(better, first.part):
            values = {"part": better.name, "metres": metres}
            yield _Move(_reason("change_cable", names, values), metres * _price(better), "swap", names, better)
    if first.length_m * (1.0 - MOST_SHORTER) >= LEAST_RUN_M:
        for share in (0.8, 1.0 - MOST_SHORTER):
            values = {"metres": first.length_m * (1.0 - share), "left_m": first.length_m * share}
            yield _Move(_reason("change_shorter", names, values), 0.0, "shorter", names, share=share)
    count = sum(conductors(chain, item) for item in group)
    for kind in _INSERTED:
        for part in kinds.get(kind, ()):
            if part.inputs == 1 and part.impedance_ohm == first.part.impedance_ohm:
                at_mast = all(by_id[split_feed(feed)[0]].part.kind == "aerial" for item in group for feed in item.fed_from)
                for where in ("before", "after") if kind != "mast_head" else ("before",) if at_mast else ():
                    what = _reason(f"change_insert_{where}", names, {"part": part.name})
                    yield _Move(what, count * _price(part), f"insert_{where}", names, part)


def _reason(code: str, names: Sequence[str], values: Mapping[str, object]) -> Reason:
    """Return a change's reason; for several items alike the first is named, and how many more."""
    if len(names) == 1:
        return Reason(code, {"item": names[0], **values})
    return Reason(f"{code}_all", {"item": names[0], "more": len(names) - 1, **values})


def _less(one: Part, other: Part) -> bool:
    return _per_root(one) < 0.95 * _per_root(other)


def _per_root(part: Part) -> float:
    points = part.gain_points
    return float(sum(loss for _, loss in points) / max(sum(math.sqrt(f) for f, _ in points), 1e-9)) if points else math.inf


def _price(part: Part) -> float:
    return part.price if math.isfinite(part.price) else 1e6


# ---- a chain with a change ---------------------------------------------------------------------------------------------------


def _apply(chain: Chain | None, move: _Move) -> Chain | None:
    """Return the chain with one change; None where what it changes is no longer there."""
    for name in move.items:
        chain = _apply_one(chain, move, name)
    return chain


def _apply_one(chain: Chain | None, move: _Move, name: str) -> Chain | None:
    by_id = {item.id: item for item in chain.items} if chain is not None else {}
    if chain is None or name not in by_id:
        return None
    item = by_id[name]
    if move.kind == "shorter":
        return _with(chain, {name: replace(item, length_m=item.length_m * move.share)})
    if move.part is None:
        return None
    if move.kind == "swap":
        return _with(chain, {name: replace(item, part=move.part)})
    new_id = f"{move.part.name} at {name}"
    if new_id in by_id:
        return None
    if move.kind == "insert_before":
        return _with(chain, {name: replace(item, fed_from=(new_id,))}, Item(new_id, move.part, item.fed_from))
    rewired = {
        other.id: replace(other, fed_from=tuple(new_id if split_feed(feed)[0] == name else feed for feed in other.fed_from))
        for other in chain.items
        if any(split_feed(feed)[0] == name for feed in other.fed_from)
    }
    return _with(chain, rewired, Item(new_id, move.part, (name,)))


def _with(chain: Chain, changed: Mapping[str, Item], *added: Item) -> Chain:
    return replace(chain, items=(*(changed.get(one.id, one) for one in chain.items), *added))
