"""`siteplan new`: from a folder of terrain and a list of addresses to a commented plan, with every choice and its reason said."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from siteplan.errors import InputError, told
from siteplan.files.addresses import list_addresses, none_placed
from siteplan.files.cell_list import is_cell_list
from siteplan.files.column_names import is_known, roles_of
from siteplan.files.emitters import read_satellites, read_sectors
from siteplan.files.footprints import FootprintFile, read_footprints
from siteplan.files.plan_text import SENDER_FILES, Block, fits, header_line, plan_text, ready_folder, relative, write_new
from siteplan.files.table import SUFFIXES
from siteplan.files.tables import read_table
from siteplan.files.transmitters import read_transmitters
from siteplan.records.plan import AddressesTable, MobileTable, Plan, SatellitesTable, TransmittersTable
from siteplan.records.verdict import Reason
from siteplan.studies.inputs import GroundFrames
from siteplan.studies.terrain_roles import RASTERS, Found, Table, Unplaced, box_of, files_below, place_rasters
from siteplan.words import new_plan as words
from siteplan.words import sentence

PLAN = "plan.toml"
OUTLINES = (".gpkg", ".geojson", ".shp", ".fgb", ".parquet", ".geoparquet")
# plots of land cover nearly all of the land between them, and are larger than houses (common practice, no source)
PLOTS_COVER, HOUSE_M2 = 0.6, 5_000.0
MOST_TABLES_TRIED = 40
SOME_DAY = date(2024, 3, 1)


@dataclass(frozen=True)
class NewPlan:
    """What was written: the plan, and lines that say what was taken, why, what was not, and what to do next."""

    plan: Path
    lines: tuple[str, ...]


def new_plan(folder: Path, *, addresses: Path | None, terrain: Path | None, on_date: date) -> NewPlan:
    """Write a commented plan into a folder, and empty tables of senders beside it where there are none.

    addresses  the list; None: the one table with coordinates in the folder, if there is just one
    terrain    where rasters and building outlines lie; None: in the folder itself
    on_date    the plan's date

    Raises InputError: a file or folder that was named is not there. OutputError: there is a plan already, or none can be written.
    """
    for what, path in (("address list", addresses), ("terrain folder", terrain)):
        if path is not None and not path.exists():
            raise InputError(told("{path}: no such {what}; check its name", path=path, what=what))
    if addresses is not None and addresses.is_dir():
        raise InputError(told("{addresses}: this is a folder; name the address list in it", addresses=addresses))
    ready_folder(folder, PLAN)
    look_in = folder if terrain is None else terrain
    found, trouble = _rasters(look_in, folder)
    found = _with_outlines(found, _vectors(look_in, folder, addresses))
    address_block, address_lines = _addresses(folder, addresses, found)
    senders, sender_lines = _senders(folder)
    text = plan_text(
        name=folder.resolve().name, on_date=on_date, terrain=_terrain_blocks(found, folder), addresses=address_block, senders_used=senders
    )
    write_new(folder, PLAN, text)
    made = [table for table, (file, _, _) in SENDER_FILES.items() if not (folder / file).exists()]
    for table in made:
        write_new(folder, SENDER_FILES[table][0], header_line(table))
    lines = [sentence(why) for table in found.tables for why in table.why]
    lines += [_say("new_not_placed", why=sentence(item.why)) for item in found.unplaced]
    lines += [_say("new_not_placed", why=why) for why in trouble]
    if not found.tables:
        lines.append(_say("new_no_terrain"))
    lines += [*address_lines, *sender_lines, *_at_the_end(folder, [SENDER_FILES[table][0] for table in made])]
    return NewPlan(folder / PLAN, tuple(lines))


def _say(code: str, **values: object) -> str:
    return sentence(Reason(code, values))


def _at_the_end(folder: Path, made: Sequence[str]) -> list[str]:
    plan = folder / PLAN
    lines = [_say("new_wrote", plan=plan, tables="".join(f", {file}" for file in made))]
    if made:
        lines.append(_say("new_next_fill", tables=made))
    return [*lines, _say("new_next", plan=plan, quoted=shlex.quote(str(plan)))]


# ---- terrain -----------------------------------------------------------------------------------------------


def _rasters(place: Path, folder: Path) -> tuple[Found, list[str]]:
    paths = [place] if place.is_file() else files_below(place, RASTERS)
    unfit = [_say("new_name_unfit", file=ascii(path.name)) for path in paths if not fits(path, folder)]
    return place_rasters([path for path in paths if fits(path, folder)]), unfit


def _vectors(place: Path, folder: Path, addresses: Path | None) -> list[Path]:
    if place.is_file():
        return []
    own = None if addresses is None else addresses.resolve()
    return [path for path in files_below(place, OUTLINES) if path.resolve() != own and fits(path, folder)]


def _with_outlines(found: Found, paths: Sequence[Path]) -> Found:
    """Return the same with building outlines in the finest table that they lie on."""
    tables, lost = list(found.tables), list(found.unplaced)
    for path in paths:
        try:
            file = read_footprints(path)
        except InputError:
            continue  # points or lines: no outlines, and perhaps the address list
        if any(table.buildings is not None and table.buildings.stem == path.stem for table in tables):
            continue
        values = {
            "file": path.name,
            "count": file.read,
            "size_m2": _middle_m2(file),
            "covered": _covered(file),
            "with_height": file.with_height,
        }
        if file.read > 2 and (values["covered"] > PLOTS_COVER or values["size_m2"] > HOUSE_M2):
            lost.append(Unplaced(path, Reason("new_plots", values)))
            continue
        at = next((number for number, table in enumerate(tables) if table.buildings is None and _lies_on(file, table, found)), None)
        if at is None:
            lost.append(Unplaced(path, Reason("new_outlines_elsewhere", values)))
            continue
        tables[at] = replace(tables[at], buildings=path, why=(*tables[at].why, Reason("new_buildings", values)))
    return Found(tuple(tables), tuple(lost), found.infos)


def _sizes_m2(file: FootprintFile) -> np.ndarray:
    import shapely

    polygons = np.array(file.footprints.polygons, dtype=object)
    lat = np.array([shape.bounds[1] for shape in polygons])
    return shapely.area(polygons) * 111_320.0**2 * np.cos(np.radians(lat))


def _middle_m2(file: FootprintFile) -> float:
    return float(np.median(_sizes_m2(file)))


def _covered(file: FootprintFile) -> float:
    """Return the share of the outlines' hull that they cover."""
    import shapely

    polygons = np.array(file.footprints.polygons, dtype=object)
    hull = shapely.convex_hull(shapely.union_all(shapely.envelope(polygons))).area
    return float(shapely.area(polygons).sum() / hull) if hull > 0.0 else 1.0


def _lies_on(file: FootprintFile, table: Table, found: Found) -> bool:
    west, south, east, north = box_of(found.infos[table.surface or table.ground])
    inside = [west <= shape.bounds[0] <= east and south <= shape.bounds[1] <= north for shape in file.footprints.polygons]
    return sum(inside) >= 0.1 * len(inside)


def _terrain_blocks(found: Found, folder: Path) -> list[Block]:
    blocks = []
    for table in found.tables:
        keys: dict[str, object] = {"ground": relative(table.ground, folder)}
        notes: dict[str, str] = {}
        idle = []
        if table.surface is not None:
            keys["surface"] = relative(table.surface, folder)
        if table.surface_lacks:
            keys["surface_has"], notes["surface_has"] = [], words.SURFACE_LACKS
        if table.standing:
            keys["height_above_ground"] = [relative(path, folder) for path in table.standing]
            if table.surface_lacks or len(table.standing) == 1:
                keys["height_above_ground_has"], notes["height_above_ground_has"] = ["buildings", "trees"], words.HEIGHTS_HAVE
                idle.append("height_above_ground_has")
        if table.buildings is not None:
            keys["buildings"] = relative(table.buildings, folder)
        keys["flown_on"], notes["flown_on"] = SOME_DAY, words.FLOWN
        idle.append("flown_on")
        blocks.append(Block("terrain", keys, [sentence(why) for why in table.why], notes=notes, idle=idle))
    if not blocks:
        blocks.append(Block("terrain", {"ground": "ground.tif", "surface": "surface.tif"}, (words.NO_TERRAIN,), used=False))
    for item in found.unplaced:
        remarks = (words.UNPLACED, sentence(item.why))
        mine = relative(item.path, folder)
        keys = {"ground": mine} if item.key == "ground" else {"ground": "ground.tif", item.key: mine}
        if item.key == "":
            blocks.append(Block("", {}, remarks))
            continue
        blocks.append(Block("terrain", keys, remarks, used=False))
    return blocks


# ---- addresses ---------------------------------------------------------------------------------------------


def _addresses(folder: Path, given: Path | None, found: Found) -> tuple[Block, list[str]]:
    lines: list[str] = []
    path = given
    if path is None:
        tried = {file: read for file in _tables_in(folder, found) if (read := _read_list(folder, file, found)) is not None}
        if len(tried) == 1:
            path = next(iter(tried))
        elif tried:
            lines.append(_say("new_addresses_several", files=[file.name for file in tried]))
    if path is None:
        lines = lines or [_say("new_addresses_none")]
        return Block("addresses", {"file": "addresses.xlsx"}, lines, used=False), lines
    if not fits(path, folder):
        lines = [_say("new_name_unfit", file=ascii(path.name))]
        return Block("addresses", {"file": "addresses.xlsx"}, lines, used=False), lines
    block, more = _list_block(folder, path, found)
    if given is None:
        more.insert(1, _say("new_addresses_chosen", folder=folder))
    return block, more


def _tables_in(folder: Path, found: Found) -> list[Path]:
    ours = {file for file, _, _ in SENDER_FILES.values()}
    outlines = {table.buildings for table in found.tables} | {item.path for item in found.unplaced}
    here = [path for path in sorted(folder.iterdir()) if path.is_file() and path.suffix.lower() in SUFFIXES and path.name not in ours]
    here = [path for path in here if path not in outlines and path.suffix.lower() != ".txt" and not is_cell_list(path)]
    return [path for path in here if fits(path, folder)][:MOST_TABLES_TRIED]


def _read_list(folder: Path, path: Path, found: Found) -> tuple[int, int] | None:
    """Return (rows read, rows placed) of a list, None where it has no coordinates."""
    frames = GroundFrames(tuple(found.infos[table.ground] for table in found.tables))
    plan = Plan(file=folder / PLAN, addresses=AddressesTable(file=path))
    try:
        listed = list_addresses(plan, frames.systems, frames.inside if frames.infos else None)
    except InputError:
        return None
    if listed.problem:
        return None
    return len(listed.rows), sum(row.address is not None for row in listed.rows)


def _list_block(folder: Path, path: Path, found: Found) -> tuple[Block, list[str]]:
    """Return the table of a list that was named, with what was understood; raises nothing for a list that can't be used: it is said."""
    keys: dict[str, object] = {"file": relative(path, folder)}
    frames = GroundFrames(tuple(found.infos[table.ground] for table in found.tables))
    plan = Plan(file=folder / PLAN, addresses=AddressesTable(file=path))
    columns = _columns(path)
    remarks = [words.COLUMNS.format(columns=", ".join(columns[:30]))] if columns else []
    if columns:
        known = roles_of(columns)
        keys["columns"] = {role: known.get(role, "...") for role in ("id", "name", "lat_deg", "lon_deg")}
    keys |= {"crs": "EPSG:4326", "sheet": "", "layer": ""}
    idle = [key for key in keys if key != "file"]
    try:
        listed = list_addresses(plan, frames.systems, frames.inside if frames.infos else None)
        if listed.problem:
            raise none_placed(listed)
    except InputError as wrong:
        lines = [_say("new_addresses_trouble", complaint=str(wrong))]
        return Block("addresses", keys, [*lines, *remarks], idle=idle), lines
    placed = [row.address for row in listed.rows if row.address is not None]
    inside = ""
    if frames.infos and placed:
        lat, lon = np.array([item.lat_deg for item in placed]), np.array([item.lon_deg for item in placed])
        inside = told(", {sum} of them on the ground taken", sum=int(frames.inside(lat, lon).sum()))
    lines = [_say("new_addresses", file=path.name, placed=len(placed), read=len(listed.rows), inside=inside)]
    lines += [f"  {sentence(note)}" for note in listed.notes]
    return Block("addresses", keys, remarks, idle=idle), lines


def _columns(path: Path) -> tuple[str, ...]:
    try:
        return read_table(path, is_known).columns
    except InputError:
        return ()


# ---- senders -----------------------------------------------------------------------------------------------


def _senders(folder: Path) -> tuple[dict[str, bool], list[str]]:
    """Return which tables of senders lie here already with rows that can be used, and what is to be said of them."""
    used, lines = {}, []
    for table, (file, _, _) in SENDER_FILES.items():
        path = folder / file
        used[table] = False
        if not path.is_file():
            continue
        try:
            count = _count(folder, table, path)
        except InputError as wrong:
            lines.append(_say("new_senders_trouble", file=file, complaint=str(wrong)))
            continue
        used[table] = count > 0
        if count:
            lines.append(_say("new_senders", file=file, count=count))
    return used, lines


def _count(folder: Path, table: str, path: Path) -> int:
    if table == "satellites":
        found, _ = read_satellites(Plan(file=folder / PLAN, satellites=SatellitesTable(file=path)))
        return sum(len(one.transponders) for one in found)
    if table == "transmitters":
        senders, _ = read_transmitters(Plan(file=folder / PLAN, transmitters=TransmittersTable(file=path)))
        return sum(len(one.multiplexes) for one in senders)
    sectors, _ = read_sectors(Plan(file=folder / PLAN, mobile=MobileTable(file=path)))
    return len(sectors)
