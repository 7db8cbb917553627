"""Building outlines around a point: which building it lies on or next to, its walls and the middle of its roof."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from siteplan.constants import WGS84_FLATTENING, WGS84_SEMI_MAJOR_M
from siteplan.records.ground import Footprints

# Bends of a wall smaller than this are taken as drawing noise, walls shorter than LEAST_WALL_M carry no dish (common practice, no source).
WALL_NOISE_M = 0.2
LEAST_WALL_M = 1.0

_trees: WeakKeyDictionary[Footprints, Any] = WeakKeyDictionary()


@dataclass(frozen=True, eq=False)
class FootprintHit:
    """The building at a point. index into Footprints.polygons; lat_deg, lon_deg: of the outline's or roof's point nearest to the point."""

    index: int
    inside: bool
    distance_m: float
    lat_deg: float
    lon_deg: float
    polygon: Any


@dataclass(frozen=True, slots=True)
class Facade:
    """One straight wall: its midpoint, the true bearing straight out of it, its length."""

    lat_deg: float
    lon_deg: float
    outward_deg: float
    length_m: float


def metres_per_degree(lat_deg: float) -> tuple[float, float]:
    """Return metres in one degree of (latitude, longitude) at a latitude, on the WGS84 ellipsoid (radii of curvature)."""
    e2 = WGS84_FLATTENING * (2.0 - WGS84_FLATTENING)
    w2 = 1.0 - e2 * np.sin(np.radians(lat_deg)) ** 2
    north = WGS84_SEMI_MAJOR_M * (1.0 - e2) / w2**1.5
    east = WGS84_SEMI_MAJOR_M / np.sqrt(w2) * np.cos(np.radians(lat_deg))
    return float(np.radians(north)), float(np.radians(east))


def _local(shape: Any, lat_deg: float, lon_deg: float) -> Any:
    import shapely

    north, east = metres_per_degree(lat_deg)
    return shapely.transform(shape, lambda at: (at - [lon_deg, lat_deg]) * [east, north])


def _tree(footprints: Footprints) -> Any:
    from shapely import STRtree

    if footprints not in _trees:
        _trees[footprints] = STRtree(list(footprints.polygons))
    return _trees[footprints]


def building_at(footprints: Footprints | None, *, lat_deg: float, lon_deg: float, within_m: float) -> FootprintHit | None:
    """Return the building a point lies on, else the nearest within a distance, else None (the first of the file where two are as near).

    lat_deg, lon_deg  WGS84
    within_m          how far outside an outline still counts, metres
    """
    from shapely import Point, box
    from shapely.ops import nearest_points

    if footprints is None or not footprints.polygons or not np.isfinite([lat_deg, lon_deg]).all():
        return None
    north, east = metres_per_degree(lat_deg)
    reach = within_m * 1.01 + 0.01
    area = box(lon_deg - reach / east, lat_deg - reach / north, lon_deg + reach / east, lat_deg + reach / north)
    here = Point(0.0, 0.0)
    best: tuple[float, int, Any] | None = None
    for index in sorted(int(i) for i in _tree(footprints).query(area)):
        polygon = _local(footprints.polygons[index], lat_deg, lon_deg)
        distance = float(polygon.distance(here))
        if distance <= within_m and (best is None or distance < best[0]):
            best = distance, index, polygon
    if best is None:
        return None
    distance, index, polygon = best
    at = nearest_points(polygon, here)[0]
    return FootprintHit(
        index=index, inside=distance == 0.0, distance_m=distance, lat_deg=lat_deg + at.y / north, lon_deg=lon_deg + at.x / east,
        polygon=footprints.polygons[index],
    )  # fmt: skip


def facades(polygon: Any) -> tuple[Facade, ...]:
    """Return the straight walls of a footprint, courtyards included, in the order they are drawn.

    polygon  shapely polygon in WGS84 (lon, lat)

    Bends under 0.2 m are smoothed and walls under 1 m left out (all walls where none is longer).
    """
    from shapely.geometry.polygon import orient

    middle = polygon.centroid
    north, east = metres_per_degree(middle.y)
    plan = _local(polygon, middle.y, middle.x)
    smooth = plan.simplify(WALL_NOISE_M)
    plan = orient(smooth if smooth.geom_type == "Polygon" and not smooth.is_empty else plan)
    walls = []
    for ring in (plan.exterior, *plan.interiors):
        at = np.asarray(ring.coords)[:, :2]
        step = np.diff(at, axis=0)
        mid = (at[:-1] + at[1:]) / 2.0
        length = np.hypot(step[:, 0], step[:, 1])
        # the house is on the left of each wall as drawn, so straight out is to its right
        outward = np.degrees(np.arctan2(step[:, 1], -step[:, 0])) % 360.0
        for (x, y), bearing, size in zip(mid, outward, length, strict=True):
            if size > 0.0:
                walls.append(Facade(middle.y + y / north, middle.x + x / east, float(bearing), float(size)))
    return tuple(wall for wall in walls if wall.length_m >= LEAST_WALL_M) or tuple(walls)


def roof_point(polygon: Any) -> tuple[float, float]:
    """Return (lat_deg, lon_deg) of a footprint's middle, or of a point well inside it where its middle lies outside."""
    middle = polygon.centroid
    if not polygon.contains(middle):
        middle = polygon.representative_point()
    return float(middle.y), float(middle.x)


def buildings_under(footprints: Footprints | None, *, lat_deg: np.ndarray, lon_deg: np.ndarray) -> np.ndarray:
    """Return (n,) int64: for each point (n,) the building it lies on (the first of the file where several overlap), -1 where none."""
    import shapely

    out = np.full(np.shape(lat_deg), -1, dtype=np.int64)
    if footprints is None or not footprints.polygons or not out.size:
        return out
    points, buildings = _tree(footprints).query(shapely.points(lon_deg, lat_deg), predicate="intersects")
    order = np.lexsort((-buildings, points))  # the first building of a point is written last
    out[points[order]] = buildings[order]
    return out
