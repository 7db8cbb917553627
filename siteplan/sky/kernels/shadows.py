"""Compiled: the least height of an antenna at each of many places, so that its ray to a satellite is free.

One search for each place answers for every height at once (search, slope >= 0: how high an eye must stand for a ray of that slope
to touch a thing), by the same search and to the same places as sky.kernels.tubes.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from siteplan.geodesy.kernels import HOLE_BIT, height, line_through
from siteplan.sky.kernels.search import search, try_place

GUESS_STEPS = 3  # the neighbour's tightest place, and so many of its likes nearer and farther, are good first guesses


@njit(cache=True, nogil=True, error_model="numpy")
def needed_heights(
    heights, flags, levels, grids, sizes, order, coef, places, azimuth_rad, slope, half_dish_m, fresnel, d_from, d_to, curve, top_m
):  # fmt: skip
    """Return (places, 3): least height of the antenna's centre for the whole tube and for the centre ray, and how far anything is known.

    places       (places, 3)  metres east and north of the view's place, and the height that is asked about
    azimuth_rad  (places,)    in the view's own frame; slope (places,) tangent of the apparent elevation, above 0
    fresnel      the tube's radius is half_dish_m + fresnel sqrt(d / cos(elevation))

    The centre ray is looked for only where the height asked about is too low for the tube: NaN elsewhere (it passes). All NaN, and -1
    known, where nothing is known along the ray.
    """
    out = np.empty((places.shape[0], 3))
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    none = np.zeros(3)
    width = np.zeros(3)
    best = np.empty(6)
    aim = np.empty(3)
    guess_d, guess_s, guess_known = -1.0, 0.0, -1.0
    for p in range(places.shape[0]):
        line_through(coef, order, places[p, 0], places[p, 1], azimuth_rad[p], line)
        rise = np.sqrt(1.0 + slope[p] * slope[p])
        width[0], width[1] = half_dish_m, fresnel * np.sqrt(rise)
        aim[0], aim[1], aim[2] = 0.0, slope[p], curve
        best[0], best[1], best[2], best[3], best[4], best[5] = -np.inf, 0.0, 0.0, np.nan, -1.0, -1.0
        if guess_d > 0.0:
            for step in range(-GUESS_STEPS, GUESS_STEPS + 1):
                d = guess_d + step * sizes[order[0], 0]
                if d >= d_from:
                    try_place(heights, flags, levels, grids, sizes, order, line, d, guess_s, width, rise, aim, 0.0, best)
            if best[4] >= 0.0:
                best[5] = guess_known
        search(heights, flags, levels, grids, sizes, order, line, width, rise, d_from, d_to, aim, 0.0, top_m, 0.0, best)
        out[p, 0], out[p, 1], out[p, 2] = best[0], np.nan, best[5]
        if best[4] < 0.0:
            out[p, 0], out[p, 2] = np.nan, -1.0
            guess_d = -1.0
            continue
        guess_d, guess_s, guess_known = best[1], best[2], best[5]
        if places[p, 2] < best[0]:
            d, known = best[1], best[5]
            best[0], best[1], best[2], best[3], best[4], best[5] = -np.inf, 0.0, 0.0, np.nan, -1.0, -1.0
            try_place(heights, flags, levels, grids, sizes, order, line, d, 0.0, none, 0.0, aim, 0.0, best)
            best[5] = known
            search(heights, flags, levels, grids, sizes, order, line, none, 0.0, d_from, d_to, aim, 0.0, top_m, 0.0, best)
            if best[4] >= 0.0:
                out[p, 1] = best[0]
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def known_far_enough(
    heights, flags, levels, grids, sizes, order, ground_order, coef, places, azimuth_rad, slope, tallest_m, steps, knows
):  # fmt: skip
    """Return (places,) whether what stands on the ground is known along each ray until it is tallest_m above the ground.

    places  as needed_heights; looked at in `steps` equal steps to three times the distance at which that would be over level ground
    knows   (grids,) whether a grid holds all that stands on the ground
    """
    out = np.ones(places.shape[0], dtype=np.bool_)
    line = np.zeros((coef.shape[0], 5, coef.shape[2]))
    for p in range(places.shape[0]):
        line_through(coef, order, places[p, 0], places[p, 1], azimuth_rad[p], line)
        line_through(coef, ground_order, places[p, 0], places[p, 1], azimuth_rad[p], line)
        reach = max(10.0, tallest_m / slope[p])
        first = reach / 60.0
        for k in range(steps):
            d = first + (3.0 * reach - first) * k / (steps - 1)
            ground, g = height(heights, flags, levels, grids, sizes, ground_order, line, d, 0.0, 0.0)
            if g < 0 or places[p, 2] + d * slope[p] - ground >= tallest_m:
                continue
            _, g = height(heights, flags, levels, grids, sizes, order, line, d, 0.0, 0.0)
            if g < 0 or not knows[g]:
                out[p] = False
                break
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def box_known(heights, flags, levels, grids, g, i0, i1, j0, j1):
    """Return whether every cell of columns i0 to i1 and rows j0 to j1 of a grid is known (False where coarse blocks can't tell)."""
    level = 0
    last = grids[g, 1] - 1
    while level < last and ((i1 >> level) - (i0 >> level) > 63 or (j1 >> level) - (j0 >> level) > 63):
        level += 1
    at = grids[g, 0] + level
    for j in range(j0 >> level, (j1 >> level) + 1):
        for i in range(i0 >> level, (i1 >> level) + 1):
            where = j * levels[at, 2] + i
            if np.isnan(heights[levels[at, 0] + where]) or (level > 0 and flags[levels[at, 3] + where] & HOLE_BIT):
                return False
    return True
