"""A chain as a tree: what feeds what, by which port, what is wrong with it, and the way from one source to one outlet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from siteplan.records.parts import SUB_BANDS, TERRESTRIAL, Carrier, Chain, Item, Part
from siteplan.records.verdict import Reason

ENDS = ("outlet", "receiver")
SOURCES = ("lnb", "aerial")
THROUGH = ("trunk", "through")
SPREADERS = ("multiswitch", "single_cable")  # what takes the fixed lines of LNBs and hands each outlet what it asks for
POSITIONS = {"EN 50494": 2, "EN 50607": 64}  # satellites that a standard's commands can name (../shared/standards, restated)
POLARISATIONS = ("V", "H")  # outputs of a wideband LNB
MOST_ITEMS = 500
MANY_PORTS = ("aerial", "splitter", "tap", "multiswitch", "single_cable", "lnb")


@dataclass(frozen=True, slots=True)
class Hop:
    """One item on the way from a source to an outlet; tap: left by a subscriber's port."""

    item: Item
    tap: bool


def split_feed(feed: str) -> tuple[str, str]:
    """Return (id, port) of "id:port"; port "" where none is named."""
    name, _, port = feed.partition(":")
    return name.strip(), port.strip()


def ends(chain: Chain) -> tuple[Item, ...]:
    """Return the outlets: receivers, and outlets that no receiver of the chain is plugged into."""
    feeding = {split_feed(feed)[0] for item in chain.items for feed in item.fed_from}
    return tuple(item for item in chain.items if item.part.kind in ENDS and item.id not in feeding)


def faults(chain: Chain) -> tuple[Reason, ...]:
    """Return what is wrong with a chain before any level is worked; empty where it can be worked.

    Told are: an id twice, a feed that does not exist, a loop, an outlet with nothing before it, a part that leads nowhere, two things on
    one port, more feeds than inputs, two LNBs on a combiner, a quattro LNB without a multiswitch, a switched LNB on one, a wideband LNB on
    what is not, a TV aerial on a wideband coax, more satellites than a single-cable standard can name, user bands that clash or do not
    exist, a splitter without diodes on a single-cable system, a cable without a length, 50 ohm and 75 ohm joined, a mobile antenna's leads
    that are not alike.
    """
    found: list[Reason] = []
    if len(chain.items) > MOST_ITEMS:
        return (Reason("chain_too_long", {"chain": chain.name, "items": len(chain.items), "most": MOST_ITEMS}),)
    by_id: dict[str, Item] = {}
    for item in chain.items:
        if item.id in by_id:
            found.append(Reason("chain_id_twice", {"item": item.id}))
        by_id[item.id] = item
    for item in chain.items:
        for feed in item.fed_from:
            if split_feed(feed)[0] not in by_id:
                found.append(Reason("chain_unknown_feed", {"item": item.id, "feed": feed, "allowed": ", ".join(sorted(by_id))}))
    if found:
        return tuple(found)
    found += [Reason("chain_loop", {"item": name}) for name in _loops(by_id)]
    if found:
        return tuple(found)
    found += _dangling(chain, by_id)
    found += _ports(chain, by_id)
    found += _lnbs(chain, by_id)
    found += _user_bands(chain, by_id)
    found += _impedances(chain, by_id)
    found += _pairs(chain)
    return tuple(found)


class Ways:
    """The ways of one chain, each looked for once."""

    def __init__(self, chain: Chain) -> None:
        self.chain, self.by_id = chain, {item.id: item for item in chain.items}
        self._found: dict[tuple[str, str, str], tuple[Hop, ...] | None] = {}

    def way(self, end: Item, source: str, line: str) -> tuple[Hop, ...] | None:
        """Return the way from the LNB or aerial of a source (first) to one end (last); None where no way carries that line."""
        key = end.id, source, line
        if key not in self._found:
            self._found[key] = _trace(self.by_id, end, "", key[1:])
        return self._found[key]

    def sources(self, end: Item) -> tuple[str, ...]:
        """Return what the antennas before an end serve."""
        return tuple(dict.fromkeys(item.serves for item in upstream(self.chain, end) if item.serves))


def trace(chain: Chain, end: Item, carrier: Carrier) -> tuple[Hop, ...] | None:
    """Return the way of a carrier from its LNB or aerial (first) to one end (last); None where no way carries it."""
    return Ways(chain).way(end, carrier.source, carrier.line)


def _trace(by_id: dict[str, Item], item: Item, port: str, wanted: tuple[str, str]) -> tuple[Hop, ...] | None:
    here = Hop(item, tap=port not in THROUGH)
    if item.part.kind in SOURCES:
        right = item.serves == wanted[0] and (port not in (*SUB_BANDS, *POLARISATIONS) or wanted[1].startswith(port))
        return (here,) if right else None
    for feed in item.fed_from:
        name, out = split_feed(feed)
        before = _trace(by_id, by_id[name], out, wanted)
        if before is not None:
            return (*before, here)
    return None


def upstream(chain: Chain, item: Item) -> tuple[Item, ...]:
    """Return everything before an item, nearest first; each once."""
    by_id = {one.id: one for one in chain.items}
    seen: dict[str, Item] = {}
    waiting = [split_feed(feed)[0] for feed in item.fed_from]
    while waiting:
        name = waiting.pop(0)
        if name not in seen:
            seen[name] = by_id[name]
            waiting += [split_feed(feed)[0] for feed in by_id[name].fed_from]
    return tuple(seen.values())


def conductors(chain: Chain, item: Item) -> int:
    """Return how many cables lie side by side where a cable of the chain stands for a bundle: four from a quattro LNB, one elsewhere."""
    by_id = {one.id: one for one in chain.items}
    return max(sum(lines_of(by_id, feed) for feed in item.fed_from), 1)


def lines_of(by_id: dict[str, Item], feed: str) -> int:
    """Return how many lines one feed stands for: a bundle from a quattro LNB four, a trunk as many as its switch has inputs."""
    name, port = split_feed(feed)
    before = by_id[name]
    if before.part.fixed_lines and before.part.kind == "lnb":
        return 1 if port else before.part.outputs
    if before.part.kind == "multiswitch" and port in THROUGH:
        return before.part.inputs
    if before.part.kind in ("cable", "amplifier", "attenuator", "filter", "equaliser"):
        return max(sum(lines_of(by_id, one) for one in before.fed_from), 1)
    return 1


def _loops(by_id: dict[str, Item]) -> list[str]:
    state: dict[str, int] = {}  # 1: being walked, 2: done
    looped: list[str] = []

    def walk(name: str) -> None:
        state[name] = 1
        for feed in by_id[name].fed_from:
            before = split_feed(feed)[0]
            if state.get(before) == 1:
                looped.append(before)
            elif before not in state:
                walk(before)
        state[name] = 2

    for name in by_id:
        if name not in state:
            walk(name)
    return looped


def _dangling(chain: Chain, by_id: dict[str, Item]) -> list[Reason]:
    feeding = {split_feed(feed)[0] for item in chain.items for feed in item.fed_from}
    found = []
    for item in chain.items:
        if not item.fed_from and item.part.kind not in SOURCES:
            found.append(Reason("chain_no_source", {"item": item.id}))
        if item.id not in feeding and item.part.kind not in ENDS:
            found.append(Reason("chain_ends_nowhere", {"item": item.id}))
        if item.fed_from and item.part.kind in SOURCES:
            found.append(Reason("chain_source_fed", {"item": item.id}))
        if item.part.kind == "cable" and not item.length_m > 0.0:
            found.append(Reason("chain_no_length", {"item": item.id}))
        if item.part.kind in SOURCES and not item.serves:
            found.append(Reason("chain_serves_nothing", {"item": item.id}))
    if not any(item.part.kind in ENDS for item in chain.items):
        found.append(Reason("chain_no_outlet", {"chain": chain.name}))
    return found


def _ports(chain: Chain, by_id: dict[str, Item]) -> list[Reason]:
    found = []
    users: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for item in chain.items:
        room, one_each = item.part.inputs, item.part.kind == "cable" or item.part.inputs == 1
        if one_each and len(item.fed_from) > 1 or item.part.kind == "splitter" and len(item.fed_from) > room:
            found.append(Reason("chain_two_on_one_port", {"item": item.id, "feeds": ", ".join(item.fed_from), "inputs": 1}))
        elif room > 1 and (lines := sum(lines_of(by_id, feed) for feed in item.fed_from)) > room:
            found.append(Reason("chain_too_many_inputs", {"item": item.id, "inputs": room, "wanted": lines}))
        for feed in item.fed_from:
            name, port = split_feed(feed)
            users[name].append((port, item.id))
    for name, taken in users.items():
        part = by_id[name].part
        named = [port for port, _ in taken if port]
        twice = sorted({port for port in named if named.count(port) > 1})
        found += [Reason("chain_port_taken_twice", {"item": name, "port": port}) for port in twice]
        subscribers = [user for port, user in taken if port not in THROUGH]
        room = part.outputs if part.kind in MANY_PORTS else 1
        if part.kind == "lnb" and part.fixed_lines and any(not port for port, _ in taken):
            room = 1  # a bundle takes all outputs
        if len(subscribers) > room:
            found.append(Reason("chain_too_many_outputs", {"item": name, "outputs": room, "wanted": len(subscribers)}))
        allowed = _ports_of(part)
        odd = dict.fromkeys(port for port in named if port not in allowed)
        found += [Reason("chain_no_such_port", {"item": name, "port": port, "allowed": ", ".join(allowed) or "-"}) for port in odd]
    return found


def _ports_of(part: Part) -> tuple[str, ...]:
    """Return the names that a feed may give outputs of a part after the colon."""
    if part.kind == "lnb" and part.fixed_lines:
        return POLARISATIONS if part.wideband else SUB_BANDS
    numbers = tuple(str(number) for number in range(1, part.outputs + 1)) if part.kind in MANY_PORTS else ()
    return (*numbers, *THROUGH) if part.kind in ("tap", "multiswitch") else numbers


def _lnbs(chain: Chain, by_id: dict[str, Item]) -> list[Reason]:
    found = []
    for end in ends(chain):
        way = upstream(chain, end)
        switched = any(item.part.kind in SPREADERS for item in way)
        for item in way:
            if item.part.kind == "lnb" and item.part.fixed_lines and not switched:
                code = "chain_wideband_direct" if item.part.wideband else "chain_quattro_direct"
                found.append(Reason(code, {"item": item.id, "outlet": end.id}))
    for item in chain.items:
        before = upstream(chain, item)
        lnbs = [one for one in before if one.part.kind == "lnb"]
        if item.part.kind in SPREADERS:
            found += _wrong_lnbs(item, lnbs)
        elif _wide_with_tv(before) and not any(_wide_with_tv(upstream(chain, one)) for one in before):  # told where they meet
            found.append(Reason("chain_wideband_with_tv", {"item": item.id}))
        if item.part.kind == "combiner":
            names = [feed for feed in item.fed_from if any(one.part.kind == "lnb" for one in _with_itself(chain, by_id, feed))]
            if len(names) > 1:
                found.append(Reason("chain_lnbs_combined", {"item": item.id, "feeds": ", ".join(names)}))
        if item.part.kind == "single_cable" and (places := len({one.serves for one in lnbs})) > POSITIONS.get(item.part.standard, places):
            values = {"item": item.id, "satellites": places, "standard": item.part.standard, "most": POSITIONS[item.part.standard]}
            found.append(Reason("chain_positions", values))
    return _unique(found)


def _wide_with_tv(before: Iterable[Item]) -> bool:
    kinds = {one.part.kind for one in before}
    wide = any(one.part.kind == "lnb" and one.part.wideband for one in before)
    return wide and "aerial" in kinds and not kinds & set(SPREADERS)


def _wrong_lnbs(switch: Item, lnbs: Iterable[Item]) -> list[Reason]:
    """Return what LNBs can't be put on a multiswitch or single-cable unit."""
    found = []
    for lnb in lnbs:
        if lnb.part.wideband and not switch.part.wideband:
            found.append(Reason("chain_wideband_on_multiswitch", {"item": lnb.id, "multiswitch": switch.id}))
        elif switch.part.wideband and not lnb.part.wideband:
            found.append(Reason("chain_not_wideband", {"item": switch.id}))
        elif not lnb.part.fixed_lines:
            found.append(Reason("chain_quad_on_multiswitch", {"item": lnb.id, "multiswitch": switch.id}))
    return found


def _with_itself(chain: Chain, by_id: dict[str, Item], feed: str) -> tuple[Item, ...]:
    item = by_id[split_feed(feed)[0]]
    return (item, *upstream(chain, item))


def _user_bands(chain: Chain, by_id: dict[str, Item]) -> list[Reason]:
    found = []
    taken: dict[str, dict[int, str]] = defaultdict(dict)
    for end in chain.items:
        if end.part.kind not in ENDS:
            continue
        way = upstream(chain, end)
        single = next((item for item in way if item.part.kind == "single_cable"), None)
        if single is None:
            if end.user_bands:
                found.append(Reason("chain_user_band_without", {"item": end.id}))
            continue
        if not end.user_bands and end in ends(chain):
            found.append(Reason("chain_user_band_missing", {"item": end.id}))
        for band in end.user_bands:
            if not 1 <= band <= len(single.part.user_bands_mhz):
                found.append(Reason("chain_user_band_unknown", {"item": end.id, "band": band, "bands": len(single.part.user_bands_mhz)}))
            elif band in taken[single.id]:
                found.append(Reason("chain_user_band_clash", {"item": end.id, "other": taken[single.id][band], "band": band}))
            else:
                taken[single.id][band] = end.id
        for item in way[: way.index(single)]:
            if item.part.kind in ("splitter", "tap") and not (item.part.diode_isolated and item.part.passes_dc):
                found.append(Reason("chain_splitter_no_diode", {"item": item.id}))
    return _unique(found)


def _unique(found: list[Reason]) -> list[Reason]:
    kept: dict[tuple, Reason] = {}
    for reason in found:
        kept.setdefault((reason.code, tuple(reason.values.items())), reason)
    return list(kept.values())


def _impedances(chain: Chain, by_id: dict[str, Item]) -> list[Reason]:
    found = []
    for item in chain.items:
        for feed in item.fed_from:
            before = by_id[split_feed(feed)[0]]
            if before.part.impedance_ohm != item.part.impedance_ohm:
                values = {"item": item.id, "other": before.id, "ohm": item.part.impedance_ohm, "other_ohm": before.part.impedance_ohm}
                found.append(Reason("chain_impedances", values))
    return found


def _pairs(chain: Chain) -> list[Reason]:
    """Return where the two leads of a mobile antenna differ: both need the same cable and length (common practice, no source)."""
    found = []
    for pair in chain.items:
        if pair.part.kind == "aerial" and pair.part.outputs == 2:
            leads = [item for item in chain.items if any(split_feed(feed)[0] == pair.id for feed in item.fed_from)]
            ways = [[(lead.part.name, lead.length_m)] for lead in leads]
            for way, lead in zip(ways, leads, strict=True):
                way += [(item.part.name, item.length_m) for item in _behind(chain, lead)]
            if len(leads) == 1:
                found.append(Reason("chain_pair_single", {"item": pair.id, "lead": leads[0].id}))
            elif any(way != ways[0] for way in ways):
                values = {"item": pair.id, "lead": leads[0].id, "other": leads[1].id}
                found.append(Reason("chain_pair_unequal", values))
    return found


def _behind(chain: Chain, item: Item) -> list[Item]:
    """Return what follows an item along one line, nearest first."""
    found, last = [], item
    while last is not None and len(found) < len(chain.items):
        last = next((one for one in chain.items if any(split_feed(feed)[0] == last.id for feed in one.fed_from)), None)
        if last is not None:
            found.append(last)
    return found


def carries_tv(chain: Chain) -> bool:
    """Return whether a TV aerial is part of the chain."""
    return any(item.serves == TERRESTRIAL for item in chain.items)
