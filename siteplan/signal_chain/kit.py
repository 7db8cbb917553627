"""The van's list: parts of a chain with quantities, and the spares of a day's round."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from siteplan.records.parts import Chain, KitLine, Part
from siteplan.signal_chain.network import conductors

# Spares of a day's round: common practice, no source.
CABLE_SPARE, CONNECTOR_SPARE = 0.10, 0.50


def kit_of(chain: Chain, *, connector: str = "Connector F") -> tuple[KitLine, ...]:
    """Return what one chain needs: cable in metres (bundles cable by cable), two connectors to each cable, amplifiers once a conductor."""
    amounts: dict[tuple[str, str], float] = defaultdict(float)
    for item in chain.items:
        count = conductors(chain, item) if item.part.kind in ("cable", "amplifier", "attenuator", "filter", "equaliser") else 1
        if item.part.kind == "amplifier" and item.part.inputs > 1:
            count = 1
        if item.part.kind == "cable":
            amounts[item.part.name, "m"] += item.length_m * count
            amounts[connector if item.part.impedance_ohm == 75.0 else "Connector 50 ohm", ""] += 2.0 * count
        else:
            amounts[item.part.name, ""] += count
    return tuple(KitLine(part, quantity, unit) for (part, unit), quantity in sorted(amounts.items()))


def dish_name(dish_m: float) -> str:
    """Return what a dish is called on a list."""
    return f"Dish {dish_m:g} m"


def round_kit(addresses: Iterable[Sequence[KitLine]], parts: Mapping[str, Part], dishes_m: Sequence[float] = ()) -> tuple[KitLine, ...]:
    """Return a day's list with spares: 10 % cable, half the connectors, one LNB of each kind, a filter, attenuators, the next dish.

    dishes_m  of the van's kit: the next larger than the largest of the round comes along
    Quantities are rounded up to whole metres and pieces. Common practice, no source.
    """
    sums: dict[tuple[str, str], float] = defaultdict(float)
    for lines in addresses:
        for line in lines:
            sums[line.part, line.unit] += line.quantity
    made: dict[tuple[str, str], KitLine] = {}
    for (name, unit), quantity in sums.items():
        kind = parts[name].kind if name in parts else ""
        spare = 0.0
        if unit == "m":
            spare = math.ceil(CABLE_SPARE * quantity)
        elif kind == "connector":
            spare = math.ceil(CONNECTOR_SPARE * quantity)
        elif kind in ("lnb", "attenuator", "filter"):
            spare = 1.0
        made[name, unit] = KitLine(name, math.ceil(quantity), unit, spare)
    for name, part in parts.items():
        if part.kind in ("attenuator", "filter") and (name, "") not in made and sums:
            made[name, ""] = KitLine(name, 0.0, "", 1.0)
    used = [place for place, dish_m in enumerate(sorted(dishes_m)) if (dish_name(dish_m), "") in made]
    if used and used[-1] + 1 < len(dishes_m):
        larger = dish_name(sorted(dishes_m)[used[-1] + 1])
        made[larger, ""] = KitLine(larger, 0.0, "", 1.0)
    return tuple(made[key] for key in sorted(made))
