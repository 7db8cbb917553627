"""Where on a plot a dish may stand at all: places on the ground, along walls and on the roof, each with the heights allowed there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from siteplan.records.ground import KIND_BUILDING, KIND_OBJECT
from siteplan.records.plan import MountTable
from siteplan.services.satellite import limits
from siteplan.services.shared.chance import POSITION_POINTS, POSITION_WEIGHTS
from siteplan.services.shared.site import ROOF_AT_LEAST_M, Land, Site
from siteplan.terrain.footprints import buildings_under, facades, metres_per_degree
from siteplan.terrain.surface import heights_at


@dataclass(frozen=True, eq=False)
class Ground:
    """The address's surroundings in metres east and north of its point: the area looked in, its own building and its neighbours.

    looked_in  "plot", "building" or "circle"; polygons are shapely's, own None where no building is known
    """

    site: Site
    land: Land
    looked_in: str
    area: Any
    own: Any
    others: tuple[Any, ...]

    def degrees(self, east_m: np.ndarray, north_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return (lat_deg, lon_deg) of places."""
        north, east = metres_per_degree(self.site.address.lat_deg)
        return self.site.address.lat_deg + np.asarray(north_m) / north, self.site.address.lon_deg + np.asarray(east_m) / east


@dataclass(frozen=True, eq=False)
class Places:
    """Places of one kind, arrays (n,): where, the land there, and the default and the greatest height of the dish's centre (amsl).

    row, col  in the search grid, steps from the address; walls stand beside it and have the number of their wall and the step along it
    """

    kind: str
    east_m: np.ndarray
    north_m: np.ndarray
    lat_deg: np.ndarray
    lon_deg: np.ndarray
    ground_amsl_m: np.ndarray
    roof_amsl_m: np.ndarray
    default_amsl_m: np.ndarray
    highest_amsl_m: np.ndarray
    facade_deg: np.ndarray
    row: np.ndarray
    col: np.ndarray
    own_support_m: float


def ground_of(site: Site, land: Land, mount: MountTable) -> Ground:
    """Return where to look: the plot that holds the address, else its building and what lies around, else a circle."""
    import shapely

    address = site.address
    north, east = metres_per_degree(address.lat_deg)

    def local(shape: Any) -> Any:
        return shapely.transform(shape, lambda at: (at - [address.lon_deg, address.lat_deg]) * [east, north])

    own = local(site.building.polygon) if site.building is not None else None
    plot = _plot_of(site, land)
    if plot is not None:
        looked_in, area = "plot", local(plot).intersection(shapely.Point(0.0, 0.0).buffer(limits.PLOT_REACH_M))
    elif own is not None:
        looked_in, area = "building", own.buffer(mount.search_radius_m).intersection(shapely.Point(0.0, 0.0).buffer(limits.GROUND_REACH_M))
    else:
        looked_in, area = "circle", shapely.Point(0.0, 0.0).buffer(max(mount.search_radius_m, 0.5))
    others = []
    footprints = land.surface.footprints
    if footprints is not None and footprints.polygons:
        reach = limits.OUTLINES_WITHIN_M
        at_east, at_north = (axis.ravel() for axis in np.meshgrid(*[np.linspace(-reach, reach, 41)] * 2))
        lat, lon = address.lat_deg + at_north / north, address.lon_deg + at_east / east
        found = np.unique(buildings_under(footprints, lat_deg=lat, lon_deg=lon))
        mine = site.building.index if site.building is not None else -1
        others = [local(footprints.polygons[int(k)]) for k in found.tolist() if k >= 0 and k != mine]
    return Ground(site, land, looked_in, area, own, tuple(others))


def _plot_of(site: Site, land: Land) -> Any:
    """Return the plot (WGS84) that holds the address, the smallest where several do; None where no plot is known."""
    from shapely import Point

    if land.plots is None:
        return None
    here = Point(site.address.lon_deg, site.address.lat_deg)
    holding = [polygon for polygon in land.plots.polygons if polygon.covers(here)]
    return min(holding, key=lambda polygon: polygon.area, default=None)


def ours(site: Site, land: Land) -> float:
    """Return the chance that the building (or plot) taken for the address's is the one meant, by the error of its position."""
    address = site.address
    north, east = metres_per_degree(address.lat_deg)
    lat = address.lat_deg + POSITION_POINTS[:, 1] * address.position_error_m / north
    lon = address.lon_deg + POSITION_POINTS[:, 0] * address.position_error_m / east
    plot = _plot_of(site, land)
    if plot is not None:
        import shapely

        return float(POSITION_WEIGHTS[np.asarray(shapely.contains_xy(plot, lon, lat))].sum())
    if site.building is None:
        return 0.0
    under = buildings_under(land.surface.footprints, lat_deg=lat, lon_deg=lon)
    home = max(float(POSITION_WEIGHTS[under == site.building.index].sum()), float(POSITION_WEIGHTS[0]))
    elsewhere = float(POSITION_WEIGHTS[(under >= 0) & (under != site.building.index)].sum())
    return home / (home + elsewhere)


def kinds_allowed(site: Site, mount: MountTable) -> tuple[str, ...]:
    """Return the kinds of mount that may be tried: the one asked for, else all that the address has."""
    asked = site.address.mount or mount.kind
    if asked != "auto":
        return (asked,)
    return ("ground", "wall", "roof") if site.building is not None or _on_a_roof(site) else ("ground",)


def _on_a_roof(site: Site) -> bool:
    return site.kind in (KIND_BUILDING, KIND_OBJECT) and site.surface_amsl_m - site.ground_amsl_m >= ROOF_AT_LEAST_M


def places_of(kind: str, where: Ground, mount: MountTable) -> Places:
    """Return all places of one kind of mount; none where the address has none."""
    return _walls(where, mount) if kind == "wall" else _flat(kind, where, mount)


def _flat(kind: str, where: Ground, mount: MountTable) -> Places:
    """Return places on the ground, or on the address's own roof, on a grid of STEP_M through the address's point."""
    import shapely

    roof = kind != "ground"
    shape = where.area
    if roof and where.own is not None:
        inner = where.own.buffer(-limits.ROOF_EDGE_M)
        shape = where.own if inner.is_empty else inner
    if roof and where.own is None and not _on_a_roof(where.site):
        return _none(kind)
    west, south, east, north = shape.bounds
    step = limits.STEP_M
    rows, cols = (np.arange(math.floor(low / step), math.ceil(high / step) + 1) for low, high in ((south, north), (west, east)))
    row, col = (axis.ravel() for axis in np.meshgrid(rows, cols, indexing="ij"))
    inside = shapely.contains_xy(shape, col * step, row * step)
    if not roof:
        for other in (*where.others, *([where.own.buffer(limits.OFF_WALL_M)] if where.own is not None else [])):
            inside &= ~shapely.contains_xy(other, col * step, row * step)
    row, col = row[inside], col[inside]
    at_east, at_north = col * step, row * step
    lat, lon = where.degrees(at_east, at_north)
    ground, top, stands, _ = heights_at(where.land.surface, lat_deg=lat, lon_deg=lon)
    if roof:
        built = (stands == KIND_BUILDING) | (stands == KIND_OBJECT)
        keep = np.isfinite(top) & np.isfinite(ground) & built & (top - ground >= ROOF_AT_LEAST_M)
        low, high = top + mount.above_roof_m, top + mount.highest_above_roof_m
    else:
        keep = np.isfinite(ground) & ~(top - ground > limits.OPEN_GROUND_M)
        low, high = ground + mount.dish_height_agl_m, ground + max(mount.dish_height_agl_m, mount.highest_agl_m)
    parts = (at_east, at_north, lat, lon, ground, top, low, np.maximum(low, high), np.full(row.size, math.nan), row, col)
    return Places(kind, *(part[keep] for part in parts), mount.own_support_m if roof else 0.0)


def _walls(where: Ground, mount: MountTable) -> Places:
    """Return places along the walls of the address's own building, wall_offset_m before them."""
    import shapely

    if where.site.building is None:
        return _none("wall")
    north, east = metres_per_degree(where.site.address.lat_deg)
    lists: list[list[float]] = []
    for number, wall in enumerate(facades(where.site.building.polygon)):
        out, along = math.radians(wall.outward_deg), math.radians(wall.outward_deg + 90.0)
        middle = (wall.lon_deg - where.site.address.lon_deg) * east, (wall.lat_deg - where.site.address.lat_deg) * north
        half = max(0.0, wall.length_m / 2.0 - limits.CORNER_M)
        for k in range(-math.floor(half / limits.STEP_M), math.floor(half / limits.STEP_M) + 1):
            a = k * limits.STEP_M
            lists.append(
                [
                    middle[0] + mount.wall_offset_m * math.sin(out) + a * math.sin(along),
                    middle[1] + mount.wall_offset_m * math.cos(out) + a * math.cos(along),
                    middle[0] - limits.INSIDE_WALL_M * math.sin(out) + a * math.sin(along),
                    middle[1] - limits.INSIDE_WALL_M * math.cos(out) + a * math.cos(along),
                    wall.outward_deg, number, k,
                ]
            )  # fmt: skip
    if not lists:
        return _none("wall")
    table = np.array(lists)
    lat, lon = where.degrees(table[:, 0], table[:, 1])
    ground, top, _, _ = heights_at(where.land.surface, lat_deg=lat, lon_deg=lon)
    inner_lat, inner_lon = where.degrees(table[:, 2], table[:, 3])
    inner_ground, eaves, _, _ = heights_at(where.land.surface, lat_deg=inner_lat, lon_deg=inner_lon)
    low = ground + mount.dish_height_agl_m
    # a dish hangs on the wall, not above it: as high as the roof a little way in, where that is known
    reach = np.where(eaves - inner_ground >= ROOF_AT_LEAST_M, eaves, np.inf)
    high = np.minimum(ground + max(mount.dish_height_agl_m, mount.highest_agl_m), np.maximum(reach, low))
    keep = np.isfinite(ground)
    for other in where.others:
        keep &= ~shapely.contains_xy(other, table[:, 0], table[:, 1])
    whole = (table[:, 5].astype(int), table[:, 6].astype(int))
    parts = (table[:, 0], table[:, 1], lat, lon, ground, top, low, high, table[:, 4], *whole)
    return Places("wall", *(part[keep] for part in parts), 0.0)


def _none(kind: str) -> Places:
    return Places(kind, *([np.empty(0)] * 9), np.empty(0, dtype=int), np.empty(0, dtype=int), 0.0)
