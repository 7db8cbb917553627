"""Where the sun stands, when it crosses a bearing, and when it stands behind a satellite."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.constants import WGS84_FLATTENING, WGS84_SEMI_MAJOR_M
from siteplan.errors import InputError, told
from siteplan.sky.directions import separation_deg

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

ASTRONOMICAL_UNIT_M = 149_597_870_700.0
SUN_RADIUS_DEG = 0.267  # mean apparent radius, 959.6 arc seconds (Meeus, Astronomical Algorithms, ch. 55, memory)
# Terrestrial less universal time: 69.2 s in 2025 (IERS bulletins, memory). A second more or less moves the sun by 0.00001 degrees.
DELTA_T_S = 69.2
_J2000 = np.datetime64("2000-01-01T12:00:00")
_DAY_S = 86_400.0
# The sun runs round the sky in a day, so a bearing is looked for in steps this long, and a nearest approach in shorter ones.
_STEP_S, _NEAR_S, _WINDOW_S = 600.0, 20.0, 2_400.0
_SEASON_DEG = 4.0  # the sun's declination this near the satellite's: the daily approach is looked at


class Approach(NamedTuple):
    """The sun's nearest approach to a direction on each day (days,): when (UTC), and how near, degrees."""

    utc: np.ndarray
    separation_deg: np.ndarray


def sun_direction(*, lat_deg: ArrayLike, lon_deg: ArrayLike, height_ell_m: ArrayLike = 0.0, utc: ArrayLike) -> tuple[NDArray, NDArray]:
    """Return (azimuth_deg, elevation_deg) of the sun's middle: true bearing [0, 360), geometric elevation (no refraction), arrays (...).

    lat_deg, lon_deg  WGS84; height_ell_m above the ellipsoid
    utc               datetime64, any shape that broadcasts with the place

    Good to 0.003 degrees in 2024 to 2034, the parallax of the place counted. Raises InputError for a place off the Earth.
    Source: J. Meeus, Astronomical Algorithms (2nd ed.), ch. 25, low accuracy, with the mean longitude and the planets' and the moon's
    terms of his Astronomical Formulae for Calculators, ch. 18, and ch. 12 for sidereal time (all memory); held against
    NREL/TP-560-34302 and astropy in tests/authorities/test_sun.py.
    """
    lat, lon, height = (np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, height_ell_m))
    if not (np.isfinite(lon).all() and (np.abs(lat) <= 90.0).all()):
        raise InputError(
            told(
                "No sun at latitude {lat_deg}, longitude {lon_deg}. Allowed: latitude -90 to 90, and a number for each.",
                lat_deg=lat_deg,
                lon_deg=lon_deg,
            )
        )
    days = (np.asarray(utc, dtype="datetime64[ms]") - _J2000.astype("datetime64[ms]")).astype(np.float64) / (1000.0 * _DAY_S)
    right_ascension, declination, far_au, sidereal = _apparent(days)
    turn = np.radians(right_ascension - sidereal) - np.radians(lon)
    lat = np.radians(lat)
    e2 = WGS84_FLATTENING * (2.0 - WGS84_FLATTENING)
    curvature = WGS84_SEMI_MAJOR_M / np.sqrt(1.0 - e2 * np.sin(lat) ** 2)
    away = far_au * ASTRONOMICAL_UNIT_M
    ahead = away * np.cos(declination) * np.cos(turn) - (curvature + height) * np.cos(lat)
    east = away * np.cos(declination) * np.sin(turn)
    above = away * np.sin(declination) - (curvature * (1.0 - e2) + height) * np.sin(lat)
    north = above * np.cos(lat) - ahead * np.sin(lat)
    up = ahead * np.cos(lat) + above * np.sin(lat)
    azimuth = np.mod(np.degrees(np.arctan2(east, north)), 360.0)
    return np.where(azimuth >= 360.0, 0.0, azimuth), np.degrees(np.arctan2(up, np.hypot(east, north)))


def _apparent(days: NDArray[np.float64]) -> tuple[NDArray, NDArray, NDArray, NDArray]:
    """Return right ascension (deg), declination (rad), distance (au) and apparent sidereal time at Greenwich (deg)."""
    t = (days + DELTA_T_S / _DAY_S) / 36_525.0
    mean = 279.69668 + 36_000.76892 * (t + 1.0) + 0.0003025 * (t + 1.0) ** 2
    anomaly = np.radians(357.52911 + 35_999.05029 * t - 0.0001537 * t * t)
    eccentricity = 0.016708634 - 0.000042037 * t
    centre = (
        (1.914602 - 0.004817 * t) * np.sin(anomaly) + (0.019993 - 0.000101 * t) * np.sin(2.0 * anomaly) + 0.000289 * np.sin(3.0 * anomaly)
    )
    far_au = 1.000001018 * (1.0 - eccentricity**2) / (1.0 + eccentricity * np.cos(anomaly + np.radians(centre)))
    long = mean + centre + _pulls(t + 1.0)
    node = np.radians(125.04452 - 1934.136261 * t)
    twice = np.radians(2.0 * mean)
    nutation = -0.004778 * np.sin(node) - 0.000367 * np.sin(twice)
    long = np.radians(long - 0.005692 / far_au + nutation)
    tilt = np.radians(23.4392911 - 0.0130042 * t + 0.002557 * np.cos(node) + 0.000158 * np.cos(twice))
    right_ascension = np.degrees(np.arctan2(np.cos(tilt) * np.sin(long), np.cos(long)))
    declination = np.arcsin(np.sin(tilt) * np.sin(long))
    sidereal = 280.46061837 + 360.98564736629 * days + 0.000387933 * (days / 36_525.0) ** 2 + nutation * np.cos(tilt)
    return right_ascension, declination, far_au, sidereal


def _pulls(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what Venus, Jupiter, the moon and a slow term add to the sun's longitude, degrees; t in centuries from 1900."""
    venus, venus_twice = np.radians(153.23 + 22_518.7541 * t), np.radians(216.57 + 45_037.5082 * t)
    jupiter, moon = np.radians(312.69 + 32_964.3577 * t), np.radians(350.74 + 445_267.1142 * t)
    slow = np.radians(231.19 + 20.20 * t)
    planets = 0.00134 * np.cos(venus) + 0.00154 * np.cos(venus_twice) + 0.00200 * np.cos(jupiter)
    return planets + 0.00179 * np.sin(moon) + 0.00178 * np.sin(slow)


def crossings(*, lat_deg: float, lon_deg: float, height_ell_m: float, first: np.datetime64, days: int, azimuth_deg: float) -> NDArray:
    """Return the moments (datetime64[s], UTC) at which the sun crosses a true bearing above the level horizon, in time order.

    first  the day (UTC) to begin with; days how many. Source: sun_direction; exact to a second.
    """
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg, "height_ell_m": height_ell_m}
    start = np.datetime64(first, "D").astype("datetime64[s]")
    at = np.arange(0.0, days * _DAY_S + _STEP_S, _STEP_S)
    azimuth, elevation = sun_direction(utc=start + at.astype("timedelta64[s]"), **place)
    off = (azimuth - azimuth_deg + 180.0) % 360.0 - 180.0
    # near +-180 the sign changes as well: that is the opposite bearing
    hit = np.flatnonzero((off[:-1] * off[1:] <= 0.0) & (np.abs(off[:-1] - off[1:]) < 180.0) & (elevation[:-1] > -3.0))
    if not hit.size:
        return np.empty(0, dtype="datetime64[s]")
    low, high, sign = at[hit], at[hit + 1], np.sign(off[hit + 1] - off[hit])
    for _ in range(11):
        middle = 0.5 * (low + high)
        here, _ = sun_direction(utc=start + np.rint(middle * 1000.0).astype("timedelta64[ms]"), **place)
        before = ((here - azimuth_deg + 180.0) % 360.0 - 180.0) * sign < 0.0
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    found = start + np.rint(0.5 * (low + high)).astype("timedelta64[s]")
    _, up = sun_direction(utc=found, **place)
    return np.unique(found[(up > 0.0) & (found < start + np.timedelta64(days, "D"))])


def approaches(
    *, lat_deg: float, lon_deg: float, height_ell_m: float, first: np.datetime64, days: int, azimuth_deg: float, elevation_deg: float
) -> Approach:
    """Return the sun's nearest approach to one direction on each day (UTC) on which it comes within about 5 degrees of it.

    azimuth_deg, elevation_deg  geometric, of the satellite from this place. Exact to some 5 s. Source: sun_direction.
    """
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg, "height_ell_m": height_ell_m}
    start = np.datetime64(first, "D").astype("datetime64[s]")
    hour, declination = _hour_and_declination(lat_deg, azimuth_deg, elevation_deg)
    noon = start + (np.arange(days) * _DAY_S).astype("timedelta64[s]")
    right_ascension, sun_declination, _, sidereal = _apparent((noon - _J2000).astype(np.float64) / _DAY_S)
    # from midnight of the day until the sun has the satellite's hour angle
    wait = np.mod(hour - (sidereal + lon_deg - right_ascension), 360.0) / 360.98564736629 * _DAY_S * (366.2422 / 365.2422)
    season = np.abs(np.degrees(sun_declination) - declination) < _SEASON_DEG
    if not season.any():
        return Approach(np.empty(0, dtype="datetime64[s]"), np.empty(0))
    middle = noon[season] + np.rint(wait[season]).astype("timedelta64[s]")
    offset = np.arange(-_WINDOW_S, _WINDOW_S + 1.0, _NEAR_S)
    azimuth, elevation = sun_direction(utc=middle[:, None] + offset.astype("timedelta64[s]"), **place)
    apart = separation_deg(azimuth, elevation, azimuth_deg, elevation_deg)
    best = np.clip(np.argmin(apart, axis=1), 1, offset.size - 2)
    rows = np.arange(best.size)
    a, b, c = (apart[rows, best + k] ** 2 for k in (-1, 0, 1))  # the square is a parabola: the sun passes in a straight line
    bend = a - 2.0 * b + c
    shift = np.where(bend > 0.0, 0.5 * (a - c) / np.where(bend > 0.0, bend, 1.0), 0.0)
    least = np.sqrt(np.maximum(b - 0.125 * (a - c) ** 2 / np.where(bend > 0.0, bend, np.inf), 0.0))
    return Approach(middle + np.rint(offset[best] + shift * _NEAR_S).astype("timedelta64[s]"), least)


def _hour_and_declination(lat_deg: float, azimuth_deg: float, elevation_deg: float) -> tuple[float, float]:
    """Return hour angle (west positive) and declination of a direction, degrees."""
    lat, a, e = np.radians([lat_deg, azimuth_deg, elevation_deg])
    east, north, up = np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)
    ahead = up * np.cos(lat) - north * np.sin(lat)
    return float(np.degrees(np.arctan2(-east, ahead))), float(np.degrees(np.arcsin(up * np.sin(lat) + north * np.cos(lat))))
