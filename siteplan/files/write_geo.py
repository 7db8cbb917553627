"""Places out: verdicts.geojson and verdicts.gpkg, the latter with what blocks, aim lines and path profiles as layers."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np

from siteplan.files.vectors import LayerOut, write_layers
from siteplan.files.verdict_columns import Column, Value, columns_of, rounded, values_of
from siteplan.geodesy.projection import geod_forward
from siteplan.records.findings import AddressFinding, Aim, Findings, SectorLine
from siteplan.records.results import Profile
from siteplan.words import kind_word

# 1e-7 degrees is a centimetre on the ground.
COORDINATE_DECIMALS = 7
# Length drawn for an aim at a satellite that nothing blocks.
SATELLITE_LINE_M = 150.0

# Column names that a vector file keeps for itself.
_TAKEN = frozenset({"fid", "ogc_fid", "geom", "geometry", "the_geom"})

_TEXT, _REAL, _INTEGER = "text", "real", "integer"
_POINT_FIELDS = {
    "row": (_INTEGER, 0), "id": (_TEXT, None), "service": (_TEXT, None), "towards": (_TEXT, None), "view": (_TEXT, None),
    "kind": (_TEXT, None), "bearing_deg": (_REAL, 1), "distance_m": (_REAL, 0), "top_amsl_m": (_REAL, 1), "height_agl_m": (_REAL, 1),
    "loss_db": (_REAL, 1),
}  # fmt: skip
_LINE_FIELDS = {
    "row": (_INTEGER, 0), "id": (_TEXT, None), "service": (_TEXT, None), "towards": (_TEXT, None), "state": (_TEXT, None),
    "bearing_deg": (_REAL, 1), "elevation_deg": (_REAL, 1), "distance_m": (_REAL, 0), "margin_db": (_REAL, 1),
}  # fmt: skip
_PROFILE_FIELDS = {
    "row": (_INTEGER, 0), "id": (_TEXT, None), "service": (_TEXT, None), "towards": (_TEXT, None), "distance_m": (_REAL, 0),
    "points": (_INTEGER, 0), "surface_known_pct": (_REAL, 0), "profile_file": (_TEXT, None),
}  # fmt: skip


def verdicts_geojson(findings: Findings) -> bytes:
    """Return verdicts.geojson: one feature for each row of the input, in its order; geometry null where the row has no place.

    Coordinates are WGS84 longitude, latitude with seven decimals. Source: RFC 7946, sections 3.2, 4 and 11.2.
    """
    columns = columns_of(findings)
    lines = []
    for finding, values in zip(findings.rows, values_of(findings, columns), strict=True):
        place = _place(finding)
        point = [round(value, COORDINATE_DECIMALS) for value in place] if place else None
        geometry = {"type": "Point", "coordinates": point} if point else None
        feature = {"type": "Feature", "id": finding.row.row, "geometry": geometry, "properties": values}
        lines.append(json.dumps(feature, ensure_ascii=False, allow_nan=False))
    body = ",\n".join(lines)
    return f'{{"type": "FeatureCollection", "name": "verdicts", "features": [\n{body}\n]}}\n'.encode("utf-8", "replace")


def write_verdicts_gpkg(path: Path, findings: Findings) -> None:
    """Write verdicts.gpkg: layers addresses (one row for each row of the input), obstacles, aim_lines and profiles.

    obstacles  the tightest place of each satellite view that is not clear, and the edge that governs the path to the best transmitter
    aim_lines  from the spot to what blocks (or 150 m) towards each satellite, and all the way to the best transmitter and site
    profiles   the ground from transmitter to house, heights as the third coordinate (metres above sea level)
    Raises OutputError where it can't be written.
    """
    layers = [
        _address_layer(findings),
        _layer("obstacles", "Point", _POINT_FIELDS, (item for finding in findings.rows for item in _obstacles(finding))),
        _layer("aim_lines", "LineString", _LINE_FIELDS, (item for finding in findings.rows for item in _aim_lines(finding))),
        _layer("profiles", "LineString Z", _PROFILE_FIELDS, (item for finding in findings.rows for item in _profiles(finding))),
    ]
    write_layers(path, layers, on_date=findings.plan.date)


def _address_layer(findings: Findings) -> LayerOut:
    columns = columns_of(findings)
    names = _field_names(columns)
    table: dict[str, list[Value]] = {column.key: [] for column in columns}
    for values in values_of(findings, columns):
        for key, value in values.items():
            # SQLite's text ends at a zero byte
            table[key].append(value.replace("\x00", "\ufffd").encode("utf-8", "replace").decode() if isinstance(value, str) else value)
    fields = {names[column.key]: (_kind(column), table[column.key]) for column in columns}
    wkb = [None if place is None else _wkb([place]) for place in map(_place, findings.rows)]
    return LayerOut("addresses", "Point", wkb, fields)


def _field_names(columns: Sequence[Column]) -> dict[str, str]:
    """Return the layer's field name of each column: SQL is blind to case, and quotes, zero bytes and line breaks make trouble."""
    names: dict[str, str] = {}
    used = set(_TAKEN)
    for column in sorted(columns, key=lambda column: column.given is not None):  # ours keep their names
        name = clean = "".join(char if char.isprintable() and char not in "\"'`;\\" else "_" for char in column.key)[:200] or "column"
        number = 2
        while name.casefold() in used:
            name, number = f"{clean}_{number}", number + 1
        used.add(name.casefold())
        names[column.key] = name
    return names


def _kind(column: Column) -> str:
    return _TEXT if column.decimals is None else _INTEGER if column.decimals == 0 else _REAL


Item = tuple[list[tuple[float, ...]], dict[str, object]]


def _layer(name: str, geometry_type: str, fields: dict[str, tuple[str, int | None]], items: Iterable[Item]) -> LayerOut:
    wkb: list[bytes | None] = []
    table: dict[str, list[Value]] = {field: [] for field in fields}
    for points, values in items:
        wkb.append(_wkb(points, line=geometry_type != "Point"))
        for field, (_, decimals) in fields.items():
            table[field].append(rounded(values.get(field), decimals))
    return LayerOut(name, geometry_type, wkb, {field: (kind, table[field]) for field, (kind, _) in fields.items()})


def _wkb(points: Sequence[tuple[float, ...]], *, line: bool = False) -> bytes:
    """Return points as little-endian well-known binary. Source: ISO 13249-3 / OGC 06-103r4, section 8.2 (Z adds 1000)."""
    coordinates = np.asarray(points, dtype="<f8")
    code = (2 if line else 1) + (1000 if coordinates.shape[1] == 3 else 0)
    head = b"\x01" + np.array([code, *([len(coordinates)] if line else [])], dtype="<u4").tobytes()
    return head + coordinates.tobytes()


def _place(finding: AddressFinding) -> tuple[float, float] | None:
    address = finding.row.address
    return None if address is None else (address.lon_deg, address.lat_deg)


def _reach(finding: AddressFinding, part: str, bearing_deg: float, distance_m: float) -> list[tuple[float, ...]]:
    """Return [spot, place at that bearing and distance] as (lon, lat)."""
    service = getattr(finding, part)
    spot = service.spot if service.spot is not None else finding.row.address
    lat, lon = geod_forward(lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, azimuth_deg=bearing_deg, distance_m=distance_m)
    return [(spot.lon_deg, spot.lat_deg), (round(float(lon), COORDINATE_DECIMALS), round(float(lat), COORDINATE_DECIMALS))]


def _who(finding: AddressFinding, service: str, towards: str) -> dict[str, object]:
    address = finding.row.address
    return {"row": finding.row.row, "id": address.id if address else "", "service": service, "towards": towards}


def _obstacles(finding: AddressFinding) -> Iterator[Item]:
    for view in finding.satellite.views if finding.satellite else ():
        edge = view.clearance
        if edge is None or edge.state not in ("partly", "blocked") or not math.isfinite(edge.distance_m + edge.bearing_deg):
            continue
        yield _reach(finding, "satellite", edge.bearing_deg, edge.distance_m)[1:], {
            **_who(finding, "satellite", view.satellite.name), "view": edge.state, "kind": kind_word(edge.kind),
            "bearing_deg": edge.bearing_deg, "distance_m": edge.distance_m, "top_amsl_m": edge.obstacle_amsl_m,
            "height_agl_m": edge.obstacle_agl_m, "loss_db": edge.loss_db,
        }  # fmt: skip
    for aim in _best_aim(finding):
        if math.isfinite(aim.ray_blocked_m):
            yield _reach(finding, "terrestrial", aim.bearing_deg, aim.ray_blocked_m)[1:], {
                **_who(finding, "terrestrial", aim.transmitter.name), "view": "blocked", "bearing_deg": aim.bearing_deg,
                "distance_m": aim.ray_blocked_m, "loss_db": aim.diffraction_db,
            }  # fmt: skip


def _aim_lines(finding: AddressFinding) -> Iterator[Item]:
    for view in finding.satellite.views if finding.satellite else ():
        if not (math.isfinite(view.look.azimuth_deg) and view.look.elevation_deg > 0.0):
            continue
        edge = view.clearance
        blocked = edge is not None and edge.state in ("partly", "blocked") and math.isfinite(edge.distance_m)
        length_m = max(edge.distance_m, 1.0) if blocked and edge is not None else SATELLITE_LINE_M
        yield _reach(finding, "satellite", view.look.azimuth_deg, length_m), {
            **_who(finding, "satellite", view.satellite.name), "state": str(view.state), "bearing_deg": view.look.azimuth_deg,
            "elevation_deg": view.look.elevation_deg, "distance_m": length_m,
        }  # fmt: skip
    for aim in _best_aim(finding):
        end = (aim.transmitter.lon_deg, aim.transmitter.lat_deg)
        yield [*_reach(finding, "terrestrial", 0.0, 0.0)[:1], end], {
            **_who(finding, "terrestrial", aim.transmitter.name), "state": str(finding.verdicts["terrestrial"].state),
            "bearing_deg": aim.bearing_deg, "distance_m": aim.distance_m, "margin_db": aim.margin_db,
        }  # fmt: skip
    for line in _best_line(finding):
        end = (line.sector.lon_deg, line.sector.lat_deg)
        yield [*_reach(finding, "mobile", 0.0, 0.0)[:1], end], {
            **_who(finding, "mobile", f"{line.sector.operator} {line.sector.site}"), "state": str(finding.verdicts["mobile"].state),
            "bearing_deg": line.bearing_deg, "distance_m": line.distance_m, "margin_db": line.margin_db,
        }  # fmt: skip


def _profiles(finding: AddressFinding) -> Iterator[Item]:
    paths = [("terrestrial", aim.transmitter.name, aim.transmitter, aim) for aim in _best_aim(finding)]
    paths += [("mobile", f"{line.sector.operator} {line.sector.site}", line.sector, line) for line in _best_line(finding)]
    for service, towards, sender, path in paths:
        profile = path.profile
        if profile is not None:
            yield _profile_points(profile, sender.lat_deg, sender.lon_deg), {
                **_who(finding, service, towards), "distance_m": path.distance_m, "points": len(profile.distance_m),
                "surface_known_pct": 100.0 * profile.surface_known, "profile_file": path.profile_file,
            }  # fmt: skip


def _profile_points(profile: Profile, lat_deg: float, lon_deg: float) -> list[tuple[float, ...]]:
    """Return (lon, lat, height) along a profile, whose bearing is the one from its sender at lat_deg, lon_deg."""
    lat, lon = geod_forward(lat_deg=lat_deg, lon_deg=lon_deg, azimuth_deg=profile.bearing_deg, distance_m=profile.distance_m)
    height = np.where(np.isfinite(profile.ground_amsl_m), profile.ground_amsl_m, 0.0)
    return list(zip(np.round(lon, 7).tolist(), np.round(lat, 7).tolist(), np.round(height, 1).tolist(), strict=True))


def _best_aim(finding: AddressFinding) -> Sequence[Aim]:
    return finding.terrestrial.aims[:1] if finding.terrestrial else ()


def _best_line(finding: AddressFinding) -> Sequence[SectorLine]:
    return finding.mobile.lines[:1] if finding.mobile else ()
