"""Compiled search for the highest thing along a ray, in a sector of azimuth, or in the tube a dish needs.

All are one search: the greatest value (see geodesy.kernels) over the places whose distance to the side of a line is at most
w(d) = width[0] + width[1] sqrt(d) + width[2] d, where to a height is added how far above a column's top a ray must pass:
rise * sqrt(w^2 - s^2).

search() looks at whole stretches first: no part of a stretch can rise above the greatest height of the coarse blocks that
touch it, so a stretch whose bound is under the best found is passed over; the rest is halved until it is about a cell long and
then looked at exactly: along lines (where the bilinear surface is a quadratic in d, whose greatest value has a closed form) and
at every cell centre.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import (
    GROWS_BIT,
    HOLE_BIT,
    answers,
    bound,
    cell,
    half_width,
    height,
    march,
    place_and_right,
    place_and_speed,
    value,
)
from siteplan.sky.kernels.bounds import box_of, highest_cell, highest_in, in_surface

NEAREST_M = 0.01  # rays are looked at from here on
WIDE_CELLS = 8.0  # a sector wider than this is looked at by blocks of a coarser level
SEED_FROM_M, SEED_STEP = 1.0, 1.35  # first guesses are taken from here on, at distances that grow by this factor
SEEDS_AROUND, SEED_SHARE = 4, 0.06  # then so many nearer and farther than the best, apart by this share of its distance


@njit(cache=True, nogil=True, error_model="numpy")
def centres(heights, flags, levels, grids, sizes, order, line, width, rise, d0, d1, aim, growth_m, by_blocks, tolerance, best):
    """Look at every cell centre of a stretch; where by_blocks, at the highest cell of each block, WIDE_CELLS blocks to a width."""
    middle = 0.5 * (d0 + d1)
    w0, w1 = half_width(width, d0), half_width(width, d1)
    for index in range(order.size):
        g = order[index]
        if d0 > sizes[g, 1] or d0 > line[g, 4, 2] or d1 < line[g, 4, 1]:
            continue
        i0, i1, j0, j1, whole = box_of(levels, grids, sizes, line, g, d0, d1, w0, w1)
        if i0 > i1 or j0 > j1:
            continue
        level = 0
        if by_blocks:
            while 2.0 * w1 > WIDE_CELLS * sizes[g, 0] * (1 << level) and level < grids[g, 1] - 1:
                level += 1
        at = grids[g, 0] + level
        slack = 0.75 * sizes[g, 0] * (1 << level) if by_blocks else 0.0
        col, row, dcol, drow = place_and_speed(line, g, middle, 0.0, 0.0)
        _, _, right_col, right_row = place_and_right(line, g, middle)
        det = dcol * right_row - drow * right_col
        if det == 0.0:
            continue
        full = True
        for j in range(j0 >> level, (j1 >> level) + 1):
            for i in range(i0 >> level, (i1 >> level) + 1):
                where = j * levels[at, 2] + i
                z = np.float64(heights[levels[at, 0] + where])
                if np.isnan(z):
                    full = False
                    continue
                ci, cj = i, j
                if level > 0:
                    bits = flags[levels[at, 3] + where]
                    if bits & HOLE_BIT:
                        full = False
                    lifted = growth_m if growth_m != 0.0 and bits & GROWS_BIT else 0.0
                    if bound(z + lifted, max(d0 - slack, NEAREST_M), d1 + slack, aim) <= best[0] + tolerance:
                        continue
                    ci, cj = highest_cell(heights, levels, grids, g, level, i, j)
                z = cell(heights, flags, levels, grids, g, ci, cj, growth_m)
                dx, dy = ci - col, cj - row
                d = middle + (dx * right_row - dy * right_col) / det
                s = (dy * dcol - dx * drow) / det
                if d < d0 - slack or d > d1 + slack or d <= 0.0:
                    continue
                w = half_width(width, d)
                if abs(s) > w + slack:
                    continue
                found = value(z + rise * np.sqrt(max(0.0, w * w - s * s)), d, aim)
                if (
                    found > best[0]
                    and in_surface(heights, levels, grids, g, ci, cj)
                    and answers(heights, levels, grids, sizes, order, line, d, s, index) < 0
                ):
                    best[0], best[1], best[2], best[3], best[4] = found, d, s, z, g
        if whole and full:
            break


@njit(cache=True, nogil=True, error_model="numpy")
def try_place(heights, flags, levels, grids, sizes, order, line, d, s, width, rise, aim, growth_m, best):
    """Improve best by one place; return whether anything is known there."""
    z, g = height(heights, flags, levels, grids, sizes, order, line, d, s, growth_m)
    if g < 0:
        return False
    w = half_width(width, d)
    found = value(z + rise * np.sqrt(max(0.0, w * w - s * s)), d, aim)
    if found > best[0]:
        best[0], best[1], best[2], best[3], best[4] = found, d, s, z, g
    return True


@njit(cache=True, nogil=True, error_model="numpy")
def how_far_known(heights, flags, levels, grids, sizes, order, line, d_from, d_to):
    """Return the last distance along the line with data, -1 where there are none; past a gap to within SEED_STEP, at the end to a cell."""
    known, unknown = d_to, -1.0
    while True:
        _, g = height(heights, flags, levels, grids, sizes, order, line, known, 0.0, 0.0)
        if g >= 0:
            break
        unknown = known
        known /= SEED_STEP
        if known < d_from or known < SEED_FROM_M:
            return -1.0
    if unknown < 0.0:
        return known
    for _ in range(16):
        middle = 0.5 * (known + unknown)
        _, g = height(heights, flags, levels, grids, sizes, order, line, middle, 0.0, 0.0)
        if g >= 0:
            known = middle
        else:
            unknown = middle
    return known


@njit(cache=True, nogil=True, error_model="numpy")
def seed(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, best):
    """Take first guesses: all along the line, then around the best."""
    scan = int(np.log(max(1.0, d_to / max(d_from, SEED_FROM_M))) / np.log(SEED_STEP)) + 1
    around = best[1]
    for number in range(scan + 2 * SEEDS_AROUND + 1):
        if number < scan:
            d = max(d_from, SEED_FROM_M) * SEED_STEP**number
        else:
            if number == scan:
                around = best[1]
            d = around * (1.0 + (number - scan - SEEDS_AROUND) * SEED_SHARE)
        if d_from <= d <= d_to:
            try_place(heights, flags, levels, grids, sizes, order, line, d, 0.0, width, rise, aim, growth_m, best)


@njit(cache=True, nogil=True, error_model="numpy")
def search(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, top_m, tolerance, best):
    """Find the greatest value of the places around a line; see the module's text. best (6,) is improved in place;
    a place it already holds is a guess; where it holds the last distance with data too, no other guesses are made.

    top_m      no known height exceeds this
    tolerance  a stretch is passed over where its bound is under the best found plus this (0: exact)
    """
    sector = width[2] > 0.0
    reach = 0.0
    for index in range(order.size):
        reach = max(reach, sizes[order[index], 1])
    d_to = min(d_to, reach)
    known = best[5]
    if known < 0.0:
        known = how_far_known(heights, flags, levels, grids, sizes, order, line, d_from, d_to)
        seed(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, best)
    d, length = d_from, 1.0
    top_m += growth_m + rise * half_width(width, d_to)
    while d < d_to:
        if bound(top_m, d, d_to, aim) <= best[0] + tolerance:
            break
        end = min(d + length, d_to)
        w0, w1 = half_width(width, d), half_width(width, end)
        z, size = highest_in(heights, flags, levels, grids, sizes, order, line, d, end, w0, w1, growth_m)
        if z == -np.inf or bound(z + rise * w1, d, end, aim) <= best[0] + tolerance:
            d = end
            length *= 2.0
            continue
        if end - d > 1.5 * max(size, w1):
            length = 0.5 * (end - d)
            continue
        end = min(d + 1.5 * max(size, w1), d_to)
        w1, length = half_width(width, end), end - d
        ratio = 2.0 * w1 / size
        by_blocks = sector and ratio > WIDE_CELLS
        if ratio > 0.0:
            centres(heights, flags, levels, grids, sizes, order, line, width, rise, d, end, aim, growth_m, by_blocks, tolerance, best)
        if not by_blocks:
            half = 1 if sector else 0
            if ratio > 0.0 and not sector:
                half = 2
                while half < 2.0 * ratio:
                    half *= 2
            for number in range(-half, half + 1):
                u = number / half if half > 0 else 0.0
                march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d, end, aim, growth_m, tolerance, best)
        d = end
    best[5] = known
