"""The geostationary arc over one place, and which stretches of it an antenna can see."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from siteplan.errors import InputError, told
from siteplan.sky.look_angles import look_angles_array

# No place sees farther round the orbit than this to either side (horizon of a mountain included).
_FARTHEST_DEG = 90.0
_BISECTIONS = 50  # from 90 deg down to the last figures of a double


class Arc(NamedTuple):
    """Points of the arc from west to east: orbital longitude (-180, 180], true azimuth and geometric elevation, shape (steps,)."""

    orbit_deg: np.ndarray
    azimuth_deg: np.ndarray
    elevation_deg: np.ndarray


def _half_width_deg(lat_deg: float, height_ell_m: float, lowest_deg: float) -> float:
    """Return how far to either side of the place's own meridian the arc stands above an elevation; -1 where nowhere."""

    def spare(turn_deg: float) -> float:
        found = look_angles_array(lat_deg=lat_deg, lon_deg=0.0, height_ell_m=height_ell_m, orbit_deg=turn_deg)
        return float(found.elevation_deg) - lowest_deg

    if spare(0.0) < 0.0:
        return -1.0
    inside, outside = 0.0, _FARTHEST_DEG
    if spare(outside) >= 0.0:
        return outside
    for _ in range(_BISECTIONS):
        middle = 0.5 * (inside + outside)
        inside, outside = (middle, outside) if spare(middle) >= 0.0 else (inside, middle)
    return inside


def arc_points(*, lat_deg: float, lon_deg: float, height_ell_m: float = 0.0, step_deg: float = 0.5, lowest_deg: float = 0.0) -> Arc:
    """Return the geostationary arc above the horizon, from west to east.

    lat_deg, lon_deg  WGS84; height_ell_m above the ellipsoid
    step_deg          between points, on whole multiples of it; both ends of the arc are added exactly
    lowest_deg        geometric elevation down to which the arc is followed, -5 or higher

    Returns Arc; empty where no satellite rises (nearer to a pole than about 8.7 degrees). Raises InputError for a place off the
    Earth or a step that is not above 0. Source: look_angles.
    """
    if not (math.isfinite(lat_deg) and abs(lat_deg) <= 90 and math.isfinite(lon_deg) and math.isfinite(height_ell_m)):
        raise InputError(
            told(
                "No arc from latitude {lat_deg}, longitude {lon_deg}, height {height_ell_m} m. Allowed: latitude -90 to 90.",
                lat_deg=lat_deg,
                lon_deg=lon_deg,
                height_ell_m=height_ell_m,
            )
        )
    if not (0.0 < step_deg <= 90.0) or not (-5.0 <= lowest_deg <= 90.0):
        raise InputError(
            told(
                "The arc can't be cut in steps of {step_deg} from {lowest_deg} degrees up. Allowed: 0 to 90, and -5 to 90.",
                step_deg=step_deg,
                lowest_deg=lowest_deg,
            )
        )
    half = _half_width_deg(lat_deg, height_ell_m, lowest_deg)
    if half < 0.0:
        empty = np.empty(0)
        return Arc(empty, empty.copy(), empty.copy())
    west, east = lon_deg - half, lon_deg + half
    first, last = math.floor(west / step_deg) + 1, math.ceil(east / step_deg) - 1
    inner = np.arange(first, last + 1) * step_deg
    orbit = np.unique(np.concatenate(([west], inner, [east])))
    found = look_angles_array(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_ell_m, orbit_deg=orbit)
    return Arc(_wrapped(orbit), np.asarray(found.azimuth_deg), np.asarray(found.elevation_deg))


def _wrapped(orbit_deg: np.ndarray) -> np.ndarray:
    return np.where((orbit_deg > -180.0) & (orbit_deg <= 180.0), orbit_deg, 180.0 - np.mod(180.0 - orbit_deg, 360.0))


def visible_stretches(orbit_deg: np.ndarray, visible: np.ndarray, *, widest_step_deg: float | None = None) -> list[tuple[float, float]]:
    """Return the stretches of orbital longitude that are seen, as (from_deg, to_deg) eastwards.

    orbit_deg        (steps,)  orbital longitudes in any order and any turn of the circle
    visible          (steps,)  bool, whether each is seen
    widest_step_deg  neighbours farther apart than this do not join; None: 1.5 times the usual step

    A stretch across the date line has from_deg above to_deg: (170, -170) is 20 degrees wide. One lonely point gives (x, x).
    A whole circle of points that are all seen gives one stretch. Stretches come in order from west to east, starting after the
    widest gap between points. Raises InputError where the two arrays differ in shape.
    """
    orbit, seen = np.asarray(orbit_deg, dtype=np.float64).ravel(), np.asarray(visible, dtype=bool).ravel()
    if orbit.shape != seen.shape:
        raise InputError(
            told(
                "{size} orbital longitudes but {size_2} answers whether they are seen. Give one answer for each.",
                size=orbit.size,
                size_2=seen.size,
            )
        )
    known = np.isfinite(orbit)
    orbit, seen = _wrapped(orbit[known]), seen[known]
    orbit, which = np.unique(orbit, return_index=True)
    seen = seen[which]
    if not seen.any():
        return []
    gaps = np.mod(np.roll(orbit, -1) - orbit, 360.0)  # to the next point eastwards, round the circle
    gaps[gaps == 0.0] = 360.0  # a single point
    widest = 1.5 * float(np.median(gaps)) if widest_step_deg is None else widest_step_deg
    start = int(np.argmax(gaps)) + 1
    if gaps.max() <= widest:  # points all round the circle: start behind one that is not seen, so that no stretch is cut in two
        start = int(np.argmin(seen)) + 1 if not seen.all() else 0
    orbit, seen, gaps = np.roll(orbit, -start), np.roll(seen, -start), np.roll(gaps, -start)
    found: list[tuple[float, float]] = []
    begin: int | None = None
    for step in range(orbit.size):
        if seen[step] and begin is None:
            begin = step
        ends = step == orbit.size - 1 or not seen[step + 1] or gaps[step] > widest
        if begin is not None and seen[step] and ends:
            found.append((float(orbit[begin]), float(orbit[step])))
            begin = None
    return found
