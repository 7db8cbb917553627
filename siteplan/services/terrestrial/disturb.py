"""Who disturbs a wanted multiplex at one house: other transmitters on its own or the next channel, and its own network's late senders."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.radio.protection import APART, SAME, protection_ratio
from siteplan.radio.single_frequency import arrival_us, best_window
from siteplan.radio.terrestrial_link import TerrestrialNeed
from siteplan.radio.tv_aerial import turned_away_db
from siteplan.records.emitters import Multiplex
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.tv import Disturbance
from siteplan.services.shared.site import Land
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.ways import Way, field_bound_dbuv_per_m, rare_field_dbuv_per_m

OWN_NETWORK = "own network"


@dataclass(frozen=True, slots=True)
class House:
    """Where it is asked from: the spot, its land, the plan."""

    spot: Spot
    land: Land
    plan: Plan

    @property
    def directional(self) -> bool:
        """Return whether the aerial turns anything away (a set in a room has none)."""
        return self.plan.transmitters.reception == "fixed"


@dataclass(frozen=True, slots=True)
class Aerial:
    """How the aerial stands: towards which bearing, in which plane."""

    bearing_deg: float
    plane: str


def plane_of(multiplexes: tuple[Multiplex, ...]) -> str:
    """Return the plane of an aerial for these multiplexes: the one that most are sent in; horizontal where both do as well."""
    upright = sum(m.polarisation == "v" for m in multiplexes)
    level = sum(m.polarisation == "h" for m in multiplexes)
    return "v" if upright > level else "h"


def away_db(house: House, aerial: Aerial, *, bearing_deg: float, multiplex: Multiplex) -> float:
    """Return what the aerial turns away of a multiplex from a bearing, dB."""
    if not house.directional:
        return 0.0
    return turned_away_db(
        off_axis_deg=bearing_deg - aerial.bearing_deg,
        frequency_mhz=multiplex.frequency_mhz,
        plane=aerial.plane,
        polarisation=multiplex.polarisation,
        directivity=house.plan.kit.aerial_directivity,
    )


def disturbances(
    wanted: Way, number: int, ways: list[Way], aerial: Aerial, need: TerrestrialNeed, house: House
) -> tuple[tuple[Disturbance, ...], float]:
    """Return (who disturbs one multiplex, strongest first; field of the own network's useful senders together, dBuV/m).

    Fields are worked only where free space alone could make them matter. In a single-frequency network senders inside the guard interval
    help and those outside disturb (radio.single_frequency); the field returned is that of the wanted sender alone where there is none.
    """
    multiplex = wanted.transmitter.multiplexes[number]
    own = [(wanted, number)]
    found: list[Disturbance] = []
    for way in ways:
        for other, unwanted in enumerate(way.transmitter.multiplexes):
            if way is wanted and other == number:
                continue
            if multiplex.network and unwanted.network == multiplex.network and unwanted.frequency_mhz == multiplex.frequency_mhz:
                own.append((way, other))
                continue
            if way is wanted:
                continue  # from the same mast: planned together, and equally strong everywhere
            one = _disturbance(multiplex, way, other, aerial, need, house)
            if one is not None:
                found.append(one)
    total, late = _network(own, aerial, need, house)
    found += late
    return tuple(sorted(found, key=lambda one: (-one.nuisance_dbuv_per_m, one.transmitter, one.multiplex))), total


def _disturbance(
    multiplex: Multiplex, way: Way, other: int, aerial: Aerial, need: TerrestrialNeed, house: House
) -> Disturbance | None:
    unwanted = way.transmitter.multiplexes[other]
    ratio = protection_ratio(
        system=multiplex.mode.split(" ")[0], needed_cn_db=need.cn_db, wanted_mhz=multiplex.frequency_mhz,
        wanted_width_mhz=multiplex.bandwidth_mhz, unwanted_mhz=unwanted.frequency_mhz, unwanted_width_mhz=unwanted.bandwidth_mhz,
    )  # fmt: skip
    if ratio.relation == APART:
        return None
    least = need.minimum_field_dbuv_per_m - limits.NEGLIGIBLE_DB
    turned = away_db(house, aerial, bearing_deg=way.bearing_deg, multiplex=unwanted)
    asks = ratio.ratio_db - turned + need.indoor_db
    if field_bound_dbuv_per_m(way, other) + asks < least:
        return None
    field, bounded = rare_field_dbuv_per_m(way, other, house.spot, house.land, house.plan)
    if field + asks < least:
        return None
    return Disturbance(
        way.transmitter.name, unwanted.name, ratio.relation, unwanted.frequency_mhz, way.bearing_deg, way.distance_m, field, turned,
        ratio.ratio_db, field + asks, 0.0, bounded,
    )  # fmt: skip


def _network(
    own: list[tuple[Way, int]], aerial: Aerial, need: TerrestrialNeed, house: House
) -> tuple[float, list[Disturbance]]:
    """Return (useful field of a network at the aerial, what of it disturbs)."""
    wanted, number = own[0]
    multiplex = wanted.transmitter.multiplexes[number]
    first = wanted.losses[number].field_strength_dbuv_per_m - wanted.patterns_db[number]
    first -= away_db(house, aerial, bearing_deg=wanted.bearing_deg, multiplex=multiplex)
    if len(own) == 1:
        return first, []
    arrivals, medians, rares, turns = [], [], [], []
    for way, place in own:
        sent = way.transmitter.multiplexes[place]
        turned = away_db(house, aerial, bearing_deg=way.bearing_deg, multiplex=sent)
        rare, _ = rare_field_dbuv_per_m(way, place, house.spot, house.land, house.plan)
        median = way.losses[place].field_strength_dbuv_per_m - way.patterns_db[place] if way.losses else -math.inf
        arrivals.append(arrival_us(distance_m=way.distance_m, delay_us=sent.delay_us))
        medians.append(median - turned)
        rares.append(rare - turned)
        turns.append(turned)
    shares = best_window(
        arrivals, medians, rares, noise_dbuv=need.noise_field_dbuv_per_m, guard_us=multiplex.guard_us, useful_us=multiplex.useful_us
    )
    total = 10.0 * math.log10(max(sum(s * 10.0 ** (m / 10.0) for s, m in zip(shares, medians, strict=True)), 1e-30))
    late = []
    for (way, place), share, rare, turned in zip(own, shares, rares, turns, strict=True):
        if share >= 1.0:
            continue
        weight = 10.0 * math.log10(1.0 - share)
        nuisance = rare + weight + need.cn_db + need.indoor_db
        if nuisance < need.minimum_field_dbuv_per_m - limits.NEGLIGIBLE_DB:
            continue
        sent = way.transmitter.multiplexes[place]
        late.append(
            Disturbance(
                way.transmitter.name, sent.name, OWN_NETWORK, sent.frequency_mhz, way.bearing_deg, way.distance_m, rare + turned, turned,
                need.cn_db, nuisance, weight, way.rare[place][1],
            )
        )  # fmt: skip
    return total, late


__all__ = ["OWN_NETWORK", "SAME", "Aerial", "House", "away_db", "disturbances", "plane_of"]
