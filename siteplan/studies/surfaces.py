"""From the terrain tables of a plan to one Surface: which files, which windows of them, how fine.

What is read: a file of up to WHOLE_CELLS cells is read whole. Of a larger one, windows at full resolution around the places asked for
(`near_m` each; windows that meet are joined) and coarser copies for the land farther out, where a cell holds the HIGHEST of its own:
4 times as coarse to 8 km, 16 times to 32 km, 64 times to `far_m`, as long as a cell stays below about 100 m. Each is a layer of its own,
the finest first, so what lies near is looked up at full resolution and memory stays within about 1 GB.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from siteplan.errors import PlanError, RasterError
from siteplan.files import rasters
from siteplan.files.footprints import FootprintFile, read_footprints
from siteplan.geodesy import projection
from siteplan.records.ground import KIND_BUILDING, KIND_GROWTH, KIND_OBJECT, Footprints, Grid, Layer, Surface
from siteplan.records.plan import Plan, TerrainTable
from siteplan.records.verdict import Reason
from siteplan.terrain import surface as ground

WHOLE_CELLS = 16_000_000
# (times as coarse, out to metres) for what lies beyond the windows at full resolution
RINGS = ((4, 8_000.0), (16, 32_000.0), (64, float("inf")))
COARSEST_M = 100.0
RING_CELLS = 32_000_000
WINDOW_CELLS = 60_000_000
FOOTPRINT_CELL_M = 1.0
FOOTPRINT_CELLS = 40_000_000

Place = tuple[float, float, float]


@dataclass(frozen=True)
class Sources:
    """The files of one terrain table, described."""

    table: TerrainTable
    ground: rasters.RasterInfo
    surface: rasters.RasterInfo | None
    standing: tuple[tuple[rasters.RasterInfo, int], ...]
    buildings: FootprintFile | None

    @property
    def files(self) -> tuple[rasters.RasterInfo, ...]:
        """Return all rasters, the ground first."""
        return (self.ground, *((self.surface,) if self.surface else ()), *(info for info, _ in self.standing))

    @property
    def finest_m(self) -> float:
        """Return the cell size of the finest raster."""
        return min(info.cell_m for info in self.files)


@dataclass(frozen=True)
class Piece:
    """One part of a table to read: circles that are to be inside (none: all of it), and how coarse."""

    circles: tuple[Place, ...] = ()
    factor: int = 1


def load_surface(plan: Plan, *, around: Sequence[Place] | None = None, far_m: float = 60_000.0) -> Surface:
    """Return the surface of a plan: all its terrain tables, finest first, with footprints.

    around  (lat_deg, lon_deg, near_m) of the places the run looks from; None: no windows (large files come coarsened as a whole)
    far_m   how far the land is looked at from them

    Raises RasterError, PlanError: what is wrong with which file, and what to do.
    """
    if not plan.terrain:
        raise PlanError("no terrain: siteplan needs at least one [[terrain]] table with a ground raster", file=plan.file.name, key="terrain")
    layers: list[Layer] = []
    notes: list[Reason] = []
    outlines: list[Footprints] = []
    for table in plan.terrain:
        sources = open_table(table)
        if sources.buildings is not None:
            outlines.append(sources.buildings.footprints)
            notes += _footprint_notes(sources.buildings)
        found = False
        for piece in pieces(sources, around, far_m):
            layer, said = _layer(sources, piece)
            if layer is not None:
                layers.append(layer)
                notes += said if piece.factor == 1 else ()
                found = True
        if not found:
            notes.append(Reason("terrain_out_of_reach", {"file": sources.ground.name}))
    if not layers:
        raise RasterError(f"{plan.file.name}: none of the terrain lies near any of the places asked for; check coordinates and terrain")
    joined = _joined(outlines)
    return ground.stack(layers, footprints=joined, notes=notes)


def open_table(table: TerrainTable) -> Sources:
    """Return the files of one terrain table, described but not read (footprints are read)."""

    def look(path: Path) -> rasters.RasterInfo:
        return rasters.describe(
            path, crs=table.crs, vertical_unit=table.vertical_unit, nodata=table.nodata, vertical_datum=table.vertical_datum
        )

    held = set(table.height_above_ground_has)
    plain = KIND_BUILDING if held == {"buildings"} else KIND_GROWTH if held == {"trees"} else KIND_OBJECT
    standing = [(look(path), plain) for path in table.height_above_ground]
    standing += [(look(path), KIND_BUILDING) for path in table.building_height]
    standing += [(look(path), KIND_GROWTH) for path in table.canopy_height]
    buildings = None
    if table.buildings is not None:
        buildings = read_footprints(table.buildings, layer=table.buildings_layer, crs=table.crs, height_field=table.height_field)
    return Sources(
        table=table, ground=look(table.ground), surface=look(table.surface) if table.surface else None, standing=tuple(standing),
        buildings=buildings,
    )  # fmt: skip


def pieces(sources: Sources, around: Sequence[Place] | None, far_m: float) -> tuple[Piece, ...]:
    """Return which parts of a table to read, finest first."""
    largest = max(info.cells for info in sources.files)
    if largest <= WHOLE_CELLS:
        return (Piece(),)
    if not around:
        return (Piece(factor=_whole_power_of_two(largest / WHOLE_CELLS)),)
    out = [Piece(circles=cluster) for cluster in _clusters(sources, around)]
    reached = max(near for _, _, near in around)
    for factor, out_to_m in RINGS:
        if reached >= far_m:
            break
        if sources.finest_m * factor > COARSEST_M:
            continue
        last = not any(sources.finest_m * more <= COARSEST_M and more > factor for more, _ in RINGS)
        radius = far_m if last else min(out_to_m, far_m)
        out.append(_ring(sources, around, radius, factor))
        reached = radius
    if reached < far_m:
        out.append(_ring(sources, around, far_m, 1))
    return tuple(out)


def _whole_power_of_two(ratio: float) -> int:
    return int(2 ** np.ceil(np.log2(max(1.0, np.sqrt(ratio)))))


def _ring(sources: Sources, around: Sequence[Place], radius_m: float, factor: int) -> Piece:
    circles = tuple((lat, lon, radius_m) for lat, lon, _ in around)
    cells = max((_size(_window(info, circles)) for info in sources.files), default=0)
    while cells / factor**2 > RING_CELLS:
        factor *= 2
    return Piece(circles=circles, factor=factor)


def _size(window: tuple[int, int, int, int] | None) -> int:
    return 0 if window is None else (window[1] - window[0]) * (window[3] - window[2])


def _window(info: rasters.RasterInfo, circles: Sequence[Place]) -> tuple[int, int, int, int] | None:
    found = [rasters.window_around(info, lat_deg=lat, lon_deg=lon, radius_m=radius) for lat, lon, radius in circles]
    return _union([window for window in found if window is not None])


def _union(windows: Sequence[tuple[int, int, int, int]]) -> tuple[int, int, int, int] | None:
    if not windows:
        return None
    return min(w[0] for w in windows), max(w[1] for w in windows), min(w[2] for w in windows), max(w[3] for w in windows)


def _clusters(sources: Sources, around: Sequence[Place]) -> list[tuple[Place, ...]]:
    """Return circles in groups whose windows meet, or that are cheaper to read together."""
    finest = min(sources.files, key=lambda info: info.cell_m)
    groups: list[tuple[list[Place], tuple[int, int, int, int]]] = []
    for circle in sorted(set(around)):
        window = _window(finest, (circle,))
        if window is None:
            continue
        members, box = [circle], window
        merged = True
        while merged:
            merged = False
            for other in groups:
                both = _union([box, other[1]])
                if _size(both) <= 1.2 * (_size(box) + _size(other[1])):
                    groups.remove(other)
                    members, box, merged = [*other[0], *members], both, True
                    break
        groups.append((members, box))
    total = sum(_size(box) for _, box in groups)
    if total > WINDOW_CELLS:
        shrink = float(np.sqrt(WINDOW_CELLS / total)) * 0.9
        return _clusters(sources, [(lat, lon, near * shrink) for lat, lon, near in around])
    return [tuple(members) for members, _ in groups]


def _layer(sources: Sources, piece: Piece) -> tuple[Layer | None, tuple[Reason, ...]]:
    """Return one piece of a table as a layer, None where its ground does not reach there."""
    base = _read(sources.ground, sources, piece)
    if base is None:
        return None, ()
    surface = _read(sources.surface, sources, piece) if sources.surface else None
    standing = []
    for info, kind in sources.standing:
        grid = _read(info, sources, piece)
        if grid is not None:
            standing.append(ground.Standing(grid=grid, kind=kind))
    frame, outlines = None, None
    if sources.buildings is not None:
        frame = ground.frame_for(base, surface, standing)
        outlines = _burnt(sources.buildings, frame)
    table = sources.table
    return ground.assemble(
        base, surface=surface, standing=standing, outlines=outlines, frame=frame, surface_has=table.surface_has, name=sources.ground.name,
        flown_on=table.flown_on, height_error_m=table.height_error_m,
    )  # fmt: skip


def _read(info: rasters.RasterInfo, sources: Sources, piece: Piece) -> Grid | None:
    factor = max(1, round(piece.factor * sources.finest_m / info.cell_m))
    if not piece.circles:
        return rasters.read(info, factor=factor)
    window = _window(info, piece.circles)
    return None if window is None else rasters.read(info, window=window, factor=factor)


def _burnt(file: FootprintFile, frame: Grid) -> ground.Outlines:
    """Return footprints burnt onto a grid."""
    import shapely

    def into(at: np.ndarray) -> np.ndarray:
        return np.column_stack(projection.from_wgs84(at[:, 0], at[:, 1], frame.crs))

    own = [shapely.transform(polygon, into) for polygon in file.footprints.polygons]
    shape = frame.z_m.shape
    inside = np.isfinite(rasters.burn(own, np.ones(len(own)), shape=shape, transform=frame.transform))
    known = [i for i, height in enumerate(file.footprints.height_m) if np.isfinite(height)]
    heights = rasters.burn([own[i] for i in known], file.footprints.height_m[known], shape=shape, transform=frame.transform)
    complete = file.with_height >= 0.9 * max(1, file.read - file.skipped)
    return ground.Outlines(inside=inside, height_m=heights, complete=complete)


def _footprint_notes(file: FootprintFile) -> list[Reason]:
    notes = []
    if file.repaired:
        notes.append(Reason("footprints_repaired", {"file": file.name, "count": file.repaired, "of": file.read}))
    if file.skipped:
        notes.append(Reason("footprints_skipped", {"file": file.name, "count": file.skipped, "of": file.read}))
    if file.from_levels:
        notes.append(Reason("footprint_heights_from_levels", {"file": file.name, "count": file.from_levels, "metres_per_level": 3.0}))
    return notes


def _joined(files: Sequence[Footprints]) -> Footprints | None:
    if not files:
        return None
    polygons = tuple(polygon for file in files for polygon in file.polygons)
    return Footprints(polygons=polygons, height_m=np.concatenate([file.height_m for file in files]))


def covers(surface: Surface, lat: float, lon: float) -> bool:
    """Return whether the ground is known at a point."""
    found, _, _, _ = ground.heights_at(surface, lat_deg=lat, lon_deg=lon)
    return bool(np.isfinite(found))


def describe_terrain(plan: Plan) -> tuple[Mapping[str, object], ...]:
    """Return what each terrain table is: one mapping a table, for check and run.json."""
    return tuple(_described(open_table(table)) for table in plan.terrain)


def _described(sources: Sources) -> dict[str, object]:
    raise NotImplementedError


