"""EIRP of a satellite's beam over places: between drawn contours, or off the axis of a Gaussian beam."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import GEOSTATIONARY_RADIUS_M, WGS84_FLATTENING, WGS84_SEMI_MAJOR_M
from siteplan.records.beams import Beam, Contour

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A shape says nothing farther down its flank: side lobes are not in it (common practice, no source).
SHAPE_REACH_DB = 15.0


def beam_eirp_dbw(beam: Beam, *, lat_deg: NDArray, lon_deg: NDArray, orbit_deg: float) -> NDArray:
    """Return the EIRP (places,) of a beam in dBW; NaN outside its outermost contour, and 15 dB under the peak of a shape.

    lat_deg, lon_deg (places,); orbit_deg of the satellite

    Between two contours: by the distances to the nearest line of either. Inside the innermost: its value. Source: common practice, no
    source. A shape falls by 12 (angle / width)^2 dB, widths at -3 dB, angles as the satellite sees them; checked by hand in
    tests/radio/test_footprint.py.
    """
    east = (np.asarray(lon_deg, dtype=np.float64) - orbit_deg + 180.0) % 360.0 - 180.0
    if beam.contours:
        return _between_contours(beam.contours, np.asarray(lat_deg, dtype=np.float64), east, orbit_deg)
    return _off_boresight(beam, np.asarray(lat_deg, dtype=np.float64), east, orbit_deg)


# ---- contours ----------------------------------------------------------------------------------------------------------------


def _between_contours(contours: tuple[Contour, ...], lat: NDArray, east: NDArray, orbit_deg: float) -> NDArray:
    levels = sorted({contour.eirp_dbw for contour in contours})
    lines = [[_line(contour, orbit_deg) for contour in contours if contour.eirp_dbw == level] for level in levels]
    closed = all(contour.closed for contour in contours)
    out = np.full(lat.shape, np.nan)
    for place, (here_lat, here_east) in enumerate(zip(lat.tolist(), east.tolist(), strict=True)):
        squeeze = max(math.cos(math.radians(here_lat)), 1e-6)
        # seen from the place: degrees north and east, the latter as long as they are here
        seen = [[np.column_stack([(line[:, 1] - here_east) * squeeze, line[:, 0] - here_lat]) for line in some] for some in lines]
        out[place] = _level(levels, seen, inside=closed)
    return out


def _line(contour: Contour, orbit_deg: float) -> NDArray:
    """Return (n, 2) latitude, and longitude from the satellite's meridian: no footprint reaches round the Earth."""
    return np.column_stack([contour.lat_deg, (contour.lon_deg - orbit_deg + 180.0) % 360.0 - 180.0])


def _level(levels: list[float], lines: list[list[NDArray]], *, inside: bool) -> float:
    """Return the value at the origin between lines of rising levels; NaN outside the lowest."""
    near = [min((_nearest(line) for line in some), key=lambda found: found[0]) for some in lines]
    if inside:
        held = [k for k, some in enumerate(lines) if sum(_holds_origin(line) for line in some) % 2 == 1]
        if not held:
            return math.nan
        low = held[-1]
        high = low + 1
    else:
        low, high = _bracket(lines, near)
    if low < 0:
        return math.nan
    if high >= len(levels):
        return levels[low]
    to_low, to_high = near[low][0], near[high][0]
    if to_low + to_high == 0.0:
        return levels[high]
    return (levels[low] * to_high + levels[high] * to_low) / (to_low + to_high)


def _bracket(lines: list[list[NDArray]], near: list[tuple[float, NDArray]]) -> tuple[int, int]:
    """Return which two neighbouring levels the origin lies between, by open lines: (-1, 0) outside, (last, last + 1) inside all.

    The way to the nearest point of a level that lies on the other side of another line crosses that line.
    """
    order = sorted(range(len(lines)), key=lambda k: near[k][0])
    nearest = order[0]
    for other in (nearest + 1, nearest - 1):
        if 0 <= other < len(lines) and not any(_crosses(line, near[other][1]) for line in lines[nearest]):
            return min(nearest, other), max(nearest, other)
    return (-1, 0) if nearest == 0 else (nearest, len(lines)) if nearest == len(lines) - 1 else (nearest, nearest + 1)


def _nearest(line: NDArray) -> tuple[float, NDArray]:
    """Return the distance from the origin to a line of points (n, 2), and the place on it."""
    start, step = line[:-1], np.diff(line, axis=0)
    length = np.einsum("ij,ij->i", step, step)
    with np.errstate(divide="ignore", invalid="ignore"):
        along = np.where(length > 0.0, np.clip(-np.einsum("ij,ij->i", start, step) / length, 0.0, 1.0), 0.0)
    foot = start + along[:, np.newaxis] * step
    away = np.einsum("ij,ij->i", foot, foot)
    best = int(np.argmin(away))
    return math.sqrt(away[best]), foot[best]


def _holds_origin(line: NDArray) -> bool:
    """Return whether the origin lies inside a closed line: a ray to the east crosses it an odd number of times."""
    (x0, y0), (x1, y1) = line[:-1].T, line[1:].T
    across = (y0 > 0.0) != (y1 > 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        where = x0 - y0 * (x1 - x0) / (y1 - y0)
    return bool(np.count_nonzero(across & (where > 0.0)) % 2)


def _crosses(line: NDArray, target: NDArray) -> bool:
    """Return whether the straight way from the origin to a point crosses a line."""
    start, step = line[:-1], np.diff(line, axis=0)
    turned = target[0] * step[:, 1] - target[1] * step[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (start[:, 0] * step[:, 1] - start[:, 1] * step[:, 0]) / turned
        on_line = (start[:, 0] * target[1] - start[:, 1] * target[0]) / turned
    return bool(np.any((turned != 0.0) & (on_line >= 0.0) & (on_line <= 1.0) & (along >= 0.0) & (along < 1.0 - 1e-9)))


# ---- shapes ------------------------------------------------------------------------------------------------------------------


def _off_boresight(beam: Beam, lat: NDArray, east: NDArray, orbit_deg: float) -> NDArray:
    right, up = view_angles_deg(lat_deg=lat, east_deg=east)
    if math.isfinite(beam.boresight_lat_deg):
        middle = (beam.boresight_lon_deg - orbit_deg + 180.0) % 360.0 - 180.0
        right0, up0 = view_angles_deg(lat_deg=np.array(beam.boresight_lat_deg), east_deg=np.array(middle))
    else:
        right0, up0 = beam.boresight_east_deg, beam.boresight_north_deg
    turn = math.radians(beam.rotation_deg)
    right, up = right - right0, up - up0
    along = right * math.cos(turn) + up * math.sin(turn)
    across = up * math.cos(turn) - right * math.sin(turn)
    short = beam.beamwidth_across_deg if math.isfinite(beam.beamwidth_across_deg) else beam.beamwidth_deg
    down = 12.0 * ((along / beam.beamwidth_deg) ** 2 + (across / short) ** 2)
    return np.where(down <= SHAPE_REACH_DB, beam.peak_eirp_dbw - down, np.nan)


def view_angles_deg(*, lat_deg: NDArray, east_deg: NDArray) -> tuple[NDArray, NDArray]:
    """Return how far right and up of the Earth's centre a satellite sees places on the ellipsoid, degrees; NaN behind the limb.

    east_deg  of the satellite's meridian. Source: geometry, WGS84, orbit radius 42 164 km.
    """
    lat, turn = np.radians(lat_deg), np.radians(east_deg)
    squared = WGS84_FLATTENING * (2.0 - WGS84_FLATTENING)
    curvature = WGS84_SEMI_MAJOR_M / np.sqrt(1.0 - squared * np.sin(lat) ** 2)
    towards, right = curvature * np.cos(lat) * np.cos(turn), curvature * np.cos(lat) * np.sin(turn)
    up = curvature * (1.0 - squared) * np.sin(lat)
    depth = GEOSTATIONARY_RADIUS_M - towards
    # the place is seen where its own horizon is below the line to the satellite
    seen = depth * np.cos(lat) * np.cos(turn) - right * np.cos(lat) * np.sin(turn) - up * np.sin(lat) > 0.0
    nan = np.where(seen, 0.0, np.nan)
    return np.degrees(np.arctan2(right, depth)) + nan, np.degrees(np.arctan2(up, np.hypot(depth, right))) + nan
