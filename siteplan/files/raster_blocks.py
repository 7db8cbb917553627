"""Coarser copies of a raster: the highest of each block of cells, and which stored copy to read them from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def highest(z: np.ndarray, factor: int) -> np.ndarray:
    """Return the highest of each factor x factor block of cells (rows, cols); NaN only where a whole block is unknown."""
    if factor <= 1:
        return z
    rows, cols = z.shape
    out_rows, out_cols = -(-rows // factor), -(-cols // factor)
    if (rows % factor, cols % factor) != (0, 0):
        padded = np.full((out_rows * factor, out_cols * factor), np.nan, dtype=z.dtype)
        padded[:rows, :cols] = z
        z = padded
    step = next(prime for prime in range(2, factor + 1) if factor % prime == 0)
    tall = z[0::step]
    for k in range(1, step):
        tall = np.fmax(tall, z[k::step])
    wide = tall[:, 0::step]
    for k in range(1, step):
        wide = np.fmax(wide, tall[:, k::step])
    return highest(wide, factor // step)


def copy_to_read(overviews: Sequence[int], cells: int, factor: int) -> int:
    """Return the thinning of the copy to read from: 1 but for very large windows of files with coarser copies inside."""
    if cells <= 400_000_000:
        return 1
    fit = [level for level in overviews if level * 4 <= factor and factor % level == 0]
    return max(fit, default=1)
