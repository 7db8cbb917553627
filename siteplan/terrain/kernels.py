"""Compiled loops over whole grids and along paths: coarser levels, ground and surface of stretches."""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import GROWS_BIT, GROWTH, HOLE_BIT, OBJECT, height

LEAST_STEP_M, GREATEST_STEP_M = 1.0, 30.0


@njit(cache=True, nogil=True, error_model="numpy")
def first_level(z_m, kind, flags):
    """Fill flags (cells,) of single cells, flat: HOLE_BIT where unknown, GROWS_BIT where the kind grows. kind may be empty."""
    for at in range(z_m.size):
        bits = HOLE_BIT if np.isnan(z_m[at]) else 0
        if kind.size and kind[at] in (GROWTH, OBJECT):
            bits |= GROWS_BIT
        flags[at] = bits


@njit(cache=True, nogil=True, error_model="numpy")
def halve(z_m, flags, rows, cols):
    """Return (heights, flags) of a level of half the rows and columns: the greatest known height, the flags of any, flat."""
    rows2, cols2 = (rows + 1) // 2, (cols + 1) // 2
    out = np.empty(rows2 * cols2, dtype=np.float32)
    out_flags = np.empty(rows2 * cols2, dtype=np.uint8)
    for row in range(rows2):
        for col in range(cols2):
            top = np.float32(np.nan)
            bits = np.uint8(0)
            for r in range(2 * row, min(2 * row + 2, rows)):
                for c in range(2 * col, min(2 * col + 2, cols)):
                    at = r * cols + c
                    bits |= flags[at]
                    if np.isnan(top) or z_m[at] > top:
                        top = z_m[at]
            out[row * cols2 + col] = top
            out_flags[row * cols2 + col] = bits
    return out, out_flags


@njit(cache=True, nogil=True, error_model="numpy")
def walk(heights, flags, levels, grids, sizes, surface_order, ground_order, line, starts, ends):
    """Return (stretches, 5): distance, ground, surface, grid that answers for the surface (-1: none), share of looks with ground known.

    starts, ends  (stretches,)  metres along the line; a stretch of no length is a point

    Each stretch is looked at every cell of the layer that answers (cells over 2 m: twice a cell), 1 to 30 m; what comes back stands
    where its surface is highest.
    """
    out = np.empty((starts.size, 5))
    for number in range(starts.size):
        a, b = starts[number], ends[number]
        out[number, 0], out[number, 1], out[number, 2], out[number, 3], out[number, 4] = 0.5 * (a + b), np.nan, np.nan, -1.0, 0.0
        best = -np.inf
        looks, known = 0, 0
        d = a
        while True:
            top, g = height(heights, flags, levels, grids, sizes, surface_order, line, d, 0.0, 0.0)
            ground, h = height(heights, flags, levels, grids, sizes, ground_order, line, d, 0.0, 0.0)
            looks += 1
            known += 1 if h >= 0 else 0
            here = top if g >= 0 else ground
            if (g >= 0 or h >= 0) and here > best:
                best = here
                out[number, 0], out[number, 1], out[number, 2], out[number, 3] = d, ground, here, g
            cell_m = sizes[g, 0] if g >= 0 else (sizes[h, 0] if h >= 0 else GREATEST_STEP_M)
            d += min(max(cell_m if cell_m <= 2.0 else 0.5 * cell_m, LEAST_STEP_M), GREATEST_STEP_M)
            if d >= b:
                break
        out[number, 4] = known / looks
    return out
