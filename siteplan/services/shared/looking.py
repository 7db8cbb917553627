"""Looking around from one point: the land made ready, the point's own heights, and what stands against the sky."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.records.ground import Surface
from siteplan.records.results import Skyline
from siteplan.sky.horizon import heights_here, single_rays, skyline
from siteplan.terrain.view import local_view, prepare

LOOKED_TO_M = 60_000.0


@dataclass(frozen=True, eq=False)
class LookedAround:
    """What one eye sees. skyline is None where the ground at the point is unknown (ground_amsl_m NaN)."""

    ground_amsl_m: float
    surface_amsl_m: float
    eye_amsl_m: float
    skyline: Skyline | None


def look_around(
    surface: Surface,
    *,
    lat_deg: float,
    lon_deg: float,
    height_agl_m: float,
    azimuth_deg: Sequence[float] | None = None,
    radius_m: float = LOOKED_TO_M,
) -> LookedAround:
    """Return what stands against the sky from a point, height_agl_m above its ground.

    azimuth_deg  single exact rays at these true bearings; None: the highest of each half-degree sector

    Raises InputError for a place that is not on the Earth.
    """
    view = local_view(prepare(surface), lat_deg=lat_deg, lon_deg=lon_deg, radius_m=radius_m)
    ground, top = heights_here(view)
    eye = ground + height_agl_m
    if not np.isfinite(ground):
        return LookedAround(ground, top, eye, None)
    seen = skyline(view, eye_amsl_m=eye) if azimuth_deg is None else single_rays(view, eye_amsl_m=eye, azimuth_deg=azimuth_deg)
    return LookedAround(ground, top, eye, seen)
