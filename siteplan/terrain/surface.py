"""The ground and what stands on it, put together from grids, and looked up at points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from siteplan.errors import RasterError
from siteplan.geodesy import cells, projection
from siteplan.records.ground import (
    KIND_BUILDING,
    KIND_GROUND,
    KIND_GROWTH,
    KIND_OBJECT,
    KIND_UNKNOWN,
    STANDS_ON_GROUND_M,
    Footprints,
    Grid,
    Layer,
    Surface,
)
from siteplan.records.verdict import Reason

# A surface counts as knowing trees and buildings only at cells up to this size; 1 % over is still that size.
KNOWS_UP_TO_CELL_M = 2.5 * 1.01
# Error of a height, 1 sigma, by cell size, where nobody states one (common practice, no source).
ERROR_BY_CELL_M = ((1.01, 0.3), (2.525, 0.5), (5.05, 1.0), (10.1, 2.0), (35.0, 5.0), (float("inf"), 10.0))
# A surface whose median lies farther than this under its ground is not that ground's surface.
UNDER_GROUND_M = 1.0
_STRIP_CELLS = 2_000_000


@dataclass(frozen=True, eq=False)
class Standing:
    """A grid of heights above ground, metres. kind: KIND_BUILDING, KIND_GROWTH or KIND_OBJECT (not told)."""

    grid: Grid
    kind: int


@dataclass(frozen=True, eq=False)
class Outlines:
    """Building footprints burnt onto the surface's grid.

    inside    (rows, cols) bool, cell centre in a footprint
    height_m  (rows, cols) float32 above ground, NaN outside and where unknown
    complete  True where (nearly) all footprints have a height
    """

    inside: np.ndarray
    height_m: np.ndarray
    complete: bool = False


def default_error_m(cell_m: float) -> float:
    """Return the error of a height, 1 sigma, that is taken for a cell size where none is stated (common practice, no source)."""
    return next(error for size, error in ERROR_BY_CELL_M if cell_m <= size)


# ---- looking up ------------------------------------------------------------------------------------------


def bilinear(z_m: np.ndarray, col: np.ndarray, row: np.ndarray) -> np.ndarray:
    """Return z between the four cell centres around each position; NaN unless all four are known.

    z_m       (rows, cols)
    col, row  (n,) in cells from the outer corner of cell [0, 0]
    """
    rows, cols = z_m.shape
    u, v = np.asarray(col, dtype=float) - 0.5, np.asarray(row, dtype=float) - 0.5
    # a billionth of a cell is let pass at the edge: a centre of an edge cell is inside although its transform rounds
    inside = (u >= -1e-9) & (u <= cols - 1 + 1e-9) & (v >= -1e-9) & (v <= rows - 1 + 1e-9)
    out = np.full(u.shape, np.nan)
    u, v = u[inside], v[inside]
    i = np.clip(np.floor(v).astype(np.int64), 0, max(rows - 2, 0))
    j = np.clip(np.floor(u).astype(np.int64), 0, max(cols - 2, 0))
    du, dv = np.clip(u - j, 0.0, 1.0), np.clip(v - i, 0.0, 1.0)
    top = z_m[i, j] * (1.0 - du) + z_m[i, j + 1] * du
    bottom = z_m[i + 1, j] * (1.0 - du) + z_m[i + 1, j + 1] * du
    out[inside] = top * (1.0 - dv) + bottom * dv
    return out


def nearest(z_m: np.ndarray, col: np.ndarray, row: np.ndarray, *, outside: float = np.nan) -> np.ndarray:
    """Return the value of the cell each position (n,) lies in; `outside` beyond the grid."""
    rows, cols = z_m.shape
    i, j = np.floor(row), np.floor(col)
    inside = (i >= 0) & (i < rows) & (j >= 0) & (j < cols)
    out = np.full(i.shape, outside, dtype=z_m.dtype if z_m.dtype.kind == "f" else np.result_type(z_m.dtype))
    out[inside] = z_m[i[inside].astype(np.int64), j[inside].astype(np.int64)]
    return out


def place(grid: Grid, *, lat_deg: np.ndarray, lon_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return col, row (n,) of points on a grid, in cells from its outer corner; infinite or NaN where the projection has no place."""
    x, y = projection.from_wgs84(lon_deg, lat_deg, grid.crs)
    col, row = cells.invert(grid.transform, x, y)
    if projection.is_geographic(grid.crs):
        col = cells.wrapped(col, grid.transform, grid.z_m.shape[1])
    return col, row


def heights_at(
    surface: Surface, *, lat_deg: np.ndarray | float, lon_deg: np.ndarray | float
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return ground, surface, kind and answering layer at points, bilinear between cell centres.

    lat_deg, lon_deg  (...) WGS84

    Returns ground_amsl_m, surface_amsl_m (...) NaN unknown; kind (...) uint8, KIND_*; layer_index (...) int16, the layer that
    answers for the surface, -1 none. A layer answers where all four cells around a point are known; where it has no surface, its
    ground stands for it. The surface is never below the ground.
    """
    lat, lon = np.broadcast_arrays(np.asarray(lat_deg, dtype=float), np.asarray(lon_deg, dtype=float))
    shape, lat, lon = lat.shape, lat.ravel(), lon.ravel()
    ground, top = np.full(lat.size, np.nan), np.full(lat.size, np.nan)
    kind, index = np.zeros(lat.size, dtype=np.uint8), np.full(lat.size, -1, dtype=np.int16)
    for number, layer in enumerate(surface.layers):
        wanted = np.flatnonzero(np.isnan(ground) | (index < 0))
        if not wanted.size:
            break
        here = bilinear(layer.ground.z_m, *place(layer.ground, lat_deg=lat[wanted], lon_deg=lon[wanted]))
        fresh = np.isnan(ground[wanted]) & ~np.isnan(here)
        ground[wanted[fresh]] = here[fresh]
        if layer.surface is None:
            open_ = (index[wanted] < 0) & ~np.isnan(here)
            at = wanted[open_]
            top[at], kind[at], index[at] = here[open_], KIND_GROUND, number
            continue
        at = wanted[index[wanted] < 0]
        col, row = place(layer.surface, lat_deg=lat[at], lon_deg=lon[at])
        z = bilinear(layer.surface.z_m, col, row)
        known = ~np.isnan(z)
        at, col, row = at[known], col[known], row[known]
        top[at], index[at] = z[known], number
        kind[at] = _kind_of_highest(layer, col, row)
    top = np.where(np.isnan(ground) | np.isnan(top), top, np.maximum(top, ground))
    kind[(index >= 0) & (top - ground <= STANDS_ON_GROUND_M)] = KIND_GROUND
    return ground.reshape(shape), top.reshape(shape), kind.reshape(shape), index.reshape(shape)


def _kind_of_highest(layer: Layer, col: np.ndarray, row: np.ndarray) -> np.ndarray:
    """Return the kind of the highest of the four cells around each position."""
    z = layer.surface.z_m
    if layer.kind is None:
        return np.full(col.shape, KIND_OBJECT, dtype=np.uint8)
    i = np.clip(np.floor(row - 0.5).astype(np.int64), 0, z.shape[0] - 2)
    j = np.clip(np.floor(col - 0.5).astype(np.int64), 0, z.shape[1] - 2)
    around = ((i, j), (i, j + 1), (i + 1, j), (i + 1, j + 1))
    best = np.argmax(np.stack([z[at] for at in around]), axis=0)
    return np.choose(best, [layer.kind[at] for at in around]).astype(np.uint8)


# ---- putting together ------------------------------------------------------------------------------------


def same_frame(one: Grid, other: Grid) -> bool:
    """Return whether two grids have the same cells."""
    if one.z_m.shape != other.z_m.shape or one.crs != other.crs:
        return False
    size = max(abs(v) for v in (*one.transform[:2], *one.transform[3:5]))
    return all(abs(p - q) <= 1e-6 * size for p, q in zip(one.transform, other.transform, strict=True))


def onto(grid: Grid, frame: Grid, *, between: bool = True) -> np.ndarray:
    """Return a grid's heights (rows, cols) float32 at the cell centres of another.

    between  True: bilinear; False: of the cell the centre lies in (walls stay walls)
    """
    if same_frame(grid, frame):
        return grid.z_m
    rows, cols = frame.z_m.shape
    out = np.empty((rows, cols), dtype=np.float32)
    step = max(1, _STRIP_CELLS // cols)
    for top in range(0, rows, step):
        count = min(step, rows - top)
        row, col = np.mgrid[top : top + count, 0:cols].astype(float) + 0.5
        x, y = cells.apply(frame.transform, col.ravel(), row.ravel())
        if grid.crs == frame.crs:
            at = cells.invert(grid.transform, x, y)
        else:
            lon, lat = projection.to_wgs84(x, y, frame.crs)
            at = place(grid, lat_deg=lat, lon_deg=lon)
        z = bilinear(grid.z_m, *at) if between else nearest(grid.z_m, *at)
        out[top : top + count] = z.reshape(count, cols)
    return out


def frame_for(ground: Grid, surface: Grid | None, standing: Sequence[Standing]) -> Grid:
    """Return the grid a layer's surface lives on: the finest of surface and heights above ground (1 % finer does not count)."""
    found = surface
    for item in standing:
        if found is None or item.grid.cell_m < 0.99 * found.cell_m:
            found = item.grid
    return found if found is not None else ground


def assemble(
    ground: Grid,
    *,
    surface: Grid | None = None,
    standing: Sequence[Standing] = (),
    outlines: Outlines | None = None,
    frame: Grid | None = None,
    surface_has: Sequence[str] = ("buildings", "trees"),
    name: str = "",
    flown_on: date | None = None,
    height_error_m: float | None = None,
    check_median: bool = True,
) -> tuple[Layer, tuple[Reason, ...]]:
    """Return one layer from its grids, and notes on what was mended.

    surface      ground with what stands on it, metres above sea level
    standing     heights above ground; where several are known the highest wins
    outlines     footprints on the frame
    frame        grid of the result's surface; frame_for() where absent
    surface_has  what the surface raster holds

    Raises RasterError: the surface's median lies over 1 m under the ground (unless check_median is False); grids that don't meet.
    """
    error_m = height_error_m if height_error_m is not None else default_error_m(ground.cell_m)
    layer = Layer(ground=ground, flown_on=flown_on, height_error_m=error_m, name=name or ground.name)
    has_heights = outlines is not None and bool(np.isfinite(outlines.height_m).any())
    if surface is None and not standing and not has_heights:
        return layer, ()
    frame = frame or frame_for(ground, surface, standing)
    notes: list[Reason] = []
    base = onto(ground, frame)
    top = np.full(base.shape, np.nan, dtype=np.float32)
    kind = np.zeros(base.shape, dtype=np.uint8)
    if surface is not None:
        top = np.array(onto(surface, frame), dtype=np.float32)
        _must_meet(surface, ground, top, base)
        if check_median:
            notes += _check_against_ground(surface, ground, top - base)
        only = tuple(surface_has)
        kind[np.isfinite(top)] = KIND_BUILDING if only == ("buildings",) else KIND_GROWTH if only == ("trees",) else KIND_OBJECT
    for item in standing:
        height = onto(item.grid, frame, between=False)
        _must_meet(item.grid, ground, height, base)
        below = int(np.count_nonzero(height < 0.0))
        if below:
            notes.append(Reason("height_below_zero", {"file": item.grid.name, "cells": below, "worst_m": round(float(np.nanmin(height)), 2)}))
        _raise_to(top, kind, base + np.maximum(height, np.float32(0.0)), item.kind)
    if outlines is not None:
        if has_heights:
            if surface is None and not standing:
                _raise_to(top, kind, base, KIND_GROUND)
            _raise_to(top, kind, base + outlines.height_m, KIND_BUILDING)
        inside = outlines.inside
        near = _grown(inside)
        kind[inside & (kind == KIND_OBJECT)] = KIND_BUILDING
        kind[~near & (kind == KIND_OBJECT)] = KIND_GROWTH
        kind[near & ~inside & (kind == KIND_OBJECT)] = KIND_BUILDING
    with np.errstate(invalid="ignore"):
        low = top < base
        if low.any():
            gap = (base - top)[low]
            notes.append(
                Reason(
                    "surface_below_ground",
                    {
                        "file": surface.name if surface is not None else name,
                        "cells": int(low.sum()),
                        "of": int(np.isfinite(top - base).sum()),
                        "over_half_metre": int((gap > 0.5).sum()),
                        "worst_m": round(float(gap.max()), 2),
                    },
                )
            )
            top[low] = base[low]
        kind[top - base <= STANDS_ON_GROUND_M] = KIND_GROUND
    kind[np.isnan(top)] = KIND_UNKNOWN
    buildings, trees = _knows(surface, standing, outlines, frame, surface_has)
    done = Grid(z_m=top, transform=frame.transform, crs=frame.crs, cell_m=frame.cell_m, name=(surface or frame).name)
    if height_error_m is None:
        layer = replace(layer, height_error_m=default_error_m(max(frame.cell_m, ground.cell_m)))
    return replace(layer, surface=done, kind=kind, knows_buildings=buildings, knows_trees=trees), tuple(notes)


def _raise_to(top: np.ndarray, kind: np.ndarray, z: np.ndarray, what: int) -> None:
    """Raise top to z where z is higher (or top unknown), and note what does it."""
    with np.errstate(invalid="ignore"):
        higher = np.isfinite(z) & (np.isnan(top) | (z > top))
    top[higher] = z[higher]
    kind[higher] = what


def _grown(inside: np.ndarray) -> np.ndarray:
    """Return cells that are inside or touch an inside cell."""
    wide = inside.copy()
    wide[1:] |= inside[:-1]
    wide[:-1] |= inside[1:]
    tall = wide.copy()
    wide[:, 1:] |= tall[:, :-1]
    wide[:, :-1] |= tall[:, 1:]
    return wide


def _must_meet(grid: Grid, ground: Grid, z: np.ndarray, base: np.ndarray) -> None:
    if not np.isfinite(z + base).any():
        raise RasterError(
            f"{grid.name} and {ground.name} do not overlap: no cell is known in both; check their CRS, or put them in separate [[terrain]] tables"
        )


def _check_against_ground(surface: Grid, ground: Grid, difference: np.ndarray) -> list[Reason]:
    known = difference[np.isfinite(difference)]
    if not known.size:
        return []
    middle = float(np.median(known))
    if middle < -UNDER_GROUND_M:
        raise RasterError(
            f"{surface.name}: half of it lies more than {-middle:.1f} m under its ground {ground.name}; are the two swapped, in different "
            "units or datums, or is it a raster of heights above ground (plan key `height_above_ground`)?"
        )
    return []


def _knows(
    surface: Grid | None, standing: Sequence[Standing], outlines: Outlines | None, frame: Grid, surface_has: Sequence[str]
) -> tuple[bool, bool]:
    """Return whether the layer's surface holds buildings, and trees; only sources with cells up to 2.5 m count."""
    buildings = trees = False
    if surface is not None and surface.cell_m <= KNOWS_UP_TO_CELL_M:
        buildings, trees = "buildings" in surface_has, "trees" in surface_has
    for item in standing:
        if item.grid.cell_m <= KNOWS_UP_TO_CELL_M:
            buildings |= item.kind == KIND_BUILDING
            trees |= item.kind == KIND_GROWTH
    if outlines is not None and outlines.complete and frame.cell_m <= KNOWS_UP_TO_CELL_M:
        buildings = True
    return buildings, trees


def stack(layers: Sequence[Layer], *, footprints: Footprints | None = None, notes: Sequence[Reason] = ()) -> Surface:
    """Return layers as one surface, finest first (by the cells of the surface, of the ground where there is none)."""
    order = sorted(layers, key=lambda layer: round((layer.surface or layer.ground).cell_m, 3))
    return Surface(layers=tuple(order), footprints=footprints, notes=tuple(notes))
