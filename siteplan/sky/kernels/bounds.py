"""What whole stretches of a line can't exceed."""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import GROWS_BIT, GROWTH, HOLE_BIT, OBJECT, place_and_right, square_known


@njit(cache=True, nogil=True, error_model="numpy")
def box_of(levels, grids, sizes, line, g, d0, d1, w0, w1):
    """Return (i0, i1, j0, j1), the cells a stretch of grid g may draw on, and whether all of them exist."""
    rows, cols = levels[grids[g, 0], 1], levels[grids[g, 0], 2]
    col, row, right_col, right_row = place_and_right(line, g, d0)
    dc, dr = abs(w0 * right_col), abs(w0 * right_row)
    c_low, c_high, r_low, r_high = col - dc, col + dc, row - dr, row + dr
    pad = 1e-6
    parts = 1
    if d1 - d0 > 64.0 * sizes[g, 0]:  # a long stretch may bend between its ends
        parts, pad = 3, 0.5
    for part in range(1, parts + 1):
        share = part / parts
        col, row, right_col, right_row = place_and_right(line, g, d0 + (d1 - d0) * share)
        w = w0 + (w1 - w0) * share
        dc, dr = abs(w * right_col), abs(w * right_row)
        c_low, c_high = min(c_low, col - dc), max(c_high, col + dc)
        r_low, r_high = min(r_low, row - dr), max(r_high, row + dr)
    if c_high < -1.0 or r_high < -1.0 or c_low > cols or r_low > rows:
        return 1, 0, 1, 0, False
    c_low, r_low = max(c_low, -1.0), max(r_low, -1.0)
    c_high, r_high = min(c_high, cols + 1.0), min(r_high, rows + 1.0)
    i0, i1 = int(np.floor(c_low - pad)), int(np.floor(c_high + pad)) + 1
    j0, j1 = int(np.floor(r_low - pad)), int(np.floor(r_high + pad)) + 1
    whole = i0 >= 0 and j0 >= 0 and i1 <= cols - 1 and j1 <= rows - 1
    return max(i0, 0), min(i1, cols - 1), max(j0, 0), min(j1, rows - 1), whole


@njit(cache=True, nogil=True, error_model="numpy")
def highest_in_box(heights, flags, levels, grids, g, i0, i1, j0, j1, growth_m):
    """Return a height that nothing in the box exceeds (-inf where nothing is known) and whether no cell of it is unknown."""
    level = 0
    last = grids[g, 1] - 1
    while level < last and ((i1 >> level) - (i0 >> level) > 3 or (j1 >> level) - (j0 >> level) > 3):
        level += 1
    at = grids[g, 0] + level
    top, full = -np.inf, True
    for j in range(j0 >> level, (j1 >> level) + 1):
        for i in range(i0 >> level, (i1 >> level) + 1):
            where = j * levels[at, 2] + i
            z = np.float64(heights[levels[at, 0] + where])
            if np.isnan(z):
                full = False
                continue
            if level == 0:
                if growth_m != 0.0 and levels[at, 3] >= 0:
                    kind = flags[levels[at, 3] + where]
                    if kind in (GROWTH, OBJECT):
                        z += growth_m
            else:
                bits = flags[levels[at, 3] + where]
                if bits & HOLE_BIT:
                    full = False
                if growth_m != 0.0 and bits & GROWS_BIT:
                    z += growth_m
            top = max(top, z)
    return top, full


@njit(cache=True, nogil=True, error_model="numpy")
def highest_in(heights, flags, levels, grids, sizes, order, line, d0, d1, w0, w1, growth_m):
    """Return (a height that nothing in a stretch exceeds, the finest cell size that answers in it); -inf where nothing is known."""
    top, size = -np.inf, 1e30
    for index in range(order.size):
        g = order[index]
        if d0 > sizes[g, 1] or d0 > line[g, 4, 2] or d1 < line[g, 4, 1]:
            continue
        i0, i1, j0, j1, whole = box_of(levels, grids, sizes, line, g, d0, min(d1, sizes[g, 1]), w0, w1)
        if i0 > i1 or j0 > j1:
            continue
        z, full = highest_in_box(heights, flags, levels, grids, g, i0, i1, j0, j1, growth_m)
        if z > -np.inf:
            top, size = max(top, z), min(size, sizes[g, 0])
        if whole and full and d1 <= sizes[g, 1]:
            break
    return top, size


@njit(cache=True, nogil=True, error_model="numpy")
def in_surface(heights, levels, grids, g, i, j):
    """Return whether a cell belongs to a square that is known."""
    for dj in range(-1, 1):
        for di in range(-1, 1):
            if square_known(heights, levels, grids, g, i + di, j + dj):
                return True
    return False


@njit(cache=True, nogil=True, error_model="numpy")
def highest_cell(heights, levels, grids, g, level, i, j):
    """Return (column, row) of the highest cell of a block of a coarser level."""
    while level > 0:
        level -= 1
        at = grids[g, 0] + level
        rows, cols = levels[at, 1], levels[at, 2]
        best, bi, bj = -np.inf, 2 * i, 2 * j
        for jj in range(2 * j, min(2 * j + 2, rows)):
            for ii in range(2 * i, min(2 * i + 2, cols)):
                z = heights[levels[at, 0] + jj * cols + ii]
                if z > best:
                    best, bi, bj = z, ii, jj
        i, j = bi, bj
    return i, j
