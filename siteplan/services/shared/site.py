"""One address on the land: what is known at its point, which building it has, and where each antenna would stand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date as Date
from functools import lru_cache
from typing import Any

import numpy as np

from siteplan.geodesy.projection import geod_forward, geod_inverse
from siteplan.records.ground import KIND_BUILDING, KIND_OBJECT, Footprints, Layer, Surface
from siteplan.records.places import Address, Spot
from siteplan.records.plan import MountTable, Plan
from siteplan.records.verdict import Reason
from siteplan.services.shared.chance import POSITION_POINTS, POSITION_WEIGHTS
from siteplan.terrain.footprints import building_at, buildings_under, facades
from siteplan.terrain.surface import heights_at
from siteplan.terrain.view import LocalView, Prepared, local_view

# A surface this far over the ground at the address's own point is a roof it stands on (common practice, no source).
ROOF_AT_LEAST_M = 2.0
# A mast beside a house stands this far from its wall (common practice, no source).
GARDEN_OFFSET_M = 2.0
VIEW_RADIUS_M = 60_000.0
# An address known this well lies on the building it falls on; its mount is then placed to plan key mount.placement_error_m (common
# practice, no source).
BUILDING_SURE_M = 10.0
# An edge lies anywhere in its cell: 1 / sqrt(12) of it, 1 sigma.
EDGE_CELLS = 1.0 / math.sqrt(12.0)
# An address in a building may mean a mast beside it where at least this share of the places it may mean lies outside (common practice,
# no source: what is left open by a probability of 95 %).
OUTDOORS_AT_LEAST = 0.05


@dataclass(frozen=True, eq=False)
class Land:
    """The terrain of one batch of addresses, ready for rays, the date that growth and declination hang on, and plots where known."""

    surface: Surface
    prepared: Prepared
    on_date: Date
    plots: Footprints | None = None


@dataclass(frozen=True, eq=False)
class Site:
    """What is known at one address. layer is the one that answers for its point; building None where no footprint is near."""

    address: Address
    ground_amsl_m: float
    surface_amsl_m: float
    layer: Layer | None
    building: Any
    kind: int = 0

    @property
    def known(self) -> bool:
        """Return whether any ground data reach the address."""
        return math.isfinite(self.ground_amsl_m)


def site_of(address: Address, land: Land, mount: MountTable) -> Site:
    """Return what the land knows at one address."""
    ground, top, kind, layer_index = heights_at(land.surface, lat_deg=np.array([address.lat_deg]), lon_deg=np.array([address.lon_deg]))
    building = None
    if land.surface.footprints is not None:
        building = building_at(land.surface.footprints, lat_deg=address.lat_deg, lon_deg=address.lon_deg, within_m=mount.snap_m)
    layer = land.surface.layers[int(layer_index[0])] if int(layer_index[0]) >= 0 else None
    return Site(address, float(ground[0]), float(top[0]), layer, building, int(kind[0]))


def _ground_and_top(land: Land, lat_deg: float, lon_deg: float) -> tuple[float, float]:
    ground, top, _, _ = heights_at(land.surface, lat_deg=np.array([lat_deg]), lon_deg=np.array([lon_deg]))
    return float(ground[0]), float(top[0])


def _roof(site: Site, land: Land) -> tuple[float, float, float, float, float] | None:
    """Return (lat, lon, ground, roof, snapped) of the roof this address has, None where no roof height is known."""
    address = site.address
    if site.building is None:
        on_something = site.kind in (KIND_BUILDING, KIND_OBJECT) and site.surface_amsl_m - site.ground_amsl_m >= ROOF_AT_LEAST_M
        return (address.lat_deg, address.lon_deg, site.ground_amsl_m, site.surface_amsl_m, 0.0) if on_something else None
    if site.building.inside:
        lat, lon, snapped = address.lat_deg, address.lon_deg, 0.0
    else:
        inside = site.building.polygon.representative_point()
        lat, lon, snapped = float(inside.y), float(inside.x), float(site.building.distance_m)
    ground, top = _ground_and_top(land, lat, lon)
    stated = float(land.surface.footprints.height_m[site.building.index]) if land.surface.footprints is not None else math.nan
    if math.isfinite(stated) and not top - ground >= ROOF_AT_LEAST_M:
        top = ground + stated
    return (lat, lon, ground, top, snapped) if top - ground >= ROOF_AT_LEAST_M else None


def dish_spot(site: Site, land: Land, plan: Plan, facing_deg: float) -> Spot:
    """Return where the dish stands by the address's mount, else the plan's; facing_deg is the mean bearing of the wanted satellites.

    auto: on the roof where the point lies on a building (or within snap_m of one), else on the ground. A wall mount hangs on the
    wall that faces the satellites best; a ground mount at an address inside a building stands before that wall.
    """
    mount, address = plan.mount, site.address
    kind = address.mount or mount.kind
    roof = _roof(site, land)
    if kind == "auto":
        kind = "roof" if roof is not None else "ground"
    if kind in ("roof", "chimney") and roof is not None:
        lat, lon, ground, top, snapped = roof
        notes = (
            (Reason("spot_snapped", {"snapped_m": snapped}),) if snapped else (Reason("spot_roof", {"above_roof_m": mount.above_roof_m}),)
        )
        centre = top + mount.above_roof_m
        return Spot(kind, lat, lon, ground, top, centre - ground, centre, mount.own_support_m, snapped_m=snapped, notes=notes)
    wall = _best_wall(site, facing_deg) if site.building is not None and (kind == "wall" or site.building.inside) else None
    if wall is not None:
        offset = mount.wall_offset_m if kind == "wall" else GARDEN_OFFSET_M
        lat, lon = (
            float(v) for v in geod_forward(lat_deg=wall.lat_deg, lon_deg=wall.lon_deg, azimuth_deg=wall.outward_deg, distance_m=offset)
        )
        ground, top = _ground_and_top(land, lat, lon)
        if math.isfinite(ground):  # a footprint may reach beyond the land
            snapped = 0.0 if site.building.inside else float(site.building.distance_m)
            notes = (Reason("spot_snapped", {"snapped_m": snapped}),) if snapped and kind == "wall" else ()
            facade = wall.outward_deg if kind == "wall" else math.nan
            height = mount.dish_height_agl_m
            return Spot(kind, lat, lon, ground, top, height, ground + height, facade_deg=facade, snapped_m=snapped, notes=notes)
    notes = ()
    if kind in ("roof", "chimney", "wall"):
        notes = (Reason("spot_no_building", {"kind": kind, "within_m": mount.snap_m}),)
    ground, top, height = site.ground_amsl_m, site.surface_amsl_m, mount.dish_height_agl_m
    return Spot("ground", address.lat_deg, address.lon_deg, ground, top, height, ground + height, notes=notes)


def _best_wall(site: Site, facing_deg: float) -> Any:
    walls = facades(site.building.polygon)
    if not walls:
        return None
    return min(
        walls, key=lambda wall: (abs((wall.outward_deg - facing_deg + 180.0) % 360.0 - 180.0) > 60.0, -wall.length_m, wall.outward_deg)
    )


def mast_spot(site: Site, land: Land, plan: Plan, height_agl_m: float) -> Spot:
    """Return where a TV aerial or mobile antenna stands: one metre (a key) above the roof where one is known, else height_agl_m."""
    roof = _roof(site, land) if site.address.mount != "ground" else None
    if roof is None:
        address, ground = site.address, site.ground_amsl_m
        return Spot("ground", address.lat_deg, address.lon_deg, ground, site.surface_amsl_m, height_agl_m, ground + height_agl_m)
    lat, lon, ground, top, snapped = roof
    centre = top + plan.mount.above_roof_m
    notes = (Reason("spot_snapped", {"snapped_m": snapped}),) if snapped else ()
    return Spot("roof", lat, lon, ground, top, centre - ground, centre, plan.mount.own_support_m, snapped_m=snapped, notes=notes)


def highest_centre_agl_m(spot: Spot, mount: MountTable) -> float:
    """Return the greatest antenna height above ground that may be tried at a spot."""
    if spot.kind in ("roof", "chimney"):
        return max(spot.height_agl_m, spot.roof_amsl_m - spot.ground_amsl_m + mount.highest_above_roof_m)
    return max(spot.height_agl_m, mount.highest_agl_m)


def raised(spot: Spot, height_agl_m: float) -> Spot:
    """Return the same spot with its antenna centre at another height above ground."""
    return replace(spot, height_agl_m=height_agl_m, centre_amsl_m=spot.ground_amsl_m + height_agl_m)


def spot_view(spot: Spot, land: Land) -> LocalView:
    """Return the polar view of the land from a spot, for rays."""
    return local_view(land.prepared, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, radius_m=VIEW_RADIUS_M)


@dataclass(frozen=True, eq=False)
class Scatter:
    """Where the antenna may really come to stand, (n,): metres east and north of the spot, the base its height counts from (amsl) with
    what the lie of the roof adds to its error (1 sigma), and how likely each place is (weights add up to 1). Never empty.

    looked_at  how many equally likely places these are worth; those under something count where no other is left: nothing is seen
               from there
    """

    east_m: np.ndarray
    north_m: np.ndarray
    base_amsl_m: np.ndarray
    base_error_m: np.ndarray
    weight: np.ndarray
    looked_at: float


def scatter(site: Site, spot: Spot, land: Land, *, placement_error_m: float, edge_cells: float = EDGE_CELLS) -> Scatter:
    """Return the places an antenna of this address may come to stand.

    placement_error_m  how far from the spot on the sheet it may be put up where the building is sure, 1 sigma a coordinate
    edge_cells  how far off edges in the data may lie, 1 sigma a coordinate, in cells; as good as an antenna out of place

    The address's own error spreads them round the ADDRESS, not round the spot the rule made of it:
    - ground: places under something that stands there drop out (nobody puts a mast inside a house). Where the address lies so deep in
      its building that it can only mean the house itself, the mast stands at the spot the sheet names, to within placement_error_m.
    - roof, chimney: the base is the roof there, and places off any building drop out. An address known to within BUILDING_SURE_M lies
      on a building that can be told: the share of its own is placed where the sheet says, to within placement_error_m, and places
      that would mean a neighbour's house count on the neighbour's roof.
    - wall: only along the wall, to within placement_error_m for an address known to within BUILDING_SURE_M.
    """
    error_m = site.address.position_error_m
    edge_m = edge_cells * (site.layer.surface or site.layer.ground).cell_m if site.layer is not None else 0.0
    if spot.kind == "ground":
        return _on_ground(site, spot, land, (edge_m, placement_error_m))
    sure = site.building is not None and error_m <= BUILDING_SURE_M
    near_m = math.hypot(min(error_m, placement_error_m) if sure else error_m, edge_m)
    if math.isfinite(spot.facade_deg):
        return _on_wall(spot, land, near_m)
    placed = _places(spot, land, spot.lat_deg, spot.lon_deg, near_m)
    keep = placed.stands_on_roof
    if sure:
        keep &= _inside(site.building.polygon, placed.lat_deg, placed.lon_deg)
    own = _kept(spot, placed, keep, land)
    return _with_neighbours(site, spot, land, own) if sure else own


def scatter_found(site: Site, spot: Spot, land: Land, placement_m: float) -> Scatter:
    """Return the places round a spot found on the map itself: to placement_m, 1 sigma, whatever the error of the address's own point."""
    cell_m = (site.layer.surface or site.layer.ground).cell_m if site.layer is not None else 0.0
    near_m = math.hypot(placement_m, EDGE_CELLS * cell_m)
    if math.isfinite(spot.facade_deg):
        return _on_wall(spot, land, near_m)
    placed = _places(spot, land, spot.lat_deg, spot.lon_deg, near_m)
    if spot.kind != "ground":
        keep = placed.stands_on_roof
        if site.building is not None:
            keep &= _inside(site.building.polygon, placed.lat_deg, placed.lon_deg)
        return _kept(spot, placed, keep, land)
    free = np.isfinite(placed.ground_amsl_m) & ~(placed.top_amsl_m - placed.ground_amsl_m > spot.height_agl_m)
    if site.building is not None:
        free &= ~_inside(site.building.polygon, placed.lat_deg, placed.lon_deg)
    return _kept(spot, placed, free)


def _on_ground(site: Site, spot: Spot, land: Land, errors_m: tuple[float, float]) -> Scatter:
    edge_m, placement_error_m = errors_m
    address = site.address
    around = _places(spot, land, address.lat_deg, address.lon_deg, math.hypot(address.position_error_m, edge_m))
    free = np.isfinite(around.ground_amsl_m) & ~(around.top_amsl_m - around.ground_amsl_m > spot.height_agl_m)
    moved = site.building is not None and (spot.lat_deg, spot.lon_deg) != (address.lat_deg, address.lon_deg)
    if not moved:
        return _kept(spot, around, free)
    free &= ~_inside(site.building.polygon, around.lat_deg, around.lon_deg)
    if float(around.weight[free].sum()) >= OUTDOORS_AT_LEAST:
        return _kept(spot, around, free)
    garden = _places(spot, land, spot.lat_deg, spot.lon_deg, math.hypot(placement_error_m, edge_m))
    open_ = np.isfinite(garden.ground_amsl_m) & ~(garden.top_amsl_m - garden.ground_amsl_m > spot.height_agl_m)
    return _kept(spot, garden, open_ & ~_inside(site.building.polygon, garden.lat_deg, garden.lon_deg))


def _on_wall(spot: Spot, land: Land, error_m: float) -> Scatter:
    along = math.radians(spot.facade_deg + 90.0)
    away = POSITION_POINTS[:, 0] * error_m
    placed = _places_at(spot, land, away * math.sin(along), away * math.cos(along))
    free = np.isfinite(placed.ground_amsl_m) & ~(placed.top_amsl_m - placed.ground_amsl_m > spot.height_agl_m)
    return _kept(spot, placed, free)


def _with_neighbours(site: Site, spot: Spot, land: Land, own: Scatter) -> Scatter:
    """Return the places on the address's own roof, and those on the neighbours' roofs that the address may mean as well."""
    address, footprints = site.address, land.surface.footprints
    around = _places(spot, land, address.lat_deg, address.lon_deg, address.position_error_m)
    under = buildings_under(footprints, lat_deg=around.lat_deg, lon_deg=around.lon_deg)
    other = (under >= 0) & (under != site.building.index)
    other &= around.stands_on_roof
    # the antenna stands on a roof: places in the street say nothing of which
    elsewhere = float(around.weight[other].sum())
    at_home = float(around.weight[_inside(site.building.polygon, around.lat_deg, around.lon_deg)].sum())
    if not elsewhere > 0.0:
        return own
    share = elsewhere / (elsewhere + max(at_home, float(POSITION_WEIGHTS[0])))
    return _joined((own, 1.0 - share), (_kept(spot, around, other, land), share))


@dataclass(frozen=True, eq=False)
class _Places:
    """Places with what stands there, (n,)."""

    east_m: np.ndarray
    north_m: np.ndarray
    lat_deg: np.ndarray
    lon_deg: np.ndarray
    ground_amsl_m: np.ndarray
    top_amsl_m: np.ndarray
    kind: np.ndarray
    weight: np.ndarray

    @property
    def stands_on_roof(self) -> np.ndarray:
        """Return (n,) whether a place lies on something that may be a building."""
        built = (self.kind == KIND_BUILDING) | (self.kind == KIND_OBJECT)
        return np.isfinite(self.top_amsl_m) & built & (self.top_amsl_m - self.ground_amsl_m >= ROOF_AT_LEAST_M)


def _places(spot: Spot, land: Land, lat_deg: float, lon_deg: float, error_m: float) -> _Places:
    """Return places spread by error_m, 1 sigma a coordinate, round a point."""
    east_m, north_m = 0.0, 0.0
    if (lat_deg, lon_deg) != (spot.lat_deg, spot.lon_deg):
        bearing, away = bearing_and_distance(spot, lat_deg, lon_deg)
        east_m, north_m = away * math.sin(math.radians(bearing)), away * math.cos(math.radians(bearing))
    return _places_at(spot, land, east_m + POSITION_POINTS[:, 0] * error_m, north_m + POSITION_POINTS[:, 1] * error_m)


def _places_at(spot: Spot, land: Land, east: np.ndarray, north: np.ndarray) -> _Places:
    bearing, away = np.degrees(np.arctan2(east, north)) % 360.0, np.hypot(east, north)
    n = len(east)
    lat, lon = geod_forward(lat_deg=np.full(n, spot.lat_deg), lon_deg=np.full(n, spot.lon_deg), azimuth_deg=bearing, distance_m=away)
    ground, top, kind, _ = heights_at(land.surface, lat_deg=lat, lon_deg=lon)
    return _Places(east, north, lat, lon, ground, top, kind, POSITION_WEIGHTS)


def _kept(spot: Spot, places: _Places, keep: np.ndarray, roofs: Land | None = None) -> Scatter:
    """Return the places that count, weights made to add up to 1; the spot itself where none does. roofs: they lie on roofs."""
    if not keep.any():
        return Scatter(np.zeros(1), np.zeros(1), np.array([spot.ground_amsl_m]), np.zeros(1), np.ones(1), _worth(POSITION_WEIGHTS))
    base, error = places.ground_amsl_m[keep], np.zeros(int(keep.sum()))
    if roofs is not None:
        base = places.top_amsl_m[keep] - (spot.roof_amsl_m - spot.ground_amsl_m)
        error = _roof_error_m(roofs, places.lat_deg[keep], places.lon_deg[keep])
    weight = places.weight[keep] / places.weight[keep].sum()
    return Scatter(places.east_m[keep], places.north_m[keep], base, error, weight, _worth(weight))


def _worth(weight: np.ndarray) -> float:
    """Return how many equal weights some weights that add up to 1 are worth (Kish's effective sample size)."""
    return float(1.0 / (weight**2).sum())


def _roof_error_m(land: Land, lat_deg: np.ndarray, lon_deg: np.ndarray) -> np.ndarray:
    """Return how far off the roof's height in the data may be at each place for the lie of the roof alone, 1 sigma.

    A cell says one height for all of it: the mean, the highest, or the one in its middle. The roof at a place may have any of the
    heights within half a cell; of a range evenly filled one sigma is 1 / sqrt(12).
    """
    _, _, _, index = heights_at(land.surface, lat_deg=lat_deg, lon_deg=lon_deg)
    sizes = np.array([(layer.surface or layer.ground).cell_m for layer in land.surface.layers])
    half = np.where(index >= 0, sizes[np.maximum(index, 0)], 0.0) / 2.0
    bearing = np.array([45.0, 135.0, 225.0, 315.0])[:, None] + np.zeros(len(lat_deg))
    away = half * math.sqrt(2.0) + np.zeros_like(bearing)
    lat, lon = geod_forward(lat_deg=lat_deg + np.zeros_like(bearing), lon_deg=lon_deg + np.zeros_like(bearing), azimuth_deg=bearing,
                            distance_m=away)  # fmt: skip
    ground, top, _, _ = heights_at(land.surface, lat_deg=lat, lon_deg=lon)
    _, here, _, _ = heights_at(land.surface, lat_deg=lat_deg, lon_deg=lon_deg)
    top = np.where(top - ground >= ROOF_AT_LEAST_M, top, here)
    return (np.fmax(top.max(axis=0), here) - np.fmin(top.min(axis=0), here)) / math.sqrt(12.0)


def _joined(*parts: tuple[Scatter, float]) -> Scatter:
    """Return several scatters as one, each with its share (shares add up to 1)."""
    weight = np.concatenate([part.weight * share for part, share in parts])
    names = ("east_m", "north_m", "base_amsl_m", "base_error_m")
    return Scatter(*(np.concatenate([getattr(part, name) for part, _ in parts]) for name in names), weight, _worth(weight))


def _inside(polygon: Any, lat_deg: np.ndarray, lon_deg: np.ndarray) -> np.ndarray:
    import shapely

    return np.asarray(shapely.contains_xy(polygon, lon_deg, lat_deg))


def bearing_and_distance(spot: Spot, lat_deg: float, lon_deg: float) -> tuple[float, float]:
    """Return true bearing and geodesic distance in metres from a spot to a place."""
    azimuth, _, away = geod_inverse(lat1_deg=spot.lat_deg, lon1_deg=spot.lon_deg, lat2_deg=lat_deg, lon2_deg=lon_deg)
    return float(azimuth) % 360.0, float(away)


@lru_cache(maxsize=4096)
def _declination(lat_deg: float, lon_deg: float, on_date: Date) -> float:
    from siteplan.errors import MethodRangeError
    from siteplan.sky.magnetic import declination_deg

    try:
        return float(declination_deg(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=0.0, on_date=on_date))
    except MethodRangeError:
        return math.nan


def declination_at(lat_deg: float, lon_deg: float, on_date: Date) -> float:
    """Return the magnetic declination in degrees east, to a hundredth of a degree of position; NaN outside the model's years."""
    return _declination(round(lat_deg, 2), round(lon_deg, 2), on_date)
