"""What a path profile says before any frequency is named: horizons, Bullington edges, smooth Earth, zones."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteplan.constants import EARTH_RADIUS_M
from siteplan.errors import InputError, MethodRangeError, told
from siteplan.geodesy.earth import BETA0_K_FACTOR, effective_radius_m
from siteplan.radio import kernels
from siteplan.records.results import Profile

DEFAULT_COAST_M = 500_000.0  # P.1812-8, 3.4: a terminal far from the sea


@dataclass(frozen=True, slots=True, eq=False)
class PathGeometry:
    """One path, searched once; every propagation method takes it.

    values          (kernels.GEOMETRY_SIZE,) the array of radio.kernels.geometry, indexed by that module's names
    beta0_pct       share of the year in which the lowest 100 m bend strongly (P.1812-8, 3.6)
    rx_zone         zone code of the receiver's end
    rx_clutter_m    height of the clutter at the receiver's end, before it is left out
    tx_over_mean_ground_m  sender's antenna over the mean ground 3 to 15 km towards the receiver (0.2 d to d on shorter paths)
    """

    values: np.ndarray
    path_m: float
    tx_height_agl_m: float
    rx_height_agl_m: float
    lat_mid_deg: float
    beta0_pct: float
    n0: float
    tx_coast_m: float
    rx_coast_m: float
    rx_zone: int
    rx_clutter_m: float
    tx_over_mean_ground_m: float = math.nan


def beta0_pct(lat_mid_deg: float, longest_land_km: float, longest_inland_km: float) -> float:
    """Return the share of an average year, %, in which the refractive lapse exceeds 100 N-units/km near the ground.

    lat_mid_deg  latitude of the path's middle; longest_land_km, longest_inland_km  longest unbroken stretch of land, of inland

    Source: Rec. ITU-R P.1812-8, 3.6, eqs (2) to (5). Checked in tests/authorities/test_p1812.py.
    """
    lat = abs(lat_mid_deg)
    tau = 1.0 - math.exp(-4.12e-4 * longest_inland_km**2.41)
    mu1 = min(1.0, (10.0 ** (-longest_land_km / (16.0 - 6.6 * tau)) + 10.0 ** (-5.0 * (0.496 + 0.354 * tau))) ** 0.2)
    if lat <= 70.0:
        return 10.0 ** (-0.015 * lat + 1.67) * mu1 * mu1 ** (-0.935 + 0.0176 * lat)
    return 4.17 * mu1 * mu1**0.3


def prepare(
    profile: Profile,
    *,
    tx_height_agl_m: float,
    rx_height_agl_m: float,
    delta_n: float = 45.0,
    n0: float = 325.0,
    lat_mid_deg: float | None = None,
    tx_coast_m: float | None = None,
    rx_coast_m: float | None = None,
) -> PathGeometry:
    """Search a profile once, for every frequency, time percentage and polarisation.

    profile                          ground, clutter (left out at both ends) and zones, sender first; at least 3 points
    tx_height_agl_m, rx_height_agl_m antenna centres above the ground of the first and last point
    delta_n, n0                      lapse of the radio refractive index, N-units/km; sea-level surface refractivity, N-units
    lat_mid_deg                      of the path's middle; None takes the profile's
    tx_coast_m, rx_coast_m           distance over land to the sea along the path; None takes it from the profile's zones
                                     (500 km where it has no sea)

    Raises InputError for a profile that can't be used, MethodRangeError for a refractive lapse or latitude no method holds for.
    Source: Rec. ITU-R P.1812-8, 3.4 to 3.8 and attachment 1. Checked in tests/authorities/test_p1812.py.
    """
    distance, ground, clutter, zone = _checked(profile)
    for name, height in (("sender", tx_height_agl_m), ("receiver", rx_height_agl_m)):
        if not (math.isfinite(height) and height > 0.0):
            raise InputError(
                told("the antenna height of the {name} is {height} m above ground; give a height above 0", name=name, height=height)
            )
    lat = profile.lat_mid_deg if lat_mid_deg is None else lat_mid_deg
    if not (math.isfinite(lat) and -90.0 <= lat <= 90.0):
        raise MethodRangeError(told("the latitude of the path's middle is {lat}; give degrees from -90 to 90", lat=lat))
    if not (math.isfinite(n0) and 0.0 < n0 <= 1000.0):
        raise MethodRangeError(told("the surface refractivity n0 is {n0}; give N-units above 0 (200 to 450; 325 is typical)", n0=n0))

    with_clutter = ground + clutter
    with_clutter[0], with_clutter[-1] = ground[0], ground[-1]
    values = kernels.geometry(
        distance * 1e-3,
        ground,
        with_clutter,
        zone,
        ground[0] + tx_height_agl_m,
        ground[-1] + rx_height_agl_m,
        effective_radius_m(delta_n) * 1e-3,
        EARTH_RADIUS_M * BETA0_K_FACTOR * 1e-3,
    )
    coasts = coasts_m(profile)
    return PathGeometry(
        values=values,
        path_m=float(distance[-1]),
        tx_height_agl_m=float(tx_height_agl_m),
        rx_height_agl_m=float(rx_height_agl_m),
        lat_mid_deg=float(lat),
        beta0_pct=beta0_pct(lat, float(values[kernels.DTM_KM]), float(values[kernels.DLM_KM])),
        n0=float(n0),
        tx_coast_m=coasts[0] if tx_coast_m is None else _not_negative(tx_coast_m),
        rx_coast_m=coasts[1] if rx_coast_m is None else _not_negative(rx_coast_m),
        rx_zone=int(zone[-1]),
        rx_clutter_m=float(clutter[-1]),
        tx_over_mean_ground_m=float(ground[0]) + float(tx_height_agl_m) - kernels.mean_ground(distance, ground),
    )


def _checked(profile: Profile) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    distance = np.array(profile.distance_m, dtype=np.float64)
    ground = np.array(profile.ground_amsl_m, dtype=np.float64)
    clutter = np.array(profile.clutter_m, dtype=np.float64)
    zone = np.array(profile.zone, dtype=np.uint8)
    if distance.ndim != 1 or not distance.shape == ground.shape == clutter.shape == zone.shape:
        raise InputError(told("the columns of a path profile differ in length; give one distance, ground, clutter and zone per point"))
    if distance.size < 3:
        raise InputError(told("a path profile needs at least 3 points, this one has {size}", size=distance.size))
    for name, values in (("distance", distance), ("ground height", ground), ("clutter height", clutter)):
        unknown = np.flatnonzero(~np.isfinite(values))
        if unknown.size:
            where = "" if name == "distance" else told(", first at {distance:.3f} km", distance=distance[unknown[0]] / 1000.0)
            raise InputError(
                told(
                    "{size} of {size_2} points of the path profile have no {name}{where}; complete the terrain",
                    size=unknown.size,
                    size_2=values.size,
                    name=name,
                    where=where,
                )
            )
    if distance[0] != 0.0 or np.any(np.diff(distance) <= 0.0):
        raise InputError(told("the distances of a path profile must begin at 0 and rise from point to point"))
    if not np.isin(zone, (kernels.ZONE_SEA, kernels.ZONE_COASTAL, kernels.ZONE_INLAND)).all():
        raise InputError(told("a zone of the path profile is none of 1 (sea), 3 (coastal land) and 4 (inland)"))
    if np.any(clutter < 0.0):
        raise InputError(told("a clutter height of the path profile is below 0; clutter stands on the ground"))
    return distance, ground, clutter, zone


def coasts_m(profile: Profile) -> tuple[float, float]:
    """Return the distances from sender and receiver over land to the sea along the path, from its zones; 500 km where there is no sea.

    Source: Rec. ITU-R P.1812-8, 3.4; a border lies half way between two points.
    """
    distance = np.asarray(profile.distance_m, dtype=np.float64)
    zone = np.asarray(profile.zone)
    return _coast_m(distance, zone), _coast_m(distance[-1] - distance[::-1], zone[::-1])


def _coast_m(distance: np.ndarray, zone: np.ndarray) -> float:
    sea = np.flatnonzero(zone == kernels.ZONE_SEA)
    if not sea.size:
        return DEFAULT_COAST_M
    first = int(sea[0])
    return 0.0 if first == 0 else float(0.5 * (distance[first - 1] + distance[first]))


def _not_negative(coast_m: float) -> float:
    if not (math.isfinite(coast_m) and coast_m >= 0.0):
        raise InputError(told("a distance to the coast is {coast_m} m; give 0 or more (500 km where the sea is far)", coast_m=coast_m))
    return float(coast_m)
