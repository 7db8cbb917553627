"""The files of a terrain table and which parts of them a run reads.

A file of up to WHOLE_CELLS cells is read whole. Of a larger one: windows at full resolution around the places asked for (`near_m` each;
windows that meet are joined) and coarser copies of the land farther out, where a cell holds the HIGHEST of its own: 4 times as coarse to
6 km, 16 times to 24 km, 64 times to `far_m`, as long as a cell stays below about 100 m. Each is a layer of its own, the finest first, so
what lies near is looked up at full resolution and memory stays within about 1 GB.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from siteplan.files import rasters
from siteplan.files.footprints import FootprintFile, read_footprints
from siteplan.records.ground import KIND_BUILDING, KIND_GROWTH, KIND_OBJECT, Grid
from siteplan.records.plan import TerrainTable
from siteplan.records.verdict import Reason
from siteplan.terrain.assembly import BOTH, knows

WHOLE_CELLS = 16_000_000
# (times as coarse, out to metres) for what lies beyond the windows at full resolution
RINGS = ((4, 6_000.0), (16, 24_000.0), (64, float("inf")))
COARSEST_M = 100.0
RING_CELLS = 16_000_000
WINDOW_CELLS = 40_000_000

Place = tuple[float, float, float]
Window = rasters.Window


@dataclass(frozen=True)
class StandingFile:
    """A raster of heights above ground: what stands there (KIND_*) and what it holds all of."""

    info: rasters.RasterInfo
    kind: int
    has: tuple[str, ...]


@dataclass(frozen=True)
class Sources:
    """The files of one terrain table, described."""

    table: TerrainTable
    ground: rasters.RasterInfo
    surface: rasters.RasterInfo | None
    standing: tuple[StandingFile, ...]
    buildings: FootprintFile | None

    @property
    def files(self) -> tuple[rasters.RasterInfo, ...]:
        """Return all rasters, the ground first."""
        return (self.ground, *((self.surface,) if self.surface else ()), *(item.info for item in self.standing))

    @property
    def finest_m(self) -> float:
        """Return the cell size of the finest raster."""
        return min(info.cell_m for info in self.files)


@dataclass(frozen=True)
class Piece:
    """One part of a table to read: circles that are to be inside (none: all of it), and how coarse."""

    circles: tuple[Place, ...] = ()
    factor: int = 1


def open_table(table: TerrainTable) -> Sources:
    """Return the files of one terrain table, described but not read (footprints are read). Raises RasterError."""

    def look(path: Path) -> rasters.RasterInfo:
        return rasters.describe(
            path, crs=table.crs, vertical_unit=table.vertical_unit, nodata=table.nodata, vertical_datum=table.vertical_datum
        )

    plain = plain_has(table)
    kind = KIND_BUILDING if plain == ("buildings",) else KIND_GROWTH if plain == ("trees",) else KIND_OBJECT
    standing = [StandingFile(look(path), kind, plain) for path in table.height_above_ground]
    standing += [StandingFile(look(path), KIND_BUILDING, ("buildings",)) for path in table.building_height]
    standing += [StandingFile(look(path), KIND_GROWTH, ("trees",)) for path in table.canopy_height]
    buildings = None
    if table.buildings is not None:
        buildings = read_footprints(table.buildings, layer=table.buildings_layer, crs=table.crs, height_field=table.height_field)
    ground = look(table.ground)
    return Sources(
        table=table, ground=ground, surface=look(table.surface) if table.surface else None, standing=tuple(standing), buildings=buildings
    )


def plain_has(table: TerrainTable) -> tuple[str, ...]:
    """Return what the rasters of `height_above_ground` hold all of.

    As the plan says; else two or more together count as buildings and trees, and one alone, beside no surface, as neither: it may be
    buildings only or trees only, and no file says which.
    """
    if table.height_above_ground_has:
        return tuple(name for name in BOTH if name in table.height_above_ground_has)
    return BOTH if len(table.height_above_ground) > 1 else ()


def known_of(sources: Sources) -> tuple[bool, bool]:
    """Return whether a table's surface knows (buildings, trees), from its files alone."""
    complete = sources.buildings is not None and sources.buildings.complete
    finest = min((info.cell_m for info in sources.files[1:]), default=min(sources.ground.cell_m, 1.0))
    return knows(
        surface_cell_m=sources.surface.cell_m if sources.surface else None, surface_has=sources.table.surface_has,
        standing=[(item.info.cell_m, item.has) for item in sources.standing], outlines_cell_m=finest if complete else None,
    )  # fmt: skip


def pieces(sources: Sources, around: Sequence[Place] | None, far_m: float) -> tuple[tuple[Piece, ...], tuple[Reason, ...]]:
    """Return which parts of a table to read, finest first, and what had to be narrowed."""
    largest = max(info.cells for info in sources.files)
    if largest <= WHOLE_CELLS:
        return (Piece(),), ()
    name = sources.ground.name
    if not around:
        factor = int(2 ** np.ceil(np.log2(np.sqrt(largest / WHOLE_CELLS))))
        return (Piece(factor=factor),), (Reason("terrain_coarsened", {"file": name, "factor": factor}),)
    windows, shrunk = _clusters(sources, around)
    out = [Piece(circles=cluster) for cluster in windows]
    notes = (Reason("terrain_window_narrowed", {"file": name, "share": round(shrunk, 2)}),) if shrunk < 1.0 else ()
    reached = max(near for _, _, near in around) if windows else 0.0
    usable = [(factor, out_to_m) for factor, out_to_m in RINGS if sources.finest_m * factor <= COARSEST_M] or [(1, far_m)]
    for factor, out_to_m in usable:
        radius = far_m if factor == usable[-1][0] else min(out_to_m, far_m)
        if radius > reached:
            out.append(_ring(sources, around, radius, factor))
            reached = radius
    return tuple(out), notes


def _ring(sources: Sources, around: Sequence[Place], radius_m: float, factor: int) -> Piece:
    circles = tuple((lat, lon, radius_m) for lat, lon, _ in around)
    cells = max(_size(window_of(info, circles)) * (info.cell_m / sources.finest_m) ** 2 for info in sources.files)
    while cells / factor**2 > RING_CELLS:
        factor *= 2
    return Piece(circles=circles, factor=factor)


def window_of(info: rasters.RasterInfo, circles: Sequence[Place]) -> Window | None:
    """Return the window of a file that holds all circles; None where it meets none."""
    found = [rasters.window_around(info, lat_deg=lat, lon_deg=lon, radius_m=radius) for lat, lon, radius in circles]
    return _union([window for window in found if window is not None])


def _size(window: Window | None) -> int:
    return 0 if window is None else (window[1] - window[0]) * (window[3] - window[2])


def _union(windows: Sequence[Window]) -> Window | None:
    if not windows:
        return None
    return min(w[0] for w in windows), max(w[1] for w in windows), min(w[2] for w in windows), max(w[3] for w in windows)


def _clusters(sources: Sources, around: Sequence[Place], shrunk: float = 1.0) -> tuple[list[tuple[Place, ...]], float]:
    """Return circles in groups whose windows meet or are as cheap to read together; all radii shrink where memory would run out."""
    finest = min(sources.files, key=lambda info: info.cell_m)
    groups: list[tuple[list[Place], Window]] = []
    for lat, lon, near in sorted(set(around)):
        circle = (lat, lon, near * shrunk)
        box = window_of(finest, (circle,))
        if box is None:
            continue
        members = [circle]
        while True:
            other = next((group for group in groups if _size(_union([box, group[1]])) <= 1.2 * (_size(box) + _size(group[1]))), None)
            if other is None:
                break
            groups.remove(other)
            members, box = [*other[0], *members], _union([box, other[1]])
        groups.append((members, box))
    total = sum(_size(box) for _, box in groups)
    if total > WINDOW_CELLS:
        return _clusters(sources, around, shrunk * min(0.9, 0.95 * float(np.sqrt(WINDOW_CELLS / total))))
    return [tuple(members) for members, _ in groups], shrunk


def read_pieces(info: rasters.RasterInfo, sources: Sources, parts: Sequence[Piece]) -> dict[Piece, Grid | None]:
    """Return a file's part of each piece, None where it does not reach there; coarse copies of the land around come from one reading."""
    out: dict[Piece, Grid | None] = {}
    around: dict[Piece, tuple[Window | None, int]] = {}
    for piece in parts:
        factor = max(1, round(piece.factor * sources.finest_m / info.cell_m))
        window = window_of(info, piece.circles) if piece.circles else None
        if piece.circles and window is None:
            out[piece] = None
        elif piece.factor > 1:
            around[piece] = window, factor
        else:
            out[piece] = rasters.read(info, window=window, factor=factor)
    if around:
        out |= dict(zip(around, rasters.read_several(info, tuple(around.values())), strict=True))
    if sources.table.height_void_is_zero and any(item.info is info for item in sources.standing):
        out = {piece: grid if grid is None else replace(grid, z_m=np.nan_to_num(grid.z_m, nan=0.0)) for piece, grid in out.items()}
    return out
