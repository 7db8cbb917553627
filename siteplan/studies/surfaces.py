"""From the terrain tables of a plan to one Surface, and what each layer is in words for people and run.json."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from siteplan.errors import PlanError, RasterError, told, wording
from siteplan.files import rasters
from siteplan.files.footprints import METRES_PER_LEVEL, FootprintFile
from siteplan.geodesy import projection
from siteplan.records.ground import Footprints, Grid, Layer, Surface
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.studies.terrain_files import Piece, Place, Sources, known_of, open_table, pieces, plain_has, read_pieces
from siteplan.terrain import assembly
from siteplan.terrain.agreement import compare
from siteplan.terrain.seams import join_seams
from siteplan.terrain.surface import corners, heights_at, stack
from siteplan.words import sentence

FOOTPRINT_CELL_M = 1.0
FOOTPRINT_CELLS = 20_000_000
DATUM_NOT_STATED = wording("not stated: taken as metres above mean sea level")


def load_surface(plan: Plan, *, around: Sequence[Place] | None = None, far_m: float = 60_000.0) -> Surface:
    """Return the surface of a plan: all its terrain tables, finest first, with footprints. terrain_files says what is read.

    around  (lat_deg, lon_deg, near_m) of the places the run looks from; None: no windows (large files come coarsened as a whole)
    far_m   how far the land is looked at from them

    Raises RasterError, PlanError: what is wrong with which file, and what to do.
    """
    if not plan.terrain:
        raise PlanError(
            told("no terrain: at least one [[terrain]] table with a ground raster is needed"), file=plan.file.name, key="terrain"
        )
    by_table: list[list[Layer]] = []
    notes: list[Reason] = []
    outlines: list[Footprints] = []
    for table in plan.terrain:
        sources = open_table(table)
        if sources.buildings is not None:
            outlines.append(sources.buildings.footprints)
        notes += _table_notes(sources)
        parts, narrowed = pieces(sources, around, far_m)
        notes += narrowed
        grids = [read_pieces(info, sources, parts) for info in sources.files]
        found = [_layers(sources, piece, [own.pop(piece) for own in grids], around) for piece in parts]
        notes += _merged(note for piece, (_, said) in zip(parts, found, strict=True) if piece.factor == 1 for note in said)
        by_table.append([layer for some, _ in found for layer in some])
        if not by_table[-1]:
            notes.append(Reason("terrain_out_of_reach", {"file": sources.ground.name}))
    layers = [layer for some in by_table for layer in some]
    if not layers:
        raise RasterError(
            told("{name}: none of the terrain lies near any of the places asked for; check coordinates and terrain", name=plan.file.name)
        )
    notes += [note for _, said in _comparisons(by_table) for note in said]
    surface = stack(join_seams(layers) if len(by_table) > 1 else layers, footprints=_joined(outlines))
    return Surface(layers=surface.layers, footprints=surface.footprints, notes=tuple(notes))


def covers(surface: Surface, lat: float, lon: float) -> bool:
    """Return whether the ground is known at a point."""
    found, _, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    return bool(np.isfinite(found))


def _merged(notes: Iterable[Reason]) -> list[Reason]:
    """Return notes with those of the same code and file made one: cells add up, the worst stays."""
    out: dict[tuple[str, object], dict[str, object]] = {}
    for note in notes:
        key = note.code, note.values.get("file")
        if key not in out:
            out[key] = dict(note.values)
            continue
        mine = out[key]
        for name in ("cells", "of", "over_half_metre"):
            if name in mine:
                mine[name] += note.values[name]
        if "worst_m" in mine:
            mine["worst_m"] = max(mine["worst_m"], note.values["worst_m"], key=abs)
        if "share" in mine and "of" in mine:
            mine["share"] = mine["cells"] / mine["of"]
    return [Reason(code, values) for (code, _), values in out.items()]


def _layers(
    sources: Sources, piece: Piece, grids: Sequence[Grid | None], around: Sequence[Place] | None
) -> tuple[list[Layer], tuple[Reason, ...]]:
    """Return one piece of a table as layers (two where footprints alone stand on coarse ground), and notes.

    grids  of the table's files, the ground first, None where a file does not reach there
    """
    base, *others = grids
    if base is None:
        return [], ()
    surface = others.pop(0) if sources.surface else None
    standing = [
        assembly.Standing(grid=grid, kind=item.kind, has=item.has)
        for item, grid in zip(sources.standing, others, strict=True)
        if grid is not None
    ]
    table, file = sources.table, sources.buildings
    common = {"name": sources.ground.name, "flown_on": table.flown_on, "height_error_m": table.height_error_m}
    if file is not None and file.with_height and surface is None and not standing and base.cell_m > 1.01 * FOOTPRINT_CELL_M:
        return _on_fine_frames(base, file, piece, around, common)
    frame = assembly.frame_for(base, surface, standing)
    layer, notes = assembly.assemble(
        base, surface=surface, standing=standing, outlines=None if file is None else _burnt(file, frame), frame=frame,
        surface_has=table.surface_has, whole=not piece.circles, stated="surface_has" in table.model_fields_set, **common,
    )  # fmt: skip
    return [layer], notes


def _on_fine_frames(
    base: Grid, file: FootprintFile, piece: Piece, around: Sequence[Place] | None, common: Mapping[str, object]
) -> tuple[list[Layer], tuple[Reason, ...]]:
    """Return the coarse ground, and where footprints with heights stand on it a fine layer of ground and roofs."""
    layers, notes = [], []
    coarse, _ = assembly.assemble(base, **common)
    if piece.factor == 1:
        for frame in _frames(base, file.footprints, around):
            ground = Grid(z_m=assembly.onto(base, frame), transform=frame.transform, crs=frame.crs, cell_m=frame.cell_m, name=base.name)
            if not np.isfinite(ground.z_m).any():
                continue
            # the ground is no better known for being looked at in finer steps
            error_m = common["height_error_m"] or assembly.default_error_m(base.cell_m)
            layer, said = assembly.assemble(ground, outlines=_burnt(file, ground), frame=ground, **{**common, "height_error_m": error_m})
            layers.append(layer)
            notes += said
            if frame.cell_m > assembly.KNOWS_UP_TO_CELL_M:
                notes.append(Reason("footprint_cells_coarse", {"file": file.name, "cell_m": round(frame.cell_m, 1)}))
    return [*layers, coarse], tuple(notes)


def _frames(base: Grid, footprints: Footprints, around: Sequence[Place] | None) -> list[Grid]:
    """Return empty grids of about 1 m over the footprints, one for each group of places that has some (else one over all)."""
    import shapely

    boxes = shapely.bounds(np.array(footprints.polygons, dtype=object))
    west, south, east, north = corners(base)
    boxes = boxes[(boxes[:, 2] > west) & (boxes[:, 0] < east) & (boxes[:, 3] > south) & (boxes[:, 1] < north)]
    wanted = [boxes]
    if around:
        wanted = [boxes[_near(boxes, group)] for group in _groups(around)]
    return [_frame(here) for here in wanted if len(here)]


def _groups(around: Sequence[Place]) -> list[list[Place]]:
    """Return places in groups whose circles meet."""
    groups: list[list[Place]] = []
    for place in sorted(set(around)):
        meets = [group for group in groups if any(_apart_m(place, other) <= place[2] + other[2] for other in group)]
        groups = [group for group in groups if group not in meets] + [[place, *(other for group in meets for other in group)]]
    return groups


def _apart_m(one: Place, other: Place) -> float:
    north = 111_320.0 * (one[0] - other[0])
    return float(np.hypot(north, 111_320.0 * np.cos(np.radians(one[0])) * (one[1] - other[1])))


def _near(boxes: np.ndarray, places: Sequence[Place]) -> np.ndarray:
    """Return which boxes (west, south, east, north) lie within the radius of any place, about."""
    near = np.zeros(len(boxes), dtype=bool)
    for lat, lon, radius in places:
        high = radius / 111_000.0
        wide = high / max(0.01, np.cos(np.radians(lat)))
        near |= (boxes[:, 0] < lon + wide) & (boxes[:, 2] > lon - wide) & (boxes[:, 1] < lat + high) & (boxes[:, 3] > lat - high)
    return near


def _frame(boxes: np.ndarray) -> Grid:
    """Return an empty grid, north up in a local plane of metres, over boxes and 5 m more."""
    west, south = boxes[:, :2].min(axis=0)
    east, north = boxes[:, 2:].max(axis=0)
    crs = projection.local_crs(lat_deg=round((south + north) / 2, 6), lon_deg=round((west + east) / 2, 6))
    x, y = projection.from_wgs84(np.array([west, west, east, east]), np.array([south, north, south, north]), crs)
    x0, x1, y0, y1 = np.floor(x.min()) - 5.0, np.ceil(x.max()) + 5.0, np.floor(y.min()) - 5.0, np.ceil(y.max()) + 5.0
    cell = max(FOOTPRINT_CELL_M, float(np.sqrt((x1 - x0) * (y1 - y0) / FOOTPRINT_CELLS)))
    shape = int(np.ceil((y1 - y0) / cell)), int(np.ceil((x1 - x0) / cell))
    transform = (cell, 0.0, float(x0), 0.0, -cell, float(y1))
    return Grid(z_m=np.full(shape, np.nan, dtype=np.float32), transform=transform, crs=crs, cell_m=cell, name="footprints")


def _burnt(file: FootprintFile, frame: Grid) -> assembly.Outlines:
    """Return footprints burnt onto a grid."""
    import shapely

    def into(at: np.ndarray) -> np.ndarray:
        return np.column_stack(projection.from_wgs84(at[:, 0], at[:, 1], frame.crs))

    west, south, east, north = corners(frame)
    polygons = np.array(file.footprints.polygons, dtype=object)
    box = shapely.bounds(polygons)
    here = np.flatnonzero((box[:, 2] > west) & (box[:, 0] < east) & (box[:, 3] > south) & (box[:, 1] < north))
    own = [shapely.transform(polygons[i], into) for i in here]
    shape = frame.z_m.shape
    inside = np.isfinite(rasters.burn(own, np.ones(len(own)), shape=shape, transform=frame.transform))
    heights = file.footprints.height_m[here]
    known = np.flatnonzero(np.isfinite(heights))
    height_m = rasters.burn([own[i] for i in known], heights[known], shape=shape, transform=frame.transform)
    return assembly.Outlines(inside=inside, height_m=height_m, complete=file.complete)


def _table_notes(sources: Sources) -> list[Reason]:
    notes, file = [], sources.buildings
    if file is not None:
        if file.repaired:
            notes.append(Reason("footprints_repaired", {"file": file.name, "count": file.repaired, "of": file.read}))
        if file.skipped:
            notes.append(Reason("footprints_skipped", {"file": file.name, "count": file.skipped, "of": file.read}))
        if file.from_levels:
            values = {"file": file.name, "count": file.from_levels, "metres_per_level": METRES_PER_LEVEL}
            notes.append(Reason("footprint_heights_from_levels", values))
    table = sources.table
    if table.height_above_ground and table.surface is None and not plain_has(table):
        notes.append(Reason("heights_not_told", {"file": table.height_above_ground[0].name}))
    return notes


def _joined(files: Sequence[Footprints]) -> Footprints | None:
    if not files:
        return None
    polygons = tuple(polygon for file in files for polygon in file.polygons)
    return Footprints(polygons=polygons, height_m=np.concatenate([file.height_m for file in files]))


def describe_terrain(plan: Plan) -> tuple[Mapping[str, object], ...]:
    """Return what each terrain table is: one mapping a table, for `check`, the index page and run.json (plain values only).

    Files of up to 16 million cells are read and put together as a run would do, so that what is wrong shows here too; of larger ones an
    even sample of cells is looked at. Raises RasterError.
    """
    out, by_table = [], []
    for table in plan.terrain:
        sources = open_table(table)
        parts, _ = pieces(sources, None, 0.0)
        notes = _table_notes(sources)
        if parts == (Piece(),):
            grids = [rasters.read(info) for info in sources.files]
            voids = [float(np.mean(np.isnan(grid.z_m))) for grid in grids]
            layers, said = _layers(sources, Piece(), grids, None)
            notes += said
            by_table.append(layers)
        else:
            voids = [rasters.void_share(info) for info in sources.files]
            layers = []
        out.append(_described(sources, voids, notes, trees_seen=all(layer.knows_trees for layer in layers[:1])))
    for name, notes in _comparisons(by_table):
        next(one for one in out if one["name"] == name)["notes"] += tuple(sentence(note) for note in notes)
    return tuple(out)


def _comparisons(by_table: Sequence[Sequence[Layer]]) -> list[tuple[str, tuple[Reason, ...]]]:
    """Return (name of the finer ground, notes) of each two tables that follow each other in fineness."""
    order = sorted((some for some in by_table if some), key=lambda some: some[0].ground.cell_m)
    return [(fine[0].name, compare(fine[0], coarse[-1])) for fine, coarse in pairwise(order)]


def _described(sources: Sources, voids: Sequence[float], notes: Sequence[Reason], *, trees_seen: bool) -> dict[str, object]:
    table = sources.table
    buildings, trees = known_of(sources)
    roles = ["ground", *(["surface"] if sources.surface else [])]
    roles += [told("height above ground")] * len(table.height_above_ground)
    roles += ["building height"] * len(table.building_height) + ["canopy height"] * len(table.canopy_height)
    finest = min(sources.files[1:], key=lambda info: info.cell_m, default=sources.ground)
    stated = table.height_error_m
    out: dict[str, object] = {
        "name": sources.ground.name,
        "files": tuple(_file(info, role, void) for info, role, void in zip(sources.files, roles, voids, strict=True)),
        "cell_m": round(finest.cell_m, 3),
        "has_surface": bool(sources.files[1:]) or bool(sources.buildings and sources.buildings.with_height),
        "knows_buildings": buildings,
        "knows_trees": trees and trees_seen,
        "flown_on": table.flown_on.isoformat() if table.flown_on else None,
        "height_error_m": stated if stated else assembly.default_error_m(max(finest.cell_m, sources.ground.cell_m)),
        "height_error_known_from": "plan" if stated else told("cell size (common practice, no source)"),
        "vertical_datum": _datum(sources.ground.vertical_datum),
        "notes": tuple(sentence(note) for note in notes),
    }
    if sources.buildings is not None:
        file = sources.buildings
        out["footprints"] = {
            "file": file.name, "layer": file.layer, "crs": file.crs_name, "read": file.read, "repaired": file.repaired,
            "skipped": file.skipped, "with_height": file.with_height, "heights_from_levels": file.from_levels,
        }  # fmt: skip
    return out


def _datum(stated: str) -> str:
    if not stated or stated.lower() in ("not stated", "unknown"):
        return told(DATUM_NOT_STATED)
    return told("{stated}; taken as metres above mean sea level", stated=stated) if stated.lower().startswith("not stated") else stated


def _file(info: rasters.RasterInfo, role: str, void: float) -> dict[str, object]:
    extent = {"west_deg": info.west_deg, "south_deg": info.south_deg, "east_deg": info.east_deg, "north_deg": info.north_deg}
    return {
        "file": info.name, "role": role, "format": info.driver, "crs": info.crs_name, "cell_m": round(info.cell_m, 3), "rows": info.rows,
        "cols": info.cols, "vertical_unit": info.unit, "vertical_unit_known_from": info.unit_source,
        "extent": {key: round(value, 6) for key, value in extent.items()}, "nodata_share": round(void, 4),
    }  # fmt: skip
