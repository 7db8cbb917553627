"""Layers of ground and what stands on it, finest first, and their heights at points."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from siteplan.geodesy import cells, projection
from siteplan.records.ground import (
    KIND_GROUND,
    KIND_OBJECT,
    STANDS_ON_GROUND_M,
    Footprints,
    Grid,
    Layer,
    Surface,
)
from siteplan.records.verdict import Reason


def bilinear(z_m: np.ndarray, col: np.ndarray, row: np.ndarray) -> np.ndarray:
    """Return z between the four cell centres around each position; NaN unless all four are known.

    z_m       (rows, cols)
    col, row  (n,) in cells from the outer corner of cell [0, 0]
    """
    rows, cols = z_m.shape
    u, v = np.asarray(col, dtype=float) - 0.5, np.asarray(row, dtype=float) - 0.5
    # a billionth of a cell is let pass at the edge: a centre of an edge cell is inside although its transform rounds
    inside = (u >= -1e-9) & (u <= cols - 1 + 1e-9) & (v >= -1e-9) & (v <= rows - 1 + 1e-9)
    out = np.full(u.shape, np.nan)
    u, v = u[inside], v[inside]
    i = np.clip(np.floor(v).astype(np.int64), 0, max(rows - 2, 0))
    j = np.clip(np.floor(u).astype(np.int64), 0, max(cols - 2, 0))
    du, dv = np.clip(u - j, 0.0, 1.0), np.clip(v - i, 0.0, 1.0)
    top = z_m[i, j] * (1.0 - du) + z_m[i, j + 1] * du
    bottom = z_m[i + 1, j] * (1.0 - du) + z_m[i + 1, j + 1] * du
    out[inside] = top * (1.0 - dv) + bottom * dv
    return out


def nearest(z_m: np.ndarray, col: np.ndarray, row: np.ndarray, *, outside: float = np.nan) -> np.ndarray:
    """Return the value of the cell each position (n,) lies in; `outside` beyond the grid."""
    rows, cols = z_m.shape
    i, j = np.floor(row), np.floor(col)
    inside = (i >= 0) & (i < rows) & (j >= 0) & (j < cols)
    out = np.full(i.shape, outside, dtype=z_m.dtype if z_m.dtype.kind == "f" else np.result_type(z_m.dtype))
    out[inside] = z_m[i[inside].astype(np.int64), j[inside].astype(np.int64)]
    return out


def place(grid: Grid, *, lat_deg: np.ndarray, lon_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return col, row (n,) of points on a grid, in cells from its outer corner; infinite or NaN where the projection has no place."""
    x, y = projection.from_wgs84(lon_deg, lat_deg, grid.crs)
    col, row = cells.invert(grid.transform, x, y)
    if projection.is_geographic(grid.crs):
        col = cells.wrapped(col, grid.transform, grid.z_m.shape[1])
    return col, row


Places = Callable[..., tuple[np.ndarray, np.ndarray]]


def heights_at(
    surface: Surface, *, lat_deg: np.ndarray | float, lon_deg: np.ndarray | float, places: Places = place
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return ground, surface, kind and answering layer at points, bilinear between cell centres.

    lat_deg, lon_deg  (...) WGS84
    places            what finds col, row of points on a grid; a picture of many points may give a faster one than `place`

    Returns ground_amsl_m, surface_amsl_m (...) NaN unknown; kind (...) uint8, KIND_*; layer_index (...) int16, the layer that
    answers for the surface, -1 none. A layer answers where all four cells around a point are known; where it has no surface, its
    ground stands for it. The surface is never below the ground.
    """
    lat, lon = np.broadcast_arrays(np.asarray(lat_deg, dtype=float), np.asarray(lon_deg, dtype=float))
    shape, lat, lon = lat.shape, lat.ravel(), lon.ravel()
    ground, top = np.full(lat.size, np.nan), np.full(lat.size, np.nan)
    kind, index = np.zeros(lat.size, dtype=np.uint8), np.full(lat.size, -1, dtype=np.int16)
    for number, layer in enumerate(surface.layers):
        wanted = np.flatnonzero(np.isnan(ground) | (index < 0))
        if not wanted.size:
            break
        here = bilinear(layer.ground.z_m, *places(layer.ground, lat_deg=lat[wanted], lon_deg=lon[wanted]))
        fresh = np.isnan(ground[wanted]) & ~np.isnan(here)
        ground[wanted[fresh]] = here[fresh]
        if layer.surface is None:
            open_ = (index[wanted] < 0) & ~np.isnan(here)
            at = wanted[open_]
            top[at], kind[at], index[at] = here[open_], KIND_GROUND, number
            continue
        at = wanted[index[wanted] < 0]
        col, row = places(layer.surface, lat_deg=lat[at], lon_deg=lon[at])
        z = bilinear(layer.surface.z_m, col, row)
        known = ~np.isnan(z)
        at, col, row = at[known], col[known], row[known]
        top[at], index[at] = z[known], number
        kind[at] = _kind_of_highest(layer, col, row)
    top = np.where(np.isnan(ground) | np.isnan(top), top, np.maximum(top, ground))
    kind[(index >= 0) & (top - ground <= STANDS_ON_GROUND_M)] = KIND_GROUND
    return ground.reshape(shape), top.reshape(shape), kind.reshape(shape), index.reshape(shape)


def _kind_of_highest(layer: Layer, col: np.ndarray, row: np.ndarray) -> np.ndarray:
    """Return the kind of the cell, of the four around each position, that lifts the surface there most."""
    z = layer.surface.z_m
    if layer.kind is None:
        return np.full(col.shape, KIND_OBJECT, dtype=np.uint8)
    i = np.clip(np.floor(row - 0.5).astype(np.int64), 0, z.shape[0] - 2)
    j = np.clip(np.floor(col - 0.5).astype(np.int64), 0, z.shape[1] - 2)
    u, v = np.clip(col - 0.5 - j, 0.0, 1.0), np.clip(row - 0.5 - i, 0.0, 1.0)
    around = ((i, j), (i, j + 1), (i + 1, j), (i + 1, j + 1))
    weight = np.stack([(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v])
    height = np.stack([z[at] for at in around])
    best = np.argmax(weight * (height - height.min(axis=0) + 0.001), axis=0)
    return np.choose(best, [layer.kind[at] for at in around]).astype(np.uint8)


def corners(grid: Grid) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) of a grid's outer edge, degrees."""
    rows, cols = grid.z_m.shape
    along = np.linspace(0.0, 1.0, 17)
    col = np.concatenate([along, along, np.zeros(17), np.ones(17)]) * cols
    row = np.concatenate([np.zeros(17), np.ones(17), along, along]) * rows
    lon, lat = projection.to_wgs84(*cells.apply(grid.transform, col, row), grid.crs)
    return float(np.nanmin(lon)), float(np.nanmin(lat)), float(np.nanmax(lon)), float(np.nanmax(lat))


def stack(layers: Sequence[Layer], *, footprints: Footprints | None = None, notes: Sequence[Reason] = ()) -> Surface:
    """Return layers as one surface, finest first (by the cells of the surface, of the ground where there is none)."""
    order = sorted(layers, key=lambda layer: round((layer.surface or layer.ground).cell_m, 3))
    return Surface(layers=tuple(order), footprints=footprints, notes=tuple(notes))
