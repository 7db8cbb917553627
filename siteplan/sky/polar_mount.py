"""A dish on a motor: the axis it turns about, how far it is bent down to the arc, and how far it turns to each satellite."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.constants import GEOSTATIONARY_RADIUS_M
from siteplan.sky.directions import arrows
from siteplan.sky.look_angles import look_angles_array

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

MEAN_RADIUS_M = 6_371_000.0  # of the sphere that the textbook tilt is worked on
_TRAVEL_DEG = 60.0  # along the orbit to either side: as far as motors turn (common practice, no source)
_LOWEST_DEG = 3.0
_TILTS_DEG = np.linspace(-0.5, 1.5, 401)


class PolarMount(NamedTuple):
    """How the mount is set, and where each satellite (n,) is found.

    axis_elevation_deg  of the axis above the horizon, towards the nearer pole
    declination_deg     how far the dish is bent from square to the axis, towards the equator
    motor_deg           turn from the meridian, positive towards the east
    miss_deg            how far the satellite stands off the circle that the dish then draws
    """

    axis_elevation_deg: float
    declination_deg: float
    motor_deg: np.ndarray
    miss_deg: np.ndarray


def polar_tilt_deg(*, lat_deg: ArrayLike, radius_m: float = MEAN_RADIUS_M) -> NDArray[np.float64]:
    """Return the tilt of a polar mount from the equator's plane down to the satellite on the meridian, degrees, 0 or more.

    atan(R sin(lat) / (a - R cos(lat))): at latitude 49 on a sphere of 6371 km, 7.21 degrees.
    Source: plane triangle of Earth's middle, place and satellite; the example is chapter 3 of a handbook of satellite communications
    (tests/authorities/test_polar_mount.py).
    """
    lat = np.radians(np.abs(np.asarray(lat_deg, dtype=np.float64)))
    return np.degrees(np.arctan2(radius_m * np.sin(lat), GEOSTATIONARY_RADIUS_M - radius_m * np.cos(lat)))[()]


def polar_mount(*, lat_deg: float, lon_deg: float, height_ell_m: float = 0.0, orbit_deg: ArrayLike) -> PolarMount:
    """Return how to set a motorised mount here, and the turn to each orbital longitude (n,).

    An axis exactly parallel to the Earth's draws a circle that leaves the arc by some tenths of a degree towards its ends, because the
    arc is nearer on the meridian than there. So the axis is bent on a little, and the dish by as much less: the tilt that keeps the
    greatest miss over the travel of the motor least is looked for. Within 1 degree of the equator the axis lies level all the same.
    Source: vector geometry from look_angles; the bending on is common practice, no source.
    """
    orbit = np.atleast_1d(np.asarray(orbit_deg, dtype=np.float64))
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg, "height_ell_m": height_ell_m}
    travel = look_angles_array(orbit_deg=lon_deg + np.linspace(-_TRAVEL_DEG, _TRAVEL_DEG, 61), **place)
    seen = travel.elevation_deg > _LOWEST_DEG
    north = lat_deg >= 0.0
    flip = np.array([1.0, 1.0 if north else -1.0, 1.0])  # south of the equator everything is mirrored
    arc = (arrows(travel.azimuth_deg, travel.elevation_deg) * flip)[seen]
    found = look_angles_array(orbit_deg=orbit, **place)
    wanted = arrows(found.azimuth_deg, found.elevation_deg) * flip
    lat = abs(lat_deg)
    tilt = 0.0
    if len(arc):
        bent = _declination(arc[None], np.radians(lat + _TILTS_DEG)[:, None])
        tilt = float(_TILTS_DEG[int(np.argmin(bent.max(axis=1) - bent.min(axis=1)))])
    else:
        arc = wanted
    axis = math.radians(lat + tilt)
    bent = _declination(arc, np.array(axis))
    middle = 0.5 * float(bent.max() + bent.min())
    across = wanted[:, 2] * math.cos(axis) - wanted[:, 1] * math.sin(axis)
    motor = np.degrees(np.arctan2(wanted[:, 0], across))
    return PolarMount(lat + tilt, middle, motor, _declination(wanted, np.array(axis)) - middle)


def _declination(direction: NDArray[np.float64], axis_rad: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far directions (..., 3) stand below the plane square to an axis, degrees."""
    along = direction[..., 1] * np.cos(axis_rad) + direction[..., 2] * np.sin(axis_rad)
    return -np.degrees(np.arcsin(np.clip(along, -1.0, 1.0)))
