"""Compiled walk along a path: ground and surface at points, and the highest surface of stretches."""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import height

LEAST_STEP_M, GREATEST_STEP_M = 1.0, 30.0


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
