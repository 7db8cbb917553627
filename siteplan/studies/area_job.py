"""Maps of an area, from the plan to the folder: read, judge every cell, write rasters and a page, say what was made."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from siteplan.errors import told, wording
from siteplan.files.emitters import read_sectors
from siteplan.files.folder import UNFINISHED, last_record, publish, try_folder
from siteplan.files.run_record import settings, versions
from siteplan.files.transmitters import read_transmitters
from siteplan.geodesy import projection
from siteplan.records.findings import Findings
from siteplan.records.places import Address, AddressList
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.report import map_page
from siteplan.studies.area_grid import AreaGrid, area_bounds, area_grid, with_margin
from siteplan.studies.area_maps import PAGE, area_key, contents_of, method_words, overlays_of, products_of, table_of
from siteplan.studies.coverage import Coverage, Senders, judge_area
from siteplan.studies.inputs import GroundFrames, ground_frames, hashes_of, read_inputs, read_placed_satellites
from siteplan.studies.outlines import outlines_of
from siteplan.studies.speech import open_plan
from siteplan.studies.surfaces import load_surface
from siteplan.terrain.hillshade import backdrop
from siteplan.words import sentence
from siteplan.words.area import area_text

ALIKE = 1.5  # rasters with cells up to so many times the finest count as fine too
FIRST_RUN_WORDS = wording("This is the first run here: siteplan compiles its inner loops once, which takes up to a minute.")


@dataclass(frozen=True, slots=True)
class AreaDone:
    """What was made: lines for a person, the last line apart, and the coverage."""

    lines: tuple[str, ...]
    last_line: str
    coverage: Coverage


def do_area(
    plan_file: Path,
    out: Path | None,
    *,
    cell_m: float | None = None,
    bounds: Sequence[float] = (),
    progress: Callable[[str, int, int], None] | None = None,
    say: Callable[[str], None] = print,
    clock: Callable[[], datetime],
) -> AreaDone:
    """Make the area maps of one plan. cell_m and bounds (west, south, east, north, degrees) go before the plan's own.

    Pieces lie in a hidden folder of the output folder, named by the inputs, until all is done. Raises InputError and its kin for what
    can't be read or mapped, OutputError where the folder can't be written.
    """
    started = clock()
    plan = open_plan(plan_file)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    on_date = plan.date or started.date()
    if plan.date is None:
        say(sentence(Reason("date_today", {"date": on_date.isoformat()})))
    frames = ground_frames(plan)
    wanted = tuple(bounds) or plan.area.bounds
    addresses = read_inputs(plan).addresses if not wanted and plan.addresses.file is not None else _no_addresses(plan)
    placed: list[Address] = [row.address for row in addresses.rows if row.address is not None]
    if not wanted and placed:
        wanted = _around(placed, frames, plan.area.margin_m, say)
    grid = area_grid(area_bounds(wanted), frames.infos, plan.area, cell_m)
    say(area_text("says_grid", rows=grid.rows, cols=grid.cols, cell_m=grid.cell_m, crs=projection.crs_name(grid.crs)))
    say(area_text("says_resume"))
    projected = next((crs for crs in frames.systems if not projection.is_geographic(crs)), "")
    senders = Senders(read_placed_satellites(plan, on_date)[0], read_transmitters(plan, projected)[0], read_sectors(plan, projected)[0])
    key = area_key(plan, on_date.isoformat(), _described(grid))
    try_folder(folder, ())
    work = folder / f"{UNFINISHED}{key[:16]}"
    for old in folder.glob(f"{UNFINISHED}*"):  # of other data or another grid
        if old != work and old.is_dir() and not old.is_symlink():
            shutil.rmtree(old, ignore_errors=True)
    coverage = judge_area(plan, grid, senders, on_date=on_date, work=work, progress=progress)
    version = versions()["siteplan"]
    products = products_of(coverage, plan, date=on_date.isoformat(), version=version)
    table = table_of(coverage, products, plan, date=on_date.isoformat(), key=key)
    files = contents_of(products, grid, table)
    overlays = overlays_of({name: one.bands for name, one in products.items()}, grid, json.loads(json.dumps(table)))
    files[PAGE] = _page(plan, senders, overlays, grid, on_date.isoformat())
    step = (lambda done, of: progress(told("writing"), done, of)) if progress else None

    def record() -> Mapping[str, object]:
        line = {
            "started": started.isoformat(timespec="seconds"), "finished": clock().isoformat(timespec="seconds"), "area": table["grid"],
        }  # fmt: skip
        before = dict(last_record(folder))
        if before:
            added = before.get("added_later")
            return before | {"added_later": [*(added if isinstance(added, list) else []), line]}
        made_with = {"date": on_date.isoformat(), "versions": versions(), "inputs": hashes_of(plan)}
        return {"run": line, "made_with": made_with, "settings": settings(plan)}

    notes = publish(folder, files, record, keep=True, progress=step)  # type: ignore[arg-type]
    shutil.rmtree(work, ignore_errors=True)
    return AreaDone((*_lines(coverage, table), *notes), f"Open {folder / PAGE}", coverage)


def _described(grid: AreaGrid) -> dict[str, object]:
    return {"cell_m": grid.cell_m, "rows": grid.rows, "cols": grid.cols, "transform": list(grid.transform)}


def _around(placed: Sequence[Address], frames: GroundFrames, margin_m: float, say: Callable[[str], None]) -> tuple[float, ...]:
    """Return (west, south, east, north) of the addresses on the finest ground with a margin, as far as that ground goes.

    Where the finest holds none: of all addresses on any ground. A map of all the land between scattered addresses would be too coarse to
    show a house.
    """
    lat, lon = np.array([one.lat_deg for one in placed]), np.array([one.lon_deg for one in placed])
    finest = min(info.cell_m for info in frames.infos)
    fine = GroundFrames(tuple(info for info in frames.infos if info.cell_m <= ALIKE * finest))
    ground = fine if fine.inside(lat, lon).any() else frames
    inside = ground.inside(lat, lon)
    if not inside.all():
        say(area_text("says_part", count=int(inside.sum()), all=len(placed)))
    west, south, east, north = with_margin(lat[inside], lon[inside], margin_m)
    extent = np.array([(info.west_deg, info.south_deg, info.east_deg, info.north_deg) for info in ground.infos])
    (west_most, south_most), (east_most, north_most) = extent[:, :2].min(axis=0).tolist(), extent[:, 2:].max(axis=0).tolist()
    return max(west, west_most), max(south, south_most), min(east, east_most), min(north, north_most)


def _no_addresses(plan: Plan) -> AddressList:
    return AddressList(plan.addresses.file.name if plan.addresses.file else "", (), ())


def _page(plan: Plan, senders: Senders, overlays: tuple, grid: AreaGrid, date: str) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        west, south, east, north = grid.bounds()
        middle = (south + north) / 2.0, (west + east) / 2.0
        radius = 60_000.0 * max(north - south, (east - west))
        surface = load_surface(plan, around=[(*middle, max(radius, 500.0))])
        pictures = backdrop(surface, bounds=grid.bounds())
        findings = Findings(
            plan=plan, addresses=_no_addresses(plan), rows=(), satellites=senders.satellites, transmitters=senders.transmitters,
            sectors=senders.sectors, backdrops=pictures, outlines=outlines_of(surface, grid.bounds()), overlays=overlays,
            made_with={"date": date},
        )  # fmt: skip
        path.write_bytes(map_page.page(findings).encode("utf-8", "replace"))

    return write


def _lines(coverage: Coverage, table: Mapping[str, object]) -> list[str]:
    lines = [
        area_text("says_clear", satellite=one["name"], **one["shares"])
        for one in table["satellites"]  # type: ignore[attr-defined]
    ]
    lines += [_dish_words(one) for one in table["satellites"] if any(one["dishes"].values())]  # type: ignore[attr-defined]
    lines += [method_words(service, radio) for service, radio in coverage.radio.items()]
    return lines + [sentence(note) for note in coverage.notes]


def _dish_words(satellite: Mapping[str, object]) -> str:
    found: Mapping[str, float] = satellite["dishes"]  # type: ignore[assignment]
    shares = [area_text("says_dish_one", size=size, share=share) for size, share in found.items() if share > 0.0]
    return area_text("says_dish", satellite=satellite["name"], shares=", ".join(shares))
