"""Cells and positions of a grid: its affine transform, forwards and backwards."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def apply(transform: Sequence[float], col: np.ndarray | float, row: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Return x, y of positions counted in cells.

    transform  (a, b, c, d, e, f) as Grid.transform
    col, row   (...) counted from the outer corner of cell [0, 0]; the centre of cell [r, c] is (c + 0.5, r + 0.5)
    """
    a, b, c, d, e, f = transform
    return np.asarray(a * col + b * row + c), np.asarray(d * col + e * row + f)


def invert(transform: Sequence[float], x: np.ndarray | float, y: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Return col, row (cells from the outer corner of cell [0, 0]) of positions x, y (...) in the grid's own system."""
    a, b, c, d, e, f = transform
    det = a * e - b * d
    return np.asarray((e * (x - c) - b * (y - f)) / det), np.asarray((a * (y - f) - d * (x - c)) / det)


def wrapped(col: np.ndarray, transform: Sequence[float], cols: int) -> np.ndarray:
    """Return columns of a longitude grid shifted by whole turns so that they come closest to its middle (grids that count 0..360).

    Only for grids in degrees whose columns run along the parallels (no rotation); others come back as they are.
    """
    a, b, _, d, _, _ = transform
    if b != 0.0 or d != 0.0 or a == 0.0:
        return col
    turn = 360.0 / abs(a)
    return col - turn * np.round((col - cols / 2) / turn)
