"""One question, one answer: what stands against the sky from one point of a plan's terrain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from siteplan.errors import InputError, told
from siteplan.geodesy import projection
from siteplan.records.ground import KIND_NAMES
from siteplan.services.shared.looking import LOOKED_TO_M, LookedAround, look_around
from siteplan.studies.inputs import ground_frames
from siteplan.studies.speech import open_plan
from siteplan.studies.surfaces import load_surface
from siteplan.words import sentence
from siteplan.words import skyline as words

NEAR_M = 3_000.0  # land this near is read at full resolution; farther out, large files come in coarser copies by the maximum
SOURCES = {
    "elevation": "geometric, over a round Earth of 6371 km, without refraction",
    "surface": "bilinear between cell centres; the finest layer that knows all four cells around a point answers",
}
_MOST_HEIGHT_M = 1_000.0


def skyline_for_one(
    plan_file: Path, *, at: tuple[float, float], crs: str = "", height_agl_m: float, azimuth_deg: Sequence[float] | None = None
) -> dict[str, object]:
    """Return what stands against the sky from one point, as plain numbers.

    plan_file     a plan; its [[terrain]] tables are all that is used
    at            x, y in crs; longitude, latitude where crs is ""
    height_agl_m  of the antenna's centre above the ground there, 0 to 1000
    azimuth_deg   exact single rays at these true bearings, in their order; None: the highest of each half-degree sector

    Returns points (azimuth_deg, elevation_deg, distance_m, obstacle_amsl_m, kind, ground_elevation_deg, known_to_m, data_ended; None
    where unknown), inside_obstruction, place, lat_deg, lon_deg, ground_amsl_m, surface_amsl_m, antenna_amsl_m, rays, notes, sources.
    Raises InputError for a point outside the terrain (saying what that covers), a number out of range, no coordinate system; PlanError and
    RasterError for the plan and its files.
    """
    if not 0.0 <= height_agl_m <= _MOST_HEIGHT_M:
        raise InputError(
            told(
                "height_agl_m is {height_agl_m:g}. Allowed: 0 to {most_height_m:g} m above ground.",
                height_agl_m=height_agl_m,
                most_height_m=_MOST_HEIGHT_M,
            )
        )
    bearings = None if azimuth_deg is None else [_bearing(value) for value in azimuth_deg]
    if bearings == []:
        raise InputError(told("no azimuth is given; give degrees from true north, as 120,150"))
    plan = open_plan(plan_file)
    frames = ground_frames(plan)
    lat, lon = _place(at, crs, frames)
    surface = load_surface(plan, around=[(lat, lon, NEAR_M)], far_m=LOOKED_TO_M)
    seen = look_around(surface, lat_deg=lat, lon_deg=lon, height_agl_m=height_agl_m, azimuth_deg=bearings)
    if seen.skyline is None:
        raise InputError(
            told(
                "{place}: the ground is unknown there (a hole in the data). {covers}",
                place=words.place(lat, lon),
                covers=words.covers(frames.words()),
            )
        )
    notes = [words.inside(seen.surface_amsl_m - seen.ground_amsl_m, height_agl_m)] if seen.skyline.inside_obstruction else []
    return {
        "place": words.place_and_ground(lat, lon, seen.ground_amsl_m),
        "lat_deg": round(lat, 8),
        "lon_deg": round(lon, 8),
        "ground_amsl_m": _number(seen.ground_amsl_m, 3),
        "surface_amsl_m": _number(seen.surface_amsl_m, 3),
        "height_agl_m": height_agl_m,
        "antenna_amsl_m": _number(seen.eye_amsl_m, 3),
        "inside_obstruction": seen.skyline.inside_obstruction,
        "rays": "single" if bearings is not None else "sectors",
        "looked_to_m": LOOKED_TO_M,
        "points": _points(seen),
        "notes": [*notes, *(sentence(note) for note in surface.notes)],
        "sources": SOURCES,
    }


def _bearing(value: float) -> float:
    if not math.isfinite(value) or not -360.0 <= value <= 720.0:
        raise InputError(told("an azimuth is {value:g}. Allowed: degrees from true north, clockwise, -360 to 720.", value=value))
    return value % 360.0


def _place(at: tuple[float, float], crs: str, frames: object) -> tuple[float, float]:
    """Return (lat_deg, lon_deg) of a point that lies in the frame of some ground raster."""
    x, y = at
    if not (math.isfinite(x) and math.isfinite(y)):
        raise InputError(told("the point {x:g},{y:g} is not two numbers", x=x, y=y))
    wkt = projection.parse_crs(crs) if crs else projection.WGS84
    lon, lat = (float(value) for value in projection.to_wgs84(x, y, wkt))
    inside = math.isfinite(lat) and bool(frames.inside(np.array([lat]), np.array([lon]))[0])  # type: ignore[attr-defined]
    if inside:
        return lat, lon
    lon2, lat2 = (float(value) for value in projection.to_wgs84(y, x, wkt))
    swapped = math.isfinite(lat2) and bool(frames.inside(np.array([lat2]), np.array([lon2]))[0])  # type: ignore[attr-defined]
    raise InputError(words.outside(x, y, crs, lat, lon, frames.words(), swapped))  # type: ignore[attr-defined]


def _number(value: float, places: int) -> float | None:
    return round(float(value), places) + 0.0 if math.isfinite(value) else None


def _points(seen: LookedAround) -> list[dict[str, object]]:
    sky = seen.skyline
    return [
        {
            "azimuth_deg": _number(sky.azimuth_deg[k], 6),  # type: ignore[union-attr]
            "elevation_deg": _number(sky.elevation_deg[k], 5),  # type: ignore[union-attr]
            "distance_m": _number(sky.distance_m[k], 2),  # type: ignore[union-attr]
            "obstacle_amsl_m": _number(sky.obstacle_amsl_m[k], 3),  # type: ignore[union-attr]
            "kind": KIND_NAMES[int(sky.kind[k])],  # type: ignore[union-attr]
            "ground_elevation_deg": _number(sky.ground_elevation_deg[k], 5),  # type: ignore[union-attr]
            "known_to_m": _number(sky.known_to_m[k], 2),  # type: ignore[union-attr]
            "data_ended": bool(sky.data_ended[k]),  # type: ignore[union-attr]
        }
        for k in range(sky.azimuth_deg.size)  # type: ignore[union-attr]
    ]


def skyline_lines(found: dict[str, object], group_deg: float = 5.0) -> list[str]:
    """Return the answer of skyline_for_one as lines of a table for people; of sectors the highest in each group_deg."""
    points: list[dict] = found["points"]  # type: ignore[assignment]
    lines = [told("From {place}, antenna {height_agl_m:g} m above ground", place=found["place"], height_agl_m=found["height_agl_m"]), ""]
    if found["rays"] == "sectors":
        lines += [words.grouped(group_deg, len(points)), ""]
        points = _highest_of_groups(points, group_deg)
    heads = words.columns()
    lines.append(f"{heads[0]:>9}{heads[1]:>11}{heads[2]:>12}{heads[3]:>11}  {heads[4]}")
    for point in points:
        cells = [
            f"{point['azimuth_deg']:.1f}°",
            told("unknown") if point["elevation_deg"] is None else f"{point['elevation_deg']:.2f}°",
            "" if point["distance_m"] is None else f"{point['distance_m']:.0f} m",
            "" if point["obstacle_amsl_m"] is None else f"{point['obstacle_amsl_m']:.1f} m",
        ]
        what = words.what(str(point["kind"]), bool(point["data_ended"]), point["known_to_m"])
        lines.append(f"{cells[0]:>9}{cells[1]:>11}{cells[2]:>12}{cells[3]:>11}  {what}".rstrip())
    notes: list = found["notes"]  # type: ignore[assignment]
    return [*lines, *([""] if notes else []), *notes]


def _highest_of_groups(points: list[dict], group_deg: float) -> list[dict]:
    groups: dict[int, dict] = {}
    for point in points:
        key = int(point["azimuth_deg"] // group_deg)
        known = point["elevation_deg"]
        if key not in groups or (known is not None and (groups[key]["elevation_deg"] is None or known > groups[key]["elevation_deg"])):
            groups[key] = point
    return [groups[key] for key in sorted(groups)]
