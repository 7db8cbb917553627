"""Compiled search for the highest thing along a ray, in a sector of azimuth, or in the tube a dish needs.

All three are one search: the greatest T = (z + lift - eye) / d - d / (2 R) over the places whose distance to the side of a line
is at most w(d) = width[0] + width[1] sqrt(d) + width[2] d. T is the tangent of the elevation angle over a round Earth of radius
R (real or effective). `lift` is how far above a column's top the ray must pass: rise * sqrt(w^2 - s^2), 0 for plain horizons.

search() looks at whole stretches first: no part of a stretch can rise above the greatest height of the coarse blocks that
touch it, so a stretch whose bound is under the best found is passed over; the rest is halved until it is a cell long and then
looked at exactly: along lines (where the bilinear surface is a quadratic in d, whose greatest T has a closed form) and at every
cell centre.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import (
    GROWS_BIT,
    HOLE_BIT,
    GROWTH,
    OBJECT,
    answers,
    bilinear,
    cell,
    height,
    kind_at,
    line_through,
    place,
    place_and_speed,
    square_known,
    square_of,
)

NEAREST_M = 0.01  # rays are looked at from here on
WIDE_CELLS = 16.0  # a stretch wider than this is looked at by blocks of a coarser level
SEED_STEP = 1.1  # first guesses are taken at distances that grow by this factor


@njit(cache=True, nogil=True)
def half_width(width, d):
    """Return w(d)."""
    return width[0] + width[1] * np.sqrt(d) + width[2] * d


@njit(cache=True, nogil=True)
def tangent(z, d, eye, curve):
    """Return T of a height at a distance; curve is 1 / (2 R)."""
    return (z - eye) / d - d * curve


@njit(cache=True, nogil=True)
def march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d_from, d_to, eye, curve, growth_m, best):
    """Look exactly along the line s = u w(d) from d_from to d_to.

    best  (T, d, s, z, grid, last known d) so far, as float64 (6,); improved in place

    Between two crossings of the lines that join cell centres the surface is one quadratic: its ends and its greatest T are taken.
    """
    side = np.sqrt(max(0.0, 1.0 - u * u)) * rise
    d = d_from
    while d < d_to:
        step_end = d_to
        active = -1
        active_i = active_j = 0
        for index in range(order.size):
            g = order[index]
            if d > sizes[g, 1]:
                continue
            s = u * half_width(width, d)
            ds = u * (width[2] + (0.5 * width[1] / np.sqrt(d) if width[1] > 0.0 else 0.0))
            col, row, dcol, drow = place_and_speed(line, g, d, s, ds)
            speed = np.sqrt(dcol * dcol + drow * drow)
            if not speed > 0.0:
                continue
            level = grids[g, 0]
            rows, cols = levels[level, 1], levels[level, 2]
            away = max(max(-col, col - (cols - 1)), max(-row, row - (rows - 1)))
            if away > 1e-6:
                step_end = min(step_end, d + max(away, 0.02) / speed)
                continue
            i, j = int(np.floor(col + 1e-7 * dcol / speed)), int(np.floor(row + 1e-7 * drow / speed))
            across = 1e30
            if dcol > 0.0:
                across = min(across, (i + 1 - col) / dcol)
            elif dcol < 0.0:
                across = min(across, (i - col) / dcol)
            if drow > 0.0:
                across = min(across, (j + 1 - row) / drow)
            elif drow < 0.0:
                across = min(across, (j - row) / drow)
            step_end = min(step_end, d + max(across, 1e-5 / speed))
            i, j = square_of(levels, grids, g, float(i), float(j)) if (i >= cols - 1 or j >= rows - 1) else (i, j)
            if square_known(heights, levels, grids, g, i, j):
                active, active_i, active_j = g, i, j
                break
        if active >= 0:
            best[5] = max(best[5], step_end)
            length = step_end - d
            middle = d + 0.5 * length
            za = zm = zb = 0.0
            for part in range(3):
                dd = d if part == 0 else (middle if part == 1 else step_end)
                w = half_width(width, dd)
                col, row = place(line, active, dd, u * w)
                z = bilinear(heights, flags, levels, grids, active, active_i, active_j, col - active_i, row - active_j, growth_m)
                if part == 0:
                    za = z
                elif part == 1:
                    zm = z
                else:
                    zb = z
                top = tangent(z + side * w, dd, eye, curve)
                if top > best[0]:
                    best[0], best[1], best[2], best[3], best[4] = top, dd, u * w, z, active
            b2 = 2.0 * (za - 2.0 * zm + zb) / (length * length)
            b1 = (4.0 * zm - 3.0 * za - zb) / length
            constant = za - b1 * d + b2 * d * d + side * half_width(width, middle) - eye
            bend = b2 - curve
            if constant < 0.0 and bend < 0.0:
                peak = np.sqrt(constant / bend)
                if d < peak < step_end:
                    x = peak - d
                    z = za + b1 * x + b2 * x * x
                    w = half_width(width, peak)
                    top = tangent(z + side * w, peak, eye, curve)
                    if top > best[0]:
                        best[0], best[1], best[2], best[3], best[4] = top, peak, u * w, z, active
        d = step_end


@njit(cache=True, nogil=True)
def box_of(levels, grids, sizes, line, g, d0, d1, w0, w1):
    """Return (i0, i1, j0, j1), the cells a stretch of grid g may draw on, and whether all of them exist."""
    level = grids[g, 0]
    rows, cols = levels[level, 1], levels[level, 2]
    c_low, c_high, r_low, r_high = 1e30, -1e30, 1e30, -1e30
    parts = 2 if d1 - d0 < 32.0 * sizes[g, 0] else 4
    for part in range(parts + 1):
        share = part / parts
        d, w = d0 + (d1 - d0) * share, w0 + (w1 - w0) * share
        col, row = place(line, g, d, 0.0)
        if w > 0.0:
            col2, row2 = place(line, g, d, w)
        else:
            col2, row2 = col, row
        dc, dr = abs(col2 - col), abs(row2 - row)
        c_low, c_high = min(c_low, col - dc), max(c_high, col + dc)
        r_low, r_high = min(r_low, row - dr), max(r_high, row + dr)
    pad = 1e-6 if parts == 2 else 0.5
    c_low, c_high = max(-2e9, min(2e9, c_low)), max(-2e9, min(2e9, c_high))
    r_low, r_high = max(-2e9, min(2e9, r_low)), max(-2e9, min(2e9, r_high))
    i0, i1 = int(np.floor(c_low - pad)), int(np.floor(c_high + pad)) + 1
    j0, j1 = int(np.floor(r_low - pad)), int(np.floor(r_high + pad)) + 1
    whole = i0 >= 0 and j0 >= 0 and i1 <= cols - 1 and j1 <= rows - 1
    return max(i0, 0), min(i1, cols - 1), max(j0, 0), min(j1, rows - 1), whole


@njit(cache=True, nogil=True)
def highest_in_box(heights, flags, levels, grids, g, i0, i1, j0, j1, growth_m):
    """Return a height that nothing in the box exceeds (-inf where nothing is known) and whether no cell of it is unknown."""
    level = 0
    last = grids[g, 1] - 1
    while level < last and ((i1 >> level) - (i0 >> level) > 1 or (j1 >> level) - (j0 >> level) > 1):
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
                    if kind == GROWTH or kind == OBJECT:
                        z += growth_m
            else:
                bits = flags[levels[at, 3] + where]
                if bits & HOLE_BIT:
                    full = False
                if growth_m != 0.0 and bits & GROWS_BIT:
                    z += growth_m
            top = max(top, z)
    return top, full


@njit(cache=True, nogil=True)
def highest_in(heights, flags, levels, grids, sizes, order, line, d0, d1, w0, w1, growth_m):
    """Return (a height that nothing in a stretch exceeds, the finest cell size that answers in it); -inf where nothing is known."""
    top, size = -np.inf, 1e30
    for index in range(order.size):
        g = order[index]
        if d0 > sizes[g, 1]:
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


@njit(cache=True, nogil=True)
def bound(z, d0, d1, eye, curve):
    """Return the greatest T that a height z can have between d0 and d1."""
    if z >= eye:
        return tangent(z, d0, eye, curve)
    peak = np.sqrt((eye - z) / curve)
    return tangent(z, min(max(peak, d0), d1), eye, curve)


@njit(cache=True, nogil=True)
def in_surface(heights, levels, grids, g, i, j):
    """Return whether a cell belongs to a square that is known."""
    return square_known(heights, levels, grids, g, i, j) or square_known(heights, levels, grids, g, i - 1, j) or square_known(heights, levels, grids, g, i, j - 1) or square_known(heights, levels, grids, g, i - 1, j - 1)


@njit(cache=True, nogil=True)
def centres(heights, flags, levels, grids, sizes, order, line, width, rise, d0, d1, eye, curve, growth_m, blocks_wider_than, best):
    """Look at every cell centre of a stretch; in a stretch wider than blocks_wider_than cells, at the highest cell of each block."""
    middle = 0.5 * (d0 + d1)
    for index in range(order.size):
        g = order[index]
        if d0 > sizes[g, 1]:
            continue
        w0, w1 = half_width(width, d0), half_width(width, d1)
        i0, i1, j0, j1, whole = box_of(levels, grids, sizes, line, g, d0, d1, w0, w1)
        if i0 > i1 or j0 > j1:
            continue
        z_box, full = highest_in_box(heights, flags, levels, grids, g, i0, i1, j0, j1, growth_m)
        level = 0
        while 2.0 * w1 > blocks_wider_than * sizes[g, 0] * (1 << level) and level < grids[g, 1] - 1:
            level += 1
        at = grids[g, 0] + level
        size = 1 << level
        col, row, dcol, drow = place_and_speed(line, g, middle, 0.0, 0.0)
        col_right, row_right = place(line, g, middle, 1.0)
        rc, rr = col_right - col, row_right - row
        det = dcol * rr - drow * rc
        if det == 0.0:
            continue
        for j in range(j0 >> level, (j1 >> level) + 1):
            for i in range(i0 >> level, (i1 >> level) + 1):
                where = j * levels[at, 2] + i
                z = np.float64(heights[levels[at, 0] + where])
                if np.isnan(z):
                    continue
                ci, cj = i, j
                if level > 0:
                    lifted = growth_m if growth_m != 0.0 and flags[levels[at, 3] + where] & GROWS_BIT else 0.0
                    if tangent(z + lifted, d0, eye, curve) <= best[0] and z + lifted > eye:
                        continue
                    ci, cj = highest_cell(heights, flags, levels, grids, g, level, i, j)
                z = cell(heights, flags, levels, grids, g, ci, cj, growth_m)
                dx, dy = ci - col, cj - row
                d = middle + (dx * rr - dy * rc) / det
                s = (dy * dcol - dx * drow) / det
                slack = 0.75 * size * sizes[g, 0] if level > 0 else 0.0
                if d < d0 - slack or d > d1 + slack or d <= 0.0:
                    continue
                w = half_width(width, d)
                if abs(s) > w + slack:
                    continue
                top = tangent(z + rise * np.sqrt(max(0.0, w * w - s * s)), d, eye, curve)
                if top > best[0] and in_surface(heights, levels, grids, g, ci, cj) and answers(heights, flags, levels, grids, sizes, order, line, d, s, index) < 0:
                    best[0], best[1], best[2], best[3], best[4] = top, d, s, z, g
        if whole and full:
            break


@njit(cache=True, nogil=True)
def highest_cell(heights, flags, levels, grids, g, level, i, j):
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


@njit(cache=True, nogil=True)
def search(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, eye, curve, growth_m, top_m, tolerance, best):
    """Find the greatest T of a stretch around a line; see the module's text. best (6,) is improved in place.

    top_m      no known height exceeds this
    tolerance  a stretch is passed over where its bound is under the best found plus this (0: exact)

    best[5], the last distance with data, is found to within SEED_STEP in gaps and to a cell at the end.
    """
    known, unknown = -1.0, -1.0
    d = d_from
    wide = width[2] > 0.0
    while d < d_to:
        z, g = height(heights, flags, levels, grids, sizes, order, line, d, 0.0, growth_m)
        if g >= 0:
            known = d
            w = half_width(width, d)
            top = tangent(z + rise * w, d, eye, curve)
            if top > best[0]:
                best[0], best[1], best[2], best[3], best[4] = top, d, 0.0, z, g
        d = d * SEED_STEP + 0.02
    z, g = height(heights, flags, levels, grids, sizes, order, line, d_to, 0.0, growth_m)
    if g >= 0:
        known = d_to
    elif known > 0.0:
        unknown = min(known * SEED_STEP + 0.02, d_to)
        for _ in range(24):
            middle = 0.5 * (known + unknown)
            z, g = height(heights, flags, levels, grids, sizes, order, line, middle, 0.0, growth_m)
            if g >= 0:
                known = middle
            else:
                unknown = middle
    best[5] = known
    d = d_from
    length = 1.0
    top_m += growth_m
    while d < d_to:
        if bound(top_m + rise * half_width(width, d_to), d, d_to, eye, curve) <= best[0]:
            break
        end = min(d + length, d_to)
        w0, w1 = half_width(width, d), half_width(width, end)
        z, size = highest_in(heights, flags, levels, grids, sizes, order, line, d, end, w0, w1, growth_m)
        if z == -np.inf or bound(z + rise * w1, d, end, eye, curve) <= best[0] + tolerance:
            d = end
            length = min(2.0 * length, max(d, 4.0 * min(size, d)))
            continue
        if end - d > 1.5 * max(size, w1):
            length = 0.5 * (end - d)
            continue
        ratio = 2.0 * w1 / size
        if ratio > 0.0:
            centres(heights, flags, levels, grids, sizes, order, line, width, rise, d, end, eye, curve, growth_m, WIDE_CELLS if wide else 1e30, best)
        if ratio <= WIDE_CELLS or not wide:
            half = 0
            if ratio > 0.0:
                half = 1 if (wide and ratio <= 0.5) else 2
                while 2.0 * half < 2.0 * ratio and not (wide and half >= 4):
                    half *= 2
            for number in range(-half, half + 1):
                u = number / half if half > 0 else 0.0
                march(heights, flags, levels, grids, sizes, order, line, u, width, rise, d, end, eye, curve, growth_m, best)
        d = end
    best[5] = known


@njit(cache=True, nogil=True)
def sectors(heights, flags, levels, grids, sizes, order, coef, sector_rad, count, d_from, d_to, eye, curve, growth_m, top_m, tolerance):
    """Return (count, 7): T, d, s, z, grid, last known d, kind of the highest thing in each sector; sector k is centred on k sector_rad."""
    out = np.empty((count, 7))
    line = np.zeros((coef.shape[0], 4, coef.shape[2]))
    width = np.array([0.0, 0.0, np.tan(0.5 * sector_rad)])
    best = np.empty(6)
    for k in range(count):
        line_through(coef, order, 0.0, 0.0, k * sector_rad, line)
        best[0], best[4], best[5] = -np.inf, -1.0, -1.0
        if k > 0 and out[k - 1, 4] >= 0.0:  # where the neighbour found its highest is a good first guess
            z, g = height(heights, flags, levels, grids, sizes, order, line, out[k - 1, 1], 0.0, growth_m)
            if g >= 0 and out[k - 1, 1] >= d_from:
                best[0], best[1], best[2], best[3], best[4] = tangent(z, out[k - 1, 1], eye, curve), out[k - 1, 1], 0.0, z, g
        search(heights, flags, levels, grids, sizes, order, line, width, 0.0, d_from, d_to, eye, curve, growth_m, top_m, tolerance, best)
        for number in range(6):
            out[k, number] = best[number]
        out[k, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2]) if best[4] >= 0.0 else 0
    return out


@njit(cache=True, nogil=True)
def rays(heights, flags, levels, grids, sizes, order, coef, azimuth_rad, east_m, north_m, d_from, d_to, eye, curve, growth_m):
    """Return (rays, 7) as sectors(), each ray looked at exactly from end to end, nothing passed over."""
    out = np.empty((azimuth_rad.size, 7))
    line = np.zeros((coef.shape[0], 4, coef.shape[2]))
    width = np.zeros(3)
    best = np.empty(6)
    for k in range(azimuth_rad.size):
        line_through(coef, order, east_m, north_m, azimuth_rad[k], line)
        best[0], best[4], best[5] = -np.inf, -1.0, -1.0
        march(heights, flags, levels, grids, sizes, order, line, 0.0, width, 0.0, d_from, d_to, eye, curve, growth_m, best)
        for number in range(6):
            out[k, number] = best[number]
        out[k, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2]) if best[4] >= 0.0 else 0
    return out


@njit(cache=True, nogil=True)
def points(heights, flags, levels, grids, sizes, order, coef, azimuth_rad, d_m, s_m, east_m, north_m):
    """Return (points, 2): height and grid of the points d along and s right of lines from (east, north) at azimuth_rad."""
    out = np.empty((d_m.size, 2))
    line = np.zeros((coef.shape[0], 4, coef.shape[2]))
    for k in range(d_m.size):
        line_through(coef, order, east_m[k], north_m[k], azimuth_rad[k], line)
        out[k, 0], out[k, 1] = height(heights, flags, levels, grids, sizes, order, line, d_m[k], s_m[k], 0.0)
    return out


@njit(cache=True, nogil=True)
def clear_of(heights, flags, levels, grids, sizes, order, line, d, s, z, width, eye, slope, curve, growth_m):
    """Return the distance from a ray to what stands d along it, perpendicular to the ray: below 0 where the ray's centre is under the top.

    slope    tangent of the ray's elevation
    s, z     a column at d that is already known to be near; the others are looked at across the tube
    """
    steep = 1.0 / np.sqrt(1.0 + slope * slope)
    ray = eye + d * slope + d * d * curve
    w = half_width(width, d)
    middle, g = height(heights, flags, levels, grids, sizes, order, line, d, 0.0, growth_m)
    if g >= 0 and middle > ray:
        return (ray - middle) * steep
    least = np.hypot(s, max(0.0, (ray - z) * steep))
    count = 16
    for number in range(-count, count + 1):
        side = w * number / count
        top, g = height(heights, flags, levels, grids, sizes, order, line, d, side, growth_m)
        if g >= 0:
            least = min(least, np.hypot(side, max(0.0, (ray - top) * steep)))
    return least


@njit(cache=True, nogil=True)
def tubes(heights, flags, levels, grids, sizes, order, coef, eyes, azimuth_rad, width, d_from, d_to, slope, curve, growth_m, top_m):
    """Return (eyes, 2, 8): for each eye (east, north, height) first the whole tube, then its centre ray alone.

    Columns: T needed, d, s, z, grid, last known d, kind, clearance at d (clear_of; NaN where nothing is known).
    """
    out = np.empty((eyes.shape[0], 2, 8))
    line = np.zeros((coef.shape[0], 4, coef.shape[2]))
    none = np.zeros(3)
    best = np.empty(6)
    rise = np.sqrt(1.0 + slope * slope)
    for e in range(eyes.shape[0]):
        if e == 0 or eyes[e, 0] != eyes[e - 1, 0] or eyes[e, 1] != eyes[e - 1, 1]:
            line_through(coef, order, eyes[e, 0], eyes[e, 1], azimuth_rad, line)
        eye = eyes[e, 2]
        for turn in range(2):
            best[0], best[4], best[5] = -np.inf, -1.0, -1.0
            wide, lift = (width, rise) if turn == 0 else (none, 0.0)
            search(
                heights, flags, levels, grids, sizes, order, line, wide, lift, d_from, d_to, eye, curve, growth_m, top_m, 0.0, best
            )  # fmt: skip
            for number in range(6):
                out[e, turn, number] = best[number]
            out[e, turn, 6], out[e, turn, 7] = 0.0, np.nan
            if best[4] >= 0.0:
                out[e, turn, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2])
                out[e, turn, 7] = clear_of(
                    heights, flags, levels, grids, sizes, order, line, best[1], best[2], best[3], width, eye, slope, curve, growth_m
                )  # fmt: skip
    return out
