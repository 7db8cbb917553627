"""Which rasters of a folder are ground, surface or heights above ground: told by comparing them, names only as a hint that is said."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from siteplan.errors import RasterError
from siteplan.files import rasters
from siteplan.records.ground import Grid
from siteplan.records.verdict import Reason
from siteplan.terrain import roles
from siteplan.terrain.assembly import default_error_m

# suffixes that are worth opening
RASTERS = (
    ".tif", ".tiff", ".asc", ".img", ".hgt", ".dt0", ".dt1", ".dt2", ".bil", ".flt", ".jp2", ".nc", ".bt", ".ers", ".rst", ".sdat", ".grd",
    ".xyz", ".vrt",
)  # fmt: skip
MOST_FILES, DEEPEST = 300, 4
WHOLE_CELLS, WINDOW_REACH = 4_000_000, 150  # of larger files nine windows are compared, each as many cells to either side
SAME_EXTENT, WITHIN = 0.8, 0.95
FAR_FROM_NOTHING_M = 1.0
TALLEST_M, SOME = 900.0, 0.02
_SURFACE_WORDS = {"dsm", "dom", "mds", "mns", "surface", "firstreturn"}
_GROUND_WORDS = {"dtm", "dgm", "mdt", "mnt", "ground", "terrain", "bare"}
_STANDING_WORDS = {"ndsm", "ndom", "chm", "canopy", "vegetation", "trees"}

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Table:
    """One [[terrain]] table in the making. why: how each file was told, in the order ground, surface, standing."""

    ground: Path
    surface: Path | None = None
    standing: tuple[Path, ...] = ()
    buildings: Path | None = None
    surface_lacks: bool = False  # the heights above ground hold what the surface does not show
    why: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class Unplaced:
    """A file that could not be placed, why, and the key it may belong under ("" where nothing can be said)."""

    path: Path
    why: Reason
    key: str = ""


@dataclass(frozen=True)
class Found:
    """What a folder holds: tables, files that could not be placed, and the rasters that could be described."""

    tables: tuple[Table, ...]
    unplaced: tuple[Unplaced, ...]
    infos: dict[Path, rasters.RasterInfo]


def files_below(folder: Path, suffixes: Iterable[str]) -> list[Path]:
    """Return the files below a folder with one of these suffixes, in order; hidden folders and links are passed over."""
    wanted, found = set(suffixes), []
    depth = len(folder.parts)
    for place, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith(".") and name.lower() not in ("outputs", "sheets", "profiles"))
        if len(Path(place).parts) - depth >= DEEPEST:
            folders[:] = []
        found += [Path(place) / name for name in sorted(names) if Path(name).suffix.lower() in wanted and not name.startswith(".")]
    return found


def place_rasters(paths: Sequence[Path]) -> Found:
    """Return which raster is what. A file that can't be used comes back unplaced, with the complaint about it."""
    infos: dict[Path, rasters.RasterInfo] = {}
    lost: list[Unplaced] = []
    plain = [path for path in paths if path.suffix.lower() != ".vrt"]
    for path in paths:
        if path.suffix.lower() == ".vrt" and plain:
            lost.append(Unplaced(path, Reason("new_virtual", {"file": path.name})))
        elif len(infos) >= MOST_FILES:
            lost.append(Unplaced(path, Reason("new_too_many", {"file": path.name, "most": MOST_FILES})))
        else:
            try:
                infos[path] = rasters.describe(path)
            except RasterError as wrong:
                lost.append(Unplaced(path, Reason("new_unreadable", {"complaint": str(wrong)}), "ground"))
    work = _Work(infos, lost)
    for group in _groups(infos):
        work.group(group)
    work.lonely()
    order = sorted(work.tables, key=lambda table: (min(infos[path].cell_m for path in _files(table)), str(table.ground)))
    return Found(tuple(order), tuple(sorted(work.lost, key=lambda item: str(item.path))), infos)


def _files(table: Table) -> tuple[Path, ...]:
    return (table.ground, *((table.surface,) if table.surface else ()), *table.standing)


def box_of(info: rasters.RasterInfo) -> Box:
    """Return west, south, east, north of a raster in degrees."""
    return info.west_deg, info.south_deg, info.east_deg, info.north_deg


def _area(box: Box) -> float:
    return max(0.0, box[2] - box[0]) * max(0.0, box[3] - box[1])


def _meet(one: Box, other: Box) -> Box:
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _groups(infos: dict[Path, rasters.RasterInfo]) -> list[list[Path]]:
    """Return files in groups of (nearly) one extent."""
    groups: list[list[Path]] = []
    for path, info in infos.items():
        mine = box_of(info)
        for group in groups:
            theirs = box_of(infos[group[0]])
            common = _area(_meet(mine, theirs))
            if common >= SAME_EXTENT * (_area(mine) + _area(theirs) - common):
                group.append(path)
                break
        else:
            groups.append([path])
    return groups


def _hint(path: Path) -> str:
    """Return "surface", "ground" or "height_above_ground" where a file's name says so (and nothing else), else ""."""
    words = set(re.findall(r"[a-z]+", path.stem.lower()))
    if words & _STANDING_WORDS:
        return "height_above_ground"
    said = [key for key, known in (("surface", _SURFACE_WORDS), ("ground", _GROUND_WORDS)) if words & known]
    return said[0] if len(said) == 1 else ""


class _Work:
    """Files being told apart, group by group."""

    def __init__(self, infos: dict[Path, rasters.RasterInfo], lost: list[Unplaced]) -> None:
        self.infos, self.lost = infos, lost
        self.tables: list[Table] = []
        self.alone: list[tuple[Path, str, roles.Look]] = []  # without a ground of their own extent

    def _read(self, path: Path, box: Box) -> list[Grid]:
        info = self.infos[path]
        if info.cells <= WHOLE_CELLS:
            return [rasters.read(info)]
        parts = []
        for lat, lon in roles.lattice(*box):
            window = rasters.window_around(info, lat_deg=lat, lon_deg=lon, radius_m=WINDOW_REACH * info.cell_m)
            if window is not None:
                parts.append((window, 1))
        return list(rasters.read_several(info, parts))

    def group(self, paths: Sequence[Path]) -> None:
        """Tell files of one extent apart."""
        box = box_of(self.infos[paths[0]])
        for path in paths[1:]:
            box = _meet(box, box_of(self.infos[path]))
        cells: dict[Path, list[Grid]] = {}
        looks: dict[Path, roles.Look] = {}
        for path in paths:
            try:
                cells[path] = self._read(path, box)
            except RasterError as wrong:
                self.lost.append(Unplaced(path, Reason("new_unreadable", {"complaint": str(wrong)}), "ground"))
                continue
            looks[path] = roles.look(cells[path])
        standing = self._standing(cells, looks)
        others = [path for path in cells if path not in standing]
        if len(others) == 1:
            self._single(others[0], standing, cells, looks)
            return
        if not others:
            self.alone += [(path, "height_above_ground", looks[path]) for path in standing]
            return
        self._several(others, standing, cells, looks)

    def _standing(self, cells: dict[Path, list[Grid]], looks: dict[Path, roles.Look]) -> list[Path]:
        """Return the files that hold heights above ground, by their values and by what the others hold where they hold nothing."""
        found = []
        for path, look in looks.items():
            far = [
                roles.middle_where_nothing(cells[path], cells[other]) > FAR_FROM_NOTHING_M
                for other in looks
                if other != path and not looks[other].stands
            ]
            low = look.least_m >= -roles.NOTHING_M and look.most_m <= TALLEST_M and look.nothing_share >= SOME
            starts = look.edge_step_m >= roles.RISES_AT_ONCE_M
            if (look.stands and (not far or any(far))) or (low and starts and far and all(far)):
                found.append(path)
        return found if len(found) < len(looks) or all(looks[path].stands for path in found) else []

    def _single(self, path: Path, standing: Sequence[Path], cells: dict[Path, list[Grid]], looks: dict[Path, roles.Look]) -> None:
        look, hint = looks[path], _hint(path)
        if look.walled or hint == "surface" or (hint == "height_above_ground" and not standing):
            self.alone.append((path, "surface" if look.walled else hint, look))
            self.alone += [(item, "height_above_ground", looks[item]) for item in standing]
            return
        fine = look.wall_share == look.wall_share
        values = {"file": path.name, "walls": look.wall_share, "cell_m": self.infos[path].cell_m}
        why = Reason("new_ground_alone" if fine else "new_ground_coarse", values)
        if standing:
            why = Reason("new_ground_below_heights", {"file": path.name, "least_m": look.least_m, "most_m": look.most_m})
        self._add(Table(path, why=(why,)), standing, cells, looks)

    def _several(self, others: list[Path], standing: Sequence[Path], cells: dict[Path, list[Grid]], looks: dict[Path, roles.Look]) -> None:
        pairs = {(top, base): roles.relation(cells[top], cells[base]) for top in others for base in others if top != base}

        def fits(base: Path) -> tuple[int, int, float, str]:
            above = sum(pairs[top, base].above for top in others if top != base)
            agrees = sum(pairs[top, base].agrees for top in others if top != base)
            return -above, -agrees - (_hint(base) == "ground"), self.infos[base].cell_m, str(base)

        base = min(others, key=fits)
        rest = [path for path in others if path != base]
        surfaces = [path for path in rest if pairs[path, base].above]
        same = [path for path in rest if pairs[path, base].agrees]
        named = [path for path in same if _hint(path) == "surface" and _hint(base) == "ground"]
        for path in rest:
            if path not in surfaces and path not in same:
                self._crossing(path, base, pairs[path, base])
        if not surfaces and not same:  # nothing agrees with anything: nobody can tell which one is the ground
            self._crossing(base, rest[0], pairs[base, rest[0]])
            self.alone += [(path, "height_above_ground", looks[path]) for path in standing]
            return
        table = Table(base)
        if surfaces:
            best = min(surfaces, key=lambda path: self._likeness(path, base))
            link = pairs[best, base]
            values = {"file": base.name, "other": best.name, "not_below": link.not_below, "middle_m": link.middle_m, "high_m": link.high_m}
            table = replace(
                table,
                surface=best,
                why=(Reason("new_ground_of_pair", values), Reason("new_surface_of_pair", values | {"file": best.name, "other": base.name})),
            )
            for path in surfaces:
                if path != best:
                    self.lost.append(Unplaced(path, Reason("new_second_surface", {"file": path.name, "other": best.name}), "surface"))
        elif named:
            link = pairs[named[0], base]
            values = {"file": named[0].name, "ground": base.name, "same": link.same, "middle_m": link.middle_m}
            table = replace(table, surface=named[0], why=(Reason("new_pair_by_name", values),))
            same.remove(named[0])
        else:
            table = replace(table, why=(Reason("new_ground_same", {"file": base.name, "others": [path.name for path in same]}),))
        for path in same:
            self.lost.append(Unplaced(path, Reason("new_same_heights", {"file": path.name, "other": base.name})))
        self._add(table, standing, cells, looks)

    def _likeness(self, path: Path, base: Path) -> tuple[bool, float, str]:
        mine, ground = self.infos[path], self.infos[base]
        return mine.crs != ground.crs, mine.cell_m, str(path)

    def _crossing(self, path: Path, base: Path, link: roles.Relation) -> None:
        values = {
            "file": path.name, "other": base.name, "above": 1.0 - link.not_above, "below": 1.0 - link.not_below, "middle_m": link.middle_m,
        }  # fmt: skip
        code = "new_no_cell_in_common" if not link.cells else "new_far_above" if link.low_m > roles.TOUCHES_M else "new_crossing"
        self.lost.append(Unplaced(path, Reason(code, values), "surface" if code != "new_no_cell_in_common" else ""))

    def _add(self, table: Table, standing: Sequence[Path], cells: dict[Path, list[Grid]], looks: dict[Path, roles.Look]) -> None:
        kept, why = [], []
        for path in standing:
            look = looks[path]
            if table.surface is not None:
                unseen = roles.unseen_share(cells[path], cells[table.surface], cells[table.ground])
                if not unseen > 0.2:
                    values = {"file": path.name, "other": table.surface.name}
                    self.lost.append(Unplaced(path, Reason("new_heights_seen_already", values), "height_above_ground"))
                    continue
                why.append(Reason("new_surface_lacks", {"file": path.name, "other": table.surface.name, "unseen": unseen}))
            values = {"file": path.name, "nothing": look.nothing_share, "most_m": look.most_m, "ground": table.ground.name}
            why.append(Reason("new_heights", values))
            kept.append(path)
        lacks = bool(kept) and table.surface is not None
        self.tables.append(replace(table, standing=tuple(kept), surface_lacks=lacks, why=(*table.why, *why)))

    def lonely(self) -> None:
        """Put what has no ground of its own extent onto a wider one, where there is one and it fits."""
        for path, role, look in self.alone:
            base = self._wider(path)
            why = self._alone(path, role, look)
            if base is None:
                self.lost.append(Unplaced(path, why, role))
                continue
            box = box_of(self.infos[path])
            try:
                mine, ground = self._read(path, box), self._read(base, box)
            except RasterError as wrong:
                self.lost.append(Unplaced(path, Reason("new_unreadable", {"complaint": str(wrong)}), role))
                continue
            tolerance = default_error_m(self.infos[base].cell_m)
            link = roles.relation(mine, ground, tolerance_m=tolerance)
            values = {"file": path.name, "other": base.name, "not_below": link.not_below, "tolerance_m": tolerance}
            if role == "surface" and link.cells and link.not_below >= 0.9:
                self.tables.append(Table(base, surface=path, why=(Reason("new_surface_on_wider", values),)))
            elif role == "height_above_ground" and look.stands:
                values |= {"nothing": look.nothing_share, "most_m": look.most_m}
                self.tables.append(Table(base, standing=(path,), why=(Reason("new_heights_on_wider", values),)))
            else:
                self.lost.append(Unplaced(path, why, role))

    def _wider(self, path: Path) -> Path | None:
        mine = box_of(self.infos[path])
        around = [table.ground for table in self.tables if _area(_meet(mine, box_of(self.infos[table.ground]))) >= WITHIN * _area(mine)]
        return min(around, key=lambda base: (self.infos[base].cell_m, str(base)), default=None)

    @staticmethod
    def _alone(path: Path, role: str, look: roles.Look) -> Reason:
        values = {"file": path.name, "walls": look.wall_share, "nothing": look.nothing_share, "most_m": look.most_m}
        if role == "surface":
            return Reason("new_surface_alone" if look.walled else "new_surface_alone_by_name", values)
        return Reason("new_heights_alone" if look.stands else "new_heights_alone_by_name", values)
