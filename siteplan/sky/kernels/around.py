"""Whole questions for one compiled call: all sectors around an eye, single rays, points, the tubes of many dishes."""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import half_width, height, kind_at, line_through, march, narrow
from siteplan.sky.kernels.search import search, try_place


@njit(cache=True, nogil=True, error_model="numpy")
def sectors(heights, flags, levels, grids, sizes, order, coef, sector_rad, guess_m, d_from, d_to, aim, growth_m, top_m, tolerance):
    """Return (count, 7): value, d, s, z, grid, last known d, kind of the highest in each sector; sector k is centred on k sector_rad.

    guess_m  (count, 2) distance along, and to the right of, each sector's middle where the highest may stand; below 0: no idea
    """
    count = guess_m.shape[0]
    out = np.empty((count, 7))
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    width = np.array([0.0, 0.0, np.tan(0.5 * sector_rad)])
    best = np.empty(6)
    for k in range(count):
        line_through(coef, order, 0.0, 0.0, k * sector_rad, line)
        narrow(levels, grids, sizes, order, line, width[2], 0.0)
        best[0], best[1], best[2], best[3], best[4], best[5] = -np.inf, 0.0, 0.0, np.nan, -1.0, -1.0
        if k > 0 and out[k - 1, 4] >= 0.0:  # where the neighbour found its highest is a good first guess
            try_place(heights, flags, levels, grids, sizes, order, line, out[k - 1, 1], 0.0, width, 0.0, aim, growth_m, best)
        if guess_m[k, 0] >= d_from and abs(guess_m[k, 1]) <= half_width(width, guess_m[k, 0]):
            d, s = guess_m[k, 0], guess_m[k, 1]
            try_place(heights, flags, levels, grids, sizes, order, line, d, s, width, 0.0, aim, growth_m, best)
        search(heights, flags, levels, grids, sizes, order, line, width, 0.0, d_from, d_to, aim, growth_m, top_m, tolerance, best)
        for number in range(6):
            out[k, number] = best[number]
        out[k, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2]) if best[4] >= 0.0 else 0
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def rays(heights, flags, levels, grids, sizes, order, coef, azimuth_rad, d_from, d_to, aim, growth_m):
    """Return (rays, 7) as sectors(), each ray looked at exactly from end to end, nothing passed over."""
    out = np.empty((azimuth_rad.size, 7))
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    width = np.zeros(3)
    best = np.empty(6)
    for k in range(azimuth_rad.size):
        line_through(coef, order, 0.0, 0.0, azimuth_rad[k], line)
        narrow(levels, grids, sizes, order, line, 0.0, 0.0)
        best[0], best[1], best[2], best[3], best[4], best[5] = -np.inf, 0.0, 0.0, np.nan, -1.0, -1.0
        march(heights, flags, levels, grids, sizes, order, line, 0.0, width, 0.0, d_from, d_to, aim, growth_m, 0.0, best)
        for number in range(6):
            out[k, number] = best[number]
        out[k, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2]) if best[4] >= 0.0 else 0
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def points(heights, flags, levels, grids, sizes, order, coef, azimuth_rad, d_m, s_m, east_m, north_m):
    """Return (points, 2): height and grid of the points d along and s right of lines from (east, north) at azimuth_rad."""
    out = np.empty((d_m.size, 2))
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    for k in range(d_m.size):
        line_through(coef, order, east_m[k], north_m[k], azimuth_rad[k], line)
        out[k, 0], out[k, 1] = height(heights, flags, levels, grids, sizes, order, line, d_m[k], s_m[k], 0.0)
    return out


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def tubes(
    heights, flags, levels, grids, sizes, order, coef, eyes, azimuth_rad, width, d_from, d_margin, d_to, slope, curve, growth_m, top_m
):  # fmt: skip
    """Return (eyes, 4, 8) for each eye (east, north, height), eyes of one place one after the other:

    0, 1  the tube and the centre ray by elevation from the eye (value: tangent asked for)
    2, 3  the tube and the centre ray by height, from d_margin on (value: eye height asked for); the same for all eyes of a place

    Columns: value, d, s, z, grid, last known d, kind, clearance at d (clear_of; of row 0, and of row 1 where the ray is blocked).
    """
    out = np.empty((eyes.shape[0], 4, 8))
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    none = np.zeros(3)
    best = np.empty(6)
    aim = np.empty(3)
    rise = np.sqrt(1.0 + slope * slope)
    for e in range(eyes.shape[0]):
        moved = e == 0 or eyes[e, 0] != eyes[e - 1, 0] or eyes[e, 1] != eyes[e - 1, 1]
        if moved:
            line_through(coef, order, eyes[e, 0], eyes[e, 1], azimuth_rad, line)
            narrow(levels, grids, sizes, order, line, 0.0, half_width(width, d_to))
        for turn in range(4):
            if turn >= 2 and not moved:
                for number in range(7):
                    out[e, turn, number] = out[e - 1, turn, number]
            else:
                aim[0], aim[1], aim[2] = eyes[e, 2], -1.0 if turn < 2 else slope, curve
                wide, lift = (width, rise) if turn % 2 == 0 else (none, 0.0)
                best[0], best[1], best[2], best[3], best[4], best[5] = -np.inf, 0.0, 0.0, np.nan, -1.0, -1.0
                if e > 0 and out[e - 1, turn, 4] >= 0.0:
                    at, side = out[e - 1, turn, 1], out[e - 1, turn, 2]
                    try_place(heights, flags, levels, grids, sizes, order, line, at, side, wide, lift, aim, growth_m, best)
                    best[5] = -1.0 if moved else out[e - 1, turn, 5]
                start = d_from if turn < 2 else d_margin
                search(heights, flags, levels, grids, sizes, order, line, wide, lift, start, d_to, aim, growth_m, top_m, 0.0, best)
                for number in range(6):
                    out[e, turn, number] = best[number]
                out[e, turn, 6] = kind_at(heights, flags, levels, grids, int(best[4]), line, best[1], best[2]) if best[4] >= 0.0 else 0
            d, s, z = out[e, turn, 1], out[e, turn, 2], out[e, turn, 3]
            out[e, turn, 7] = np.nan
            if out[e, turn, 4] >= 0.0 and (turn == 0 or (turn == 1 and out[e, turn, 0] > slope)):
                out[e, turn, 7] = clear_of(
                    heights, flags, levels, grids, sizes, order, line, d, s, z, width, eyes[e, 2], slope, curve, growth_m
                )  # fmt: skip
    return out
