"""Compiled sampling of several grids along straight lines on the ground.

All grids of a surface lie in one flat buffer. A line is given, for each grid, by polynomials of the distance d along it: the
column and row (counted between cell CENTRES: cell [r, c] is at exactly (c, r)) and how they change per metre to the right of
the line. A point is answered for by the first grid of an order in which all four cells around it are known.

Arguments that recur: heights, flags, levels, grids (see Grids), sizes (grids, 2) float64 (cell size, and how far out from the
view's place the line's polynomials hold, both in metres), order (layers,) int64 (grids, finest first), line (grids, 5, terms)
(four polynomials; then the highest power in use, and from where to where the line may meet the grid).

The value of a height z at distance d is, with aim = (eye, slope, curve),

    slope < 0    (z - eye) / d - d * curve             the tangent of its elevation from the eye
    slope >= 0   z - d * slope - d^2 * curve           how high an eye must stand for a ray of that slope to touch it

over a round Earth, curve = 1 / (2 R). march() walks a line from crossing to crossing and finds the greatest value exactly.
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
        out[g, 4, 0], out[g, 4, 1], out[g, 4, 2] = last, 0.0, 1e30


@njit(cache=True, nogil=True, error_model="numpy")
def narrow(levels, grids, sizes, order, line, spread, beside_m):
    """Note in line from where to where it may meet each grid, and so which grids can be passed over elsewhere.

    spread, beside_m  everything within beside_m + spread * d to either side counts as on the line

    The line is taken as straight in the grid, and the box is widened by how far it bends and spreads.
    """
    for index in range(order.size):
        g = order[index]
        reach = sizes[g, 1]
        if reach <= 0.0:
            line[g, 4, 1], line[g, 4, 2] = 1e30, -1.0
            continue
        last = int(line[g, 4, 0])
        near, far = 0.0, reach
        for axis in range(2):
            start, step = line[g, axis, 0], line[g, axis, 1]
            bend, power = 0.0, reach
            for k in range(2, last + 1):
                power *= reach
                bend += abs(line[g, axis, k]) * power
            aside, power = 0.0, 1.0
            for k in range(last + 1):
                aside += abs(line[g, axis + 2, k]) * power
                power *= reach
            pad = 1.0 + bend + aside * (beside_m + spread * reach)
            low, high = -pad, levels[grids[g, 0], 2 if axis == 0 else 1] - 1.0 + pad
            if abs(step) * reach < 1e-9:
                if start < low or start > high:
                    far = -1.0
                continue
            one, other = (low - start) / step, (high - start) / step
            near, far = max(near, min(one, other)), min(far, max(one, other))
        line[g, 4, 1], line[g, 4, 2] = (near, far) if near <= far else (1e30, -1.0)


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
        if d > sizes[g, 1] or d < line[g, 4, 1] or d > line[g, 4, 2]:
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
        if d > sizes[g, 1] or d < line[g, 4, 1] or d > line[g, 4, 2]:
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


@njit(cache=True, nogil=True, error_model="numpy")
def half_width(width, d):
    """Return w(d)."""
    return width[0] + width[1] * np.sqrt(d) + width[2] * d


@njit(cache=True, nogil=True, error_model="numpy")
def value(z, d, aim):
    """Return the value of a height at a distance; see the module's text."""
    if aim[1] < 0.0:
        return (z - aim[0]) / d - d * aim[2]
    return z - d * aim[1] - d * d * aim[2]


@njit(cache=True, nogil=True, error_model="numpy")
def bound(z, d0, d1, aim):
    """Return the greatest value that a height z can have between d0 and d1."""
    if aim[1] >= 0.0 or z >= aim[0]:
        return value(z, d0, aim)
    return value(z, min(max(np.sqrt((aim[0] - z) / aim[2]), d0), d1), aim)


@njit(cache=True, nogil=True, error_model="numpy")
def march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d_from, d_to, aim, growth_m, tolerance, best):
    """Look exactly along the line s = u w(d) from d_from to d_to.

    tolerance  squares that can't beat the best by more than this are passed over
    best       (value, d, s, z, grid, last known d) so far, as float64 (6,); improved in place

    Between two crossings of the lines that join cell centres the surface is one quadratic: its ends and its greatest value are taken.
    """
    side = np.sqrt(max(0.0, 1.0 - u * u)) * rise
    d = d_from
    while d < d_to:
        step_end = d_to
        w = half_width(width, d)
        s, ds = u * w, u * width[2]
        if width[1] > 0.0:  # the tube widens fast at first
            ds += u * 0.5 * width[1] / np.sqrt(d)
            step_end = min(d_to, 1.5 * d + 0.05)
        active = -1
        i = j = 0
        z00 = z10 = z01 = z11 = np.nan
        col = row = dcol = drow = 0.0
        for index in range(order.size):
            g = order[index]
            if d > sizes[g, 1] or d > line[g, 4, 2]:
                continue
            if d < line[g, 4, 1]:
                step_end = min(step_end, line[g, 4, 1])
                continue
            col, row, dcol, drow = place_and_speed(line, g, d, s, ds)
            rows, cols = levels[grids[g, 0], 1], levels[grids[g, 0], 2]
            away = max(max(-col, col - (cols - 1)), max(-row, row - (rows - 1)))
            if away > 1e-6:
                step_end = min(step_end, d + max(away, 0.02) / max(1e-9, np.sqrt(dcol * dcol + drow * drow)))
                continue
            i = int(np.floor(col + (1e-7 if dcol > 0.0 else -1e-7)))
            j = int(np.floor(row + (1e-7 if drow > 0.0 else -1e-7)))
            leaves = (i < 0 and dcol < 0.0) or (i > cols - 2 and dcol > 0.0) or (j < 0 and drow < 0.0) or (j > rows - 2 and drow > 0.0)
            if leaves:
                step_end = min(step_end, d + 0.02 * sizes[g, 0])
                continue
            i, j = min(max(i, 0), cols - 2), min(max(j, 0), rows - 2)
            across = 1e30
            if dcol != 0.0:
                across = ((i + 1 if dcol > 0.0 else i) - col) / dcol
            if drow != 0.0:
                across = min(across, ((j + 1 if drow > 0.0 else j) - row) / drow)
            step_end = min(step_end, d + max(across, 1e-5 * sizes[g, 0]))
            z00, z10, z01, z11 = corners(heights, flags, levels, grids, g, i, j, growth_m)
            if not np.isnan(z00):
                active = g
                break
        if active >= 0:
            best[5] = max(best[5], step_end)
            length = step_end - d
            if bound(max(max(z00, z10), max(z01, z11)) + side * half_width(width, step_end), d, step_end, aim) <= best[0] + tolerance:
                d = step_end
                continue
            twist = z11 - z10 - z01 + z00
            u0, v0 = col - i, row - j
            z10 -= z00
            z01 -= z00
            q0 = z00 + z10 * u0 + z01 * v0 + twist * u0 * v0
            q1 = z10 * dcol + z01 * drow + twist * (u0 * drow + v0 * dcol)
            q2 = twist * dcol * drow
            bend = q2 - aim[2]
            peak = -1.0
            if bend < 0.0:
                if aim[1] < 0.0:
                    constant = q0 - q1 * d + q2 * d * d + side * w - aim[0]
                    if constant < 0.0:
                        peak = np.sqrt(constant / bend) - d
                else:
                    peak = (aim[1] + 2.0 * d * aim[2] - q1) / (2.0 * bend)
            for part in range(3):
                x = 0.0 if part == 0 else (length if part == 1 else peak)
                if x < 0.0 or x > length:
                    continue
                z = q0 + q1 * x + q2 * x * x
                wide = w if x == 0.0 else half_width(width, d + x)
                found = value(z + side * wide, d + x, aim)
                if found > best[0]:
                    best[0], best[1], best[2], best[3], best[4] = found, d + x, u * wide, z, active
        d = step_end
