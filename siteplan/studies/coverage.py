"""An area: cut into tiles, every cell judged as an address at its centre would be, the tiles joined.

Finished pieces are kept in a work folder, so that what was interrupted goes on where it stopped. Satellites are worked in every cell.
Paths over the ground cost a hundred times more: where cells times senders exceed the plan's `radio_paths`, they are worked in every k-th
cell each way and shared out between (strengths bilinear, names by the nearest), and CHECKS cells between are worked in full to state
how far that lies from the truth.
"""

from __future__ import annotations

import math
import os
import zipfile
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import date as Date
from pathlib import Path

import numpy as np

from siteplan.errors import OutputError, told
from siteplan.records.emitters import Satellite, Sector, Transmitter
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.services.mobile.area import best_at as best_sector
from siteplan.services.satellite.area import arc_of_cells, arc_positions, views_of_cells
from siteplan.services.shared.cells import cells_at, site_of_cell
from siteplan.services.shared.site import Land
from siteplan.services.terrestrial.area import best_at as best_transmitter
from siteplan.studies.addresses import NEAR_EMITTER_M
from siteplan.studies.area_grid import AreaGrid, Tile
from siteplan.studies.inputs import stand
from siteplan.studies.surfaces import load_surface
from siteplan.studies.terrain_files import WHOLE_CELLS, open_table
from siteplan.studies.tiles import workers
from siteplan.terrain.view import prepare

BLOCK_CELLS, BLOCK_M = 64, 640.0  # cells that share one view of the land around
SHEET_M = 2_000.0  # the land is read for this much of an area at a time, where its files are large
AROUND_M = 1_500.0  # and to full resolution this far around
NODES_AT_ONCE = 32
CHECKS = 64
NO_NAME = 65_535

Progress = Callable[[str, int, int], None]
BEST = {"terrestrial": best_transmitter, "mobile": best_sector}
# what else a service says of a cell, after best, strength and margin: whole numbers, shared out by the nearest
MORE: Mapping[str, tuple[str, ...]] = {"terrestrial": ("programmes", "open"), "mobile": ()}


@dataclass(frozen=True, slots=True)
class Senders:
    """What an area is judged for; names in maps count in these."""

    satellites: tuple[Satellite, ...] = ()
    transmitters: tuple[Transmitter, ...] = ()
    sectors: tuple[Sector, ...] = ()

    def of(self, service: str) -> tuple:
        """Return the senders of a radio service."""
        return self.transmitters if service == "terrestrial" else self.sectors


@dataclass(frozen=True, eq=False)
class Radio:
    """One radio service over the grid: best (rows, cols) uint16 counts in the senders, NO_NAME none; strength and margin float32.

    step    worked in every step-th cell each way
    checks  how cells between compare with the full working: n, median_db, p90_db, most_db, same_name (share); empty where step is 1
    more    name of MORE -> (rows, cols) uint16, NO_NAME where not known
    """

    best: np.ndarray
    strength: np.ndarray
    margin_db: np.ndarray
    step: int
    checks: Mapping[str, float] = field(default_factory=dict)
    more: Mapping[str, np.ndarray] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Coverage:
    """Everything worked over one area.

    state    (satellites, rows, cols) uint8, counts in CLEARANCE_STATES; mount_m the same shape, float32, above ground
    dish_m, weather_margin_db   the same shape, float32, as services.satellite.area.CellViews
    arc_pct  (rows, cols) float32, share of the arc that a dish sees; arc_deg the orbital positions looked at, () where left out
    known    (rows, cols) whether the ground is known
    """

    grid: AreaGrid
    senders: Senders
    state: np.ndarray
    mount_m: np.ndarray
    known: np.ndarray
    radio: Mapping[str, Radio]
    dish_m: np.ndarray
    weather_margin_db: np.ndarray
    arc_pct: np.ndarray
    arc_deg: tuple[float, ...] = ()
    notes: tuple[Reason, ...] = ()


def judge_area(plan: Plan, grid: AreaGrid, senders: Senders, *, on_date: Date, work: Path, progress: Progress | None = None) -> Coverage:
    """Return every cell of a grid judged. work is a folder of this very question: pieces found in it are taken as done."""
    work.mkdir(parents=True, exist_ok=True)
    return _Worker(plan, grid, senders, on_date, work, progress).run()


class _Worker:
    def __init__(self, plan: Plan, grid: AreaGrid, senders: Senders, on_date: Date, work: Path, progress: Progress | None) -> None:
        self.plan, self.grid, self.senders, self.on_date, self.work, self.progress = plan, grid, senders, on_date, work, progress
        self.land: Land = None  # type: ignore[assignment]  # read for the first sheet, before any piece is worked
        self.standing: dict[str, tuple] = {}
        self.notes: list[Reason] = []
        self.whole = all(info.cells <= WHOLE_CELLS for table in plan.terrain for info in open_table(table).files)
        self.land_at: tuple[int, int] | None = None

    def run(self) -> Coverage:
        tiles = tuple(self.grid.tiles())
        self._pieces(told("seen from satellites"), [(tile.name, tile, lambda tile=tile: self._satellites(tile)) for tile in tiles])
        rows, cols, count = self.grid.rows, self.grid.cols, len(self.senders.satellites)
        state = np.zeros((count, rows, cols), dtype=np.uint8)
        mount, dish, margin = (np.full((count, rows, cols), np.nan, dtype=np.float32) for _ in range(3))
        known, self.on_roof = np.zeros((rows, cols), dtype=bool), np.zeros((rows, cols), dtype=bool)
        arc = np.full((rows, cols), np.nan, dtype=np.float32)
        for tile in tiles:
            piece, at = self._read(tile.name), np.s_[tile.row0 : tile.row1, tile.col0 : tile.col1]
            state[:, *at], mount[:, *at], known[at], self.on_roof[at] = (piece[name] for name in ("state", "mount", "known", "on_roof"))
            dish[:, *at], margin[:, *at], arc[at] = piece["dish"], piece["margin"], piece["arc"]
        radio = {}
        for service in ("terrestrial", "mobile"):
            if self.senders.of(service):
                radio[service] = self._radio(service)
        return Coverage(self.grid, self.senders, state, mount, known, radio, dish, margin, arc, self._arc(), tuple(self.notes))

    # ---- pieces ---------------------------------------------------------------------------------------------------------

    def _pieces(self, what: str, jobs: Sequence[tuple[str, Tile, Callable[[], dict[str, np.ndarray]]]]) -> None:
        """Work the pieces that are not there yet, by sheets of land, on a few threads; each is put in place whole."""
        missing = [job for job in jobs if not self._there(job[0])]
        done, total = len(jobs) - len(missing), len(jobs)
        by_sheet: dict[tuple[int, int], list] = {}
        for job in missing:
            by_sheet.setdefault(self._sheet(job[1]), []).append(job)
        for sheet in sorted(by_sheet):
            self._land_of(sheet)
            with ThreadPoolExecutor(workers()) as pool:
                running = [pool.submit(self._save, name, work) for name, _, work in by_sheet[sheet]]
                try:
                    for one in running:
                        one.result()
                        done += 1
                        if self.progress is not None:
                            self.progress(what, done, total)
                except BaseException:
                    for one in running:
                        one.cancel()
                    raise

    def _there(self, name: str) -> bool:
        return (self.work / f"{name}.npz").exists()

    def _save(self, name: str, work: Callable[[], dict[str, np.ndarray]]) -> None:
        unfinished = self.work / f"{name}.part"
        with unfinished.open("wb") as out:
            np.savez_compressed(out, **work())
        os.replace(unfinished, self.work / f"{name}.npz")

    def _read(self, name: str) -> dict[str, np.ndarray]:
        try:
            with np.load(self.work / f"{name}.npz", allow_pickle=False) as piece:
                return {key: piece[key] for key in piece.files}
        except (OSError, ValueError, zipfile.BadZipFile, EOFError):
            (self.work / f"{name}.npz").unlink(missing_ok=True)
            raise OutputError(told("{work}.npz was damaged and is removed; run the same command again", work=self.work / name)) from None

    # ---- land -----------------------------------------------------------------------------------------------------------

    def _sheet(self, tile: Tile) -> tuple[int, int]:
        if self.whole:
            return 0, 0
        side = max(1, int(SHEET_M / self.grid.cell_m))
        return tile.row0 // side, tile.col0 // side

    def _land_of(self, sheet: tuple[int, int]) -> None:
        if self.land is not None and self.land_at == sheet:
            return
        self.land = None  # type: ignore[assignment]  # let go of the last one before the next is read
        sites = sorted({(site.lat_deg, site.lon_deg) for site in (*self.senders.transmitters, *self.senders.sectors)})
        around = [(lat, lon, NEAR_EMITTER_M) for lat, lon in sites]
        if self.whole:
            surface = load_surface(self.plan)
        else:
            side = max(1, int(SHEET_M / self.grid.cell_m))
            row, col = (np.array([(number + 0.5) * side]) for number in sheet)
            lat, lon = self.grid.centres(np.minimum(row, self.grid.rows), np.minimum(col, self.grid.cols))
            radius = math.hypot(side + 128, side + 128) / 2.0 * self.grid.cell_m + AROUND_M
            surface = load_surface(self.plan, around=[(float(lat[0]), float(lon[0]), radius), *around])
        self.land, self.land_at = Land(surface, prepare(surface), self.on_date), sheet
        self.notes += [note for note in surface.notes if note not in self.notes]
        for service in ("terrestrial", "mobile"):
            kept, unfit = stand(surface, self.senders.of(service))
            self.standing[service] = kept
            self.notes += [reason for _, reason in sorted(unfit.items()) if reason not in self.notes]

    # ---- satellites -----------------------------------------------------------------------------------------------------

    def _satellites(self, tile: Tile) -> dict[str, np.ndarray]:
        land, count = self.land, len(self.senders.satellites)
        state = np.zeros((count, *tile.shape), dtype=np.uint8)
        mount, dish, margin = (np.full((count, *tile.shape), np.nan, dtype=np.float32) for _ in range(3))
        known, on_roof = np.zeros(tile.shape, dtype=bool), np.zeros(tile.shape, dtype=bool)
        arc = np.full(tile.shape, np.nan, dtype=np.float32)
        side = max(1, min(BLOCK_CELLS, int(BLOCK_M / self.grid.cell_m)))
        for block in tile.blocks(side):
            lat, lon = self.grid.centres(*block.index())
            cells = cells_at(land, lat_deg=lat, lon_deg=lon)
            at = np.s_[block.row0 - tile.row0 : block.row1 - tile.row0, block.col0 - tile.col0 : block.col1 - tile.col0]
            known[at], on_roof[at] = cells.known.reshape(block.shape), cells.on_roof.reshape(block.shape)
            for number, views in enumerate(views_of_cells(cells, land, self.senders.satellites, self.plan)):
                state[number][at] = views.state.reshape(block.shape)
                mount[number][at] = views.mount_height_agl_m.reshape(block.shape)
                dish[number][at] = views.dish_m.reshape(block.shape)
                margin[number][at] = views.weather_margin_db.reshape(block.shape)
            arc[at] = arc_of_cells(cells, land, self._arc(), self.plan).reshape(block.shape)
        return {"state": state, "mount": mount, "dish": dish, "margin": margin, "known": known, "on_roof": on_roof, "arc": arc}

    def _arc(self) -> tuple[float, ...]:
        """Return the orbital positions that stand for the whole arc, the same for every cell: those that rise over the middle."""
        if not self.senders.satellites:
            return ()
        lat, lon = self.grid.centres(np.array([self.grid.rows // 2]), np.array([self.grid.cols // 2]))
        return arc_positions(float(np.ravel(lat)[0]), float(np.ravel(lon)[0]), self.plan)

    # ---- radio ----------------------------------------------------------------------------------------------------------

    def _radio(self, service: str) -> Radio:
        sites = {(sender.lat_deg, sender.lon_deg) for sender in self.senders.of(service)}
        step = max(1, math.ceil(math.sqrt(self.grid.cells * len(sites) / self.plan.area.radio_paths) - 1e-9))
        node_rows, node_cols = nodes_of(self.grid.rows, step), nodes_of(self.grid.cols, step)
        rows, cols = (part.ravel() for part in np.meshgrid(node_rows, node_cols, indexing="ij"))
        found = self._worked(service, f"{service}-{step}", rows, cols)
        shape = node_rows.size, node_cols.size
        best = found[:, 0].reshape(shape)
        between = Between(node_rows, node_cols, self.on_roof)
        strength, margin = (between.shared_out(found[:, place].reshape(shape)) for place in (1, 2))
        names = _whole(between.nearest(np.where(best >= 0, best, np.nan)))
        more = {name: _whole(between.nearest(found[:, 3 + at].reshape(shape))) for at, name in enumerate(MORE[service])}
        checks = self._checked(service, step, names, strength) if step > 1 else {}
        return Radio(names, strength.astype(np.float32), margin.astype(np.float32), step, checks, more)

    def _worked(self, service: str, name: str, rows: np.ndarray, cols: np.ndarray) -> np.ndarray:
        """Return (n, 3 + more) best, strength, margin and what else of cells, worked in pieces that lie together."""
        parts = [np.arange(first, min(first + NODES_AT_ONCE, rows.size)) for first in range(0, rows.size, NODES_AT_ONCE)]
        if not self.whole:  # a piece must lie on one sheet of land
            side = max(1, int(SHEET_M / self.grid.cell_m))
            sheet = (rows // side) * (self.grid.cols // side + 1) + cols // side
            order = np.argsort(sheet, kind="stable")
            ends = np.flatnonzero(np.diff(sheet[order])) + 1
            parts = [group[k : k + NODES_AT_ONCE] for group in np.split(order, ends) for k in range(0, group.size, NODES_AT_ONCE)]
        jobs, wide = [], 3 + len(MORE[service])
        for number, part in enumerate(parts):
            here = Tile(int(rows[part[0]]), int(rows[part[0]]) + 1, int(cols[part[0]]), int(cols[part[0]]) + 1)
            jobs.append((f"{name}-{wide}-{number:06d}", here, lambda part=part: self._paths(service, rows[part], cols[part])))
        self._pieces(told("paths for {service}", service="TV" if service == "terrestrial" else "mobile"), jobs)
        out = np.full((rows.size, wide), np.nan)
        for (piece, _, _), part in zip(jobs, parts, strict=True):
            out[part] = self._read(piece)["found"]
        return out

    def _paths(self, service: str, rows: np.ndarray, cols: np.ndarray) -> dict[str, np.ndarray]:
        land, senders = self.land, self.senders.of(service)
        standing = self.standing[service]
        place = {id(sender): number for number, sender in enumerate(senders)}
        lat, lon = self.grid.centres(rows, cols)
        cells = cells_at(land, lat_deg=lat, lon_deg=lon)
        out = np.full((rows.size, 3 + len(MORE[service])), np.nan)
        out[:, 0] = -1.0
        for number in np.flatnonzero(cells.known).tolist():
            best, *values = BEST[service](site_of_cell(cells, number, land, self.plan.mount), land, standing, self.plan)
            if best >= 0:
                out[number] = place[id(standing[best])], *values
        return {"found": out}

    def _checked(self, service: str, step: int, names: np.ndarray, strength: np.ndarray) -> dict[str, float]:
        """Work cells between the nodes in full and say how far what was shared out lies from that."""
        rows, cols = spread(self.grid.rows, self.grid.cols, CHECKS)
        found = self._worked(service, f"{service}-check-{step}", rows, cols)
        both = (found[:, 0] >= 0) & np.isfinite(strength[rows, cols])
        if not both.any():
            return {}
        apart = np.abs(found[both, 1] - strength[rows, cols][both])
        return {
            "n": int(both.sum()),
            "median_db": round(float(np.median(apart)), 2),
            "p90_db": round(float(np.quantile(apart, 0.9)), 2),
            "most_db": round(float(apart.max()), 2),
            "same_name": round(float(np.mean(found[both, 0] == names[rows, cols][both])), 3),
        }


def _whole(values: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(values), NO_NAME, values).astype(np.uint16)


def nodes_of(count: int, step: int) -> np.ndarray:
    """Return every step-th of `count` cells, as near to the middles of stretches of `step` cells as whole cells allow."""
    return np.unique(np.minimum(np.arange(0, count, step) + step // 2, count - 1))


class Between:
    """Cells between the nodes of a coarser grid. A cell takes from the nodes around it that are as it is: on a roof, or on the ground.

    node_rows, node_cols  rising; on_roof (rows, cols) of all cells. Beyond the outermost nodes values stay level; where no node around
    is as the cell is, all four count.
    """

    def __init__(self, node_rows: np.ndarray, node_cols: np.ndarray, on_roof: np.ndarray) -> None:
        rows, cols = on_roof.shape
        (i, u), (j, v) = _before(node_rows, rows), _before(node_cols, cols)
        alike_nodes = on_roof[np.ix_(node_rows, node_cols)]
        corners, shares, alike = [], [], []
        for di, wi in ((0, 1.0 - u), (1, u)):
            for dj, wj in ((0, 1.0 - v), (1, v)):
                at = np.ix_(np.minimum(i + di, node_rows.size - 1), np.minimum(j + dj, node_cols.size - 1))
                corners.append(at)
                shares.append(wi[:, None] * wj[None, :] + 1e-9)
                alike.append(alike_nodes[at] == on_roof)
        self._corners, self._shares = corners, np.array(shares)
        same = np.array(alike)
        self._counts = same | ~same.any(axis=0)

    def shared_out(self, values: np.ndarray) -> np.ndarray:
        """Return values at nodes as (rows, cols): bilinear; NaN where every node that counts is unknown."""
        total, weight = np.zeros(self._shares.shape[1:]), np.zeros(self._shares.shape[1:])
        for at, share, counts in zip(self._corners, self._shares, self._counts, strict=True):
            here = values[at]
            known = np.isfinite(here) & counts
            total += np.where(known, share * np.where(known, here, 0.0), 0.0)
            weight += np.where(known, share, 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(weight > 0.0, total / weight, np.nan)

    def nearest(self, values: np.ndarray) -> np.ndarray:
        """Return (rows, cols) the value of the node with the greatest share among those that count and are known; NaN where none is."""
        out, most = np.full(self._shares.shape[1:], np.nan), np.zeros(self._shares.shape[1:])
        for at, share, counts in zip(self._corners, self._shares, self._counts, strict=True):
            here = values[at]
            better = np.isfinite(here) & counts & (share > most)
            out, most = np.where(better, here, out), np.where(better, share, most)
        return out


def _before(nodes: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return for each of `count` cells the node before it and how far, 0..1, it lies towards the next."""
    wanted = np.arange(count)
    if nodes.size == 1:
        return np.zeros(count, dtype=np.int64), np.zeros(count)
    before = np.clip(np.searchsorted(nodes, wanted, side="right") - 1, 0, nodes.size - 2)
    return before, np.clip((wanted - nodes[before]) / (nodes[before + 1] - nodes[before]), 0.0, 1.0)


def spread(rows: int, cols: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return (rows, cols) of `count` cells spread evenly and without a pattern: the same ones each time.

    Source: the additive recurrence with the plastic number (Roberts 2018, "The unreasonable effectiveness of quasirandom sequences").
    """
    plastic = 1.324717957244746
    k = np.arange(1, count + 1)
    return ((0.5 + k / plastic) % 1.0 * rows).astype(np.int64), ((0.5 + k / plastic**2) % 1.0 * cols).astype(np.int64)
