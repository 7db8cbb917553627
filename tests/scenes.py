"""Hand-made ground (flat, ridge, valley, street, wall) whose answers can be worked on paper, and ways to lay it on the Earth.

Every scene is a square of cells with its middle cell's centre at (LAT, LON); heights come from a function of metres east and north of
there in the grid's own system. On UTM 33N's central meridian grid north is true north, and the scale is 0.9996.
"""

from __future__ import annotations

import numpy as np

from siteplan.geodesy.projection import from_wgs84, to_wgs84
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, Grid, Layer, Surface

CRS = "EPSG:32633"
LON, LAT = (float(value) for value in to_wgs84(500_000.0, 5_300_000.0, CRS))
EARTH_M = 6_371_000.0
SCALE = 0.9996  # of UTM on its central meridian: one metre of the grid is 1 / 0.9996 metres on the ground


def square(height_of, *, half=100, cell=1.0, crs=CRS, lat=LAT, lon=LON, turn_deg=0.0, south_up=False, name="scene"):
    """A Grid of (2 half + 1)^2 cells whose middle cell's centre lies at lat, lon; height_of(east, north) in the grid's metres."""
    x0, y0 = (float(value) for value in from_wgs84(lon, lat, crs))
    col, row = np.meshgrid(np.arange(2 * half + 1) - half, np.arange(2 * half + 1) - half)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    down = cell if south_up else -cell
    a, b, d, e = cell * c, -down * s, cell * s, down * c
    east, north = a * col + b * row, d * col + e * row
    z = np.broadcast_to(np.asarray(height_of(east, north), dtype=np.float32), east.shape)
    corner = (x0 - (a + b) * (half + 0.5), y0 - (d + e) * (half + 0.5))
    return Grid(np.array(z, dtype=np.float32), (a, b, corner[0], d, e, corner[1]), crs, abs(cell), name)


def land(ground, top=None, kind=None, **more):
    """One layer as a Surface; kind where the surface stands up is building unless given."""
    if top is not None and kind is None:
        kind = np.where(top.z_m - ground.z_m > 0.5, KIND_BUILDING, KIND_GROUND).astype(np.uint8)
    return Surface((Layer(ground, top, kind, top is not None, top is not None, **more),))


def flat(level=100.0, **how):
    return land(square(lambda e, n: np.full(e.shape, level), **how))


def ridge(rise_m=50.0, at_m=80.0, level=100.0, **how):
    """A knife-sharp ridge of one row of cells, at_m north."""
    return land(square(lambda e, n: np.where(np.abs(n - at_m) < 0.5, level + rise_m, level), **how))


def valley(slope=0.5, level=100.0, **how):
    """A valley that runs north to south: sides rise by slope to the east and west."""
    return land(square(lambda e, n: level + slope * np.abs(e), **how))


def street(width_m=20.0, height_m=15.0, level=100.0, **how):
    """Rows of houses on both sides of a street that runs north to south; the middle of the street is the scene's."""
    ground = square(lambda e, n: np.full(e.shape, level), **how)
    top = square(lambda e, n: np.where(np.abs(e) >= width_m / 2, level + height_m, level), **how)
    return land(ground, top)


def wall(near_m=20.0, height_m=10.0, thick_m=4.0, level=100.0, kind=KIND_BUILDING, **how):
    """A wall from edge to edge, its first full-height cell centre near_m south."""
    ground = square(lambda e, n: np.full(e.shape, level), **how)
    top = square(lambda e, n: np.where((n <= -near_m + 1e-6) & (n > -near_m - thick_m + 1e-6), level + height_m, level), **how)
    kinds = np.where(top.z_m > ground.z_m, kind, KIND_GROUND).astype(np.uint8)
    return land(ground, top, kinds)


def rough(seed, *, half=60, cell=2.0, spike_share=0.05, hole_share=0.0, **how):
    """Rolling ground with boxes and spikes on it, by a seed: for comparing one method with another."""
    rng = np.random.default_rng(seed)
    waves = rng.uniform(-1, 1, (4, 3))

    def rolling(e, n):
        return 100.0 + sum(3.0 * np.sin(e * w[0] / 30.0 + n * w[1] / 30.0 + 3.0 * w[2]) for w in waves)

    ground = square(rolling, half=half, cell=cell, **how)
    rise = np.where(rng.random(ground.z_m.shape) < spike_share, rng.uniform(2.0, 15.0, ground.z_m.shape), 0.0)
    for _ in range(6):
        row, col = rng.integers(0, 2 * half - 8, 2)
        rise[row : row + 6, col : col + 7] = rng.uniform(4.0, 10.0)
    middle = slice(half - 3, half + 4)
    rise[middle, middle] = 0.0
    z = ground.z_m + rise.astype(np.float32)
    if hole_share:
        z[rng.random(z.shape) < hole_share] = np.nan
    top = Grid(z, ground.transform, ground.crs, ground.cell_m, "rough")
    return land(ground, top)
