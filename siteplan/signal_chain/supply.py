"""Direct current on the cables: volts left at each LNB, and what each supply is asked for."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from siteplan.records.parts import SUB_BANDS, Chain, Item
from siteplan.records.verdict import Reason
from siteplan.signal_chain.network import THROUGH, Hop, Ways, ends, split_feed, upstream

SUPPLY_V = 18.0  # nominal for horizontal, EN 61319-1 (memory); 17 to 19 V allowed
LOWEST_V = 15.0  # an LNB takes less than about this for 13 V and hands out the other polarisation: common practice, no source
SUPPLY_MA = 350.0  # what a receiver must be able to feed, EN 61319-1 (memory)


def currents(ways: Ways, end: Item) -> tuple[tuple[str, float, float], ...]:
    """Return (source, volts at its LNB on the 18 V setting, current in mA) for each LNB this outlet reaches.

    The supply is the nearest part before the outlet that feeds its LNBs itself, else the receiver. Ohm's law over the loop resistance of
    the cables between; each part on the way that draws current adds to it. A receiver feeds one LNB at a time.
    """
    made = []
    for lnb in upstream(ways.chain, end):
        if lnb.part.kind != "lnb":
            continue
        way = next((way for line in reversed(SUB_BANDS) if (way := ways.way(end, lnb.serves, line)) is not None), None)
        if way is None:
            continue
        loop, drawn = 0.0, lnb.part.current_ma
        for hop in _fed_part(way[1:]):
            part = hop.item.part
            if part.kind == "cable" and math.isfinite(part.loop_ohm_per_100m):
                loop += part.loop_ohm_per_100m * hop.item.length_m / 100.0
            else:
                drawn += part.current_ma
        made.append((lnb.serves, SUPPLY_V - loop * drawn / 1000.0, drawn))
    return tuple(made)


def _fed_part(way: Sequence[Hop]) -> list[Hop]:
    """Return what lies between the LNB and the nearest supply."""
    fed = []
    for hop in way:
        if hop.item.part.supply_ma > 0:
            break
        fed.append(hop)
    return fed


def overdrawn(chain: Chain) -> dict[str, tuple[Reason, ...]]:
    """Return what is wrong at each outlet's supply: more current is drawn than it can give; only outlets where that is so.

    A part with a supply of its own feeds everything before it up to the next supply, and the switches behind it that it cascades to: all
    at once. A receiver feeds what is before it, of several LNBs behind a switch the hungriest alone: 350 mA, EN 61319-1 (memory).
    """
    by_id = {item.id: item for item in chain.items}
    wrong: dict[str, tuple[Reason, ...]] = {}
    heads = {item.id: item for item in chain.items if item.part.supply_ma > 0}
    cascaded = {name: _behind(chain, head) for name, head in heads.items()}
    fed = {*heads, *(one for some in cascaded.values() for one in some)}
    asked = {name: _before(by_id, head, fed) + sum(by_id[one].part.current_ma for one in cascaded[name]) for name, head in heads.items()}
    for end in ends(chain):
        found = []
        for item in (end, *upstream(chain, end)):
            if item.id in asked and asked[item.id] > item.part.supply_ma:
                found.append(_told(item.id, asked[item.id], item.part.supply_ma))
        own = _asked_of_receiver(by_id, end, fed)
        if own > SUPPLY_MA:
            found.append(_told(end.id, own, SUPPLY_MA))
        if found:
            wrong[end.id] = tuple(found)
    return wrong


def _told(item: str, drawn_ma: float, limit_ma: float) -> Reason:
    return Reason("outlet_current", {"item": item, "current_ma": drawn_ma, "limit_ma": limit_ma})


def _before(by_id: dict[str, Item], head: Item, fed: Collection[str]) -> float:
    """Return the current of everything before a supply, up to what another one feeds."""
    seen: set[str] = set()
    waiting, total = [split_feed(feed)[0] for feed in head.fed_from], 0.0
    while waiting:
        name = waiting.pop()
        item = by_id[name]
        if name in seen or name in fed:
            continue
        seen.add(name)
        total += item.part.current_ma
        waiting += [split_feed(feed)[0] for feed in item.fed_from] if item.part.passes_dc else []
    return total


def _behind(chain: Chain, head: Item) -> list[str]:
    """Return the cascaded switches that a supply feeds behind it: reached by cables and by trunks alone."""
    reached, found, more = {head.id}, [], True
    while more:
        more = False
        for item in chain.items:
            if item.id in reached or item.part.supply_ma > 0 or item.part.kind not in ("cable", "multiswitch", "amplifier"):
                continue
            if any(name in reached and _onward(chain, name, port) for name, port in map(split_feed, item.fed_from)):
                reached.add(item.id)
                found.append(item.id)
                more = True
    return found


def _onward(chain: Chain, name: str, port: str) -> bool:
    """Return whether an output goes on to what a head feeds: not a subscriber's port."""
    part = next(item.part for item in chain.items if item.id == name)
    return part.kind != "multiswitch" or port in THROUGH


def _asked_of_receiver(by_id: dict[str, Item], item: Item, fed: Collection[str]) -> float:
    """Return the current drawn by the part of the chain that one receiver feeds; fed: what has a supply of its own or hangs on one."""
    asked = []
    for one in (by_id[split_feed(feed)[0]] for feed in item.fed_from):
        if one.id not in fed or one.part.kind == "cable":
            more = _asked_of_receiver(by_id, one, fed) if one.part.passes_dc else 0.0
            asked.append(one.part.current_ma + more)
    if not asked:
        return 0.0
    return max(asked) if item.part.kind == "switch" else sum(asked)
