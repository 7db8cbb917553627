"""What to change where an outlet fails: single changes first, then pairs, cheapest first, each worked through to its levels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from siteplan.records.parts import Carrier, Chain, Change, Item, LevelProfile, OutletState, Part
from siteplan.records.verdict import Reason
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.network import conductors, faults, split_feed
from siteplan.signal_chain.profiles import window_of

MOST_TRIALS = 300
LEAST_RUN_M = 3.0  # a cable is not shortened below this, nor by more than two fifths: common practice, no source
MOST_SHORTER = 0.4


@dataclass(frozen=True, slots=True)
class _Move:
    """One change: what it is, what it costs, and how it makes one chain of another (None where it no longer fits)."""

    what: Reason
    price: float
    kind: str
    item: str
    part: Part | None = None
    share: float = 1.0
    dish_m: float = math.nan


def passing(states: Sequence[OutletState]) -> bool:
    """Return whether every outlet passes."""
    return bool(states) and all(state.passes for state in states)


def smallest_changes(
    chain: Chain,
    carriers: Sequence[Carrier],
    profile: LevelProfile,
    parts: Mapping[str, Part],
    *,
    dishes: Mapping[float, Sequence[Carrier]] | None = None,
    dish_prices: Mapping[float, float] | None = None,
    most: int = 3,
) -> tuple[Change, ...]:
    """Return up to `most` changes that make every outlet pass, cheapest first; empty where none does (or nothing fails).

    dishes  carriers with larger dishes, by diameter: what a larger dish brings
    Single changes are tried first; pairs only where no single one passes. At most 300 chains are worked.
    """
    now = outlets(chain, carriers, profile)
    if passing(now):
        return ()
    worst = max(now, key=lambda state: sum(not reading.passes for reading in state.readings) + len(state.reasons)).outlet
    # C/N that is short at the antenna already is mended by no part behind it
    weak = any(one.cn_db - one.threshold_db < window_of(profile, one.modulation).cn_over_threshold_db for one in _reaching(chain, carriers))
    moves = sorted(_moves(chain, parts, dishes or {}, dish_prices or {}), key=lambda move: (move.price, move.kind, move.item))
    if weak and not dishes:
        return ()
    found: list[Change] = []
    trials = 0
    for size in (1, 2):
        groups = (
            sorted(combinations(moves, size), key=lambda group: sum(move.price for move in group))
            if size > 1
            else [(move,) for move in moves]
        )
        for group in groups:
            if trials >= MOST_TRIALS or len(found) >= most:
                break
            changed, sent = chain, carriers
            for move in group:
                changed = _apply(changed, move)
                sent = (dishes or {}).get(move.dish_m, sent)
            if weak and sent is carriers:
                continue
            if changed is None or faults(changed):
                continue
            trials += 1
            # one outlet that failed is worked first: most changes fall there already
            states = outlets(changed, sent, profile, only=(worst,))
            states = outlets(changed, sent, profile) if passing(states) else states
            if passing(states):
                found.append(Change(tuple(move.what for move in group), sum(move.price for move in group), changed, states))
        if found:
            break
    return tuple(found)


def _reaching(chain: Chain, carriers: Sequence[Carrier]) -> list[Carrier]:
    sources = {item.serves for item in chain.items if item.serves}
    return [one for one in carriers if one.source in sources]


def _moves(chain: Chain, parts: Mapping[str, Part], dishes: Mapping[float, object], prices: Mapping[float, float]) -> Iterator[_Move]:
    kinds: dict[str, list[Part]] = {}
    for part in parts.values():
        kinds.setdefault(part.kind, []).append(part)
    cables = [item for item in chain.items if item.part.kind == "cable"]
    for item in cables:
        metres = item.length_m * conductors(chain, item)
        for better in kinds.get("cable", ()):
            if better.name != item.part.name and better.impedance_ohm == item.part.impedance_ohm and _less(better, item.part):
                values = {"item": item.id, "part": better.name, "metres": metres}
                yield _Move(Reason("change_cable", values), metres * _price(better), "cable", item.id, better)
        if item.length_m * (1.0 - MOST_SHORTER) >= LEAST_RUN_M:
            for share in (0.8, 1.0 - MOST_SHORTER):
                values = {"item": item.id, "metres": item.length_m * (1.0 - share), "left_m": item.length_m * share}
                yield _Move(Reason("change_shorter", values), 0.0, "shorter", item.id, share=share)
        for kind in ("attenuator", "equaliser", "amplifier", "mast_head", "filter"):
            for part in kinds.get(kind, ()):
                if part.inputs == 1 and part.impedance_ohm == item.part.impedance_ohm:
                    for where in ("before", "after"):
                        values = {"item": item.id, "part": part.name}
                        count = conductors(chain, item)
                        yield _Move(Reason(f"change_insert_{where}", values), count * _price(part), f"insert_{where}", item.id, part)
    for item in chain.items:
        if item.part.kind == "multiswitch":
            for other in kinds.get("multiswitch", ()):
                fits = other.inputs >= item.part.inputs and other.outputs >= item.part.outputs and not other.passes_dc
                if fits and item.part.passes_dc and other.name != item.part.name:
                    yield _Move(Reason("change_active", {"item": item.id, "part": other.name}), _price(other), "cable", item.id, other)
    for dish_m in sorted(dishes):
        yield _Move(Reason("change_dish", {"dish_m": dish_m}), prices.get(dish_m, 50.0 * dish_m), "dish", "", dish_m=dish_m)


def _less(one: Part, other: Part) -> bool:
    return _at_1000(one) < 0.95 * _at_1000(other)


def _at_1000(part: Part) -> float:
    points = part.gain_points
    return float(sum(loss for _, loss in points) / max(sum(math.sqrt(f) for f, _ in points), 1e-9)) if points else math.inf


def _price(part: Part) -> float:
    return part.price if math.isfinite(part.price) else 1e6


def _apply(chain: Chain | None, move: _Move) -> Chain | None:
    """Return the chain with one change; None where what it changes is no longer there."""
    if chain is None or move.kind == "dish":
        return chain
    by_id = {item.id: item for item in chain.items}
    if move.item not in by_id:
        return None
    item = by_id[move.item]
    if move.kind == "cable" and move.part is not None:
        return _swap(chain, replace(item, part=move.part))
    if move.kind == "shorter":
        return _swap(chain, replace(item, length_m=item.length_m * move.share))
    if move.part is None:
        return None
    new_id = f"{move.part.name} at {item.id}"
    if new_id in by_id:
        return None
    if move.kind == "insert_before":
        added = Item(new_id, move.part, item.fed_from)
        return _with(chain, added, {item.id: replace(item, fed_from=(new_id,))})
    added = Item(new_id, move.part, (item.id,))
    rewired = {}
    for other in chain.items:
        if any(split_feed(feed)[0] == item.id for feed in other.fed_from):
            rewired[other.id] = replace(
                other, fed_from=tuple(new_id if split_feed(feed)[0] == item.id else feed for feed in other.fed_from)
            )
    return _with(chain, added, rewired)


def _swap(chain: Chain, item: Item) -> Chain:
    return replace(chain, items=tuple(item if one.id == item.id else one for one in chain.items))


def _with(chain: Chain, added: Item, rewired: Mapping[str, Item]) -> Chain:
    return replace(chain, items=(*(rewired.get(one.id, one) for one in chain.items), added))


def _instead(feed: str, old: str, new: str) -> str:
    return new if split_feed(feed)[0] == old else feed
