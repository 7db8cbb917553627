"""Does a surface lie where its ground lies? The shift that brings most open ground of the two together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# How far the fit looks, and what it takes to call two grids shifted (common practice, no source).
REACH_CELLS = 4
SAMPLE_SIDE = 600
BIN_M = 0.1
SHIFT_UP_M = 0.5
CLEARLY_BETTER = 1.15


@dataclass(frozen=True, slots=True)
class Fit:
    """The best shift of a surface against its ground: it lies `cols` to the right, `rows` down, `up_m` higher than it should.

    share, share_unmoved  of cells whose heights then agree within BIN_M of up_m, and without moving sideways
    """

    cols: int
    rows: int
    up_m: float
    share: float
    share_unmoved: float

    @property
    def shifted(self) -> bool:
        """Return whether the shift is plain enough to warn of."""
        sideways = bool(self.cols or self.rows) and self.share > CLEARLY_BETTER * self.share_unmoved and self.share > 0.05
        return sideways or (abs(self.up_m) > SHIFT_UP_M and self.share > 0.1)


def best_fit(ground_m: np.ndarray, surface_m: np.ndarray) -> Fit | None:
    """Return the shift of a surface against its ground, from the middle of both (at most 600 x 600 cells); None with under 500 cells.

    ground_m, surface_m  (rows, cols) on one frame, NaN unknown

    Where the ground is open the two agree, so their differences pile up at one value; the shift is right where the pile is highest. On
    level land the pile is as high for any shift, and none is reported. Common practice, no source.
    """
    rows, cols = ground_m.shape
    reach = REACH_CELLS
    if rows < 3 * reach or cols < 3 * reach:
        return None
    top, left = max(reach, (rows - SAMPLE_SIDE) // 2), max(reach, (cols - SAMPLE_SIDE) // 2)
    bottom, right = min(rows - reach, top + SAMPLE_SIDE), min(cols - reach, left + SAMPLE_SIDE)
    base = ground_m[top:bottom, left:right]
    found: dict[tuple[int, int], tuple[float, float]] = {}
    for dr in range(-reach, reach + 1):
        for dc in range(-reach, reach + 1):
            gap = (surface_m[top + dr : bottom + dr, left + dc : right + dc] - base).ravel()
            gap = gap[np.isfinite(gap)]
            if gap.size < 500:
                return None
            found[dr, dc] = _pile(gap)
    share_unmoved, up_unmoved = found[0, 0]
    (dr, dc), (share, up) = max(found.items(), key=lambda item: (item[1][0], -abs(item[0][0]) - abs(item[0][1])))
    if share <= CLEARLY_BETTER * share_unmoved:
        return Fit(0, 0, up_unmoved, share_unmoved, share_unmoved)
    return Fit(dc, dr, up, share, share_unmoved)


def _pile(gap: np.ndarray) -> tuple[float, float]:
    """Return the share of differences in the fullest stretch of 2 BIN_M, and its middle."""
    inside = gap[np.abs(gap) < 50.0]
    if not inside.size:
        return 0.0, 0.0
    counts = np.bincount(np.floor((inside + 50.0) / BIN_M).astype(np.int64), minlength=1001)
    pairs = counts[:-1] + counts[1:]
    best = int(np.argmax(pairs))
    return float(pairs[best] / gap.size), (best + 1) * BIN_M - 50.0
