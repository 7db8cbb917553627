"""The way from each transmitter to one house, worked once for aims and interference: profile, losses, how strongly it beams there."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.pattern import pattern_loss_db
from siteplan.radio.terrestrial_link import INDOOR_HEIGHT_M, TerrestrialNeed
from siteplan.records.emitters import Multiplex, Transmitter
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss, Profile
from siteplan.records.verdict import Reason
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import Land, bearing_and_distance
from siteplan.services.terrestrial import limits
from siteplan.terrain.profile import profile_between
from siteplan.units import field_strength_dbuv_per_m, free_space_loss_db

_EFFECTIVE_RADIUS_M = 8_500_000.0


@dataclass(slots=True)
class Way:
    """One transmitter and one house. bearing_deg from the house; powers_dbw towards the house, one for each multiplex.

    profile None   not worked: out of reach of an aim; losses one for each multiplex, () where not worked
    within         in reach of an aim
    """

    transmitter: Transmitter
    bearing_deg: float
    distance_m: float
    within: bool
    profile: Profile | None = None
    tx_height_agl_m: float = math.nan
    rx_height_agl_m: float = math.nan
    losses: tuple[PathLoss, ...] = ()
    patterns_db: tuple[float, ...] = ()
    rare: dict[int, tuple[float, bool]] = field(default_factory=dict)  # multiplex -> (field at 1 % of time, bounded by free space alone)

    def power_dbw(self, number: int) -> float:
        """Return the power of a multiplex towards the house."""
        return self.transmitter.multiplexes[number].erp_dbw - self.patterns_db[number]


def plane_letter(multiplex: Multiplex) -> str:
    """Return the plane that a path is worked in: "v" for vertical, "h" for all others (the difference is hundredths of a decibel)."""
    return "v" if multiplex.polarisation == "v" else "h"


def ways_to(spot: Spot, transmitters: tuple[Transmitter, ...], land: Land, plan: Plan) -> tuple[list[Way], list[Reason]]:
    """Return the ways to a spot: those in reach of an aim worked, those that may only disturb not yet; and why others were left out."""
    ways, notes = [], []
    reach, far = 1000.0 * plan.transmitters.greatest_distance_km, 1000.0 * plan.transmitters.interference_km
    for transmitter in transmitters:
        bearing, away = bearing_and_distance(spot, transmitter.lat_deg, transmitter.lon_deg)
        if away > max(reach, far) or not transmitter.multiplexes:
            continue
        if away < limits.AT_THE_ADDRESS_M:
            notes.append(Reason("emitter_at_address", {"name": transmitter.name}))
            continue
        way = Way(transmitter, bearing, away, away <= reach)
        if way.within:
            note = _work(way, spot, land, plan)
            if note is not None:
                notes.append(note)
                way.within, way.losses = False, ()
        _beam(way, spot)
        ways.append(way)
    return ways, notes


def _ground(way: Way, spot: Spot, land: Land, plan: Plan) -> bool:
    """Put the ground between into a way; False where it is not known all the way."""
    sender = way.transmitter
    profile = profile_between(
        land.prepared, tx_lat_deg=sender.lat_deg, tx_lon_deg=sender.lon_deg, rx_lat_deg=spot.lat_deg, rx_lon_deg=spot.lon_deg
    )
    if not profile.complete:
        return False
    tx_height = sender.antenna_height_agl_m
    if math.isfinite(sender.ground_amsl_m):
        tx_height = max(1.0, sender.ground_amsl_m + tx_height - float(profile.ground_amsl_m[0]))
    rx_height = spot.centre_amsl_m - float(profile.ground_amsl_m[-1])
    if plan.transmitters.reception != "fixed":
        rx_height = INDOOR_HEIGHT_M
        near = profile.distance_m > profile.distance_m[-1] - limits.OWN_HOUSE_M  # its loss is the house's own, not the path's
        profile = replace(profile, clutter_m=np.where(near, 0.0, profile.clutter_m))
    way.profile, way.tx_height_agl_m, way.rx_height_agl_m = profile, round(tx_height, 2), round(rx_height, 2)
    return True


def _work(way: Way, spot: Spot, land: Land, plan: Plan) -> Reason | None:
    """Work the median losses of a way; return why it can't be."""
    if not _ground(way, spot, land, plan):
        return Reason("tv_unknown_path", {"transmitter": way.transmitter.name})
    try:
        way.losses = losses_over(
            way.profile,  # type: ignore[arg-type]
            way.transmitter.multiplexes,
            plan,
            tx_height_agl_m=way.tx_height_agl_m,
            rx_height_agl_m=way.rx_height_agl_m,
        )
    except MethodRangeError as wrong:
        return Reason("path_out_of_method", {"name": way.transmitter.name, "why": str(wrong)})
    except InputError:
        return Reason("tv_unknown_path", {"transmitter": way.transmitter.name})
    return None


def losses_over(
    profile: Profile, multiplexes: tuple[Multiplex, ...], plan: Plan, *, tx_height_agl_m: float, rx_height_agl_m: float
) -> tuple[PathLoss, ...]:
    """Return the median losses of multiplexes over one path, by the plan's method. Raises MethodRangeError, InputError."""
    return work_path(
        profile,
        tx_height_agl_m=tx_height_agl_m,
        rx_height_agl_m=rx_height_agl_m,
        frequencies_mhz=[m.frequency_mhz for m in multiplexes],
        polarisations=[plane_letter(m) for m in multiplexes],
        erps_kw=[10.0 ** (m.erp_dbw / 10.0 - 3.0) for m in multiplexes],
        time_pct=limits.TIME_PCT,
        location_pct=limits.LOCATION_PCT,
        delta_n=plan.limits.delta_n,
        n0=plan.limits.n0,
        method=plan.propagation.method_tv,
        unknown_clutter=plan.propagation.unknown_clutter,
    )


def _beam(way: Way, spot: Spot) -> None:
    """Put into a way how much weaker than at its greatest each multiplex is beamed towards the house."""
    down = 0.0
    if way.profile is not None:
        fall = float(way.profile.ground_amsl_m[0]) + way.tx_height_agl_m - spot.centre_amsl_m
        down = math.degrees(math.atan(fall / way.distance_m + way.distance_m / (2.0 * _EFFECTIVE_RADIUS_M)))
    towards = (way.bearing_deg + 180.0) % 360.0
    way.patterns_db = tuple(
        pattern_loss_db(m.pattern, bearing_deg=towards, depression_deg=down) for m in way.transmitter.multiplexes
    )


def fades_db(way: Way, plan: Plan) -> tuple[float, ...]:
    """Return how far each multiplex of a worked way falls under its median for 1 % of time, dB; NaN where the plan's method has no time.

    Taken as far as it rises over it for 1 % of time (ITU-R P.1812 holds from 1 to 50 % alone; that the two are alike is common practice).
    """
    multiplexes = way.transmitter.multiplexes
    if way.profile is None or not way.losses or plan.propagation.method_tv != "p1812":
        return tuple(math.nan for _ in multiplexes)
    rare = work_path(
        way.profile,
        tx_height_agl_m=way.tx_height_agl_m,
        rx_height_agl_m=way.rx_height_agl_m,
        frequencies_mhz=[m.frequency_mhz for m in multiplexes],
        polarisations=[plane_letter(m) for m in multiplexes],
        time_pct=limits.RARE_TIME_PCT,
        location_pct=limits.LOCATION_PCT,
        delta_n=plan.limits.delta_n,
        n0=plan.limits.n0,
        unknown_clutter=plan.propagation.unknown_clutter,
    )
    return tuple(max(0.0, median.loss_db - strong.loss_db) for median, strong in zip(way.losses, rare, strict=True))


def field_bound_dbuv_per_m(way: Way, number: int) -> float:
    """Return a field that a multiplex stays under for all but 1 % of time: free space, and what ducts and layers may add to it."""
    multiplex = way.transmitter.multiplexes[number]
    loss = float(free_space_loss_db(way.distance_m, multiplex.frequency_mhz))
    kw = 10.0 ** (way.power_dbw(number) / 10.0 - 3.0)
    return float(field_strength_dbuv_per_m(loss, multiplex.frequency_mhz, kw)) + limits.OVER_FREE_SPACE_DB


def left_open(way: Way, plan: Plan, need_of: Callable[[Multiplex, Plan], TerrestrialNeed]) -> bool:
    """Return whether a transmitter in reach whose path could not be worked might serve all the same: by field_bound_dbuv_per_m."""
    if way.within or way.distance_m > 1000.0 * plan.transmitters.greatest_distance_km:
        return False
    return any(
        field_bound_dbuv_per_m(way, number) >= need_of(multiplex, plan).minimum_field_dbuv_per_m
        for number, multiplex in enumerate(way.transmitter.multiplexes)
    )


def rare_field_dbuv_per_m(way: Way, number: int, spot: Spot, land: Land, plan: Plan) -> tuple[float, bool]:
    """Return (field strength at 1 % of time and half the locations, whether it is only bounded by free space).

    By ITU-R P.1812-8 over the ground on the way, whatever method the plan names for wanted paths; where that ground is not known, or the
    path lies outside the method, the bound of free space stands for it.
    """
    if number in way.rare:
        return way.rare[number]
    multiplex = way.transmitter.multiplexes[number]
    found = field_bound_dbuv_per_m(way, number), True
    if way.profile is not None or _ground(way, spot, land, plan):
        try:
            (loss,) = work_path(
                way.profile,  # type: ignore[arg-type]
                tx_height_agl_m=way.tx_height_agl_m,
                rx_height_agl_m=way.rx_height_agl_m,
                frequencies_mhz=[multiplex.frequency_mhz],
                polarisations=plane_letter(multiplex),
                erps_kw=10.0 ** (way.power_dbw(number) / 10.0 - 3.0),
                time_pct=limits.RARE_TIME_PCT,
                location_pct=limits.LOCATION_PCT,
                delta_n=plan.limits.delta_n,
                n0=plan.limits.n0,
            )
            found = loss.field_strength_dbuv_per_m, False
        except (MethodRangeError, InputError):
            pass
    way.rare[number] = found
    return found
