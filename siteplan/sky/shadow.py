"""Whole blocks of places seen from one satellite: at which places, and from which height on, a dish sees it.

The same rays and the same search as sky.clearance, asked the other way round: not "does this dish clear?" but "how high must it stand?",
which answers for every mount height at once. tests/sky/test_shadow.py holds the two together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import EARTH_RADIUS_M, SPEED_OF_LIGHT_M_PER_S
from siteplan.errors import InputError, MethodRangeError, told
from siteplan.geodesy.projection import geod_inverse
from siteplan.records.view import LocalView
from siteplan.sky.clearance import FRESNEL_SHARE, MEDIAN_K
from siteplan.sky.refraction import refraction_deg

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, eq=False)
class Block:
    """Places around one view: metres east and north of the view's own place, and true north there in the view's frame, degrees; (n,)."""

    east_m: np.ndarray
    north_m: np.ndarray
    turned_deg: np.ndarray


@dataclass(frozen=True, eq=False)
class Needed:
    """What each place (n,) needs, metres above sea level: for the whole tube, and for the centre ray alone.

    tube_amsl_m    the least height of the dish's centre at which the needed clearance holds all along; NaN: nothing is known
    centre_amsl_m  the same for the centre ray; looked for only where the height asked about does not hold the tube, NaN elsewhere
    known_to_m     how far data reach along the ray, about (a seed step of 25 % in places); -1 where nothing is known
    """

    tube_amsl_m: np.ndarray
    centre_amsl_m: np.ndarray
    known_to_m: np.ndarray


def block_of(view: LocalView, *, lat_deg: ArrayLike, lon_deg: ArrayLike) -> Block:
    """Return places (n,) as a view counts them: by bearing and geodesic distance from its own place.

    turned_deg takes a true bearing at the place into the view's frame (meridians meet towards the poles).
    """
    lat, lon = np.asarray(lat_deg, dtype=np.float64), np.asarray(lon_deg, dtype=np.float64)
    azimuth, back, away = geod_inverse(lat1_deg=view.lat_deg, lon1_deg=view.lon_deg, lat2_deg=lat, lon2_deg=lon)
    turned = np.where(away > 1e-3, np.mod(azimuth - (back + 180.0) + 180.0, 360.0) - 180.0, 0.0)
    return Block(away * np.sin(np.radians(azimuth)), away * np.cos(np.radians(azimuth)), turned)


def needed_heights(
    view: LocalView,
    block: Block,
    *,
    asked_amsl_m: ArrayLike,
    azimuth_deg: ArrayLike,
    elevation_deg: ArrayLike,
    dish_m: float,
    frequency_mhz: float,
    own_support_m: float = 0.0,
) -> Needed:
    """Return how high a dish must stand at each place of a block to see a satellite.

    asked_amsl_m   (n,)  height of the dish's centre that is asked about
    azimuth_deg    (n,)  of the satellite from each place, true; neighbours one after the other make it fast
    elevation_deg  (n,)  geometric, above 0
    the rest       as sky.clearance.clearances

    Clear is asked >= tube, blocked is asked < centre, partly between: the states of clearances(), which asks the same of angles.
    Raises MethodRangeError where dish, frequency or elevations make no sense, InputError where own support is not 0 or more.
    Source: as clearances(). Checked in tests/sky/test_shadow.py.
    """
    from siteplan.sky.kernels import NEAREST_M
    from siteplan.sky.kernels.shadows import needed_heights as search

    asked = np.ascontiguousarray(asked_amsl_m, dtype=np.float64)
    elevation = np.broadcast_to(np.asarray(elevation_deg, dtype=np.float64), asked.shape)
    if not (dish_m > 0.0 and frequency_mhz > 0.0):
        raise MethodRangeError(
            told(
                "a dish of {dish_m} m at {frequency_mhz} MHz is not possible; both must be above 0",
                dish_m=dish_m,
                frequency_mhz=frequency_mhz,
            )
        )
    if asked.size and not ((elevation > 0.0) & (elevation < 90.0)).all():
        raise MethodRangeError(
            told("a block is looked at for satellites above the horizon; elevations must be above 0 and below 90 degrees")
        )
    if not own_support_m >= 0.0:
        raise InputError(told("own support must be 0 m or more (it is {own_support_m} m)", own_support_m=own_support_m))
    land = view.prepared
    if not asked.size or not np.isfinite(land.highest_m):
        nothing = np.full(asked.shape, np.nan)
        return Needed(nothing, nothing.copy(), np.full(asked.shape, -1.0))
    azimuth = np.radians(np.broadcast_to(np.asarray(azimuth_deg, dtype=np.float64), asked.shape) + block.turned_deg)
    found = search(
        *land.arrays, view.sizes, land.surface_order, view.coef, np.column_stack([block.east_m, block.north_m, asked]), azimuth,
        apparent_slope(elevation, asked), dish_m / 2.0, FRESNEL_SHARE * np.sqrt(SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)),
        max(own_support_m, NEAREST_M), view.radius_m, 0.5 / (MEDIAN_K * EARTH_RADIUS_M), land.highest_m,
    )  # fmt: skip
    return Needed(found[:, 0], found[:, 1], found[:, 2])


def apparent_slope(elevation_deg: NDArray[np.float64], height_amsl_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the tangent of the apparent elevation (geometric plus ITU-R P.834 refraction) of rays, arrays of one shape."""
    return np.tan(np.radians(elevation_deg + refraction_deg(elevation_deg=elevation_deg, height_amsl_m=height_amsl_m)))


def known_far_enough(
    view: LocalView, block: Block, *, eye_amsl_m: ArrayLike, azimuth_deg: ArrayLike, elevation_deg: ArrayLike, tallest_m: float,
    knows: NDArray[np.bool_], steps: int = 180,
) -> NDArray[np.bool_]:  # fmt: skip
    """Return (n,) whether all that stands on the ground is known along each ray until it is tallest_m above the ground.

    knows  (grids,) whether each grid of the view's surface holds all that stands on the ground
    steps  how many places along each ray are asked, to three times the distance that level ground would need
    The rest as needed_heights(); places whose own height is NaN come back False.
    """
    from siteplan.sky.kernels.shadows import known_far_enough as look

    eye = np.asarray(eye_amsl_m, dtype=np.float64)
    azimuth = np.radians(np.broadcast_to(np.asarray(azimuth_deg, dtype=np.float64), eye.shape) + block.turned_deg)
    slope = np.tan(np.radians(np.broadcast_to(np.asarray(elevation_deg, dtype=np.float64), eye.shape)))
    land, known = view.prepared, np.isfinite(eye)
    out = np.zeros(eye.shape, dtype=bool)
    reach = 3.0 * np.maximum(10.0, tallest_m / slope)
    ends = block.east_m + reach * np.sin(azimuth), block.north_m + reach * np.cos(azimuth)
    if _all_known(view, np.append(block.east_m, ends[0]), np.append(block.north_m, ends[1]), knows):
        return known
    out[known] = look(
        *land.arrays, view.sizes, land.surface_order, land.ground_order, view.coef,
        np.column_stack([block.east_m, block.north_m, eye])[known], azimuth[known], slope[known], tallest_m, steps, knows,
    )  # fmt: skip
    return out


def _all_known(view: LocalView, east_m: NDArray[np.float64], north_m: NDArray[np.float64], knows: NDArray[np.bool_]) -> bool:
    """Return whether the finest surface holds all there is in the whole box around these places, without a hole (False: ask in detail)."""
    from siteplan.sky.kernels.shadows import box_known

    land = view.prepared
    first = int(land.surface_order[0])
    if not east_m.size or not knows[first] or np.hypot(east_m, north_m).max() > view.sizes[first, 1]:
        return False
    rows, cols = land.grids[first].z_m.shape
    col, row = (np.polynomial.polynomial.polyval2d(east_m, north_m, view.coef[first, axis]) for axis in (0, 1))
    i0, i1, j0, j1 = int(np.floor(col.min())), int(np.ceil(col.max())), int(np.floor(row.min())), int(np.ceil(row.max()))
    if i0 < 0 or j0 < 0 or i1 > cols - 1 or j1 > rows - 1:
        return False
    return bool(box_known(*land.arrays, first, i0, i1, j0, j1))
