"""The ground between two points, with what stands on it, as propagation methods take it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from siteplan.errors import InputError, told
from siteplan.geodesy import cells, projection
from siteplan.records.ground import Grid, Surface
from siteplan.records.results import Profile
from siteplan.records.view import Prepared
from siteplan.terrain.view import FIT_CELLS, prepare

ZONE_SEA, ZONE_COASTAL, ZONE_INLAND = 1, 3, 4

# Full resolution over so many steps at both ends, within 500 m to fine_m; between, stretches of the path's thousandth part, 50 m or
# more (common practice, no source).
_FINE_STEPS = 500
_LEAST_FINE_M = 500.0
_LEAST_STRETCH_M = 50.0
_MOST_STRETCHES = 1000
_FINE_STEP_M = (1.0, 30.0)
# Ground unknown over less than this between known ground is bridged by a straight line and still counts (common practice, no source).
BRIDGED_M = 200.0
# Sea: ground at or under sea level, level to within 5 cm, over this far along the path (common practice, no source).
_SEA_RUN_M = 500.0
_SEA_LEVEL_M = 0.05
# Coastal land: adjacent to the sea, lower than 100 m, within 50 km of it (ITU-R P.1812-7, table of radio-climatic zones).
_COAST_TOP_M, _COAST_DEPTH_M = 100.0, 50_000.0
_LEAST_PATH_M = 0.01


def profile_between(
    surface_or_prepared: Surface | Prepared,
    *,
    tx_lat_deg: float,
    tx_lon_deg: float,
    rx_lat_deg: float,
    rx_lon_deg: float,
    fine_m: float = 1000.0,
) -> Profile:
    """Return the profile along the geodesic from a sender to a receiver.

    fine_m  at both ends, up to this far, a point stands at every cell (1 to 30 m) of the layer that answers there; at cells of
            1 m over 500 m only. Between, each stretch of 50 m (or a thousandth of the path) gives the place where its surface is
            highest, at that place: the maximum, not a sample.

    Returns a Profile, sender first. Ground that is unknown is filled by a straight line between what is known (level past the last
    known); gaps under BRIDGED_M between known ground count as known, longer ones and unknown ends make complete False; with no
    ground at all, heights are NaN. Clutter is surface less ground, 0 at both ends and where the surface is unknown. Sea is level
    ground at or under 0 m over 500 m, coastal land lies beside it; a path over polders that are level to 5 cm would be taken for sea.

    Raises InputError where an end is not on the Earth, or both are the same place. Checked in tests/terrain/test_profile.py.
    """
    from siteplan.terrain.kernels import walk

    land = surface_or_prepared if isinstance(surface_or_prepared, Prepared) else prepare(surface_or_prepared)
    for lat, lon in ((tx_lat_deg, tx_lon_deg), (rx_lat_deg, rx_lon_deg)):
        if not (abs(lat) <= 90.0 and np.isfinite(lon)):
            raise InputError(told("latitude {lat}, longitude {lon} is not a place; latitude must be -90 to 90", lat=lat, lon=lon))
    bearing, _, path_m = projection.geod_inverse(lat1_deg=tx_lat_deg, lon1_deg=tx_lon_deg, lat2_deg=rx_lat_deg, lon2_deg=rx_lon_deg)
    bearing, path_m = float(bearing), float(path_m)
    if not path_m > _LEAST_PATH_M:
        raise InputError(
            told(
                "sender and receiver stand at the same place ({tx_lat_deg:.6f}, {tx_lon_deg:.6f}): there is no path between them",
                tx_lat_deg=tx_lat_deg,
                tx_lon_deg=tx_lon_deg,
            )
        )
    line, reach = _line(land, tx_lat_deg, tx_lon_deg, bearing, path_m)
    sizes = np.column_stack([[grid.cell_m for grid in land.grids], reach])

    def look(starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
        return walk(*land.arrays, sizes, land.surface_order, land.ground_order, line, starts, ends)

    ends_m = np.array([0.0, path_m])
    cell_m = [sizes[int(g), 0] if g >= 0 else _FINE_STEP_M[1] for g in look(ends_m, ends_m)[:, 3]]
    starts, stops = _stretches(path_m, cell_m, fine_m)
    found = look(starts, stops)
    distance, ground, top = found[:, 0], found[:, 1], found[:, 2]
    distance[0], distance[-1] = 0.0, path_m
    known = np.isfinite(ground)
    complete = bool(known.any()) and bool(known[0] and known[-1]) and _longest_gap_m(distance, known) < BRIDGED_M
    filled = np.interp(distance, distance[known], ground[known]) if known.any() else ground
    clutter = np.where(known & (found[:, 3] >= 0), np.maximum(top - filled, 0.0), 0.0)
    clutter[0] = clutter[-1] = 0.0
    has_surface = np.array([any(layer.surface is grid for layer in land.surface.layers) for grid in land.grids])
    stands_for = np.gradient(distance)
    with_surface = (found[:, 3] >= 0) & has_surface[found[:, 3].astype(int)]
    lat_mid, _ = projection.geod_forward(lat_deg=tx_lat_deg, lon_deg=tx_lon_deg, azimuth_deg=bearing, distance_m=path_m / 2.0)
    return Profile(
        distance_m=distance,
        ground_amsl_m=filled,
        clutter_m=clutter,
        zone=_zones(distance, np.where(known, filled, np.nan)),
        bearing_deg=bearing,
        lat_mid_deg=float(lat_mid),
        surface_known=float(stands_for[with_surface].sum() / stands_for.sum()),
        complete=complete,
        ground_known=float((stands_for * found[:, 4]).sum() / stands_for.sum()),
    )


def _stretches(path_m: float, cell_m: list[float], fine_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return (starts, ends) of the stretches of a path: points at both ends, stretches between."""
    near = []
    for cell in cell_m:
        step = min(max(cell, _FINE_STEP_M[0]), _FINE_STEP_M[1])
        length = min(max(_FINE_STEPS * step, _LEAST_FINE_M), max(fine_m, _LEAST_FINE_M))
        near.append((step, length))
    total = near[0][1] + near[1][1]
    if total >= path_m:  # all of it in full
        share = path_m * near[0][1] / total
        near = [(near[0][0], share), (near[1][0], path_m - share)]
    counts = [max(1, int(np.ceil(length / step - 1e-9))) for step, length in near]
    first = np.linspace(0.0, near[0][1], counts[0] + 1)
    last = path_m - np.linspace(near[1][1], 0.0, counts[1] + 1)
    middle_m = last[0] - first[-1]
    if middle_m <= 1e-6:
        starts = np.concatenate([first, last[1:]])
        return starts, starts.copy()
    bins = int(np.ceil(middle_m / max(_LEAST_STRETCH_M, path_m / _MOST_STRETCHES)))
    edges = np.linspace(first[-1], last[0], bins + 1)
    inset = min(0.5, 0.25 * middle_m / bins)  # so that no stretch's highest place is also a point
    return np.concatenate([first, edges[:-1] + inset, last]), np.concatenate([first, edges[1:] - inset, last])


def _longest_gap_m(distance: np.ndarray, known: np.ndarray) -> float:
    at = distance[known]
    gap = np.diff(at)
    beside = np.diff(np.flatnonzero(known)) > 1
    return float(gap[beside].max()) if beside.any() else 0.0


def _zones(distance: np.ndarray, ground: np.ndarray) -> np.ndarray:
    zone = np.full(distance.size, ZONE_INLAND, dtype=np.uint8)
    with np.errstate(invalid="ignore"):
        low = ground <= 0.0
    edges = np.flatnonzero(np.diff(np.concatenate([[0], low.astype(np.int8), [0]])))
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        part = slice(a, b)
        if distance[b - 1] - distance[a] >= _SEA_RUN_M and np.ptp(ground[part]) <= _SEA_LEVEL_M:
            zone[part] = ZONE_SEA
    if not (zone == ZONE_SEA).any():
        return zone
    for way in (1, -1):
        from_sea, since = False, 0.0
        for at in range(distance.size)[::way]:
            if zone[at] == ZONE_SEA:
                from_sea, since = True, distance[at]
            elif from_sea and ground[at] < _COAST_TOP_M and abs(distance[at] - since) <= _COAST_DEPTH_M:
                zone[at] = ZONE_COASTAL
            else:
                from_sea = False
    return zone


# ---- the path on each grid -----------------------------------------------------------------------------------


def _line(land: Prepared, lat_deg: float, lon_deg: float, bearing_deg: float, path_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return (line (grids, 5, terms) as geodesy.kernels take it, reach (grids,)): columns and rows as powers of the distance."""
    share, checks = _nodes()
    lat, lon = projection.geod_forward(lat_deg=lat_deg, lon_deg=lon_deg, azimuth_deg=bearing_deg, distance_m=path_m * share)
    seen: dict[str, tuple[np.ndarray, np.ndarray]] = {}
    solve, test = _powers()
    terms = solve.shape[0]
    line = np.zeros((len(land.grids), 5, terms))
    reach = np.full(len(land.grids), -1.0)
    scale = path_m ** -np.arange(terms, dtype=np.float64)
    for g, grid in enumerate(land.grids):
        if grid.crs not in seen:
            x, y = projection.from_wgs84(lon, lat, grid.crs)
            if projection.is_geographic(grid.crs):
                x = x[0] + (np.mod(x - x[0] + 180.0, 360.0) - 180.0)
            seen[grid.crs] = x, y
        places = _places(grid, *seen[grid.crs])
        if not np.isfinite(places).all() or _passes_by(places, grid):
            continue
        fitted = places[:, : share.size - checks] @ solve.T
        if np.abs(fitted @ test.T - places[:, share.size - checks :]).max() > 5.0 * FIT_CELLS:
            raise InputError(
                told(
                    "a path of {path_m:.0f} km is too long for {name}: its system bends too much",
                    path_m=path_m / 1000.0,
                    name=grid.name or "a raster",
                )
            )
        line[g, :2] = fitted * scale
        line[g, 4, :3] = terms - 1, 0.0, np.inf
        reach[g] = path_m * 1.0001 + 1.0
    return line, reach


def _places(grid: Grid, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    col, row = cells.invert(grid.transform, x, y)
    if projection.is_geographic(grid.crs):
        col = col + (cells.wrapped(col[:1], grid.transform, grid.z_m.shape[1])[0] - col[0])
    return np.stack([col - 0.5, row - 0.5])


def _passes_by(places: np.ndarray, grid: Grid) -> bool:
    """Return whether the path stays clear of the grid's box (by a tenth of the path's own box)."""
    low, high = places.min(axis=1), places.max(axis=1)
    spare = 0.1 * (high - low).max() + 2.0
    rows, cols = grid.z_m.shape
    return bool(high[0] < -spare or high[1] < -spare or low[0] > cols + spare or low[1] > rows + spare)


@lru_cache(maxsize=1)
def _nodes() -> tuple[np.ndarray, int]:
    """Return (shares of the path: nodes crowded at both ends, then points that check; how many check)."""
    nodes = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, 15))
    checks = 0.5 - 0.5 * np.cos((np.arange(14) + 0.5) * np.pi / 14)
    return np.concatenate([nodes, checks]), checks.size


@lru_cache(maxsize=1)
def _powers() -> tuple[np.ndarray, np.ndarray]:
    share, checks = _nodes()
    columns = np.vander(share, 8, increasing=True)
    return np.linalg.pinv(columns[: share.size - checks]), columns[share.size - checks :]
