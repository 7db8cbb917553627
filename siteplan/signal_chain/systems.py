"""From the number of outlets to a system, and the chain of parts that makes it. The rules are common practice; the plan can change them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from siteplan.errors import InputError, told
from siteplan.records.parts import TERRESTRIAL, Chain, Item, Part
from siteplan.signal_chain.network import POSITIONS
from siteplan.signal_chain.parts import lacking

SYSTEMS = ("direct", "quad", "octo", "multiswitch", "cascade", "single-cable", "TV alone")
SWITCHES_IN_A_ROW = 4  # on a trunk, then its losses are made up by an amplifier as at its head: common practice, no source
LEAD_M = 1.0  # from an LNB to a switch beside it: common practice, no source


class Rule(NamedTuple):
    """Up to so many outlets, and so many satellites: this system."""

    up_to: int
    system: str
    satellites: int = 64


# Several satellites take a switch for each outlet up to two outlets, a multiswitch from three on: common practice, no source.
RULES = (Rule(2, "direct", 4), Rule(4, "quad", 1), Rule(8, "octo", 1), Rule(16, "multiswitch", 4), Rule(64, "cascade", 4))


@dataclass(frozen=True, slots=True)
class Wish:
    """What a house needs: outlets, satellites by name, a TV aerial or none, and the cable runs.

    positions     of the satellites at a switch, from 1, where the plan's order leaves gaps; absent: 1, 2, ...
    to_house_m    from the antennas to the switch or, without one, to the house's entry point
    to_outlet_m   from there to each outlet
    one_cable     only one old cable leads to the outlets
    tuners        for each outlet of a single-cable system
    """

    outlets: int
    satellites: tuple[str, ...]
    tv: bool
    to_house_m: float
    to_outlet_m: float
    one_cable: bool = False
    flats: bool = False
    tuners: int = 1
    positions: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """Names of the parts that the plan prefers."""

    cable: str
    tv_aerial: str


def system_for(wish: Wish, rules: Sequence[Rule] = RULES) -> str:
    """Return the system by the rule table: one old cable takes single-cable, flats take cascaded switches, else by outlets and satellites.

    Raises InputError where there are more outlets, or more satellites, than any rule holds.
    """
    if not wish.satellites:
        return "TV alone"
    if wish.one_cable:
        return "single-cable"
    if wish.flats:
        return "cascade"
    for rule in sorted(rules, key=lambda rule: rule.up_to):
        if wish.outlets <= rule.up_to and len(wish.satellites) <= rule.satellites:
            return rule.system
    if wish.outlets > max(rule.up_to for rule in rules):
        raise InputError(
            told("{outlets} outlets: the rules of this plan end at {up_to}", outlets=wish.outlets, up_to=max(rule.up_to for rule in rules))
        )
    most = max(rule.satellites for rule in rules if wish.outlets <= rule.up_to)
    raise InputError(
        told(
            "{satellites} satellites at {outlets} outlets: the rules of this plan end at {most} satellites",
            satellites=len(wish.satellites),
            outlets=wish.outlets,
            most=most,
        )
    )


def build_auto(wish: Wish, parts: Mapping[str, Part], choice: Choice, rules: Sequence[Rule] = RULES) -> Chain:
    """Return the chain that the rules choose; cascaded switches where no multiswitch of the list is wide enough. Raises InputError."""
    system = system_for(wish, rules)
    try:
        return build(system, wish, parts, choice)
    except InputError:
        if system != "multiswitch":
            raise
        try:
            return build("cascade", wish, parts, choice)
        except InputError:
            pass
        raise


def build(system: str, wish: Wish, parts: Mapping[str, Part], choice: Choice) -> Chain:
    """Return the chain of a system. Raises InputError where the catalogue lacks a part that it needs, naming it."""
    shop = _Shop(parts, choice)
    items: list[Item] = []
    if system in ("direct", "quad", "octo"):
        items += _switched(system, wish, shop)
    elif system == "multiswitch":
        items += _multiswitch(wish, shop)
    elif system == "cascade":
        items += _cascade(wish, shop)
    elif system == "single-cable":
        items += _single_cable(wish, shop)
    elif system != "TV alone":
        raise InputError(told("no system is called {system!r}; there are: {systems}", system=system, systems=", ".join(SYSTEMS)))
    if wish.tv and system in ("direct", "quad", "octo", "TV alone"):
        items += _tv_alone(wish, shop)
    return Chain(f"{system}, {wish.outlets} outlet{'s' if wish.outlets > 1 else ''}", tuple(items), system)


def _price(part: Part) -> float:
    return part.price if part.price == part.price else 1e9


class _Shop:
    def __init__(self, parts: Mapping[str, Part], choice: Choice) -> None:
        self.parts, self.choice = parts, choice

    def named(self, name: str) -> Part:
        if name not in self.parts:
            raise InputError(lacking(name, self.parts))
        return self.parts[name]

    def cheapest(self, kind: str, *, inputs: int = 1, outputs: int = 1, by: str = "outputs", **wanted: object) -> Part:
        """Return the cheapest part of a kind with at least so many inputs and outputs; by "outputs": with the fewest outputs first."""
        fitting = [
            part
            for part in self.parts.values()
            if part.kind == kind
            and part.inputs >= inputs
            and part.outputs >= outputs
            and all(getattr(part, key) == value for key, value in wanted.items())
        ]
        if not fitting:
            more = "".join(f", {key.replace('_', ' ')} {value}" for key, value in wanted.items())
            raise InputError(
                told(
                    "the parts list has no {replace} with {inputs} inputs and {outputs} outputs{more}",
                    replace=kind.replace("_", " "),
                    inputs=inputs,
                    outputs=outputs,
                    more=more,
                )
            )
        return min(fitting, key=lambda part: (part.outputs if by == "outputs" else 0, _price(part), part.inputs, part.name))

    @property
    def cable(self) -> Part:
        return self.named(self.choice.cable)


def _switched(system: str, wish: Wish, shop: _Shop) -> list[Item]:
    """Each outlet hangs on a switched LNB output by its own cable; with several satellites, by a switch for each outlet."""
    least = {"direct": wish.outlets, "quad": 4, "octo": 8}[system]
    lnb = shop.cheapest("lnb", inputs=0, outputs=max(wish.outlets, least if system != "direct" else 1), fixed_lines=False, wideband=False)
    items = [Item(f"LNB {name}", lnb, serves=name) for name in wish.satellites]
    inputs = max(wish.positions, default=len(wish.satellites))
    for number in range(1, wish.outlets + 1):
        feed = f"LNB {wish.satellites[0]}"
        if len(wish.satellites) > 1:
            leads = [Item(f"lead {number} from LNB {name}", shop.cable, (f"LNB {name}",), LEAD_M) for name in wish.satellites]
            feed = f"switch {number}"
            switch = shop.cheapest("switch", inputs=max(inputs, len(wish.satellites)), by="price")
            items += [*leads, Item(feed, switch, tuple(lead.id for lead in leads))]
        items.append(Item(f"cable {number}", shop.cable, (feed,), wish.to_house_m + wish.to_outlet_m))
        items.append(Item(f"outlet {number}", shop.cheapest("outlet"), (f"cable {number}",)))
    return items


def _heads(wish: Wish, shop: _Shop) -> tuple[list[Item], list[str]]:
    """Quattro LNBs and the TV aerial with their cables to the switch."""
    quattro = shop.cheapest("lnb", inputs=0, outputs=4, fixed_lines=True, wideband=False)
    items, feeds = [], []
    for name in wish.satellites:
        items += [
            Item(f"LNB {name}", quattro, serves=name),
            Item(f"cables from LNB {name}", shop.cable, (f"LNB {name}",), wish.to_house_m),
        ]
        feeds.append(f"cables from LNB {name}")
    if wish.tv:
        items += [
            Item("TV aerial", shop.named(shop.choice.tv_aerial), serves=TERRESTRIAL),
            Item("cable from TV aerial", shop.cable, ("TV aerial",), wish.to_house_m),
        ]
        feeds.append("cable from TV aerial")
    return items, feeds


def _multiswitch(wish: Wish, shop: _Shop) -> list[Item]:
    items, feeds = _heads(wish, shop)
    switch = shop.cheapest("multiswitch", inputs=4 * len(wish.satellites) + 1, outputs=wish.outlets, wideband=False, passes_dc=False)
    items.append(Item("multiswitch", switch, tuple(feeds)))
    return items + _drops(wish, shop, ["multiswitch"] * wish.outlets)


def _cascade(wish: Wish, shop: _Shop) -> list[Item]:
    """A head amplifier and as many cascaded switches as the outlets need, an amplifier after each four."""
    items, feeds = _heads(wish, shop)
    lines = 4 * len(wish.satellites) + 1
    switches = [part for part in shop.parts.values() if part.kind == "multiswitch" and part.tap_points and part.passes_dc]
    wide = [part for part in switches if part.inputs >= lines and not part.wideband]
    heads = [part for part in shop.parts.values() if part.kind == "amplifier" and part.inputs >= lines]
    if not wide or not heads:
        lacks = told("cascade switch (multiswitch with tap_points that passes power)") if not wide else told("head amplifier")
        raise InputError(
            told(
                "the parts list has no {lacks} with {lines} inputs, which {satellites} satellites and TV need",
                lacks=lacks,
                lines=lines,
                satellites=len(wish.satellites),
            )
        )
    most = max(part.outputs for part in wide)
    cascaded = min((part for part in wide if part.outputs == most), key=lambda part: (part.inputs, _price(part), part.name))
    head = min(heads, key=lambda part: (part.inputs, _price(part), part.name))
    items.append(Item("head amplifier", head, tuple(feeds)))
    before, taken = "head amplifier", []
    for number in range(-(-wish.outlets // most)):
        if number and number % SWITCHES_IN_A_ROW == 0:
            items.append(Item(f"line amplifier {number // SWITCHES_IN_A_ROW}", head, (before,)))
            before = items[-1].id
        items.append(Item(f"trunk {number + 1}", shop.cable, (before,), 4.0))
        items.append(Item(f"switch {number + 1}", cascaded, (f"trunk {number + 1}",)))
        taken += [f"switch {number + 1}"] * min(most, wish.outlets - most * number)
        before = f"switch {number + 1}:trunk"
    return items + _drops(wish, shop, taken)


def _drops(wish: Wish, shop: _Shop, feeds: Sequence[str]) -> list[Item]:
    items = []
    for number, feed in enumerate(feeds, 1):
        items.append(Item(f"cable {number}", shop.cable, (feed,), wish.to_outlet_m))
        items.append(Item(f"outlet {number}", shop.cheapest("outlet"), (f"cable {number}",)))
    return items


def _single_cable(wish: Wish, shop: _Shop) -> list[Item]:
    tuners, places = wish.outlets * wish.tuners, len(wish.satellites)
    fitting = [part for part in shop.parts.values() if part.kind == "single_cable" and len(part.user_bands_mhz) >= tuners]
    units = [part for part in fitting if part.inputs >= 4 * places and POSITIONS.get(part.standard, 0) >= places]
    if not units:
        raise InputError(
            told("the parts list has no single-cable unit with {tuners} user bands for {places} satellites", tuners=tuners, places=places)
        )
    unit = min(units, key=lambda part: (_price(part), part.name))
    items, feeds = _heads(replace(wish, to_house_m=0.5, tv=False), shop)
    items.append(Item("single-cable unit", unit, tuple(feeds)))
    last = "single-cable unit"
    items.append(Item("old cable", shop.cable, (last,), wish.to_house_m))
    last = "old cable"
    if wish.tv:
        items += [
            Item("TV aerial", shop.named(shop.choice.tv_aerial), serves=TERRESTRIAL),
            Item("cable from TV aerial", shop.cable, ("TV aerial",), wish.to_house_m),
            Item("combiner", shop.cheapest("combiner", inputs=2), (last, "cable from TV aerial")),
        ]
        last = "combiner"
    if wish.outlets > 1:
        items.append(Item("splitter", shop.cheapest("splitter", outputs=wish.outlets, diode_isolated=True), (last,)))
        last = "splitter"
    for number in range(1, wish.outlets + 1):
        bands = tuple(range((number - 1) * wish.tuners + 1, number * wish.tuners + 1))
        items.append(Item(f"cable {number}", shop.cable, (last,), wish.to_outlet_m))
        items.append(Item(f"outlet {number}", shop.cheapest("outlet"), (f"cable {number}",), user_bands=bands))
    return items


def _tv_alone(wish: Wish, shop: _Shop) -> list[Item]:
    """The TV aerial on cables of its own; a splitter where there are several outlets."""
    items = [
        Item("TV aerial", shop.named(shop.choice.tv_aerial), serves=TERRESTRIAL),
        Item("cable from TV aerial", shop.cable, ("TV aerial",), wish.to_house_m),
    ]
    last = "cable from TV aerial"
    if wish.outlets > 1:
        items.append(Item("TV splitter", shop.cheapest("splitter", outputs=wish.outlets), (last,)))
        last = "TV splitter"
    for number in range(1, wish.outlets + 1):
        items.append(Item(f"TV cable {number}", shop.cable, (last,), wish.to_outlet_m))
        items.append(Item(f"TV outlet {number}", shop.cheapest("outlet"), (f"TV cable {number}",)))
    return items
