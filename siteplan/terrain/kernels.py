"""Compiled loops over whole grids and along paths: coarser levels, ground and surface of stretches."""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import GROWS_BIT, GROWTH, HOLE_BIT, OBJECT, height, march

LOOK_M = 10.0  # how often it is asked whether the ground is known


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

    What comes back stands where the stretch's surface (or ground, where only that is known) is highest, exactly.
    """
    out = np.empty((starts.size, 5))
    level, none = np.zeros(3), np.zeros(3)  # an aim whose value is the height itself; a line without width
    best, bare = np.empty(6), np.empty(6)
    for number in range(starts.size):
        a, b = starts[number], ends[number]
        out[number, 0], out[number, 3], out[number, 4] = 0.5 * (a + b), -1.0, 0.0
        if b > a:
            best[0], best[4], best[5] = -np.inf, -1.0, -1.0
            bare[0], bare[4], bare[5] = -np.inf, -1.0, -1.0
            march(heights, flags, levels, grids, sizes, surface_order, line, 0.0, none, 0.0, a, b, level, 0.0, 0.0, best)
            march(heights, flags, levels, grids, sizes, ground_order, line, 0.0, none, 0.0, a, b, level, 0.0, 0.0, bare)
            if bare[0] > best[0]:
                out[number, 0] = bare[1]
            elif best[4] >= 0.0:
                out[number, 0] = best[1]
            looks = max(1, int((b - a) / LOOK_M))
            for look in range(looks):
                d = a + (look + 0.5) * (b - a) / looks
                _, g = height(heights, flags, levels, grids, sizes, ground_order, line, d, 0.0, 0.0)
                out[number, 4] += 1.0 / looks if g >= 0 else 0.0
        d = out[number, 0]
        out[number, 2], g = height(heights, flags, levels, grids, sizes, surface_order, line, d, 0.0, 0.0)
        out[number, 1], h = height(heights, flags, levels, grids, sizes, ground_order, line, d, 0.0, 0.0)
        out[number, 3] = g
        if b <= a:
            out[number, 4] = 1.0 if h >= 0 else 0.0
    return out
