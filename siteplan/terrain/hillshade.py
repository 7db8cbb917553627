"""A grey picture of the land, lit from the north-west, on the pixels of a Web Mercator map."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from siteplan.constants import WGS84_SEMI_MAJOR_M
from siteplan.geodesy import projection
from siteplan.records.findings import Backdrop
from siteplan.records.ground import Grid, Surface
from siteplan.terrain.surface import corners, heights_at, place

LIGHT_AZIMUTH_DEG, LIGHT_ELEVATION_DEG = 315.0, 45.0
LARGEST_SIDE = 1600
_CIRCUMFERENCE_M = 2.0 * np.pi * WGS84_SEMI_MAJOR_M
HIGHEST_LAT_DEG = 85.05


def hillshade(z_m: np.ndarray, *, cell_m: np.ndarray | float, exaggeration: float = 1.0) -> np.ndarray:
    """Return (rows, cols) brightness 0..1 of ground lit from the north-west at 45 degrees; NaN where a height is unknown.

    z_m     (rows, cols) row 0 in the north, columns to the east
    cell_m  size of a cell on the ground, metres: one number or (rows, 1)

    Slopes from the eight neighbours; at the edge, and beside an unknown cell, the cell itself stands for a neighbour that is missing.
    Source: Horn (1981), Hill shading and the reflectance map, Proc. IEEE 69(1); light from the north-west is common practice.
    """
    z = np.pad(np.asarray(z_m, dtype=np.float32), 1, constant_values=np.nan)
    own = z[1:-1, 1:-1]

    def side(rows: int, cols: int) -> np.ndarray:
        part = z[1 + rows : z.shape[0] - 1 + rows, 1 + cols : z.shape[1] - 1 + cols]
        return np.where(np.isnan(part), own, part)

    east = side(-1, 1) + 2 * side(0, 1) + side(1, 1)
    west = side(-1, -1) + 2 * side(0, -1) + side(1, -1)
    north = side(-1, -1) + 2 * side(-1, 0) + side(-1, 1)
    south = side(1, -1) + 2 * side(1, 0) + side(1, 1)
    size = 8.0 * np.asarray(cell_m, dtype=np.float32) / np.float32(exaggeration)
    to_east, to_north = (east - west) / size, (north - south) / size
    azimuth, elevation = np.radians(LIGHT_AZIMUTH_DEG), np.radians(LIGHT_ELEVATION_DEG)
    light_east, light_north, light_up = np.sin(azimuth) * np.cos(elevation), np.cos(azimuth) * np.cos(elevation), np.sin(elevation)
    lit = (light_up - light_east * to_east - light_north * to_north) / np.sqrt(1.0 + to_east**2 + to_north**2)
    return np.where(np.isnan(own), np.nan, np.clip(lit, 0.0, 1.0))


def mercator(*, lat_deg: np.ndarray | float, lon_deg: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Return x, y in EPSG:3857, metres. Source: OGC 17-083r4, spherical Mercator on WGS84 latitudes."""
    x = np.asarray(lon_deg) / 360.0 * _CIRCUMFERENCE_M
    y = np.log(np.tan(np.pi / 4.0 + np.radians(lat_deg) / 2.0)) * WGS84_SEMI_MAJOR_M
    return x, np.asarray(y)


def from_mercator(x: np.ndarray | float, y: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Return lat_deg, lon_deg of places in EPSG:3857."""
    lat = np.degrees(2.0 * np.arctan(np.exp(np.asarray(y) / WGS84_SEMI_MAJOR_M)) - np.pi / 2.0)
    return lat, np.asarray(x) / _CIRCUMFERENCE_M * 360.0


class _Lattice:
    """Places of a picture's points on a grid, worked exactly at 65 by 65 nodes and bilinear between them.

    Between nodes a map projection bends by about span^2 / (8 x 64^2 x Earth radius): 5 cm over 100 km, far below a pixel.
    """

    NODES = 65

    def __init__(self, *, x0: float, x1: float, y0: float, y1: float) -> None:
        self._x, self._y = np.linspace(x0, x1, self.NODES), np.linspace(y0, y1, self.NODES)
        self._kept: dict[int, tuple[Grid, np.ndarray, np.ndarray]] = {}

    def place(self, grid: Grid, *, lat_deg: np.ndarray, lon_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return col, row (n,) as surface.place does."""
        if projection.is_geographic(grid.crs):
            return place(grid, lat_deg=lat_deg, lon_deg=lon_deg)  # nothing to bend, and the date line to mind
        if id(grid) not in self._kept:
            lat, lon = from_mercator(self._x[None, :], self._y[:, None])
            lat, lon = np.broadcast_arrays(lat, lon)
            col, row = place(grid, lat_deg=lat.ravel(), lon_deg=lon.ravel())
            self._kept[id(grid)] = grid, col.reshape(lat.shape), row.reshape(lat.shape)
        _, col, row = self._kept[id(grid)]
        x, y = mercator(lat_deg=lat_deg, lon_deg=lon_deg)
        last = self.NODES - 1
        u = np.clip((x - self._x[0]) / (self._x[-1] - self._x[0]) * last, 0.0, last)
        v = np.clip((y - self._y[0]) / (self._y[-1] - self._y[0]) * last, 0.0, last)
        j, i = np.minimum(u.astype(np.int64), last - 1), np.minimum(v.astype(np.int64), last - 1)
        u, v = u - j, v - i

        def between(z: np.ndarray) -> np.ndarray:
            low, high = z[i, j] * (1 - u) + z[i, j + 1] * u, z[i + 1, j] * (1 - u) + z[i + 1, j + 1] * u
            return low * (1 - v) + high * v

        return between(col), between(row)


def draw(
    surface: Surface, *, west_deg: float, south_deg: float, east_deg: float, north_deg: float, pixel_m: float, caption: str = "",
    largest_side: int = LARGEST_SIDE,
) -> Backdrop:  # fmt: skip
    """Return the land inside a box in degrees as a grey picture on square Web Mercator pixels.

    pixel_m  wanted size of a pixel on the ground, metres; larger where the picture would have more than largest_side pixels a side

    Heights are looked up at the centre of each pixel (the surface where it is known, else the ground), so the picture lies where the
    terrain lies, whatever the terrain's own system. The box is kept exactly.
    """
    south_deg, north_deg = max(south_deg, -HIGHEST_LAT_DEG), min(north_deg, HIGHEST_LAT_DEG)
    x0, y0 = mercator(lat_deg=south_deg, lon_deg=west_deg)
    x1, y1 = mercator(lat_deg=north_deg, lon_deg=east_deg)
    stretch = 1.0 / np.cos(np.radians((south_deg + north_deg) / 2.0))
    wide, high = float(x1 - x0), float(y1 - y0)
    pixel = max(pixel_m * stretch, wide / largest_side, high / largest_side)
    cols, rows = max(2, round(wide / pixel)), max(2, round(high / pixel))
    x = x0 + (np.arange(cols) + 0.5) * (wide / cols)
    y = y1 - (np.arange(rows) + 0.5) * (high / rows)
    lat, lon = from_mercator(x[None, :], y[:, None])
    z = np.empty((rows, cols), dtype=np.float32)
    lattice = _Lattice(x0=float(x0), x1=float(x1), y0=float(y0), y1=float(y1))
    for top in range(0, rows, 200):
        part = slice(top, top + 200)
        _, z[part], _, _ = heights_at(surface, lat_deg=lat[part], lon_deg=lon, places=lattice.place)
    size = (wide / cols) * np.cos(np.radians(lat))
    relief = float(np.nanmax(z) - np.nanmin(z)) if np.isfinite(z).any() else 0.0
    exaggeration = float(np.clip(0.15 * min(wide, high) / stretch / max(relief, 1.0), 1.0, 4.0))
    lit = hillshade(z, cell_m=size, exaggeration=exaggeration)
    known = np.isfinite(lit)
    shade = np.where(known, np.round(60.0 + 195.0 * np.nan_to_num(lit)), 0.0).astype(np.uint8)
    alpha = np.where(known, 255, 0).astype(np.uint8)
    return Backdrop(
        shade=shade, alpha=alpha, west_deg=west_deg, south_deg=south_deg, east_deg=east_deg, north_deg=north_deg, caption=caption
    )


def backdrop(
    surface: Surface, *, bounds: tuple[float, float, float, float] | None = None, largest_side: int = LARGEST_SIDE
) -> tuple[Backdrop, ...]:
    """Return pictures of the land for the map, the widest first: one of all layers, and one of the finest where that is much finer.

    bounds  (west, south, east, north) degrees to draw; None: all there is (to 60 km around the finest layer)
    """
    if not surface.layers:
        return ()
    grids = [layer.surface or layer.ground for layer in surface.layers]
    fine = _box([grid for grid in grids if grid.cell_m <= 2.0 * grids[0].cell_m])
    wide = _box([layer.ground for layer in surface.layers])
    if bounds is not None:
        wide, fine = _meet(wide, bounds), _meet(fine, bounds)
        if wide is None:
            return ()
    out = [_drawn(surface, wide, _finest_inside(grids, wide), largest_side, "all terrain")]
    if fine is not None and fine != wide:
        detail = _drawn(surface, fine, grids[0].cell_m, largest_side, "finest terrain")
        if _pixel_deg(detail) < 0.6 * _pixel_deg(out[0]):
            out.append(detail)
    return tuple(out)


def _drawn(surface: Surface, box: tuple[float, float, float, float], cell_m: float, largest_side: int, caption: str) -> Backdrop:
    west, south, east, north = box
    return draw(
        surface,
        west_deg=west,
        south_deg=south,
        east_deg=east,
        north_deg=north,
        pixel_m=cell_m / 2.0,
        caption=caption,
        largest_side=largest_side,
    )


def _pixel_deg(picture: Backdrop) -> float:
    return (picture.east_deg - picture.west_deg) / picture.shade.shape[1]


def _finest_inside(grids: Sequence[Grid], box: tuple[float, float, float, float]) -> float:
    return min(grid.cell_m for grid in grids if _meet(_box([grid]), box) is not None)


def _box(grids: Sequence[Grid]) -> tuple[float, float, float, float]:
    boxes = np.array([corners(grid) for grid in grids])
    west, south = boxes[:, :2].min(axis=0)
    east, north = boxes[:, 2:].max(axis=0)
    return float(west), float(south), float(east), float(north)


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> tuple[float, float, float, float] | None:
    west, south, east, north = max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
    return (west, south, east, north) if west < east and south < north else None
