"""The plot of one address for its sheet: best spot, plan B, what moving the dish does, and what may stand before it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from siteplan.constants import SPEED_OF_LIGHT_M_PER_S
from siteplan.geodesy.projection import geod_forward
from siteplan.records.places import Spot
from siteplan.records.spots import HeightLimits, Outline, PlotRun, SpotMove, SpotOption, SpotPlan
from siteplan.services.satellite import limits
from siteplan.services.satellite.cable import cable_m
from siteplan.services.satellite.spot_places import Places
from siteplan.services.satellite.spot_search import Ray, SpotSearch, Tried
from siteplan.sky.clearance import FRESNEL_SHARE
from siteplan.terrain.footprints import metres_per_degree
from siteplan.terrain.surface import heights_at

MOVES = (("left", -2.0, 0.0, 0.0), ("right", 2.0, 0.0, 0.0), ("farther", 0.0, -2.0, 0.0), ("nearer", 0.0, 2.0, 0.0))
UP_M = 1.0
STEPS_M = (10.0, 20.0, 30.0, 60.0)


def spot_plan(search: SpotSearch, spot: Spot) -> SpotPlan | None:
    """Return the plot round the spot that the sheet tells to stand on; None where no wanted satellite rises or no place was found."""
    if not search.rays or not search.tried:
        return None
    best = _option(search, spot)
    other = search.best(away_from=(spot.kind, best.east_m, best.north_m))
    plan_b = None
    if other is not None:
        tried, at = other
        seen = tuple(ray.satellite.name for ray, clear in zip(search.rays, tried.clear[at].tolist(), strict=True) if clear)
        if seen:
            plan_b = _option(search, search.spot(tried, at))
    facing = _facing(search.rays)
    moves = [SpotMove(way, 2.0, search.spare_deg(spot, right_m=r, ahead_m=a, facing_deg=facing)) for way, r, a, _ in MOVES]
    moves += [SpotMove(way, UP_M, search.spare_deg(spot, up_m=up)) for way, up in (("up", UP_M), ("down", -UP_M))]
    return SpotPlan(
        looked_in=search.where.looked_in,
        radius_m=search.plan.mount.search_radius_m,
        step_m=limits.STEP_M,
        tried=sum(tried.places.row.size for tried in search.tried),
        wanted=search.wanted,
        best=best,
        plan_b=plan_b,
        moves=tuple(moves),
        limits=tuple(_limits(search, spot, ray) for ray in search.rays),
        outlines=_outlines(search),
        runs=tuple(run for tried in search.tried if tried.places.kind != "wall" for run in _runs(tried)),
        entry_m=search.entry,
        all_clear_share=float(np.concatenate([tried.clear.all(axis=1) for tried in search.tried]).mean()),
    )


def _facing(rays: tuple[Ray, ...]) -> float:
    turn = np.radians([ray.azimuth_deg for ray in rays])
    return math.degrees(math.atan2(np.sin(turn).sum(), np.cos(turn).sum())) % 360.0


def _option(search: SpotSearch, spot: Spot) -> SpotOption:
    """Return one spot as it is told: what it sees at its height, and the least height that would do."""
    address = search.work.site.address
    north, east = metres_per_degree(address.lat_deg)
    at_east, at_north = (spot.lon_deg - address.lon_deg) * east, (spot.lat_deg - address.lat_deg) * north
    block_spare = {ray.satellite.name: _one_spare(search, spot, ray) for ray in search.rays}
    needed = _needed_amsl(search, spot)
    one = np.array([0])
    here = Places(
        spot.kind, np.array([at_east]), np.array([at_north]), *(np.array([v]) for v in (
            spot.lat_deg, spot.lon_deg, spot.ground_amsl_m, spot.roof_amsl_m, spot.centre_amsl_m, spot.centre_amsl_m, spot.facade_deg)),
        one, one, spot.own_support_m,
    )  # fmt: skip
    spares = [value for value in block_spare.values() if math.isfinite(value)]
    clear = [value for value in spares if value >= 0.0]
    return SpotOption(
        kind=spot.kind, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, east_m=at_east, north_m=at_north,
        height_agl_m=spot.height_agl_m,
        lowest_agl_m=max(0.0, needed - spot.ground_amsl_m) if math.isfinite(needed) else math.nan,
        spare_deg=min(clear, default=min(spares, default=math.nan)),
        sigmas=(spot.centre_amsl_m - needed) / search.error_m if math.isfinite(needed) else math.nan,
        sees=tuple(name for name, value in block_spare.items() if value >= 0.0 and not _turned(search, spot, name)),
        wanted=search.wanted,
        cable_m=float(cable_m(here, np.array([spot.height_agl_m]), search.entry, search.where, search.plan.mount)[0]),
        facade_deg=spot.facade_deg,
    )  # fmt: skip


def _turned(search: SpotSearch, spot: Spot, name: str) -> bool:
    azimuth = next(ray.azimuth_deg for ray in search.rays if ray.satellite.name == name)
    aside = abs((azimuth - spot.facade_deg + 180.0) % 360.0 - 180.0)
    return aside > search.plan.mount.wall_view_deg


def _needed(search: SpotSearch, spot: Spot, ray: Ray) -> float:
    from siteplan.sky.shadow import block_of, needed_heights

    view = search.work.view
    block = block_of(view, lat_deg=[spot.lat_deg], lon_deg=[spot.lon_deg])
    return float(
        needed_heights(
            view, block, asked_amsl_m=[spot.centre_amsl_m], azimuth_deg=ray.azimuth_deg, elevation_deg=ray.elevation_deg,
            dish_m=ray.dish_m, frequency_mhz=ray.frequency_mhz, own_support_m=spot.own_support_m,
        ).tube_amsl_m[0]
    )  # fmt: skip


def _needed_amsl(search: SpotSearch, spot: Spot) -> float:
    return max(_needed(search, spot, ray) for ray in search.rays)


def _one_spare(search: SpotSearch, spot: Spot, ray: Ray) -> float:
    from siteplan.sky.clearance import ray_clearance
    from siteplan.sky.shadow import block_of

    block = block_of(search.work.view, lat_deg=[spot.lat_deg], lon_deg=[spot.lon_deg])
    return ray_clearance(
        search.work.view, eye_amsl_m=spot.centre_amsl_m, look_azimuth_deg=ray.azimuth_deg, look_elevation_deg=ray.elevation_deg,
        dish_m=ray.dish_m, frequency_mhz=ray.frequency_mhz, own_support_m=spot.own_support_m,
        offset_east_m=float(block.east_m[0]), offset_north_m=float(block.north_m[0]),
    ).spare_deg  # fmt: skip


def _limits(search: SpotSearch, spot: Spot, ray: Ray) -> HeightLimits:
    """Return how high things may stand above the ground there: the ray less the room a dish needs, D/2 + 0.6 sqrt(lambda d)."""
    away = np.array(STEPS_M)
    lat, lon = geod_forward(
        lat_deg=np.full(away.size, spot.lat_deg), lon_deg=np.full(away.size, spot.lon_deg),
        azimuth_deg=np.full(away.size, ray.azimuth_deg), distance_m=away,
    )  # fmt: skip
    ground, _, _, _ = heights_at(search.work.land.surface, lat_deg=lat, lon_deg=lon)
    steep = math.radians(ray.elevation_deg)
    wavelength = SPEED_OF_LIGHT_M_PER_S / (ray.frequency_mhz * 1e6)
    room = (ray.dish_m / 2.0 + FRESNEL_SHARE * np.sqrt(wavelength * away / math.cos(steep))) / math.cos(steep)
    free = spot.centre_amsl_m + away * math.tan(steep) - room - ground
    steps = tuple((float(d), float(h)) for d, h in zip(away, free, strict=True) if math.isfinite(h))
    return HeightLimits(ray.satellite.name, ray.azimuth_deg, steps)


def _outlines(search: SpotSearch) -> tuple[Outline, ...]:
    found = [Outline("own", _corners(search.where.own))] if search.where.own is not None else []
    if search.where.looked_in == "plot":
        found.append(Outline("plot", _corners(search.where.area)))
    return (*found, *(Outline("other", _corners(other)) for other in search.where.others))


def _corners(shape: Any) -> tuple[tuple[float, float], ...]:
    """Return the outer ring to a decimetre; of several parts the largest."""
    part = max(shape.geoms, key=lambda one: one.area) if hasattr(shape, "geoms") else shape
    smooth = part.simplify(0.15)
    ring = (smooth if smooth.geom_type == "Polygon" and not smooth.is_empty else part).exterior
    return tuple((round(float(x), 1), round(float(y), 1)) for x, y in np.asarray(ring.coords)[:, :2])


def _runs(tried: Tried) -> list[PlotRun]:
    """Return the places row by row, those that see the same joined."""
    seen = tried.clear
    word = np.where(seen.all(axis=1), "all", np.where(seen.any(axis=1), "some", "none"))
    row, col = tried.places.row, tried.places.col
    order = np.lexsort((col, row))
    runs: list[list[Any]] = []
    for r, c, w in zip(row[order].tolist(), col[order].tolist(), word[order].tolist(), strict=True):
        if runs and runs[-1][0] == r and runs[-1][2] == c - 1 and runs[-1][3] == w:
            runs[-1][2] = c
        else:
            runs.append([r, c, c, w])
    step = limits.STEP_M
    return [PlotRun(r * step, (a - 0.5) * step, (b + 0.5) * step, w) for r, a, b, w in runs]
