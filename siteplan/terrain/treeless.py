"""Does a surface lack trees though nobody says so? Told by what stands outside the building outlines."""

from __future__ import annotations

import numpy as np

# A thing outside the outlines counts from this height on: taller than cars, fences and most of a surface's noise.
COUNTS_FROM_M = 3.0
# Of a LiDAR pair of a town 19 % and more of such cells stand outside the outlines; without its trees at most 0.3 % (0.75 % where cells
# of 2.5 m take the highest of 1 m of noise: not told then). Common practice, no source; tests/terrain/test_treeless.py.
LEAST_SHARE = 0.005
# Outlines are drawn and surfaces shifted by so much; cells that near a building say nothing.
NEAR_M, NEAR_CELLS = 4.0, 2.5
# Less land than this outside, or fewer square metres inside outlines, proves nothing.
LEAST_OUTSIDE_M2, LEAST_INSIDE_M2 = 6_000.0, 200.0
# The outlines must be those of what stands: this share of them.
STANDS_FROM_M, LEAST_STANDING = 2.0, 0.5


def treeless(top_m: np.ndarray, base_m: np.ndarray, inside: np.ndarray, cell_m: float) -> tuple[int, int] | None:
    """Return (cells that stand up, cells looked at) outside outlines where next to nothing stands there; None where trees are seen.

    top_m, base_m  (rows, cols) surface and ground, NaN unknown
    inside         (rows, cols) bool, cell centre in an outline

    Cells as far under the ground as others are over it are noise, and taken off. All thresholds: common practice, no source.
    """
    with np.errstate(invalid="ignore"):
        gap = top_m - base_m
        known = np.isfinite(gap)
        built = known & inside
        if built.sum() * cell_m**2 < LEAST_INSIDE_M2 or np.mean(gap[built] >= STANDS_FROM_M) < LEAST_STANDING:
            return None
        outside = known & ~_near(inside, int(np.ceil(max(NEAR_M / cell_m, NEAR_CELLS))))
        of = int(outside.sum())
        if of * cell_m**2 < LEAST_OUTSIDE_M2:
            return None
        high, low = (int(np.count_nonzero(outside & some)) for some in (gap > COUNTS_FROM_M, gap < -COUNTS_FROM_M))
    found = max(0, high - low)
    return (found, of) if found < LEAST_SHARE * of else None


def _near(inside: np.ndarray, steps: int) -> np.ndarray:
    """Return cells within so many steps, of eight directions, of an inside cell."""
    near = inside.copy()
    for axis in (0, 1):
        wide = near.copy()
        for step in range(1, min(steps, near.shape[axis] - 1) + 1):
            here, there = [slice(None)] * 2, [slice(None)] * 2
            here[axis], there[axis] = slice(step, None), slice(None, -step)
            wide[tuple(here)] |= near[tuple(there)]
            wide[tuple(there)] |= near[tuple(here)]
        near = wide
    return near
