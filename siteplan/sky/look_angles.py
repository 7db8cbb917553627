"""Where a geostationary satellite stands: azimuth, elevation, distance and polarisation skew, on the WGS84 ellipsoid."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import GEOSTATIONARY_RADIUS_M, WGS84_FLATTENING, WGS84_SEMI_MAJOR_M
from siteplan.errors import InputError, told
from siteplan.records.results import LookAngles

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Nearer to straight up than this (radians; 0.2 m at the satellite) a bearing means nothing and is given as 0.
_STRAIGHT_UP = 5e-9
# The last figure of a double is worth some 1e-14 deg of skew; what is nearer to -90 than this is the same line as +90.
_SAME_LINE_DEG = 1e-9


def look_angles(*, lat_deg: float, lon_deg: float, height_ell_m: float, orbit_deg: float) -> LookAngles:
    """Return the look angles from one place to one orbital longitude; declination left unknown.

    lat_deg, lon_deg  WGS84, east positive
    height_ell_m      above the ellipsoid
    orbit_deg         east longitude of the satellite, west negative

    Returns LookAngles with true azimuth [0, 360), geometric elevation (negative: below the horizon), range and skew (-90, 90];
    refraction, declination and magnetic azimuth NaN. Raises InputError for a latitude beyond the poles or a number that is none.
    Source: vector geometry, orbit radius 42 164 km; checked in tests/authorities/test_look_angles.py.
    """
    numbers = (lat_deg, lon_deg, height_ell_m, orbit_deg)
    if not all(math.isfinite(number) for number in numbers) or abs(lat_deg) > 90:
        raise InputError(
            told(
                "No look angles from latitude {lat_deg}, longitude {lon_deg}, height {height_ell_m} m to orbit {orbit_deg}. Allowed: "
                "latitude -90 to 90, and a finite number for each.",
                lat_deg=lat_deg,
                lon_deg=lon_deg,
                height_ell_m=height_ell_m,
                orbit_deg=orbit_deg,
            )
        )
    found = look_angles_array(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_ell_m, orbit_deg=orbit_deg)
    return LookAngles(
        azimuth_deg=float(found.azimuth_deg),
        elevation_deg=float(found.elevation_deg),
        range_km=float(found.range_km),
        skew_deg=float(found.skew_deg),
        refraction_deg=float("nan"),
    )


def look_angles_array(*, lat_deg: ArrayLike, lon_deg: ArrayLike, height_ell_m: ArrayLike, orbit_deg: ArrayLike) -> LookAngles:
    """Return the same for arrays that broadcast together: each field of the record is an array (...), NaN where an input is.

    Skew: the satellite's Earth-axis vertical polarisation, seen along the line of sight at its finite distance, turned against
    the local vertical; clockwise positive for an observer facing the satellite. Straight overhead the azimuth is given as 0.
    Source and check as look_angles.
    """
    lat, lon, height, orbit = (np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, height_ell_m, orbit_deg))
    east, north, up = _to_satellite(np.radians(lat), np.radians(lon), height, np.radians(orbit))
    level = np.hypot(east, north)
    range_m = np.hypot(level, up)
    overhead = (level < _STRAIGHT_UP * range_m) & (up > 0.0)
    azimuth_rad = np.where(overhead, 0.0, np.arctan2(east, north))
    elevation_rad = np.arctan2(up, level)
    azimuth = np.mod(np.degrees(azimuth_rad), 360.0)
    azimuth = np.where(azimuth >= 360.0, 0.0, azimuth)
    return LookAngles(
        azimuth_deg=azimuth[()],
        elevation_deg=np.degrees(elevation_rad)[()],
        range_km=(range_m / 1000.0)[()],
        skew_deg=_skew_deg(np.radians(lat), azimuth_rad, elevation_rad)[()],
        refraction_deg=np.full(range_m.shape, np.nan)[()],
    )


def separation_deg(one: LookAngles, other: LookAngles) -> NDArray:
    """Return the angle between two directions as the place sees them (topocentric), (...) degrees. Source: haversine formula."""
    up, other_up, turn = (
        np.radians(value) for value in (one.elevation_deg, other.elevation_deg, np.subtract(other.azimuth_deg, one.azimuth_deg))
    )
    half = np.sin((other_up - up) / 2.0) ** 2 + np.cos(up) * np.cos(other_up) * np.sin(turn / 2.0) ** 2
    return np.degrees(2.0 * np.arcsin(np.sqrt(np.minimum(half, 1.0))))[()]


def _to_satellite(lat: NDArray, lon: NDArray, height: NDArray, orbit: NDArray) -> tuple[NDArray, NDArray, NDArray]:
    """Return east, north and up components (m) of the line from the place to the satellite; angles in radians."""
    squared_eccentricity = WGS84_FLATTENING * (2.0 - WGS84_FLATTENING)
    curvature = WGS84_SEMI_MAJOR_M / np.sqrt(1.0 - squared_eccentricity * np.sin(lat) ** 2)
    from_axis = (curvature + height) * np.cos(lat)
    above_equator = (curvature * (1.0 - squared_eccentricity) + height) * np.sin(lat)
    # seen in the frame turned to the place's own meridian, so that nothing is lost near the date line
    turn = orbit - lon
    ahead = GEOSTATIONARY_RADIUS_M * np.cos(turn) - from_axis
    east = GEOSTATIONARY_RADIUS_M * np.sin(turn)
    north = -ahead * np.sin(lat) - above_equator * np.cos(lat)
    up = ahead * np.cos(lat) - above_equator * np.sin(lat)
    return np.broadcast_arrays(east, north, up)


def _skew_deg(lat: NDArray, azimuth: NDArray, elevation: NDArray) -> NDArray:
    """Return the Earth axis against the local vertical, both seen along the line of sight, clockwise, in (-90, 90]; radians in."""
    along_right = -np.sin(azimuth) * np.cos(lat)
    along_top = np.cos(elevation) * np.sin(lat) - np.sin(elevation) * np.cos(azimuth) * np.cos(lat)
    skew = np.degrees(np.arctan2(along_right, along_top))
    # a linear polarisation is the same after half a turn
    skew = np.where(skew > 90.0, skew - 180.0, np.where(skew <= -90.0, skew + 180.0, skew))
    return np.where(skew < -90.0 + _SAME_LINE_DEG, 90.0, skew)
