"""What arrives at one address from every sector in range: one path over the ground for each site, shared by its sectors.

Sectors of one site and antenna height share the profile, and sectors on one frequency share its loss as well: both are exactly the same
for them, so nothing is lost by it. Every frequency is worked by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.mobile_signal import pattern_db
from siteplan.records.emitters import Sector
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss, Profile
from siteplan.records.verdict import Reason
from siteplan.services.mobile import limits
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import Land, bearing_and_distance
from siteplan.terrain.profile import profile_between


@dataclass(frozen=True, slots=True)
class Heard:
    """One sector in range of an address.

    outdoors, indoors   losses to the antenna, and to the outside of the wall before a device indoors (None where no method answers)
    pattern_db, pattern_indoors_db   the sector's gain towards each under its axis
    wall_elevation_deg  of the path at that wall, above the horizontal
    """

    sector: Sector
    distance_m: float
    bearing_deg: float
    profile: Profile
    tx_height_agl_m: float
    rx_height_agl_m: float
    outdoors: PathLoss
    indoors: PathLoss | None
    pattern_db: float
    pattern_indoors_db: float
    wall_elevation_deg: float

    @property
    def outdoors_dbm(self) -> float:
        """Return the reference power at an isotropic antenna at the spot."""
        return self.sector.re_eirp_dbm + self.pattern_db - self.outdoors.loss_db

    @property
    def indoors_dbm(self) -> float:
        """Return the reference power at an isotropic antenna outside the wall; NaN where no method answers."""
        return self.sector.re_eirp_dbm + self.pattern_indoors_db - self.indoors.loss_db if self.indoors else math.nan


def hear(spot: Spot, land: Land, sectors: tuple[Sector, ...], plan: Plan) -> tuple[list[Heard], dict[str, Reason]]:
    """Return every sector in range with its losses, in the order given, and site -> why it was left out."""
    notes: dict[str, Reason] = {}
    places: dict[tuple[float, float], tuple[float, float]] = {}
    for sector in sectors:
        at = (sector.lat_deg, sector.lon_deg)
        if at not in places:
            places[at] = bearing_and_distance(spot, *at)
    profiles: dict[tuple[float, float], Profile | None] = {}
    losses: dict[tuple, dict[float, PathLoss | MethodRangeError | None]] = {}
    near = _near(sectors, places, 1000.0 * plan.mobile.greatest_distance_km)
    frequencies: dict[tuple, list[float]] = {}
    for sector in near:
        found = frequencies.setdefault(_mast(sector), [])
        if sector.frequency_mhz not in found:
            found.append(sector.frequency_mhz)
    heard = []
    for sector in near:
        at = (sector.lat_deg, sector.lon_deg)
        bearing, away = places[at]
        if away < limits.AT_THE_ADDRESS_M:
            notes.setdefault(sector.site, Reason("emitter_at_address", {"name": sector.site}))
            continue
        if at not in profiles:
            profile = profile_between(land.prepared, tx_lat_deg=at[0], tx_lon_deg=at[1], rx_lat_deg=spot.lat_deg, rx_lon_deg=spot.lon_deg)
            profiles[at] = profile if profile.complete else None
        profile = profiles[at]
        if profile is None:
            notes.setdefault(sector.site, Reason("mobile_unknown_path", {"site": sector.site}))
            continue
        mast = _mast(sector)
        if mast not in losses:
            losses[mast] = _losses(profile, sector, spot, frequencies[mast], plan)
        one = _heard(sector, spot, profile, losses[mast], bearing, away, plan)
        if isinstance(one, Reason):
            notes.setdefault(sector.site, one)
        else:
            heard.append(one)
    return heard, notes


def tx_height_agl_m(sector: Sector, profile: Profile) -> float:
    """Return the sector's antenna above the profile's first ground, to a centimetre."""
    height = sector.antenna_height_agl_m
    if math.isfinite(sector.ground_amsl_m):
        height = max(1.0, sector.ground_amsl_m + height - float(profile.ground_amsl_m[0]))
    return round(height, 2)


def indoor_height_agl_m(spot: Spot, plan: Plan) -> float:
    """Return where a device indoors stands above the ground: the plan's height, under the roof where one is known."""
    wanted = plan.mount.indoor_height_agl_m
    roof = spot.roof_amsl_m - spot.ground_amsl_m
    if spot.kind == "roof" and math.isfinite(roof):
        wanted = min(wanted, max(limits.ABOVE_FLOOR_M, roof - limits.UNDER_ROOF_M))
    return wanted


def before_the_wall(profile: Profile) -> Profile:
    """Return a profile without what stands within OWN_HOUSE_M of its end: the house itself is counted by its entry loss."""
    end = float(profile.distance_m[-1])
    own = profile.distance_m > end - limits.OWN_HOUSE_M
    clutter = profile.clutter_m.copy()
    clutter[own] = 0.0
    return replace(profile, clutter_m=clutter)


def _mast(sector: Sector) -> tuple:
    return sector.lat_deg, sector.lon_deg, sector.antenna_height_agl_m, repr(sector.ground_amsl_m)


def _near(sectors: tuple[Sector, ...], places: dict, reach_m: float) -> list[Sector]:
    """Return the sectors in range; of an open cell list the nearest sites of each operator and technology alone."""
    near = [sector for sector in sectors if places[sector.lat_deg, sector.lon_deg][1] <= reach_m]
    listed: dict[tuple[str, str], list[Sector]] = {}
    for sector in near:
        if sector.origin == "cell list":
            listed.setdefault((sector.operator, sector.technology), []).append(sector)
    if not listed:
        return near
    kept = {
        id(sector)
        for group in listed.values()
        for sector in sorted(group, key=lambda one: (places[one.lat_deg, one.lon_deg][1], one.site))[: limits.LIST_SITES]
    }
    return [sector for sector in near if sector.origin != "cell list" or id(sector) in kept]


def _losses(profile: Profile, sector: Sector, spot: Spot, frequencies: list[float], plan: Plan) -> dict[float, tuple]:
    """Return frequency -> (loss to the antenna, loss to the wall); a MethodRangeError or None in place of what no method answers."""
    tx = tx_height_agl_m(sector, profile)
    outdoors = _worked(profile, tx, rx_height_agl_m(spot, profile), frequencies, plan)
    ground_at_spot = float(profile.ground_amsl_m[-1])
    inside = round(max(1.0, spot.ground_amsl_m + indoor_height_agl_m(spot, plan) - ground_at_spot), 2)
    indoors = _worked(before_the_wall(profile), tx, inside, frequencies, plan)
    return {frequency: (out, wall) for frequency, out, wall in zip(frequencies, outdoors, indoors, strict=True)}


def rx_height_agl_m(spot: Spot, profile: Profile) -> float:
    """Return the antenna at the spot above the profile's last ground, to a centimetre."""
    return round(spot.centre_amsl_m - float(profile.ground_amsl_m[-1]), 2)


def _worked(profile: Profile, tx_m: float, rx_m: float, frequencies: list[float], plan: Plan) -> list[PathLoss | MethodRangeError | None]:
    def work(some: list[float]) -> tuple[PathLoss, ...]:
        return work_path(
            profile,
            tx_height_agl_m=tx_m,
            rx_height_agl_m=rx_m,
            frequencies_mhz=some,
            polarisations="v",
            time_pct=limits.TIME_PCT,
            location_pct=limits.LOCATION_PCT,
            delta_n=plan.limits.delta_n,
            n0=plan.limits.n0,
            method=plan.propagation.method_mobile,
            unknown_clutter=plan.propagation.unknown_clutter,
        )

    try:
        return list(work(frequencies))
    except MethodRangeError as wrong:
        if len(frequencies) == 1:
            return [wrong]
        return [_worked(profile, tx_m, rx_m, [frequency], plan)[0] for frequency in frequencies]
    except InputError:
        return [None] * len(frequencies)


def _heard(
    sector: Sector, spot: Spot, profile: Profile, losses: dict[float, tuple], bearing: float, away: float, plan: Plan
) -> Heard | Reason:
    outdoors, indoors = losses[sector.frequency_mhz]
    if isinstance(outdoors, MethodRangeError):
        return Reason("path_out_of_method", {"name": sector.site, "why": str(outdoors)})
    if outdoors is None:
        return Reason("mobile_unknown_path", {"site": sector.site})
    tx = tx_height_agl_m(sector, profile)
    sender_amsl_m = float(profile.ground_amsl_m[0]) + tx
    up = math.degrees(math.atan2(spot.centre_amsl_m - sender_amsl_m, away))
    inside_amsl_m = spot.ground_amsl_m + indoor_height_agl_m(spot, plan)
    up_inside = math.degrees(math.atan2(inside_amsl_m - sender_amsl_m, away))
    gains = [pattern_db(sector, bearing_deg=bearing + 180.0, elevation_deg=angle) for angle in (up, up_inside)]
    return Heard(
        sector, away, bearing, profile, tx, rx_height_agl_m(spot, profile), outdoors,
        indoors if isinstance(indoors, PathLoss) else None, *gains, -up_inside,
    )  # fmt: skip
