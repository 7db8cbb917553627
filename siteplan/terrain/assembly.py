"""One layer put together from its grids: ground, surface, heights above ground, footprints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from siteplan.errors import RasterError, told
from siteplan.geodesy import cells, projection
from siteplan.records.ground import (
    KIND_BUILDING,
    KIND_GROUND,
    KIND_GROWTH,
    KIND_OBJECT,
    KIND_UNKNOWN,
    STANDS_ON_GROUND_M,
    Grid,
    Layer,
)
from siteplan.records.verdict import Reason
from siteplan.terrain.fit import best_fit
from siteplan.terrain.surface import bilinear, nearest, place
from siteplan.terrain.treeless import treeless

BOTH = ("buildings", "trees")
# A surface counts as knowing trees and buildings only at cells up to this size; 1 % over is still that size.
KNOWS_UP_TO_CELL_M = 2.5 * 1.01
# Error of a height, 1 sigma, by cell size, where nobody states one (common practice, no source).
ERROR_BY_CELL_M = ((1.01, 0.3), (2.525, 0.5), (5.05, 1.0), (10.1, 2.0), (35.0, 5.0), (float("inf"), 10.0))
# A surface whose median lies farther than this under its ground is not that ground's surface.
UNDER_GROUND_M = 1.0
_STRIP_CELLS = 2_000_000


@dataclass(frozen=True, eq=False)
class Standing:
    """A grid of heights above ground, metres.

    kind  KIND_BUILDING, KIND_GROWTH or KIND_OBJECT (not told)
    has   what it holds all of: "buildings", "trees", both or nothing for sure
    """

    grid: Grid
    kind: int
    has: tuple[str, ...] = ()


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
    surface_has: Sequence[str] = BOTH,
    name: str = "",
    flown_on: date | None = None,
    height_error_m: float | None = None,
    whole: bool = True,
    stated: bool = False,
) -> tuple[Layer, tuple[Reason, ...]]:
    """Return one layer from its grids, and notes on what was mended.

    surface      ground with what stands on it, metres above sea level
    standing     heights above ground; where several are known the highest wins
    outlines     footprints on the frame
    frame        grid of the result's surface; frame_for() where absent
    surface_has  what the surface raster holds all of
    whole        the grids are whole files (and must meet); False: windows of them
    stated       somebody says what the surface holds: it is not looked at whether its trees are missing

    A cell where nothing is seen to stand counts as unknown unless each of "buildings" and "trees" that the layer knows is known
    there by a source that holds it (a void in the canopy raster is not an open view).
    Raises RasterError: the surface's median lies over 1 m under the ground; grids that don't meet; heights that follow the ground.
    """
    error_m = height_error_m if height_error_m is not None else default_error_m(ground.cell_m)
    layer = Layer(ground=ground, flown_on=flown_on, height_error_m=error_m, name=name or ground.name)
    has_heights = outlines is not None and bool(np.isfinite(outlines.height_m).any())
    if surface is None and not standing and not has_heights:
        return layer, ()
    frame = frame or frame_for(ground, surface, standing)
    known = knows(
        surface_cell_m=None if surface is None else surface.cell_m, surface_has=surface_has,
        standing=[(item.grid.cell_m, item.has) for item in standing],
        outlines_cell_m=frame.cell_m if outlines is not None and outlines.complete else None,
    )  # fmt: skip
    base = onto(ground, frame)
    top = None if surface is None else onto(surface, frame)
    bare = None
    if known[1] and not stated and top is not None and outlines is not None and not any("trees" in item.has for item in standing):
        bare = treeless(top, base, outlines.inside, frame.cell_m)
        known = known[0], bare is None
    work = _Work(base, known)
    if surface is not None:
        if bare is not None:
            values = {"file": surface.name, "cells": bare[0], "of": bare[1], "share": bare[0] / bare[1]}
            work.notes.append(Reason("surface_without_trees", values))
        work.meets(surface, ground, top, whole)
        work.notes += check_surface(surface, ground, top=top, base=base, cell_m=frame.cell_m)
        only = tuple(surface_has)
        kind = KIND_BUILDING if only == ("buildings",) else KIND_GROWTH if only == ("trees",) else KIND_OBJECT
        work.add(top, kind, surface_has if surface.cell_m <= KNOWS_UP_TO_CELL_M else ())
    for item in standing:
        height = onto(item.grid, frame, between=False)
        work.meets(item.grid, ground, height, whole)
        work.notes += _check_heights(item.grid, ground, height, base)
        work.add(base + np.maximum(height, np.float32(0.0)), item.kind, item.has if item.grid.cell_m <= KNOWS_UP_TO_CELL_M else ())
    if outlines is not None:
        if has_heights and surface is None and not standing:
            work.add(base, KIND_GROUND, ())
        if has_heights:
            work.add(base + outlines.height_m, KIND_BUILDING, ())
        work.tell(outlines.inside)
    work.finish((surface or frame).name)
    done = Grid(z_m=work.top, transform=frame.transform, crs=frame.crs, cell_m=frame.cell_m, name=(surface or frame).name)
    if height_error_m is None:
        layer = replace(layer, height_error_m=default_error_m(max(frame.cell_m, ground.cell_m)))
    buildings, trees = known
    return replace(layer, surface=done, kind=work.kind, knows_buildings=buildings, knows_trees=trees), tuple(work.notes)


def knows(
    *,
    surface_cell_m: float | None,
    surface_has: Sequence[str] = BOTH,
    standing: Sequence[tuple[float, Sequence[str]]] = (),
    outlines_cell_m: float | None = None,
) -> tuple[bool, bool]:
    """Return whether a layer of such sources knows (buildings, trees): only sources with cells up to 2.5 m (1 % over is let pass) count.

    standing         (cell_m, what it holds) of each raster of heights above ground
    outlines_cell_m  cell onto which footprints with heights are burnt, None where there are none or heights are missing
    """
    held: set[str] = set()
    if surface_cell_m is not None and surface_cell_m <= KNOWS_UP_TO_CELL_M:
        held |= set(surface_has)
    for cell_m, has in standing:
        held |= set(has) if cell_m <= KNOWS_UP_TO_CELL_M else set()
    if outlines_cell_m is not None and outlines_cell_m <= KNOWS_UP_TO_CELL_M:
        held.add("buildings")
    return "buildings" in held, "trees" in held


class _Work:
    """A surface in the making: top and kind on the frame, where buildings and trees are known, notes."""

    def __init__(self, base: np.ndarray, known: tuple[bool, bool]) -> None:
        self.base = base
        self.top = np.full(base.shape, np.nan, dtype=np.float32)
        self.kind = np.zeros(base.shape, dtype=np.uint8)
        self.notes: list[Reason] = []
        self.wanted = [name for name, is_known in zip(BOTH, known, strict=True) if is_known]
        self.seen: dict[str, list[np.ndarray]] = {name: [] for name in self.wanted}

    def meets(self, grid: Grid, ground: Grid, z: np.ndarray, whole: bool) -> None:
        """Complain where two whole files have no known cell in common."""
        if whole and not np.isfinite(z + self.base).any():
            raise RasterError(
                told(
                    "{name} and {name_2} do not overlap: no cell is known in both; check their CRS, or put them in separate "
                    "[[terrain]] tables",
                    name=grid.name,
                    name_2=ground.name,
                )
            )

    def add(self, z: np.ndarray, kind: int, has: Sequence[str]) -> None:
        """Raise the top to z where z is higher (or the top unknown), and remember what does it and what it speaks for."""
        known = np.isfinite(z)
        with np.errstate(invalid="ignore"):
            higher = known & (np.isnan(self.top) | (z > self.top))
        self.top[higher] = z[higher]
        self.kind[higher] = kind
        for name in has:
            if name in self.seen:
                self.seen[name].append(known)

    def tell(self, inside: np.ndarray) -> None:
        """Tell buildings from growth by footprints, one cell of tolerance."""
        near = _grown(inside)
        self.kind[near & (self.kind == KIND_OBJECT)] = KIND_BUILDING
        self.kind[~near & (self.kind == KIND_OBJECT)] = KIND_GROWTH

    def finish(self, name: str) -> None:
        """Clamp to the ground (counted), and take back what looks open where a source that should see it is void."""
        top, base = self.top, self.base
        with np.errstate(invalid="ignore"):
            low = top < base
            if low.any():
                gap = (base - top)[low]
                of = int(np.isfinite(top - base).sum())
                values = {"file": name, "cells": int(low.sum()), "of": of, "share": float(low.sum() / of)}
                values |= {"over_half_metre": int((gap > 0.5).sum()), "worst_m": round(float(gap.max()), 2)}
                self.notes.append(Reason("surface_below_ground", values))
                top[low] = base[low]
            open_ = top - base <= STANDS_ON_GROUND_M
        self.kind[open_] = KIND_GROUND
        for name in self.wanted:
            if self.seen[name]:
                top[open_ & ~np.logical_or.reduce(self.seen[name])] = np.nan
        self.kind[np.isnan(top)] = KIND_UNKNOWN


def _grown(inside: np.ndarray) -> np.ndarray:
    """Return cells that are inside or touch an inside cell."""
    wide = inside.copy()
    wide[1:] |= inside[:-1]
    wide[:-1] |= inside[1:]
    tall = wide.copy()
    wide[:, 1:] |= tall[:, :-1]
    wide[:, :-1] |= tall[:, 1:]
    return wide


def check_surface(surface: Grid, ground: Grid, *, top: np.ndarray, base: np.ndarray, cell_m: float) -> list[Reason]:
    """Return a note where a surface looks shifted against its ground (both on one frame); RasterError where it lies under it."""
    with np.errstate(invalid="ignore"):
        gap = (top - base)[np.isfinite(top) & np.isfinite(base)]
    if not gap.size:
        return []
    middle = float(np.median(gap))
    if middle < -UNDER_GROUND_M:
        raise RasterError(
            told(
                "{name}: half of it lies more than {middle:.1f} m under its ground {name_2}; are the two swapped, in different units "
                "or datums, or is it a raster of heights above ground (plan key `height_above_ground`)?",
                name=surface.name,
                middle=-middle,
                name_2=ground.name,
            )
        )
    fit = best_fit(base, top)
    if fit is None or not fit.shifted:
        return []
    values = {"file": surface.name, "ground": ground.name, "west_cells": -fit.cols, "north_cells": -fit.rows, "down_m": round(-fit.up_m, 2)}
    return [Reason("surface_shifted", values | {"across_m": round(float(np.hypot(fit.cols, fit.rows)) * cell_m, 1)})]


def _check_heights(grid: Grid, ground: Grid, height: np.ndarray, base: np.ndarray) -> list[Reason]:
    both = np.isfinite(height) & np.isfinite(base)
    if not both.any():
        return []
    h, g = height[both], base[both]
    middle = float(np.median(g))
    if np.mean(h < 1.0) < 0.001 and middle > 20.0 and abs(float(np.median(h)) - middle) < 5.0 + 0.1 * middle:
        raise RasterError(
            told(
                "{name}: its values follow the ground {name_2} (median {median:.0f} m and {middle:.0f} m), so they look like heights "
                "above sea level, not above ground; name it as `surface` in the plan",
                name=grid.name,
                name_2=ground.name,
                median=np.median(h),
                middle=middle,
            )
        )
    notes = []
    void = 1.0 - float(np.count_nonzero(both)) / max(1, int(np.count_nonzero(np.isfinite(base))))
    if void > 0.2 and not (h < 0.05).any():
        notes.append(Reason("heights_mostly_void", {"file": grid.name, "share": round(void, 4)}))
    below = h < -0.01
    if below.any():
        notes.append(Reason("height_below_zero", {"file": grid.name, "cells": int(below.sum()), "worst_m": round(float(h.min()), 2)}))
    return notes
