"""What a raster file is before its cells are read, and a band before it is written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

Window = tuple[int, int, int, int]


@dataclass(frozen=True)
class RasterInfo:
    """What one raster file is, before its cells are read.

    transform       as Grid.transform; crs as WKT
    cell_m          mean cell size on the ground at its middle, metres
    unit_to_m       metres in one unit of height; unit "m", "ft", "us-ft", "cm", ...; unit_source says how it is known
    nodata          the file's own void value (NaN possible) or None; plan_nodata the plan's
    south_deg ...   extent, WGS84
    """

    path: Path
    name: str
    driver: str
    rows: int
    cols: int
    dtype: str
    transform: tuple[float, float, float, float, float, float]
    crs: str
    crs_name: str
    cell_m: float
    unit: str
    unit_to_m: float
    unit_source: str
    vertical_datum: str
    nodata: float | None
    plan_nodata: float | None
    scale: float
    offset: float
    overviews: tuple[int, ...]
    west_deg: float
    south_deg: float
    east_deg: float
    north_deg: float

    @property
    def cells(self) -> int:
        """Return how many cells the file has."""
        return self.rows * self.cols


@dataclass(frozen=True, eq=False)
class Band:
    """One band of a raster that is written: cells (rows, cols), row 0 in the north, what they are, and their unit ("" for codes)."""

    cells: np.ndarray
    description: str
    unit: str = ""
