"""The surface made ready for rays: coarser levels once for a surface, a map from bearing and distance to cells once for a place."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from siteplan.errors import InputError, told
from siteplan.geodesy import cells, projection
from siteplan.records.ground import Grid, Surface
from siteplan.records.view import LocalView, Prepared

__all__ = ["LocalView", "Prepared", "local_view", "prepare"]

FIT_CELLS = 0.02  # greatest error of the map from bearing and distance to cells
_DEGREES = (2, 3, 5, 7)
_LEAST_REACH_M = 200.0
_RIM = np.linspace(0.0, 1.0, 9)


def prepare(surface: Surface) -> Prepared:
    """Return a surface with its coarser levels: each level holds the greatest known height of 2 x 2 cells of the one below.

    Raises InputError where the surface has no layer. Checked in tests/terrain/test_view.py.
    """
    from siteplan.geodesy.kernels import Grids

    if not surface.layers:
        raise InputError(told("the terrain has no layer; the plan needs at least one [[terrain]] table"))
    grids: list[Grid] = []
    kinds: list[np.ndarray | None] = []
    surface_order, ground_order = [], []
    for layer in surface.layers:
        ground_order.append(len(grids))
        grids.append(layer.ground)
        kinds.append(None)
        if layer.surface is not None:
            grids.append(layer.surface)
            kinds.append(layer.kind)
        surface_order.append(len(grids) - 1)
    z_parts: list[np.ndarray] = []
    flag_parts: list[np.ndarray] = []
    levels: list[tuple[int, int, int, int]] = []
    first = []
    z_at = flag_at = 0
    for grid, kind in zip(grids, kinds, strict=True):
        first.append(len(levels))
        for z, flags, rows, cols in _levels(grid, kind):
            levels.append((z_at, rows, cols, flag_at if flags is not None else -1))
            z_parts.append(z)
            z_at += z.size
            if flags is not None:
                flag_parts.append(flags)
                flag_at += flags.size
    count = np.diff([*first, len(levels)])
    arrays = Grids(
        heights=np.concatenate(z_parts),
        flags=np.concatenate([*flag_parts, np.zeros(1, dtype=np.uint8)]),
        levels=np.array(levels, dtype=np.int64),
        grids=np.column_stack([first, count]).astype(np.int64),
    )
    tops = [float(arrays.heights[arrays.levels[first[g] + count[g] - 1, 0]]) for g in range(len(grids))]
    rims = [_rim(grid) for grid in grids]
    return Prepared(
        surface=surface,
        arrays=arrays,
        grids=tuple(grids),
        surface_order=np.array(surface_order, dtype=np.int64),
        ground_order=np.array(ground_order, dtype=np.int64),
        rim_lat_deg=np.array([lat for lat, _ in rims]),
        rim_lon_deg=np.array([lon for _, lon in rims]),
        highest_m=_greatest([tops[g] for g in surface_order]),
        highest_ground_m=_greatest([tops[g] for g in ground_order]),
    )


def _greatest(values: list[float]) -> float:
    known = [value for value in values if np.isfinite(value)]
    return max(known, default=float("nan"))


def _levels(grid: Grid, kind: np.ndarray | None) -> list[tuple[np.ndarray, np.ndarray | None, int, int]]:
    """Return (heights, flags, rows, cols) of every level, flat, finest first, down to a single cell; the finest has kinds for flags."""
    from siteplan.terrain.kernels import first_level, halve

    if grid.z_m.ndim != 2 or not grid.z_m.size:
        raise InputError(told("{name} has no cells (its shape is {shape})", name=grid.name or "a raster", shape=grid.z_m.shape))
    rows, cols = grid.z_m.shape
    z = np.ascontiguousarray(grid.z_m, dtype=np.float32).ravel()
    kinds = np.zeros(0, dtype=np.uint8) if kind is None else np.ascontiguousarray(kind, dtype=np.uint8).ravel()
    flags = np.empty(z.size, dtype=np.uint8)
    first_level(z, kinds, flags)
    out = [(z, kinds if kind is not None else None, rows, cols)]
    while rows * cols > 1:
        z, flags = halve(z, flags, rows, cols)
        rows, cols = (rows + 1) // 2, (cols + 1) // 2
        out.append((z, flags, rows, cols))
    return out


def _rim(grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    rows, cols = grid.z_m.shape
    col = np.concatenate([_RIM * cols, _RIM * cols, np.zeros(9), np.full(9, float(cols))])
    row = np.concatenate([np.zeros(9), np.full(9, float(rows)), _RIM * rows, _RIM * rows])
    lon, lat = projection.to_wgs84(*cells.apply(grid.transform, col, row), grid.crs)
    return lat, lon


# ---- seen from one place -----------------------------------------------------------------------------------


def local_view(prepared: Prepared, *, lat_deg: float, lon_deg: float, radius_m: float) -> LocalView:
    """Return a prepared surface as it lies around one place, up to radius_m.

    Columns and rows of each grid are fitted as powers of (east, north) of bearing and geodesic distance, by carrying a polar
    net of points over to the grid's own system; so degrees, feet, rotation, south-up rows and grid convergence all come out
    alike. The fit is checked on points between those of the net (within FIT_CELLS); where it fails, terms are added, then
    the reach is halved.

    Raises InputError where the place is not on the Earth or radius_m is not above 0. Checked in tests/terrain/test_view.py.
    """
    if not (abs(lat_deg) <= 90.0 and np.isfinite(lon_deg)):
        raise InputError(
            told("latitude {lat_deg}, longitude {lon_deg} is not a place; latitude must be -90 to 90", lat_deg=lat_deg, lon_deg=lon_deg)
        )
    if not radius_m > 0.0:
        raise InputError(told("a view needs a radius above 0 m (it is {radius_m})", radius_m=radius_m))
    _, _, rim_m = projection.geod_inverse(lat1_deg=lat_deg, lon1_deg=lon_deg, lat2_deg=prepared.rim_lat_deg, lon2_deg=prepared.rim_lon_deg)
    rim_m = np.where(np.isnan(rim_m).all(axis=1)[:, None], radius_m, rim_m)
    far_m = np.minimum(np.nanmax(rim_m, axis=1) * 1.001 + 200.0, radius_m)
    kept: dict[tuple[str, float], tuple[np.ndarray, np.ndarray]] = {}
    fits = [_fit_grid(grid, lat_deg, lon_deg, radius_m, float(far), kept) for grid, far in zip(prepared.grids, far_m, strict=True)]
    terms = max(fit[0].shape[1] for fit in fits)
    coef = np.zeros((len(fits), 2, terms, terms))
    for g, (own, _, _) in enumerate(fits):
        coef[g, :, : own.shape[1], : own.shape[2]] = own
    return LocalView(
        prepared=prepared,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        radius_m=radius_m,
        coef=coef,
        sizes=np.array([(grid.cell_m, reach) for grid, (_, reach, _) in zip(prepared.grids, fits, strict=True)]),
        fit_error_cells=np.array([error for _, _, error in fits]),
    )


def _fit_grid(grid: Grid, lat_deg: float, lon_deg: float, radius_m: float, far_m: float, kept: dict) -> tuple[np.ndarray, float, float]:
    """Return (coefficients (2, terms, terms), reach, greatest error in cells) of one grid."""
    widest_m = max(radius_m, _LEAST_REACH_M)
    size_m = widest_m * 2.0 ** -np.floor(np.log2(widest_m / max(far_m, _LEAST_REACH_M)))
    while size_m >= _LEAST_REACH_M:
        for degree in _DEGREES:
            key = (grid.crs, size_m)
            if key not in kept:
                kept[key] = _net_in(grid.crs, lat_deg, lon_deg, size_m)
            x, y = kept[key]
            col, row = cells.invert(grid.transform, x, y)
            col = cells.wrapped(col[:1], grid.transform, grid.z_m.shape[1])[0] - col[0] + col if projection.is_geographic(grid.crs) else col
            places = np.stack([col - 0.5, row - 0.5])
            if not np.isfinite(places).all():
                break
            solve, check = _solver(degree)
            nodes = solve.shape[1]
            fitted = places[:, :nodes] @ solve.T
            error = float(np.abs(fitted @ check.T - places[:, nodes:]).max())
            if error <= FIT_CELLS:
                return _spread(fitted, degree, size_m), min(size_m, far_m), error
        size_m /= 2.0
    return np.zeros((2, 3, 3)), -1.0, float("nan")


@lru_cache(maxsize=4)
def _net() -> tuple[np.ndarray, np.ndarray, int]:
    """Return (azimuth_deg, share of the radius) of the net: nodes first, then the points between that check, and how many nodes."""
    radii = np.sin(np.linspace(0.0, np.pi / 2, 7)[1:])
    azimuth, share = (part.ravel() for part in np.meshgrid(np.arange(24) * 15.0, radii, indexing="ij"))
    between = np.array([0.03, 0.1, 0.4, 0.65, 0.8, 0.92, 0.98])
    azimuth2, share2 = (part.ravel() for part in np.meshgrid(np.arange(12) * 30.0 + 7.5, between, indexing="ij"))
    return np.concatenate([[0.0], azimuth, azimuth2]), np.concatenate([[0.0], share, share2]), 1 + azimuth.size


@lru_cache(maxsize=8)
def _solver(degree: int) -> tuple[np.ndarray, np.ndarray]:
    """Return (powers from nodes, values at check points from powers) for the net scaled to radius 1."""
    azimuth, share, nodes = _net()
    east, north = share * np.sin(np.radians(azimuth)), share * np.cos(np.radians(azimuth))
    columns = np.stack([east**i * north**j for i, j in _powers(degree)], axis=1)
    weight = np.ones(nodes)
    weight[0] = 1e4  # the place itself must come out exactly
    return np.linalg.pinv(columns[:nodes] * weight[:, None]) * weight, columns[nodes:]


def _powers(degree: int) -> list[tuple[int, int]]:
    return [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]


def _spread(fitted: np.ndarray, degree: int, size_m: float) -> np.ndarray:
    out = np.zeros((2, degree + 1, degree + 1))
    for number, (i, j) in enumerate(_powers(degree)):
        out[:, i, j] = fitted[:, number] / size_m ** (i + j)
    return out


def _net_in(crs: str, lat_deg: float, lon_deg: float, size_m: float) -> tuple[np.ndarray, np.ndarray]:
    azimuth, share, _ = _net()
    lat, lon = projection.geod_forward(lat_deg=lat_deg, lon_deg=lon_deg, azimuth_deg=azimuth, distance_m=share * size_m)
    x, y = projection.from_wgs84(lon, lat, crs)
    if projection.is_geographic(crs):
        x = x[0] + (np.mod(x - x[0] + 180.0, 360.0) - 180.0)
    return x, y
