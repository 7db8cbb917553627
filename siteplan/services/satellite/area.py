"""The satellite service over an area: at which cells of a map a dish sees each satellite, and how high it must stand.

Today's land and these very points: growth to come, errors of the data and of the position are counted in an address's verdict, not here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.records.emitters import Satellite
from siteplan.records.plan import Plan
from siteplan.records.view import CLEARANCE_STATES, LocalView
from siteplan.services.satellite import limits
from siteplan.services.satellite.area_links import links_of_cells
from siteplan.services.shared.cells import Cells, dish_heights
from siteplan.services.shared.site import VIEW_RADIUS_M, Land
from siteplan.sky.look_angles import look_angles_array
from siteplan.sky.shadow import Block, block_of, known_far_enough, needed_heights
from siteplan.terrain.view import local_view

UNKNOWN, BLOCKED, PARTLY, CLEAR = (CLEARANCE_STATES.index(name) for name in ("unknown", "blocked", "partly", "clear"))


@dataclass(frozen=True, eq=False)
class CellViews:
    """One satellite from each cell (n,).

    state               uint8, counts in records.view.CLEARANCE_STATES, at the default mount height. Clear and partly are said only
                        where trees and buildings are known as far along the ray as they can matter; blocked wherever what is known blocks
    mount_height_agl_m  lowest mount height from the default up, in steps of 0.1 m, at which the view is clear; NaN where no height
                        up to the highest gives one, or nobody knows
    dish_m              smallest dish of the kit that holds margin and availability there; NaN where none does, or the view is clear from no
                        height that may be tried
    weather_margin_db   least margin of the wanted carriers at the wanted availability with that dish (the kit's smallest where none holds)
    """

    state: np.ndarray
    mount_height_agl_m: np.ndarray
    dish_m: np.ndarray
    weather_margin_db: np.ndarray


def views_of_cells(cells: Cells, land: Land, satellites: tuple[Satellite, ...], plan: Plan) -> tuple[CellViews, ...]:
    """Return what each satellite's view is from each cell; cells must lie close together (one block of a map).

    The same rays, dish, frequency and heights as the judge's view from an address at the cell's centre.
    """
    known = np.flatnonzero(cells.known)
    if not known.size:
        nothing = np.full(cells.lat_deg.shape, np.nan)
        return tuple(CellViews(np.full(nothing.shape, UNKNOWN, dtype=np.uint8), nothing, nothing, nothing) for _ in satellites)
    middle = known[known.size // 2]
    view = local_view(
        land.prepared, lat_deg=float(cells.lat_deg[middle]), lon_deg=float(cells.lon_deg[middle]), radius_m=VIEW_RADIUS_M
    )
    block = block_of(view, lat_deg=cells.lat_deg, lon_deg=cells.lon_deg)
    return tuple(_views(cells, block, view, int(middle), land, satellite, plan) for satellite in satellites)


def _views(cells: Cells, block: Block, view: LocalView, middle: int, land: Land, satellite: Satellite, plan: Plan) -> CellViews:
    height, highest = dish_heights(cells, plan.mount)
    eye = cells.ground_amsl_m + height
    here = {"lat_deg": cells.lat_deg, "lon_deg": cells.lon_deg, "height_ell_m": cells.ground_amsl_m}
    look = look_angles_array(**here, orbit_deg=satellite.stands_at_deg)
    azimuth, elevation = np.asarray(look.azimuth_deg), np.asarray(look.elevation_deg)
    state = np.where(cells.known, BLOCKED, UNKNOWN).astype(np.uint8)
    mount = np.full(eye.shape, np.nan)
    up = cells.known & (elevation > 0.0) & (elevation >= plan.limits.smallest_elevation_deg)
    if not up.any():
        return CellViews(state, mount, mount, mount)
    links = links_of_cells(cells, satellite, plan)
    dish_m = float(links.dish_m[middle])
    dish_m = dish_m if np.isfinite(dish_m) else min(plan.kit.dishes_m)
    frequency = min((t.frequency_mhz for t in satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
    tube, centre = np.full(eye.shape, np.nan), np.full(eye.shape, np.nan)
    for on_roof, own_support_m in ((False, 0.0), (True, plan.mount.own_support_m)):
        at = np.flatnonzero(up & (cells.on_roof == on_roof))
        needed = needed_heights(
            view, _part(block, at), asked_amsl_m=eye[at], azimuth_deg=azimuth[at], elevation_deg=elevation[at], dish_m=dish_m,
            frequency_mhz=frequency, own_support_m=own_support_m,
        )  # fmt: skip
        tube[at], centre[at] = needed.tube_amsl_m, needed.centre_amsl_m
    with np.errstate(invalid="ignore"):
        blocked, clear = eye < centre, eye >= tube
    state[up] = np.where(np.isnan(tube), UNKNOWN, np.where(blocked, BLOCKED, np.where(clear, CLEAR, PARTLY)))[up]
    raised = _steps_up(tube - cells.ground_amsl_m, height, highest)
    surely = np.zeros(eye.shape, dtype=bool)
    # where no height up to the highest gives a clear view, what lies beyond the data can't change the answer
    asked = np.flatnonzero(up & ((state >= PARTLY) | np.isfinite(raised)))
    surely[asked] = known_far_enough(
        view, _part(block, asked), eye_amsl_m=eye[asked], azimuth_deg=azimuth[asked], elevation_deg=elevation[asked],
        tallest_m=limits.TALLEST_THING_M, knows=_knows(land),
    )  # fmt: skip
    state[(state >= PARTLY) & ~surely] = UNKNOWN
    mount[surely] = raised[surely]
    seen = np.isfinite(mount)
    return CellViews(state, mount, np.where(seen, links.dish_m, np.nan), np.where(seen, links.weather_margin_db, np.nan))


def arc_positions(lat_deg: float, lon_deg: float, plan: Plan) -> tuple[float, ...]:
    """Return the orbital positions, every arc_step_deg, that stand high enough over a place; () where the plan leaves the arc out."""
    step = plan.area.arc_step_deg
    if step <= 0.0:
        return ()
    orbits = np.arange(-180.0 + step, 180.0 + step / 2.0, step)
    here = {"lat_deg": np.full(orbits.size, lat_deg), "lon_deg": np.full(orbits.size, lon_deg), "height_ell_m": 0.0}
    look = look_angles_array(**here, orbit_deg=orbits)
    return tuple(orbits[np.asarray(look.elevation_deg) >= plan.limits.smallest_elevation_deg].tolist())


def arc_of_cells(cells: Cells, land: Land, orbits_deg: tuple[float, ...], plan: Plan) -> np.ndarray:
    """Return (n,) the share of some orbital positions, per cent, that a dish sees clear at the default mount height.

    The smallest dish of the kit and the rays of views_of_cells. NaN where any of them is unknown, and where no ground is known.
    """
    share = np.full(cells.lat_deg.shape, np.nan)
    if not orbits_deg or not cells.known.any():
        return share
    views = views_of_cells(cells, land, tuple(Satellite(f"{orbit:g}", orbit) for orbit in orbits_deg), plan)
    states = np.stack([view.state for view in views])
    told = cells.known & (states != UNKNOWN).all(axis=0)
    share[told] = 100.0 * (states[:, told] == CLEAR).mean(axis=0)
    return share


def _part(block: Block, at: np.ndarray) -> Block:
    return Block(block.east_m[at], block.north_m[at], block.turned_deg[at])


def _steps_up(needed_agl_m: np.ndarray, height_m: np.ndarray, highest_m: np.ndarray) -> np.ndarray:
    """Return the lowest of height, height + 0.1, ... and highest that reaches what is needed; NaN where none does."""
    with np.errstate(invalid="ignore"):
        steps = np.maximum(0.0, np.ceil((needed_agl_m - height_m) / limits.MOUNT_STEP_M - 1e-9))
        tried = np.minimum(height_m + steps * limits.MOUNT_STEP_M, highest_m)
        return np.where(needed_agl_m <= highest_m + 1e-9, tried, np.nan)


def _knows(land: Land) -> np.ndarray:
    """Return (grids,) whether each grid of the surface holds both buildings and trees."""
    out = np.zeros(len(land.prepared.grids), dtype=bool)
    for number, layer in zip(land.prepared.surface_order.tolist(), land.surface.layers, strict=True):
        out[number] = layer.surface is not None and layer.knows_buildings and layer.knows_trees
    return out
