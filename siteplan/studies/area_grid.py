"""The grid that maps of an area are drawn on: what it covers, in which system, how fine, and how it is cut into tiles."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.errors import InputError, told
from siteplan.files.rasters import RasterInfo
from siteplan.geodesy import cells, projection
from siteplan.records.plan import AreaTable

TILE_CELLS = 128
CELL_SIZES_M = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
CELLS_BY_DEFAULT, MOST_CELLS = 500_000, 16_000_000


@dataclass(frozen=True)
class AreaGrid:
    """North-up square cells in a projected system. transform as records.ground.Grid; cell_m the side of a cell."""

    crs: str
    transform: tuple[float, float, float, float, float, float]
    rows: int
    cols: int
    cell_m: float

    @property
    def cells(self) -> int:
        """Return how many cells there are."""
        return self.rows * self.cols

    def centres(self, rows: np.ndarray, cols: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return (lat_deg, lon_deg) of the centres of cells (n,)."""
        lon, lat = projection.to_wgs84(*cells.apply(self.transform, cols + 0.5, rows + 0.5), self.crs)
        return lat, lon

    def bounds(self) -> tuple[float, float, float, float]:
        """Return (west, south, east, north) of the outer edge, degrees."""
        along = np.linspace(0.0, 1.0, 17)
        col = np.concatenate([along, along, np.zeros(17), np.ones(17)]) * self.cols
        row = np.concatenate([np.zeros(17), np.ones(17), along, along]) * self.rows
        lon, lat = projection.to_wgs84(*cells.apply(self.transform, col, row), self.crs)
        return float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())

    def tiles(self) -> Iterator[Tile]:
        """Yield the tiles from north to south, west to east."""
        for row in range(0, self.rows, TILE_CELLS):
            for col in range(0, self.cols, TILE_CELLS):
                yield Tile(row, min(row + TILE_CELLS, self.rows), col, min(col + TILE_CELLS, self.cols))


@dataclass(frozen=True, slots=True)
class Tile:
    """Cells [row0:row1, col0:col1] of a grid."""

    row0: int
    row1: int
    col0: int
    col1: int

    @property
    def name(self) -> str:
        """Return the name of the tile in the work folder."""
        return f"tile-{self.row0:06d}-{self.col0:06d}"

    @property
    def shape(self) -> tuple[int, int]:
        """Return (rows, cols)."""
        return self.row1 - self.row0, self.col1 - self.col0

    def blocks(self, side: int) -> Iterator[Tile]:
        """Yield the tile in blocks of up to side x side cells."""
        for row in range(self.row0, self.row1, side):
            for col in range(self.col0, self.col1, side):
                yield Tile(row, min(row + side, self.row1), col, min(col + side, self.col1))

    def index(self) -> tuple[np.ndarray, np.ndarray]:
        """Return rows and cols (n,) of the cells, row by row."""
        rows, cols = np.meshgrid(np.arange(self.row0, self.row1), np.arange(self.col0, self.col1), indexing="ij")
        return rows.ravel(), cols.ravel()


def area_bounds(wanted: Sequence[float]) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) in degrees, checked. Raises InputError for bounds that enclose nothing, or none at all."""
    if not wanted:
        raise InputError(
            told("an area needs bounds where the plan places no addresses: give --bounds=west,south,east,north or [area] bounds")
        )
    if len(wanted) != 4 or not all(math.isfinite(value) for value in wanted):
        raise InputError(
            told("bounds are {wanted}; give west,south,east,north in degrees, as -9.58,47.49,-9.56,47.51", wanted=list(wanted))
        )
    west, south, east, north = wanted
    if not (-180.0 <= west < east <= 180.0 and -90.0 < south < north < 90.0):
        raise InputError(
            told(
                "bounds {west:g},{south:g},{east:g},{north:g} enclose no area; give west,south,east,north in degrees, west under east"
                " and south under north",
                west=west,
                south=south,
                east=east,
                north=north,
            )
        )
    return west, south, east, north


def with_margin(lat_deg: np.ndarray, lon_deg: np.ndarray, margin_m: float) -> tuple[float, float, float, float]:
    """Return (west, south, east, north) in degrees of places (n,) and margin_m around them."""
    high = max(margin_m, 1.0) / 111_000.0
    wide = high / max(0.02, math.cos(math.radians(float(np.abs(lat_deg).max()))))
    return float(lon_deg.min()) - wide, float(lat_deg.min()) - high, float(lon_deg.max()) + wide, float(lat_deg.max()) + high


def area_grid(bounds: tuple[float, float, float, float], infos: Sequence[RasterInfo], table: AreaTable, cell_m: float | None) -> AreaGrid:
    """Return the grid over bounds (degrees), in the system of the finest ground raster if it is projected, else in UTM.

    cell_m  wanted; None: the plan's, else the finest of CELL_SIZES_M that keeps to CELLS_BY_DEFAULT cells

    Raises InputError for cells that are none, or too many of them.
    """
    west, south, east, north = bounds
    middle = (south + north) / 2.0, (west + east) / 2.0
    finest = min(infos, key=lambda info: info.cell_m)
    crs = finest.crs
    if projection.is_geographic(crs) or not _holds(crs, middle):
        crs = projection.parse_crs(f"EPSG:{(32600 if middle[0] >= 0 else 32700) + utm_zone(middle[1])}")
    along = np.linspace(0.0, 1.0, 17)
    lon = np.concatenate([west + along * (east - west)] * 2 + [np.full(17, west), np.full(17, east)])
    lat = np.concatenate([np.full(17, south), np.full(17, north)] + [south + along * (north - south)] * 2)
    x, y = projection.from_wgs84(lon, lat, crs)
    unit = projection.unit_to_metre(crs)
    wide, high = float(x.max() - x.min()) * unit, float(y.max() - y.min()) * unit
    size = cell_m or table.cell_m or next((size for size in CELL_SIZES_M if wide * high / size**2 <= CELLS_BY_DEFAULT), CELL_SIZES_M[-1])
    if not (math.isfinite(size) and 0.25 <= size <= 5_000.0):
        raise InputError(told("cells of {size:g} m are not possible; give --cell-m from 0.25 to 5000", size=size))
    step = size / unit
    x0, y1 = math.floor(float(x.min()) / step) * step, math.ceil(float(y.max()) / step) * step
    cols, rows = math.ceil((float(x.max()) - x0) / step), math.ceil((y1 - float(y.min())) / step)
    if rows * cols > MOST_CELLS:
        raise InputError(
            told(
                "the area has {rows:,} x {cols:,} cells of {size:g} m, more than {most_cells:,}; give larger cells (--cell-m) or "
                "smaller bounds",
                rows=rows,
                cols=cols,
                size=size,
                most_cells=MOST_CELLS,
            )
        )
    return AreaGrid(crs, (step, 0.0, x0, 0.0, -step, y1), rows, cols, size)


def utm_zone(lon_deg: float) -> int:
    """Return the UTM zone of a longitude, 1 to 60."""
    return int(math.floor((lon_deg + 180.0) / 6.0)) % 60 + 1


def _holds(crs: str, place: tuple[float, float]) -> bool:
    x, y = projection.from_wgs84(place[1], place[0], crs)
    return bool(np.isfinite(x) and np.isfinite(y))
