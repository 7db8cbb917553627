"""Is a raster bare ground, a surface with what stands on it, or heights above ground? Told from its heights, never from its name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.records.ground import Grid
from siteplan.terrain.assembly import KNOWS_UP_TO_CELL_M, onto

# All of these: common practice, no source; held to real pairs of ground and surface in tests/terrain/test_roles.py.
NOTHING_M = 0.05  # as low is "nothing stands here" in a raster of heights above ground
STANDING_UP_TO_M, MOSTLY = 80.0, 0.5
RISES_AT_ONCE_M = 1.0  # what stands begins with a step, land that rises out of the sea does not
BELOW_M, NEARLY_ALL = 0.5, 0.95  # a sound surface lies under its ground here and there, by centimetres
SAME_SHARE = 0.98
FAR_OFTENER, LEAST_RISES = 5.0, 0.002
TOUCHES_M = 5.0  # a surface comes down to its ground in at least one cell of twenty
WALL_DEG, WALLS_SHARE = 60.0, 0.005  # bare ground is hardly ever as steep as a wall


@dataclass(frozen=True, slots=True)
class Look:
    """What the cells of one raster look like.

    nothing_share  share of known cells at most 5 cm high
    edge_step_m    median step between such a cell and a higher neighbour, NaN where none
    wall_share     share of steps between neighbours steeper than 60 degrees; NaN where cells are over 2.5 m (walls don't show there)
    """

    least_m: float
    most_m: float
    nothing_share: float
    edge_step_m: float
    wall_share: float

    @property
    def stands(self) -> bool:
        """Return whether these are heights above ground: mostly nothing, never negative, up to 80 m, and what stands begins with a step."""
        low = self.least_m >= -NOTHING_M and self.most_m <= STANDING_UP_TO_M and self.most_m > NOTHING_M
        return low and self.nothing_share >= MOSTLY and self.edge_step_m >= RISES_AT_ONCE_M

    @property
    def walled(self) -> bool:
        """Return whether walls show: a surface, most likely."""
        return self.wall_share > WALLS_SHARE


@dataclass(frozen=True, slots=True)
class Relation:
    """How one raster lies over another: cells compared, and shares of them within tolerance_m.

    not_below  at least as high; same  neither higher nor lower; low_m, middle_m, high_m  5th, 50th and 95th per cent of the difference
    """

    cells: int
    not_below: float
    not_above: float
    same: float
    low_m: float
    middle_m: float
    high_m: float
    tolerance_m: float

    @property
    def above(self) -> bool:
        """Return whether the upper one is a surface of the lower one: hardly below it, touching it, and higher far oftener than lower."""
        rises, sinks = 1.0 - self.not_above, 1.0 - self.not_below
        oftener = rises >= FAR_OFTENER * sinks + LEAST_RISES
        return self.cells > 0 and oftener and self.not_below >= NEARLY_ALL and self.low_m <= TOUCHES_M + self.tolerance_m

    @property
    def agrees(self) -> bool:
        """Return whether both hold the same heights."""
        return self.cells > 0 and self.same >= SAME_SHARE and not self.above


def look(grids: Sequence[Grid]) -> Look:
    """Return what the cells of one raster (its windows) look like. Raises nothing; NaN where no cell is known."""
    known = np.concatenate([grid.z_m[np.isfinite(grid.z_m)] for grid in grids])
    if not known.size:
        return Look(np.nan, np.nan, np.nan, np.nan, np.nan)
    edges, steep = [], []
    for grid in grids:
        z, cell_m = grid.z_m, grid.cell_m
        for one, other in ((z[:, :-1], z[:, 1:]), (z[:-1], z[1:])):
            step = np.abs(one - other)
            with np.errstate(invalid="ignore"):
                edge = ((one <= NOTHING_M) != (other <= NOTHING_M)) & np.isfinite(step)
            edges.append(step[edge])
            steep.append(step[np.isfinite(step)] > cell_m * np.tan(np.radians(WALL_DEG)))
    edge_steps, walls = np.concatenate(edges), np.concatenate(steep)
    fine = max(grid.cell_m for grid in grids) <= KNOWS_UP_TO_CELL_M
    return Look(
        least_m=float(known.min()),
        most_m=float(known.max()),
        nothing_share=float(np.mean(known <= NOTHING_M)),
        edge_step_m=float(np.median(edge_steps)) if edge_steps.size else np.nan,
        wall_share=float(np.mean(walls)) if walls.size and fine else np.nan,
    )


def relation(upper: Sequence[Grid], lower: Sequence[Grid], *, tolerance_m: float = BELOW_M) -> Relation:
    """Return how one raster lies over another, compared where both are known.

    upper, lower  windows of each; where one comes whole (one grid) it serves every window of the other
    """
    gaps = []
    for number in range(max(len(upper), len(lower))):
        high, low = upper[min(number, len(upper) - 1)], lower[min(number, len(lower) - 1)]
        # compared on the grid of windows, else on the finer one
        on_upper = len(upper) > len(lower) or (len(upper) == len(lower) and high.cell_m <= 1.01 * low.cell_m)
        gaps.append((high.z_m - onto(low, high) if on_upper else onto(high, low) - low.z_m).ravel())
    gap = np.concatenate(gaps)
    gap = gap[np.isfinite(gap)]
    if not gap.size:
        return Relation(0, 0.0, 0.0, 0.0, np.nan, np.nan, np.nan, tolerance_m)
    not_below, not_above = gap >= -tolerance_m, gap <= tolerance_m
    low_m, middle_m, high_m = (float(value) for value in np.percentile(gap, (5, 50, 95)))
    same = float(np.mean(not_below & not_above))
    return Relation(gap.size, float(np.mean(not_below)), float(np.mean(not_above)), same, low_m, middle_m, high_m, tolerance_m)


def unseen_share(standing: Sequence[Grid], surface: Sequence[Grid], ground: Sequence[Grid], *, over_m: float = 2.0) -> float:
    """Return the share of cells with something over over_m high in `standing` where the surface shows nothing like it; NaN where none.

    The surface counts as showing it where it stands at least half as high above the ground.
    """
    unseen = total = 0
    for number in range(max(len(standing), len(surface), len(ground))):
        item, top, base = (some[min(number, len(some) - 1)] for some in (standing, surface, ground))
        frame = min((item, top, base), key=lambda grid: (grid.z_m.size, grid.cell_m))
        high = onto(item, frame, between=False)
        seen = onto(top, frame) - onto(base, frame)
        with np.errstate(invalid="ignore"):
            here = (high > over_m) & np.isfinite(seen)
            unseen += int(np.count_nonzero(here & (seen < high / 2)))
        total += int(np.count_nonzero(here))
    return unseen / total if total else float("nan")


def middle_where_nothing(standing: Sequence[Grid], other: Sequence[Grid]) -> float:
    """Return the median of another raster, without its sign, at cells where `standing` holds nothing; NaN where there are none."""
    found = []
    for number in range(max(len(standing), len(other))):
        item, base = (some[min(number, len(some) - 1)] for some in (standing, other))
        on_item = len(standing) >= len(other)
        nothing, z = (item.z_m, onto(base, item)) if on_item else (onto(item, base, between=False), base.z_m)
        with np.errstate(invalid="ignore"):
            found.append(np.abs(z[(nothing <= NOTHING_M) & np.isfinite(z)]))
    values = np.concatenate(found)
    return float(np.median(values)) if values.size else float("nan")


def lattice(west: float, south: float, east: float, north: float, *, across: int = 3) -> tuple[tuple[float, float], ...]:
    """Return across x across places (lat_deg, lon_deg) spread evenly over a box in degrees."""
    steps = [(2 * k + 1) / (2 * across) for k in range(across)]
    return tuple((south + v * (north - south), west + u * (east - west)) for v in steps for u in steps)
