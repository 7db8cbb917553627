# ruff: noqa: ANN001, ANN201
"""Compiled search for the highest thing along a ray, in a sector of azimuth, or in the tube a dish needs.

All are one search: the greatest value over the places whose distance to the side of a line is at most
w(d) = width[0] + width[1] sqrt(d) + width[2] d. The value of a height z at distance d is, with aim = (eye, slope, curve),

    slope < 0    (z - eye) / d - d * curve             the tangent of its elevation from the eye
    slope >= 0   z - d * slope - d^2 * curve           how high an eye must stand for a ray of that slope to touch it

over a round Earth, curve = 1 / (2 R). To z is added how far above a column's top a ray must pass: rise * sqrt(w^2 - s^2).

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
    cell,
    corners,
    height,
    place_and_right,
    place_and_speed,
)
from siteplan.sky.kernels.bounds import bound, box_of, extremes_in, half_width, highest_cell, in_surface, value

NEAREST_M = 0.01  # rays are looked at from here on
WIDE_CELLS = 8.0  # a sector wider than this is looked at by blocks of a coarser level
SEED_FROM_M, SEED_STEP = 1.0, 1.25  # first guesses are taken from here on, at distances that grow by this factor


@njit(cache=True, nogil=True, error_model="numpy")
def march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d_from, d_to, aim, growth_m, best):
    """Look exactly along the line s = u w(d) from d_from to d_to.

    best  (value, d, s, z, grid, last known d) so far, as float64 (6,); improved in place

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
            if d > sizes[g, 1]:
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
            if bound(max(max(z00, z10), max(z01, z11)) + side * half_width(width, step_end), d, step_end, aim) <= best[0]:
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


@njit(cache=True, nogil=True, error_model="numpy")
def centres(heights, flags, levels, grids, sizes, order, line, width, rise, d0, d1, aim, growth_m, by_blocks, best):
    """Look at every cell centre of a stretch; where by_blocks, at the highest cell of each block, WIDE_CELLS blocks to a width."""
    middle = 0.5 * (d0 + d1)
    w0, w1 = half_width(width, d0), half_width(width, d1)
    for index in range(order.size):
        g = order[index]
        if d0 > sizes[g, 1]:
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
                    if bound(z + lifted, max(d0 - slack, NEAREST_M), d1 + slack, aim) <= best[0]:
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
def seed(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, best):
    """Take first guesses along the line; best[5] becomes the last distance with data (to a seed step in gaps, exact at the end)."""
    known = -1.0
    d = max(d_from, SEED_FROM_M)
    while d < d_to:
        if try_place(heights, flags, levels, grids, sizes, order, line, d, 0.0, width, rise, aim, growth_m, best):
            known = d
        d *= SEED_STEP
    if try_place(heights, flags, levels, grids, sizes, order, line, d_to, 0.0, width, rise, aim, growth_m, best):
        known = d_to
    elif known > 0.0:
        unknown = min(known * SEED_STEP, d_to)
        for _ in range(24):
            middle = 0.5 * (known + unknown)
            if try_place(heights, flags, levels, grids, sizes, order, line, middle, 0.0, width, rise, aim, growth_m, best):
                known = middle
            else:
                unknown = middle
    best[5] = known
    around = best[1]
    for number in range(-5, 6):
        d = around * (1.0 + 0.035 * number)
        if best[4] >= 0.0 and d_from < d < d_to:
            try_place(heights, flags, levels, grids, sizes, order, line, d, 0.0, width, rise, aim, growth_m, best)


@njit(cache=True, nogil=True, error_model="numpy")
def search(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, top_m, tolerance, best):
    """Find the greatest value of the places around a line; see the module's text. best (6,) is improved in place;
    where it already holds a last distance with data, its guess is taken as good and no others are made.

    top_m      no known height exceeds this
    tolerance  a stretch is passed over where its bound is under the best found plus this (0: exact)
    """
    sector = width[2] > 0.0
    reach = 0.0
    for index in range(order.size):
        reach = max(reach, sizes[order[index], 1])
    d_to = min(d_to, reach)
    if best[5] < 0.0:
        seed(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, growth_m, best)
    known = best[5]
    d, length = d_from, 1.0
    top_m += growth_m + rise * half_width(width, d_to)
    while d < d_to:
        if bound(top_m, d, d_to, aim) <= best[0] + tolerance:
            break
        end = min(d + length, d_to)
        w0, w1 = half_width(width, d), half_width(width, end)
        z, low, size = extremes_in(heights, flags, levels, grids, sizes, order, line, d, end, w0, w1, growth_m)
        if z == -np.inf or bound(z + rise * w1, d, end, aim) <= best[0] + tolerance:
            d = end
            length *= 2.0
            continue
        if end - d > 1.5 * max(size, w1):
            length = 0.5 * (end - d)
            continue
        ratio = 2.0 * w1 / size
        by_blocks = sector and ratio > WIDE_CELLS
        if ratio > 0.1:
            centres(heights, flags, levels, grids, sizes, order, line, width, rise, d, end, aim, growth_m, by_blocks, best)
        if not by_blocks:
            half = 0
            if sector:  # a bump between lines rises by less than range * spacing^2 / 4 over both
                half = 1 if ratio > 2.0 or (z - low) * ratio * ratio < 8.0 * d * tolerance else 2
            elif ratio > 0.0:
                half = 2
                while half < 2.0 * ratio:
                    half *= 2
            for number in range(-half, half + 1):
                u = number / half if half > 0 else 0.0
                march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d, end, aim, growth_m, best)
        d = end
    best[5] = known
