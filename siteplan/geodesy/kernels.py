"""Compiled sampling of several grids along straight lines on the ground.

All grids of a surface lie in one flat buffer. A line is given, for each grid, by polynomials of the distance d along it: the
column and row (counted between cell CENTRES: cell [r, c] is at exactly (c, r)) and how they change per metre to the right of
the line. A point is answered for by the first grid of an order in which all four cells around it are known.

Arguments that recur: heights, flags, levels, grids (see Grids), sizes (grids, 2) float64 (cell size, and how far out from the
view's place the line's polynomials hold, both in metres), order (layers,) int64 (grids, finest first), line (grids, 5, terms) (four
polynomials, and the highest power in use).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

GROWTH, OBJECT = 3, 4  # codes of records.ground that grow; held equal in tests/terrain/test_view.py
HOLE_BIT, GROWS_BIT = 1, 2


class Grids(NamedTuple):
    """Every grid of a surface, and its coarser levels, as flat arrays (given to kernels one by one: in a tuple they cost 5 times as much).

    heights  (all cells of all levels,) float32; level k holds the greatest known height of 2^k x 2^k cells, NaN where none is known
    flags    (...) uint8; at level 0 the kind of each cell, above: HOLE_BIT some cell unknown, GROWS_BIT some cell grows
    levels   (all levels, 4) int64: where it starts in heights, rows, cols, where it starts in flags (-1: it has none)
    grids    (grids, 2) int64: a grid's levels are levels[first : first + count]
    """

    heights: np.ndarray
    flags: np.ndarray
    levels: np.ndarray
    grids: np.ndarray


@njit(cache=True, nogil=True, error_model="numpy")
def line_through(coef, grids_wanted, east_m, north_m, azimuth_rad, out):
    """Fill out (grids, 5, terms) with the polynomials in d of col, row and their change to the right, along one line.

    coef  (grids, 2, terms, terms) of powers of (east, north) metres from the view's own place; the line starts at east_m, north_m.
    """
    terms = coef.shape[2]
    s, c = np.sin(azimuth_rad), np.cos(azimuth_rad)
    moved = np.empty((terms, terms))
    for index in range(grids_wanted.size):
        g = grids_wanted[index]
        for axis in range(2):
            for i in range(terms):
                for j in range(terms):
                    moved[i, j] = coef[g, axis, i, j]
            if east_m != 0.0 or north_m != 0.0:  # Taylor shift, one variable after the other
                for turn in range(terms - 1):
                    for i in range(terms - 2, turn - 1, -1):
                        for j in range(terms):
                            moved[i, j] += east_m * moved[i + 1, j]
                for turn in range(terms - 1):
                    for j in range(terms - 2, turn - 1, -1):
                        for i in range(terms):
                            moved[i, j] += north_m * moved[i, j + 1]
            for k in range(terms):
                out[g, axis, k] = 0.0
                out[g, axis + 2, k] = 0.0
            s_i = 1.0
            for i in range(terms):
                c_j = 1.0
                for j in range(terms - i):
                    a = moved[i, j]
                    out[g, axis, i + j] += a * s_i * c_j
                    if i > 0:
                        out[g, axis + 2, i + j - 1] += a * i * (s_i / s if s != 0.0 else (1.0 if i == 1 else 0.0)) * c_j * c
                    if j > 0:
                        out[g, axis + 2, i + j - 1] -= a * j * s_i * (c_j / c if c != 0.0 else (1.0 if j == 1 else 0.0)) * s
                    c_j *= c
                s_i *= s
        last = terms - 1
        while last > 0 and out[g, 0, last] == 0.0 and out[g, 1, last] == 0.0 and out[g, 2, last] == 0.0 and out[g, 3, last] == 0.0:
            last -= 1
        out[g, 4, 0] = last


@njit(cache=True, nogil=True, error_model="numpy")
def place_and_right(line, g, d):
    """Return col, row of grid g at distance d along the line, and their change per metre to its right."""
    last = int(line[g, 4, 0])
    col, row, right_col, right_row = line[g, 0, last], line[g, 1, last], line[g, 2, last], line[g, 3, last]
    for k in range(last - 1, -1, -1):
        col = col * d + line[g, 0, k]
        row = row * d + line[g, 1, k]
        right_col = right_col * d + line[g, 2, k]
        right_row = right_row * d + line[g, 3, k]
    return col, row, right_col, right_row


@njit(cache=True, nogil=True, error_model="numpy")
def place(line, g, d, s):
    """Return col, row of grid g at distance d along the line and s metres to its right."""
    if s != 0.0:
        col, row, right_col, right_row = place_and_right(line, g, d)
        return col + s * right_col, row + s * right_row
    last = int(line[g, 4, 0])
    col, row = line[g, 0, last], line[g, 1, last]
    for k in range(last - 1, -1, -1):
        col = col * d + line[g, 0, k]
        row = row * d + line[g, 1, k]
    return col, row


@njit(cache=True, nogil=True, error_model="numpy")
def place_and_speed(line, g, d, s, ds):
    """Return col, row and their change per metre of d, where s grows by ds per metre."""
    last = int(line[g, 4, 0])
    col, row = line[g, 0, last], line[g, 1, last]
    dcol, drow = 0.0, 0.0
    for k in range(last - 1, -1, -1):
        dcol = dcol * d + col
        drow = drow * d + row
        col = col * d + line[g, 0, k]
        row = row * d + line[g, 1, k]
    if s != 0.0 or ds != 0.0:
        _, _, right_col, right_row = place_and_right(line, g, d)
        return col + s * right_col, row + s * right_row, dcol + ds * right_col, drow + ds * right_row
    return col, row, dcol, drow


@njit(cache=True, nogil=True, error_model="numpy")
def cell(heights, flags, levels, grids, g, i, j, growth_m):
    """Return the height of column i, row j of grid g, lifted where something there grows."""
    level = grids[g, 0]
    at = j * levels[level, 2] + i
    z = np.float64(heights[levels[level, 0] + at])
    if growth_m != 0.0 and levels[level, 3] >= 0:
        kind = flags[levels[level, 3] + at]
        if kind in (GROWTH, OBJECT):
            z += growth_m
    return z


@njit(cache=True, nogil=True, error_model="numpy")
def corners(heights, flags, levels, grids, g, i, j, growth_m):
    """Return the heights (i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1) around a square; NaN where one is unknown."""
    level = grids[g, 0]
    rows, cols = levels[level, 1], levels[level, 2]
    if i < 0 or j < 0 or i > cols - 2 or j > rows - 2:
        return np.nan, np.nan, np.nan, np.nan
    at = np.uint64(levels[level, 0] + j * cols + i)
    below = np.uint64(at + cols)
    z00, z10 = np.float64(heights[at]), np.float64(heights[at + np.uint64(1)])
    z01, z11 = np.float64(heights[below]), np.float64(heights[below + np.uint64(1)])
    if np.isnan(z00 + z10 + z01 + z11):
        return np.nan, np.nan, np.nan, np.nan
    if growth_m != 0.0 and levels[level, 3] >= 0:
        at = np.uint64(levels[level, 3] + j * cols + i)
        below = np.uint64(at + cols)
        z00 += growth_m if flags[at] == GROWTH or flags[at] == OBJECT else 0.0
        z10 += growth_m if flags[at + np.uint64(1)] == GROWTH or flags[at + np.uint64(1)] == OBJECT else 0.0
        z01 += growth_m if flags[below] == GROWTH or flags[below] == OBJECT else 0.0
        z11 += growth_m if flags[below + np.uint64(1)] == GROWTH or flags[below + np.uint64(1)] == OBJECT else 0.0
    return z00, z10, z01, z11


@njit(cache=True, nogil=True, error_model="numpy")
def square_known(heights, levels, grids, g, i, j):
    """Return whether the four cells around a square exist and are known."""
    level = grids[g, 0]
    rows, cols = levels[level, 1], levels[level, 2]
    if i < 0 or j < 0 or i > cols - 2 or j > rows - 2:
        return False
    at = levels[level, 0] + j * cols + i
    return not np.isnan(heights[at] + heights[at + 1] + heights[at + cols] + heights[at + cols + 1])


@njit(cache=True, nogil=True, error_model="numpy")
def square_of(levels, grids, g, col, row):
    """Return the square (i, j) a position lies in; the far edge of the grid belongs to the last square."""
    level = grids[g, 0]
    i, j = int(np.floor(col)), int(np.floor(row))
    if i == levels[level, 2] - 1 and col <= i + 1e-9:
        i -= 1
    if j == levels[level, 1] - 1 and row <= j + 1e-9:
        j -= 1
    return i, j


@njit(cache=True, nogil=True, error_model="numpy")
def answers(heights, levels, grids, sizes, order, line, d, s, before):
    """Return which of the first `before` grids of the order answers at a point, -1 where none does."""
    for index in range(before):
        g = order[index]
        if d > sizes[g, 1]:
            continue
        col, row = place(line, g, d, s)
        i, j = square_of(levels, grids, g, col, row)
        if square_known(heights, levels, grids, g, i, j):
            return g
    return -1


@njit(cache=True, nogil=True, error_model="numpy")
def height(heights, flags, levels, grids, sizes, order, line, d, s, growth_m):
    """Return (height, grid) of the point d along and s to the right of a line; (NaN, -1) where nothing is known."""
    for index in range(order.size):
        g = order[index]
        if d > sizes[g, 1]:
            continue
        col, row = place(line, g, d, s)
        i, j = square_of(levels, grids, g, col, row)
        z00, z10, z01, z11 = corners(heights, flags, levels, grids, g, i, j, growth_m)
        if not np.isnan(z00):
            u, v = col - i, row - j
            return (z00 * (1.0 - u) + z10 * u) * (1.0 - v) + (z01 * (1.0 - u) + z11 * u) * v, g
    return np.nan, -1


@njit(cache=True, nogil=True, error_model="numpy")
def kind_at(heights, flags, levels, grids, g, line, d, s):
    """Return the kind of the highest of the four cells around a point (of those that weigh at least a tenth); 1 (ground) without kinds."""
    level = grids[g, 0]
    if levels[level, 3] < 0:
        return 1
    col, row = place(line, g, d, s)
    i, j = square_of(levels, grids, g, col, row)
    u, v = col - i, row - j
    best, kind = -np.inf, 0
    for jj in range(2):
        for ii in range(2):
            weight = (u if ii else 1.0 - u) * (v if jj else 1.0 - v)
            ci, cj = i + ii, j + jj
            if weight < 0.1 or ci < 0 or cj < 0 or ci >= levels[level, 2] or cj >= levels[level, 1]:
                continue
            z = cell(heights, flags, levels, grids, g, ci, cj, 0.0)
            if z > best:
                best, kind = z, flags[levels[level, 3] + cj * levels[level, 2] + ci]
    return kind
