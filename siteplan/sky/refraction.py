"""How far the air lifts a ray: bending of a satellite's ray, and of the line to a hilltop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import MethodRangeError, told

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# The reference atmosphere of Rec. ITU-R P.834-7, section 4: n = 1 + a exp(-b x), x in km; Earth radius 6370 km there.
_REFRACTIVITY = 0.000315
_DECAY_PER_KM = 0.1361
_RADIUS_KM = 6370.0
_FITTED_TO_KM = 3.0  # heights the equations were fitted for, 0 to 3 km
_FITTED_TO_DEG = 10.0  # elevations the equations were fitted for, up to 10 degrees
_LOWEST_SITE_M, _HIGHEST_SITE_M = -1000.0, 100_000.0


def _checked_height_km(height_amsl_m: ArrayLike) -> NDArray[np.float64]:
    height = np.asarray(height_amsl_m, dtype=np.float64)
    if np.any((height < _LOWEST_SITE_M) | (height > _HIGHEST_SITE_M)):
        raise MethodRangeError(told("Refraction is worked for heights from -1000 to 100000 m above sea level; a height lies outside."))
    return height / 1000.0


def _refractive_index(height_km: ArrayLike) -> NDArray[np.float64]:
    return 1.0 + _REFRACTIVITY * np.exp(-_DECAY_PER_KM * np.asarray(height_km))


def _lowest_apparent_deg(height_km: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return theta_m of eq. (10): the apparent elevation at which a ray just grazes the sea."""
    ratio = _RADIUS_KM / (_RADIUS_KM + height_km) * _refractive_index(np.float64(0.0)) / _refractive_index(height_km)
    return -np.degrees(np.arccos(np.clip(ratio, -1.0, 1.0)))


def _bending_of_apparent_deg(apparent_deg: NDArray[np.float64], height_km: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return tau of eq. (9), from the apparent elevation."""
    theta, h = apparent_deg, height_km
    return 1.0 / (1.314 + 0.6437 * theta + 0.02869 * theta**2 + h * (0.2305 + 0.09428 * theta + 0.01096 * theta**2) + 0.008583 * h**2)


def _bending_of_geometric_deg(elevation_deg: NDArray[np.float64], height_km: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return tau_s of eq. (14), from the elevation in free space."""
    theta, h = elevation_deg, height_km
    return 1.0 / (
        1.728
        + 0.5411 * theta
        + 0.03723 * theta**2
        + h * (0.1815 + 0.06272 * theta + 0.01380 * theta**2)
        + h**2 * (0.01727 + 0.008288 * theta)
    )


def lowest_visible_deg(*, height_amsl_m: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return the lowest geometric elevation at which a space station still shows over an open sea horizon.

    height_amsl_m  (...)  of the antenna, -1000 to 100 000 m; below 0 counts as 0, above 3000 m the equations are stretched as the
    ratio of refractivities

    Returns (...) degrees, -0.76 at the sea, -2.81 at 3000 m. Raises MethodRangeError for a height outside.
    Source: Rec. ITU-R P.834-7, eqs (9) to (11), theta_m - tau(theta_m).
    """
    height_km = np.maximum(_checked_height_km(height_amsl_m), 0.0)
    fitted_km = np.minimum(height_km, _FITTED_TO_KM)
    bending = _bending_of_apparent_deg(_lowest_apparent_deg(fitted_km), fitted_km) * np.exp(-_DECAY_PER_KM * (height_km - fitted_km))
    return (_lowest_apparent_deg(height_km) - bending)[()]


def refraction_deg(*, elevation_deg: ArrayLike, height_amsl_m: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return by how much the air lifts the ray of a satellite: apparent less geometric elevation.

    elevation_deg  (...)  geometric, -90 to 90; NaN stays NaN
    height_amsl_m  (...)  of the antenna, -1000 to 100 000 m; broadcast

    Returns (...) degrees, above 0: 0.58 at the horizon at sea level, 0.19 at 5 deg, 0.05 at 20 deg. Two rays never change order.
    Eq. (14) was fitted for 0 to 3 km and from the lowest visible ray to 10 deg. Outside it is continued without a step, by our own
    choice: above 10 deg as its value at 10 deg times cot(elevation) / cot(10 deg) (the plane-layer law); above 3 km and below 0
    times the ratio of refractivities, exp(-0.1361 dh); below the lowest visible ray it keeps the value it has there.
    Raises MethodRangeError for a height outside.
    Source: Rec. ITU-R P.834-7 (2015), eq. (14). Within 0.013 deg of the ray integral of its eqs (4) to (8), held in
    tests/sky/test_refraction.py.
    """
    elevation, height_km = np.broadcast_arrays(np.asarray(elevation_deg, dtype=np.float64), _checked_height_km(height_amsl_m))
    fitted_km = np.clip(height_km, 0.0, _FITTED_TO_KM)
    lowest = lowest_visible_deg(height_amsl_m=fitted_km * 1000.0)
    bending = _bending_of_geometric_deg(np.clip(elevation, lowest, _FITTED_TO_DEG), fitted_km)
    steep = np.clip(elevation, _FITTED_TO_DEG, 90.0)
    bending = bending * np.tan(np.radians(_FITTED_TO_DEG)) / np.tan(np.radians(steep))
    return np.where(np.isnan(elevation), np.nan, bending * np.exp(-_DECAY_PER_KM * (height_km - fitted_km)))[()]


def horizon_lift_deg(*, distance_m: ArrayLike, height_amsl_m: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return by how much the air lifts a hilltop at a distance: apparent less geometric elevation of a point on the ground.

    distance_m     (...)  to the point, horizontally
    height_amsl_m  (...)  of the air the line runs through, metres, about the mean of its ends

    Returns (...) degrees: half the bend of an arc of curvature -dn/dh, 0.0012 deg for each kilometre at sea level. The ray to a
    satellite behind that hilltop is lifted by refraction_deg as a whole; only this part of the lift lies before the hilltop, so
    a ray clears by (elevation + refraction_deg) - (hilltop's elevation + horizon_lift_deg).
    Raises MethodRangeError for a height outside. Source: the reference atmosphere of Rec. ITU-R P.834-7, eq. (8), taken as an
    arc of constant curvature (common practice; the same as an effective Earth radius).
    """
    height_km = _checked_height_km(height_amsl_m)
    lapse_per_m = _REFRACTIVITY * _DECAY_PER_KM / 1000.0 * np.exp(-_DECAY_PER_KM * height_km)
    return np.degrees(0.5 * np.asarray(distance_m, dtype=np.float64) * lapse_per_m)[()]
