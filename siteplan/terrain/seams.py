"""Tiles of one survey, named in separate tables: each borrows a rim of cells from its neighbours, so no strip between them is blind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from siteplan.geodesy import cells
from siteplan.records.ground import Grid, Layer

# How far two grids may be from lying on common cells, in cells.
OFF_GRID_CELLS = 0.01


def join_seams(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """Return layers whose grids have a rim of one cell from grids that continue them on the same cells; others as they are.

    Between the last centres of one tile and the first of the next neither knows all four cells around a point; with the rim both do.
    """
    grounds = _rimmed([(layer.ground, None) for layer in layers])
    tops = _rimmed([(layer.surface, layer.kind) for layer in layers])
    return tuple(
        layer
        if ground is layer.ground and top is layer.surface
        else replace(layer, ground=ground, surface=top, kind=kind if layer.kind is not None else None)
        for layer, (ground, _), (top, kind) in zip(layers, grounds, tops, strict=True)
    )


@dataclass(frozen=True)
class _Strip:
    """A rim strip of a padded grid: where it lies in the padded array."""

    rows: slice
    cols: slice


def _rimmed(grids: Sequence[tuple[Grid | None, np.ndarray | None]]) -> list[tuple[Grid | None, np.ndarray | None]]:
    return [(grid, kind) if grid is None else _with_rim(grid, kind, grids) for grid, kind in grids]


def _with_rim(
    grid: Grid, kind: np.ndarray | None, others: Sequence[tuple[Grid | None, np.ndarray | None]]
) -> tuple[Grid, np.ndarray | None]:
    """Return a grid and its kinds with a rim, or both as they are where no other grid touches it."""
    rows, cols = grid.z_m.shape
    near = []
    for other, other_kind in others:
        if other is None or other is grid:
            continue
        offset = _offset(grid, other)
        if offset is not None and -other.z_m.shape[0] - 1 <= offset[0] <= rows + 1 and -other.z_m.shape[1] - 1 <= offset[1] <= cols + 1:
            near.append((offset, other, other_kind))
    if not near:
        return grid, kind
    z = np.full((rows + 2, cols + 2), np.nan, dtype=np.float32)
    z[1:-1, 1:-1] = grid.z_m
    kinds = None
    if kind is not None:
        kinds = np.zeros(z.shape, dtype=np.uint8)
        kinds[1:-1, 1:-1] = kind
    every = slice(0, cols + 2), slice(0, rows + 2)
    strips = [_Strip(slice(0, 1), every[0]), _Strip(slice(rows + 1, rows + 2), every[0])]
    strips += [_Strip(every[1], slice(0, 1)), _Strip(every[1], slice(cols + 1, cols + 2))]
    filled = False
    for offset, other, other_kind in near:
        for strip in strips:
            filled |= _fill(z, kinds, strip, offset, other.z_m, other_kind)
    if not filled:
        return grid, kind
    a, b, _, d, e, _ = grid.transform
    x, y = cells.apply(grid.transform, -1, -1)
    return replace(grid, z_m=z, transform=(a, b, float(x), d, e, float(y))), kinds


def _offset(grid: Grid, other: Grid) -> tuple[int, int] | None:
    """Return (row, col) of another grid's first cell on the cells of this one; None where they don't share cells."""
    if grid.crs != other.crs:
        return None
    size = max(abs(value) for value in (*grid.transform[:2], *grid.transform[3:5]))
    steps = zip((*grid.transform[:2], *grid.transform[3:5]), (*other.transform[:2], *other.transform[3:5]), strict=True)
    longest = max(*grid.z_m.shape, *other.z_m.shape)
    if any(abs(one - two) * longest > OFF_GRID_CELLS * size for one, two in steps):
        return None
    col, row = cells.invert(grid.transform, other.transform[2], other.transform[5])
    if abs(row - round(float(row))) > OFF_GRID_CELLS or abs(col - round(float(col))) > OFF_GRID_CELLS:
        return None
    return round(float(row)), round(float(col))


def _fill(
    z: np.ndarray, kinds: np.ndarray | None, strip: _Strip, offset: tuple[int, int], other: np.ndarray, other_kind: np.ndarray | None
) -> bool:
    """Fill what a strip does not know from another grid (offset of its first cell from the unpadded one's); return whether it gave any."""
    row0, col0 = offset[0] + 1, offset[1] + 1
    r0, r1 = max(strip.rows.start, row0), min(strip.rows.stop, row0 + other.shape[0])
    c0, c1 = max(strip.cols.start, col0), min(strip.cols.stop, col0 + other.shape[1])
    if r0 >= r1 or c0 >= c1:
        return False
    mine, theirs = z[r0:r1, c0:c1], other[r0 - row0 : r1 - row0, c0 - col0 : c1 - col0]
    take = np.isnan(mine) & ~np.isnan(theirs)
    mine[take] = theirs[take]
    if kinds is not None and other_kind is not None:
        kinds[r0:r1, c0:c1][take] = other_kind[r0 - row0 : r1 - row0, c0 - col0 : c1 - col0][take]
    return bool(take.any())
