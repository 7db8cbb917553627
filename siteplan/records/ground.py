"""The ground and what stands on it, as arrays on the rasters' own grids."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from siteplan.records.verdict import Reason

if TYPE_CHECKING:
    import numpy as np

# Codes of `kind` arrays: what the highest thing at a cell is.
KIND_UNKNOWN, KIND_GROUND, KIND_BUILDING, KIND_GROWTH, KIND_OBJECT = 0, 1, 2, 3, 4
KIND_NAMES = ("unknown", "ground", "building", "growth", "object")
# "object" is a thing that stands on the ground where no footprints are at hand to tell a building from growth.

# Above this height a surface cell counts as something that stands on the ground (common practice, no source).
STANDS_ON_GROUND_M = 0.5


@dataclass(frozen=True, eq=False)
class Grid:
    """One raster band in its own CRS.

    z_m         (rows, cols) float32, C order; metres above sea level; NaN unknown
    transform   (a, b, c, d, e, f): x = a*col + b*row + c, y = d*col + e*row + f, with (col, row) counted from the
                outer CORNER of cell [0, 0], so the centre of cell [r, c] is (c + 0.5, r + 0.5). South-up and rotated allowed.
    crs         text that pyproj understands (WKT); x is easting or longitude, y northing or latitude (always x, y order)
    cell_m      mean cell size in metres on the ground
    name        file name, for messages
    """

    z_m: np.ndarray
    transform: tuple[float, float, float, float, float, float]
    crs: str
    cell_m: float
    name: str = ""


@dataclass(frozen=True, eq=False)
class Layer:
    """One entry of the plan's terrain: ground, and where known the surface (ground with what stands on it).

    ground        bare earth
    surface       None where nothing is known of trees and buildings; never below ground (clamped at reading)
    kind          (rows, cols) uint8 on the surface grid: KIND_* codes; None where surface is None
    knows_buildings, knows_trees   whether the surface holds them (only ever true for cells <= 2.5 m)
    flown_on      None where not stated
    """

    ground: Grid
    surface: Grid | None = None
    kind: np.ndarray | None = None
    knows_buildings: bool = False
    knows_trees: bool = False
    flown_on: date | None = None
    height_error_m: float = 1.0
    name: str = ""


@dataclass(frozen=True, eq=False)
class Footprints:
    """Building outlines. polygons: shapely polygons in WGS84 (lon, lat); height_m (n,) above ground, NaN unknown."""

    polygons: tuple[Any, ...]
    height_m: np.ndarray


@dataclass(frozen=True, eq=False)
class Surface:
    """All layers, finest first: the first layer that has all four neighbours of a point answers for it.

    Ground and surface fall through separately: a point is answered for by the first layer whose `surface` (or, where that
    layer has none, whose `ground`) is known there.
    """

    layers: tuple[Layer, ...]
    footprints: Footprints | None = None
    notes: tuple[Reason, ...] = field(default=())
