"""What stands against the sky around one eye: the highest thing in each sector of azimuth, or along single rays exactly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import EARTH_RADIUS_M
from siteplan.errors import InputError, told
from siteplan.records.ground import KIND_UNKNOWN
from siteplan.records.results import Skyline
from siteplan.records.view import LocalView

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

SECTOR_DEG = 0.5
# A sector's highest thing is found to within this tangent (0.017 degrees) ...
SECTOR_TOLERANCE = 3e-4
# ... and past the distance where a sector is 8 cells wide to within this share of its tangent (blocks of a coarser level).
FAR_SHARE = 0.002
# Data that end within this many cells of the highest place found: what lies beyond could stand higher (single rays end exactly).
_END_CELLS_OF_SECTORS, _END_CELLS_OF_RAYS = 1.5, 0.02


def skyline(
    view: LocalView,
    *,
    eye_amsl_m: float,
    own_support_m: float = 0.0,
    growth_m: float = 0.0,
    radius_m: float | None = None,
    sector_deg: float = SECTOR_DEG,
    effective_radius_m: float = EARTH_RADIUS_M,
) -> Skyline:
    """Return the highest thing in each sector of azimuth around the view's place; no cell falls between rays.

    eye_amsl_m          height of the eye, metres above sea level
    own_support_m       surface and ground nearer than this are left out
    growth_m            lifts every cell that grows (growth, and objects of unknown kind)
    radius_m            how far is looked; the view's own radius where absent
    sector_deg          width of a sector; sector k is centred on k * sector_deg, true
    effective_radius_m  Earth radius; the real one gives geometric elevations

    Returns a Skyline of 360 / sector_deg bearings. Elevations are right to SECTOR_TOLERANCE (a tangent) near by, and to FAR_SHARE
    of their tangent where a sector is wider than 8 cells; what stands within an eighth of a sector's width outside it may count
    as inside there. Raises InputError where an argument is not a number or sector_deg does not divide 360.
    Source: geometry of a round Earth, drop d^2 / (2 R). Checked in tests/sky/test_horizon.py and tests/properties/test_rays.py.
    """
    from siteplan.sky.kernels import NEAREST_M, sectors

    _check(view, eye_amsl_m, own_support_m)
    count = round(360.0 / sector_deg) if sector_deg > 0 else 0
    if count < 4 or abs(count * sector_deg - 360.0) > 1e-9:
        raise InputError(told("sectors of {sector_deg} degrees do not make a circle; give a width that divides 360", sector_deg=sector_deg))
    land, far = view.prepared, min(radius_m or view.radius_m, view.radius_m)
    near, aim = max(own_support_m, NEAREST_M), np.array([eye_amsl_m, -1.0, 0.5 / effective_radius_m])

    def look(order: NDArray[np.int64], growth: float, highest: float, guess: NDArray[np.float64]) -> NDArray[np.float64]:
        if not np.isfinite(highest):
            return _nothing(count)
        return sectors(
            *land.arrays, view.sizes, order, view.coef, np.radians(sector_deg), guess, near, far, aim, growth, highest,
            SECTOR_TOLERANCE,
        )  # fmt: skip

    top = look(land.surface_order, growth_m, land.highest_m, np.full((count, 2), -1.0))
    ground = look(land.ground_order, 0.0, land.highest_ground_m, np.ascontiguousarray(top[:, 1:3]))
    return _skyline(view, np.arange(count) * sector_deg, top, ground, eye_amsl_m, own_support_m, far, _END_CELLS_OF_SECTORS)


def single_rays(
    view: LocalView,
    *,
    eye_amsl_m: float,
    azimuth_deg: ArrayLike,
    own_support_m: float = 0.0,
    growth_m: float = 0.0,
    radius_m: float | None = None,
    effective_radius_m: float = EARTH_RADIUS_M,
) -> Skyline:
    """Return the highest thing along single rays, exactly.

    azimuth_deg  (bearings,) true; any order
    The rest as skyline().

    The surface is bilinear between cell centres, so along a ray it is a quadratic between two crossings of the lines that join
    centres, and the greatest elevation of each piece has a closed form: nothing is sampled. Where a layer has a hole or ends,
    the next one answers; past a gap of all layers the ray goes on. Checked in tests/terrain/test_clearance_truth.py.
    """
    from siteplan.sky.kernels import NEAREST_M, rays

    _check(view, eye_amsl_m, own_support_m)
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64))
    if azimuth.ndim != 1 or not np.isfinite(azimuth).all():
        raise InputError(told("azimuths must be a list of numbers, degrees from true north"))
    land, far = view.prepared, min(radius_m or view.radius_m, view.radius_m)
    near, aim = max(own_support_m, NEAREST_M), np.array([eye_amsl_m, -1.0, 0.5 / effective_radius_m])
    top, ground = (
        rays(*land.arrays, view.sizes, order, view.coef, np.radians(azimuth), near, far, aim, growth)
        for order, growth in ((land.surface_order, growth_m), (land.ground_order, 0.0))
    )
    return _skyline(view, azimuth, top, ground, eye_amsl_m, own_support_m, far, _END_CELLS_OF_RAYS)


def heights_here(view: LocalView, *, east_m: float = 0.0, north_m: float = 0.0) -> tuple[float, float]:
    """Return (ground, surface) in metres above sea level at a place east and north of the view's own; NaN where unknown."""
    from siteplan.sky.kernels import points

    land, zero = view.prepared, np.zeros(1)
    east, north = np.array([float(east_m)]), np.array([float(north_m)])
    orders = (land.ground_order, land.surface_order)
    ground, top = (points(*land.arrays, view.sizes, order, view.coef, zero, zero, zero, east, north)[0, 0] for order in orders)
    return float(ground), float(top)


def _check(view: LocalView, eye_amsl_m: float, own_support_m: float) -> None:
    if not np.isfinite(eye_amsl_m):
        raise InputError(
            told(
                "the eye's height is not a number ({eye_amsl_m}); is there no ground at {lat_deg:.5f}, {lon_deg:.5f}?",
                eye_amsl_m=eye_amsl_m,
                lat_deg=view.lat_deg,
                lon_deg=view.lon_deg,
            )
        )
    if not (0.0 <= own_support_m < view.radius_m):
        raise InputError(
            told("own support must be 0 m or more, and less than the view's radius (it is {own_support_m} m)", own_support_m=own_support_m)
        )


def _nothing(count: int) -> NDArray[np.float64]:
    out = np.full((count, 7), -1.0)
    out[:, 0], out[:, 6] = -np.inf, KIND_UNKNOWN
    return out


def _skyline(
    view: LocalView,
    azimuth_deg: NDArray[np.float64],
    top: NDArray[np.float64],
    ground: NDArray[np.float64],
    eye_amsl_m: float,
    own_support_m: float,
    far_m: float,
    end_cells: float,
) -> Skyline:
    ground_here, surface_here = heights_here(view)
    own = ground_here if own_support_m > 0.0 else surface_here
    known = top[:, 4] >= 0.0
    reach = np.where(top[:, 5] > 0.0, top[:, 5], 0.0)
    cell_m = view.sizes[np.where(known, top[:, 4], 0).astype(int), 0]
    return Skyline(
        azimuth_deg=azimuth_deg,
        elevation_deg=np.where(known, np.degrees(np.arctan(top[:, 0])), np.nan),
        distance_m=np.where(known, np.hypot(top[:, 1], top[:, 2]), np.nan),
        obstacle_amsl_m=np.where(known, top[:, 3], np.nan),
        kind=np.where(known, top[:, 6], KIND_UNKNOWN).astype(np.uint8),
        ground_elevation_deg=np.where(ground[:, 4] >= 0.0, np.degrees(np.arctan(ground[:, 0])), np.nan),
        known_to_m=reach,
        inside_obstruction=bool(eye_amsl_m < own),
        data_ended=~known | ((reach - top[:, 1] <= end_cells * cell_m) & (reach < far_m - 1.0)),
    )


def elevation_at(sky: Skyline, azimuth_deg: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the elevation of the sectors that azimuths fall into; sky must hold equal sectors all around."""
    count = sky.azimuth_deg.size
    return sky.elevation_deg[np.round(np.asarray(azimuth_deg, dtype=np.float64) * count / 360.0).astype(int) % count]
