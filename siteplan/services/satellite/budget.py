"""The links of all carriers of one satellite, with all dishes of the kit, at places that lie together: arrays, worked once.

An address is one place; a block of an area map is a few. Both ask here, so both get the same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.constants import GEOSTATIONARY_RADIUS_M
from siteplan.errors import InputError
from siteplan.radio.atmosphere import LEAST_TIME_PCT, MOST_TIME_PCT, g_over_t_loss_db
from siteplan.radio.rain import rain_xpd_db
from siteplan.radio.satellite_link import (
    SatelliteLink,
    cross_polar_db,
    off_axis_gain_dbi,
    overlap_db,
    pointing_loss_db,
    polarisation_loss_db,
    satellite_cn,
    satellite_thresholds_db,
    with_interference_db,
)
from siteplan.records.emitters import Satellite, Transponder, means
from siteplan.records.plan import Plan
from siteplan.records.results import LookAngles
from siteplan.services.satellite import limits
from siteplan.services.satellite.footprint import eirp_at
from siteplan.services.shared.fading import Fades, fades_at
from siteplan.sky.look_angles import look_angles_array, separation_deg
from siteplan.units import free_space_loss_db

if TYPE_CHECKING:
    from numpy.typing import NDArray

# An EIRP to work with where none is known: it cancels out of needs_eirp_dbw and no margin is printed from it.
ANY_EIRP_DBW = 50.0
# Percentages of the year at which a link is worked for its availability: neighbours differ by an eighth, the margin between by 0.01 dB.
TIMES_PCT = np.geomspace(LEAST_TIME_PCT, MOST_TIME_PCT, 72)


class Where(NamedTuple):
    """Places that lie together, (places,)."""

    lat_deg: NDArray
    lon_deg: NDArray
    ground_amsl_m: NDArray


def place(lat_deg: float, lon_deg: float, ground_amsl_m: float) -> Where:
    """Return one place."""
    return Where(np.array([lat_deg]), np.array([lon_deg]), np.array([ground_amsl_m]))


@dataclass(frozen=True, eq=False)
class Budgets:
    """Arrays (places, dishes, carriers), or what broadcasts to it; a last axis of times where weather counts.

    eirp_dbw is NaN where unknown; link, ci and cni are worked with ANY_EIRP_DBW there, margins are NaN.
    eirp_from (places, carriers) counts in footprint.FROM; trusted (carriers,): the EIRP is stated or measured, not assumed
    wanted (carriers,)  counts for dish and verdict: those the plan names, else all that are trusted
    ci_adjacent_db by each disturbing neighbour's name; ci_cross_db of the satellite's own other polarisation; inf where none
    silent              neighbours with overlapping carriers whose EIRP nobody knows
    """

    carriers: tuple[Transponder, ...]
    dishes_m: NDArray
    wanted: NDArray
    trusted: NDArray
    eirp_dbw: NDArray
    eirp_from: NDArray
    link: SatelliteLink
    ci_adjacent_db: dict[str, NDArray]
    ci_cross_db: NDArray
    cni_db: NDArray
    ideal_db: NDArray
    implementation_db: NDArray
    fades: Fades
    times_pct: NDArray
    weather: Weathered
    silent: tuple[str, ...]

    @cached_property
    def threshold_db(self) -> NDArray:
        """Return (carriers,) what a real receiver needs."""
        return self.ideal_db + self.implementation_db

    @cached_property
    def margin_db(self) -> NDArray:
        """Return (places, dishes, carriers) the clear-sky margin."""
        return np.where(np.isnan(self.eirp_dbw)[:, np.newaxis, :], np.nan, self.cni_db - self.threshold_db)

    @cached_property
    def weather_margin_db(self) -> NDArray:
        """Return (places, dishes, carriers, times) the margin left in the weather of each time."""
        return np.where(
            np.isnan(self.eirp_dbw)[:, np.newaxis, :, np.newaxis], np.nan, self.weather.cni_db - self.threshold_db[:, np.newaxis]
        )


@dataclass(frozen=True, eq=False)
class Weathered:
    """What weather leaves, (places, dishes, carriers, times): beyond-clear attenuation, G/T lost, XPD of rain, C/(N+I)."""

    beyond_db: NDArray
    g_over_t_loss_db: NDArray
    rain_xpd_db: NDArray
    cni_db: NDArray


def budgets(satellite: Satellite, where: Where, plan: Plan, *, loss_db: float = 0.0, times_pct: NDArray | None = None) -> Budgets | None:
    """Return the links of a satellite's carriers at places; None where it has none whose mode is known.

    loss_db    what stands in the ray costs; what is not a number above 0 counts as 0
    times_pct  of the average year; absent: TIMES_PCT with the plan's wanted availability as the last
    """
    known = [(carrier, need) for carrier in satellite.transponders if (need := _need(carrier, plan)) is not None]
    if not known:
        return None
    carriers = tuple(carrier for carrier, _ in known)
    kit, dishes = plan.kit, np.array(sorted(plan.kit.dishes_m))
    times = np.append(TIMES_PCT, 100.0 - plan.limits.availability_pct) if times_pct is None else times_pct
    mhz = np.array([carrier.frequency_mhz for carrier in carriers])
    here = {"lat_deg": where.lat_deg, "lon_deg": where.lon_deg, "height_ell_m": where.ground_amsl_m}
    seen = look_angles_array(**here, orbit_deg=satellite.stands_at_deg)
    eirp, eirp_from, trusted = eirp_at(satellite, carriers, where.lat_deg, where.lon_deg)
    tilts = np.column_stack([_tilt_deg(carrier.polarisation, seen.skew_deg + satellite.polarisation_offset_deg) for carrier in carriers])
    fades = fades_at(
        lat_deg=where.lat_deg, lon_deg=where.lon_deg, height_amsl_m=where.ground_amsl_m, elevation_deg=seen.elevation_deg,
        tilt_deg=tilts, frequency_mhz=mhz, time_pct=times, dish_m=dishes, efficiency=kit.dish_efficiency,
    )  # fmt: skip
    clear_gas = fades.clear_gas_db[..., 0]
    linear = np.array([carrier.polarisation in "HV" for carrier in carriers])
    link = satellite_cn(
        eirp_dbw=np.where(np.isnan(eirp), ANY_EIRP_DBW, eirp)[:, np.newaxis, :],
        range_km=seen.range_km[:, np.newaxis, np.newaxis],
        frequency_mhz=mhz,
        dish_m=dishes[:, np.newaxis],
        efficiency=kit.dish_efficiency,
        lnb_noise_figure_db=kit.lnb_noise_figure_db,
        antenna_noise_k=kit.antenna_noise_k,
        symbol_rate_kbaud=np.array([carrier.symbol_rate_kbaud for carrier in carriers]),
        gas_db=np.where(np.isnan(clear_gas), 0.0, clear_gas),
        pointing_db=pointing_loss_db(
            dish_m=dishes[:, np.newaxis], frequency_mhz=mhz, aim_error_deg=plan.mount.aim_error_deg,
            box_deg=_half_box_deg(satellite, seen, plan),
        ),  # fmt: skip
        polarisation_db=np.where(linear, polarisation_loss_db(plan.mount.skew_error_deg), 0.0),
        obstruction_db=loss_db if math.isfinite(loss_db) and loss_db > 0.0 else 0.0,
    )
    adjacent, silent = _adjacent(satellite, carriers, link, where, plan)
    cross = _own_cross(carriers, eirp)
    skew_error = np.where(linear, plan.mount.skew_error_deg, 0.0)
    ci_cross = cross[:, np.newaxis, :] + cross_polar_db(equipment_db=kit.cross_polar_db, skew_error_deg=skew_error)
    ideal, implementation = np.array([need for _, need in known]).T
    wanted = wanted_carriers(satellite, carriers, trusted, plan)
    xpd = _rain_xpd(fades, cross, elevation_deg=seen.elevation_deg, frequency_mhz=mhz, time_pct=times, tilt_deg=tilts)
    beyond, colder = _beyond_clear(fades, link)
    leaks = cross_polar_db(equipment_db=kit.cross_polar_db, skew_error_deg=skew_error[:, np.newaxis], rain_db=xpd)
    in_weather = with_interference_db(
        np.asarray(link.cn_db)[..., np.newaxis] - np.maximum(beyond + colder, 0.0), cross[:, np.newaxis, :, np.newaxis] + leaks,
        *(ci[..., np.newaxis] for ci in adjacent.values()),
    )  # fmt: skip
    weather = Weathered(beyond, colder, xpd, in_weather)
    return Budgets(
        carriers=carriers, dishes_m=dishes, wanted=wanted, trusted=trusted, eirp_dbw=eirp, eirp_from=eirp_from, link=link,
        ci_adjacent_db=adjacent, ci_cross_db=ci_cross, cni_db=with_interference_db(link.cn_db, ci_cross, *adjacent.values()),
        ideal_db=ideal, implementation_db=implementation, fades=fades, times_pct=times, weather=weather, silent=silent,
    )  # fmt: skip


def _need(carrier: Transponder, plan: Plan) -> tuple[float, float] | None:
    try:
        return satellite_thresholds_db(
            system=carrier.system, modulation=carrier.modulation, code_rate=carrier.code_rate,
            implementation_loss_db=plan.kit.implementation_loss_db,
        )  # fmt: skip
    except InputError:
        return None


def wanted_carriers(satellite: Satellite, carriers: tuple[Transponder, ...], trusted: NDArray, plan: Plan) -> NDArray:
    """Return (carriers,) which count for dish and verdict: those of this satellite that the plan names, else all that are trusted."""
    named = np.array([any(means(entry, satellite, carrier) for entry in plan.satellites.wanted_transponders) for carrier in carriers])
    return named if named.any() else trusted


def smallest_by(found: Budgets, plan: Plan, clear_db: NDArray, weather_db: NDArray) -> NDArray:
    """Return (n,) the smallest dish that holds what is wanted by margins (n, dishes, carriers); NaN where none does."""
    holds = (clear_db >= plan.limits.clear_sky_margin_db) & (weather_db >= 0.0) & found.trusted
    every = holds[..., found.wanted].all(axis=-1)
    return np.where(every.any(axis=-1), found.dishes_m[np.argmax(every, axis=-1)], np.nan)


# ---- polarisations -----------------------------------------------------------------------------------------------------------


def _half_box_deg(satellite: Satellite, seen: LookAngles, plan: Plan) -> float:
    """Return half the side of the square the satellite keeps to: the plan's, or of its orbit as wide as it looks from here."""
    if satellite.day is None:
        return plan.satellites.station_keeping_deg
    return satellite.day.half_box_deg * GEOSTATIONARY_RADIUS_M / (1000.0 * float(np.mean(seen.range_km)))


def _tilt_deg(polarisation: str, turned_deg: NDArray) -> NDArray:
    """Return (places,) the tilt against the horizontal, 0 to 90; turned_deg of the satellite's vertical against the local one."""
    if polarisation in "LR":
        return np.full(np.shape(turned_deg), 45.0)
    from_vertical = np.degrees(np.arccos(np.minimum(np.abs(np.cos(np.radians(turned_deg))), 1.0)))
    return 90.0 - from_vertical if polarisation == "V" else from_vertical


def _turned_deg(
    one: tuple[Sequence[Transponder], NDArray], other: tuple[Sequence[Transponder], NDArray], n: NDArray, i: NDArray
) -> NDArray:
    """Return (places, pairs) the angle that shares another carrier's power out: 0 all of it is co-polar, 90 none, 45 half.

    n, i  of each pair, the wanted carrier and the other; with each list, how far its satellite's vertical is turned here
    """
    (wanted, turned), (others, others_turned) = one, other
    letter, other_letter = np.array([x.polarisation for x in wanted])[n], np.array([x.polarisation for x in others])[i]
    across = np.where(letter == other_letter, 0.0, 90.0)
    round_one, round_other = np.isin(letter, ("L", "R")), np.isin(other_letter, ("L", "R"))
    linear = (others_turned - turned)[:, np.newaxis] + across
    return np.where(round_one & round_other, across, np.where(round_one | round_other, 45.0, linear))


# ---- what else is heard ------------------------------------------------------------------------------------------------------


def _adjacent(
    satellite: Satellite, carriers: tuple[Transponder, ...], link: SatelliteLink, where: Where, plan: Plan
) -> tuple[dict[str, NDArray], tuple[str, ...]]:
    """Return C/I (places, dishes, carriers) by neighbour that disturbs, and the names of those of whose EIRP nothing is known."""
    if not satellite.neighbours:
        return {}, ()
    terms = {term.name: term.value for term in link.terms}
    level = sum(
        terms[name] for name in ("eirp_dbw", "free_space_loss_db", "pointing_db", "polarisation_db", "obstruction_loss_db", "dish_gain_dbi")
    )
    here = {"lat_deg": where.lat_deg, "lon_deg": where.lon_deg, "height_ell_m": where.ground_amsl_m}
    own = look_angles_array(**here, orbit_deg=satellite.stands_at_deg)
    mhz, rates = _column(carriers, "frequency_mhz"), _column(carriers, "symbol_rate_kbaud")
    dishes = np.array(sorted(plan.kit.dishes_m))
    found: dict[str, NDArray] = {}
    silent: list[str] = []
    for other in satellite.neighbours:
        if abs((other.orbit_deg - satellite.orbit_deg + 180.0) % 360.0 - 180.0) > limits.NEIGHBOUR_DEG or not other.transponders:
            continue
        share = overlap_db(
            apart_mhz=_column(other.transponders, "frequency_mhz") - mhz[:, np.newaxis], wanted_kbaud=rates[:, np.newaxis],
            other_kbaud=_column(other.transponders, "symbol_rate_kbaud"),
        )  # fmt: skip
        pairs = np.argwhere(np.isfinite(share))
        if not pairs.size:
            continue
        eirp, _, _ = eirp_at(other, other.transponders, where.lat_deg, where.lon_deg)
        seen = look_angles_array(**here, orbit_deg=other.stands_at_deg)
        apart = separation_deg(own, seen)
        unknown = np.isnan(eirp).all(axis=0)[pairs[:, 1]]
        if unknown.any():
            silent.append(other.name)
        power = np.zeros(np.shape(level))
        pairs = pairs[~unknown]
        if pairs.size:
            n, i = pairs.T
            turned = _turned_deg(
                (carriers, own.skew_deg + satellite.polarisation_offset_deg),
                (other.transponders, seen.skew_deg + other.polarisation_offset_deg), n, i,
            )  # fmt: skip
            gain = off_axis_gain_dbi(
                off_axis_deg=apart[:, np.newaxis, np.newaxis], dish_m=dishes[:, np.newaxis], frequency_mhz=mhz[n],
                max_gain_dbi=link.gain_dbi[..., n], turned_deg=turned[:, np.newaxis], pattern=plan.kit.off_axis,
            )  # fmt: skip
            theirs_mhz = _column(other.transponders, "frequency_mhz")[i]
            arrives = eirp[:, i] + share[n, i] - free_space_loss_db(1e3 * seen.range_km[:, np.newaxis], theirs_mhz)
            up = seen.elevation_deg[:, np.newaxis] > 0.0
            heard = np.where(up, 10.0 ** (np.nan_to_num(arrives, nan=-np.inf) / 10.0), 0.0)
            first = np.flatnonzero(np.diff(n, prepend=-1))  # pairs come carrier by carrier
            power[..., n[first]] = np.add.reduceat(heard[:, np.newaxis] * 10.0 ** (gain / 10.0), first, axis=-1)
        with np.errstate(divide="ignore"):
            if power.any():
                before = 10.0 ** (-found[other.name] / 10.0) if other.name in found else 0.0
                found[other.name] = -10.0 * np.log10(power / 10.0 ** (level / 10.0) + before)
    return found, tuple(dict.fromkeys(silent))


def _own_cross(carriers: tuple[Transponder, ...], eirp_dbw: NDArray) -> NDArray:
    """Return (places, carriers) by how much a carrier is stronger than what the satellite sends across it; inf where nothing is."""
    mhz, rates = _column(carriers, "frequency_mhz"), _column(carriers, "symbol_rate_kbaud")
    share = overlap_db(apart_mhz=mhz - mhz[:, np.newaxis], wanted_kbaud=rates[:, np.newaxis], other_kbaud=rates)
    across = {("H", "V"), ("V", "H"), ("L", "R"), ("R", "L")}
    crossed = np.array([[(one.polarisation, other.polarisation) in across for other in carriers] for one in carriers])
    sent = np.where(np.isnan(eirp_dbw), -np.inf, eirp_dbw)[:, np.newaxis, :] + np.where(crossed, share, -np.inf)
    own = np.where(np.isnan(eirp_dbw), ANY_EIRP_DBW, eirp_dbw)
    with np.errstate(divide="ignore"):
        return own - 10.0 * np.log10(np.sum(10.0 ** (sent / 10.0), axis=-1))


def _column(carriers: tuple[Transponder, ...], name: str) -> NDArray:
    return np.array([getattr(carrier, name) for carrier in carriers], dtype=np.float64)


# ---- weather -----------------------------------------------------------------------------------------------------------------


def _beyond_clear(fades: Fades, link: SatelliteLink) -> tuple[NDArray, NDArray]:
    """Return attenuation beyond the clear sky's, and the fall of G/T, (places, dishes, carriers, times)."""
    colder = g_over_t_loss_db(
        attenuation_db=fades.fade.absorption_db, system_noise_k=link.system_noise_k, clear_sky_db=fades.clear_gas_db
    )
    return fades.fade.total_db - fades.clear_gas_db, colder


def _rain_xpd(fades: Fades, cross_db: NDArray, **asked: NDArray) -> NDArray:
    """Return what rain leaves of the cross-polar discrimination, (places, 1, carriers, times); inf where nothing is sent across."""
    if not np.isfinite(cross_db).any():
        return np.full((1, 1, 1, 1), np.inf)
    found = rain_xpd_db(
        rain_db=fades.fade.rain_db[:, :1], frequency_mhz=asked["frequency_mhz"][:, np.newaxis],
        elevation_deg=asked["elevation_deg"][:, np.newaxis, np.newaxis, np.newaxis], time_pct=asked["time_pct"],
        tilt_deg=asked["tilt_deg"][:, np.newaxis, :, np.newaxis],
    )  # fmt: skip
    return np.where(np.isnan(found), np.inf, found)
