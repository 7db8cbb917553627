"""How much cable a spot takes: where it goes into the house, and the way along walls to there."""

from __future__ import annotations

import math

import numpy as np

from siteplan.records.plan import MountTable
from siteplan.services.satellite.spot_places import Ground, Places


def entry_point(where: Ground, mount: MountTable) -> tuple[float, float] | None:
    """Return (east_m, north_m) of the address where the cable goes in: the footprint's point nearest to the address, or on a stated side.

    None where no building is known. Source: common practice, no source (an address's point lies by its street or door).
    """
    from shapely import LineString, Point
    from shapely.ops import nearest_points

    if where.own is None:
        return None
    ring = where.own.exterior
    if mount.entry_deg is None:
        at = nearest_points(ring, Point(0.0, 0.0))[0]
        return float(at.x), float(at.y)
    middle = where.own.centroid
    turn, far = math.radians(mount.entry_deg), 500.0
    line = LineString([middle, (middle.x + far * math.sin(turn), middle.y + far * math.cos(turn))])
    hit = line.intersection(ring)
    at = nearest_points(ring, line.interpolate(far))[0] if hit.is_empty else nearest_points(hit, line.interpolate(far))[0]
    return float(at.x), float(at.y)


def cable_m(places: Places, height_agl_m: np.ndarray, entry: tuple[float, float] | None, where: Ground, mount: MountTable) -> np.ndarray:
    """Return metres of cable from places (n,) to the entry point: the way along the house's own axes times a detour, the drop, a spare.

    Without a known building the address's own point stands for the entry. Source: common practice, no source.
    """
    east, north = entry or (0.0, 0.0)
    axis = math.radians(_axis_deg(where))
    de, dn = places.east_m - east, places.north_m - north
    way = np.abs(de * math.sin(axis) + dn * math.cos(axis)) + np.abs(de * math.cos(axis) - dn * math.sin(axis))
    return mount.cable_detour * way + np.maximum(height_agl_m, 0.0) + mount.cable_spare_m


def _axis_deg(where: Ground) -> float:
    """Return the bearing of the house's longest wall, 0 without a house."""
    if where.own is None:
        return 0.0
    corners = np.asarray(where.own.exterior.coords)[:, :2]
    step = np.diff(corners, axis=0)
    longest = step[int(np.argmax(np.hypot(step[:, 0], step[:, 1])))]
    return math.degrees(math.atan2(longest[0], longest[1]))
