"""The round Earth of radio methods: effective radius, bulge, and plain distances along it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import EARTH_RADIUS_M
from siteplan.errors import MethodRangeError, told

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_K_REFERENCE = 157.0  # N-units/km, one Earth radius of ray curvature; Rec. ITU-R P.1812-8, section 3 (effective Earth radius)
BETA0_K_FACTOR = 3.0  # effective radius factor exceeded for beta0 of the time; Rec. ITU-R P.1812-8, section 3


def k_factor(delta_n: float) -> float:
    """Return the median effective Earth radius factor k50 = 157 / (157 - delta_n).

    delta_n  average lapse of the radio refractive index over the lowest kilometre, N-units/km, positive

    Raises MethodRangeError unless 0 <= delta_n < 157. Source: Rec. ITU-R P.1812-8, section 3 (effective Earth radius).
    """
    if not 0.0 <= delta_n < _K_REFERENCE:
        raise MethodRangeError(
            told("The refractive lapse delta_n is {delta_n}; this method takes 0 to below 157 N-units/km (45 is typical).", delta_n=delta_n)
        )
    return _K_REFERENCE / (_K_REFERENCE - delta_n)


def effective_radius_m(delta_n: float) -> float:
    """Return the median effective Earth radius in metres, 6371 km times k_factor(delta_n).

    Raises MethodRangeError unless 0 <= delta_n < 157. Source: Rec. ITU-R P.1812-8, section 3 (effective Earth radius).
    """
    return EARTH_RADIUS_M * k_factor(delta_n)


def bulge_m(from_start_m: ArrayLike, path_m: ArrayLike, radius_m: float = EARTH_RADIUS_M) -> NDArray[np.float64]:
    """Return how far the Earth rises above the straight chord of a path.

    from_start_m  (...)  distance along the path, 0 to path_m
    path_m        (...)  length of the whole path
    radius_m      true or effective Earth radius

    Returns (...) metres, x (d - x) / (2 R). Source: Rec. ITU-R P.526-15, section 4 (parabolic Earth); checked by hand in
    tests/geodesy/test_earth.py.
    """
    along, path = np.asarray(from_start_m, dtype=np.float64), np.asarray(path_m, dtype=np.float64)
    return (along * (path - along) / (2.0 * radius_m))[()]


def drop_m(distance_m: ArrayLike, radius_m: float = EARTH_RADIUS_M) -> NDArray[np.float64]:
    """Return how far the Earth's surface falls below the level plane of an eye at a distance: d^2 / (2 R), metres.

    distance_m  (...)  horizontal. The parabola is within 1 cm of the circle to 45 km. Source: common practice.
    """
    distance = np.asarray(distance_m, dtype=np.float64)
    return (distance * distance / (2.0 * radius_m))[()]


def elevation_deg(
    *, eye_amsl_m: ArrayLike, target_amsl_m: ArrayLike, distance_m: ArrayLike, radius_m: float = EARTH_RADIUS_M
) -> NDArray[np.float64]:
    """Return the geometric elevation of a point seen from an eye over a spherical Earth, degrees.

    eye_amsl_m, target_amsl_m, distance_m  (...)  heights, and horizontal distance along the Earth at sea level

    Exact on the sphere: tan e = (cos c - (R + h1) / (R + h2)) / sin c with c = d / R. NaN at distance 0. Source: plane
    trigonometry of the triangle eye, target, Earth's centre; checked in tests/geodesy/test_earth.py.
    """
    eye, target = np.asarray(eye_amsl_m, dtype=np.float64), np.asarray(target_amsl_m, dtype=np.float64)
    angle = np.asarray(distance_m, dtype=np.float64) / radius_m
    # cos c - (R+h1)/(R+h2), written so that no figures cancel
    up = (target - eye) / (radius_m + target) - 2.0 * np.sin(angle / 2.0) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(angle > 0.0, np.degrees(np.arctan2(up, np.sin(angle))), np.nan)[()]


def earth_distance_m(*, lat1_deg: ArrayLike, lon1_deg: ArrayLike, lat2_deg: ArrayLike, lon2_deg: ArrayLike) -> NDArray[np.float64]:
    """Return great-circle distances on the mean sphere (6371 km), metres: for choosing what is near, up to 0.6 % off the ellipsoid.

    Source: haversine formula, common practice. For lengths that are printed use geodesy.projection.geod_inverse.
    """
    lat1, lon1, lat2, lon2 = (np.radians(np.asarray(value, dtype=np.float64)) for value in (lat1_deg, lon1_deg, lat2_deg, lon2_deg))
    half = np.sin((lat2 - lat1) / 2.0) ** 2 + np.cos(lat1) * np.cos(lat2) * np.sin((lon2 - lon1) / 2.0) ** 2
    return (2.0 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0))))[()]


def bearing_difference_deg(first_deg: ArrayLike, second_deg: ArrayLike) -> NDArray[np.float64]:
    """Return first minus second as the short way round, (-180, 180]."""
    turn = np.mod(np.asarray(first_deg, dtype=np.float64) - np.asarray(second_deg, dtype=np.float64), 360.0)
    return np.where(turn > 180.0, turn - 360.0, turn)[()]
