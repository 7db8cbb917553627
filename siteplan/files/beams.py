"""Footprints of satellites: contours from vector files, shapes from tables, into beams. Bad features and rows go, good ones stay."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.errors import TableError, told
from siteplan.files.numbers import parse_number
from siteplan.files.plan_file import parse_orbit
from siteplan.files.sender_rows import RowFault, SenderTable, open_senders, read_rows
from siteplan.files.tables import Row, squash
from siteplan.files.vectors import ShapesIn, read_shapes
from siteplan.geodesy.projection import to_wgs84
from siteplan.records.beams import Beam, Contour
from siteplan.records.emitters import Satellite
from siteplan.records.places import Reject

if TYPE_CHECKING:
    import numpy as np

VECTOR_ENDINGS = (".geojson", ".json", ".gpkg", ".shp", ".fgb")
BEAM_COLUMNS = (
    "satellite", "orbit_deg", "beam", "eirp_dbw", "boresight_lat_deg", "boresight_lon_deg", "boresight_east_deg", "boresight_north_deg",
    "beamwidth_deg", "beamwidth_across_deg", "rotation_deg",
)  # fmt: skip
# No broadcast beam is stronger (common practice, no source: regional spot beams reach some 65 dBW); 30 dB more is a level in dBm.
STRONGEST_DBW = 75.0
_SAME_PLACE_DEG = 0.05
_ENDS_MEET_DEG = 1e-6
_LEVELS = {"eirpdbw": 0.0, "dbw": 0.0, "eirpdbm": -30.0, "dbm": -30.0}


def with_beams(satellites: Sequence[Satellite], files: Iterable[Path]) -> tuple[list[Satellite], list[Reject]]:
    """Return the satellites of a table with the beams that files draw for them, and what could not be taken.

    Raises TableError where a file as a whole can't be used.
    """
    found: dict[float, dict[str, Beam]] = {satellite.orbit_deg: {} for satellite in satellites}
    rejects: list[Reject] = []
    for file in files:
        reader = _read_contours if file.suffix.lower() in VECTOR_ENDINGS else _read_shapes
        rejects += reader(file, satellites, found)
    return [replace(one, beams=tuple(found[one.orbit_deg].values())) for one in satellites], rejects


def in_dbm_hint(key: str, eirp_dbw: float) -> str:
    """Return what to say of an EIRP that is likely one in dBm, "" where it is not."""
    likely = squash(key) in ("eirpdbw", "dbw") and STRONGEST_DBW < eirp_dbw <= STRONGEST_DBW + 30.0
    return (
        told(
            "; if it is in dBm, call the column eirp_dbm ({eirp_dbw:g} dBm is {eirp_dbw_2:g} dBW)",
            eirp_dbw=eirp_dbw,
            eirp_dbw_2=eirp_dbw - 30.0,
        )
        if likely
        else ""
    )


def _checked_dbw(key: str, text: str, value: float) -> float:
    if math.isnan(value):
        raise RowFault(key, text, told("is not a number") if text else told("is empty"))
    if not 0.0 <= value <= STRONGEST_DBW:
        raise RowFault(
            key,
            text,
            told(
                "is out of range; EIRP from 0 to {strongest_dbw:g} dBW is allowed{in_dbm_hint}",
                strongest_dbw=STRONGEST_DBW,
                in_dbm_hint=in_dbm_hint(key, value),
            ),
        )
    return value


def _meant(satellites: Sequence[Satellite], orbit: str, name: str, keys: tuple[str, str]) -> Satellite:
    """Return the satellite that a row or feature means, by orbit, else by name; the only one there is where it says neither."""
    if orbit:
        at = parse_orbit(float(orbit) if not math.isnan(parse_number(orbit)) else orbit)
        if math.isnan(at):
            raise RowFault(keys[0], orbit, told('is no orbital position; write degrees east from -180 to 180, or "19.2E", "30W"'))
        near = [one for one in satellites if abs((one.orbit_deg - at + 180.0) % 360.0 - 180.0) <= _SAME_PLACE_DEG]
        if not near:
            raise RowFault(keys[0], orbit, told("no satellite of the plan's table stands there"))
        return near[0]
    if name:
        same = [one for one in satellites if squash(one.name) == squash(name)]
        if not same:
            raise RowFault(keys[1], name, told("no satellite of the plan's table is called that"))
        return same[0]
    if len(satellites) != 1:
        raise RowFault(keys[0], "", told("is empty; orbit_deg or satellite says whose footprint this is"))
    return satellites[0]


# ---- contours ----------------------------------------------------------------------------------------------------------------


def _read_contours(file: Path, satellites: Sequence[Satellite], found: dict[float, dict[str, Beam]]) -> list[Reject]:
    shapes = read_shapes(file)
    columns = {squash(name): name for name in shapes.columns}
    level = next((key for key in _LEVELS if key in columns), "")
    if not level:
        shown = ", ".join(shapes.columns) or "none"
        raise TableError(told("no field gives the EIRP of a contour; call it eirp_dbw (fields: {shown})", shown=shown), file=file.name)
    rejects = []
    for number, shape in enumerate(shapes.shapes, 1):
        cells = {key: _text(shapes.columns[name][number - 1]) for key, name in columns.items()}
        try:
            satellite = _meant(satellites, cells.get("orbitdeg", ""), cells.get("satellite", ""), ("orbit_deg", "satellite"))
            value = _checked_dbw(columns[level], cells[level], parse_number(cells[level]) + _LEVELS[level])
            contours = _contours(shape, value, shapes)
            name = cells.get("beam", "")
            beams = found[satellite.orbit_deg]
            beam = beams.get(name.casefold(), Beam(name, source=file.name))
            if math.isfinite(beam.peak_eirp_dbw):
                raise RowFault("beam", name, told("this beam of {name} is a shape already", name=satellite.name))
            beams[name.casefold()] = replace(beam, contours=(*beam.contours, *contours))
        except RowFault as fault:
            rejects.append(Reject(file.name, number, fault.field, fault.value, fault.reason))
    return rejects


def _text(value: object) -> str:
    return "" if value is None or (isinstance(value, float) and math.isnan(value)) else str(value).strip()


def _contours(shape: object, value: float, shapes: ShapesIn) -> list[Contour]:
    import shapely

    parts = [] if shape is None else [part for part in shapely.get_parts(shape).tolist() if not part.is_empty]
    lines = []
    for part in parts:
        if part.geom_type == "Polygon":
            lines += [part.exterior, *part.interiors]
        elif part.geom_type in ("LineString", "LinearRing"):
            lines.append(part)
        else:
            raise RowFault("geometry", part.geom_type, told("is no contour; polygons or lines are wanted"))
    if not lines:
        raise RowFault("geometry", "", told("is empty; a polygon or line is wanted"))
    return [_contour(shapely.get_coordinates(line), value, shapes.crs) for line in lines]


def _contour(points: np.ndarray, value: float, crs: str) -> Contour:
    import numpy as np

    lon, lat = to_wgs84(points[:, 0], points[:, 1], crs) if crs else (points[:, 0], points[:, 1])
    if not np.all((np.abs(lat) <= 90.0) & (np.abs(lon) <= 360.0)):
        raise RowFault("geometry", "", told("has points that are no longitude and latitude"))
    closed = len(lat) > 3 and bool(np.hypot(lat[0] - lat[-1], lon[0] - lon[-1]) <= _ENDS_MEET_DEG)
    return Contour(value, np.asarray(lat, dtype=np.float64), np.asarray(lon, dtype=np.float64), closed)


# ---- shapes ------------------------------------------------------------------------------------------------------------------


def _read_shapes(file: Path, satellites: Sequence[Satellite], found: dict[float, dict[str, Beam]]) -> list[Reject]:
    senders = open_senders(file, BEAM_COLUMNS, placed=False, needed=("beamwidth_deg",))
    if not senders.has_power("eirp"):
        raise TableError(told("no column gives the EIRP in the boresight; write eirp_dbw"), file=file.name, row=senders.table.heading_row)

    def take(row: Row) -> None:
        keys = (senders.column("orbit_deg"), senders.column("satellite"))
        satellite = _meant(satellites, senders.text(row, "orbit_deg"), senders.text(row, "satellite"), keys)
        beam = _shape(senders, row, file.name)
        beams = found[satellite.orbit_deg]
        if beam.name.casefold() in beams:
            raise senders.fault(row, "beam", told("this beam of {name} is drawn already", name=satellite.name))
        beams[beam.name.casefold()] = beam

    return list(read_rows(senders, take))


def _shape(senders: SenderTable, row: Row, source: str) -> Beam:
    key = next((f"eirp_{unit}" for unit in ("dbw", "dbm", "kw", "w") if senders.text(row, f"eirp_{unit}")), "eirp_dbw")
    peak = _checked_dbw(senders.column(key), senders.text(row, key), senders.power_dbw(row, "eirp"))
    place = {name: senders.number(row, f"boresight_{name}_deg", -most, most, math.nan) for name, most in (("lat", 90.0), ("lon", 180.0))}
    angle = {name: senders.number(row, f"boresight_{name}_deg", -9.0, 9.0, math.nan) for name in ("east", "north")}
    if any(map(math.isnan, place.values())) and any(map(math.isnan, angle.values())):
        wanted = told("is empty; the boresight is wanted: boresight_lat_deg and _lon_deg, or boresight_east_deg and _north_deg")
        raise senders.fault(row, "boresight_lat_deg", wanted)
    return Beam(
        name=senders.text(row, "beam"), peak_eirp_dbw=peak, boresight_lat_deg=place["lat"], boresight_lon_deg=place["lon"],
        boresight_east_deg=angle["east"], boresight_north_deg=angle["north"],
        beamwidth_deg=senders.number(row, "beamwidth_deg", 0.1, 20.0),
        beamwidth_across_deg=senders.number(row, "beamwidth_across_deg", 0.1, 20.0, math.nan),
        rotation_deg=senders.number(row, "rotation_deg", -180.0, 180.0, 0.0), source=source,
    )  # fmt: skip
