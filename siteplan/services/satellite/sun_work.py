"""Aiming without a compass: when the sun crosses a satellite's bearing over the skyline of the spot, and what stands near that bearing."""

from __future__ import annotations

import math
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from siteplan.geodesy.projection import geod_inverse
from siteplan.records.findings import SatelliteView
from siteplan.records.ground import KIND_GROUND, KIND_NAMES, KIND_UNKNOWN
from siteplan.records.places import Spot
from siteplan.records.results import Skyline
from siteplan.records.sun import Landmark, SunAid, SunCrossing, SunFinding, SunOutage
from siteplan.services.satellite import limits
from siteplan.services.satellite.spot_places import Ground, ground_of
from siteplan.services.satellite.spot_work import SpotWork
from siteplan.sky.horizon import elevation_at, single_rays
from siteplan.sky.sun import SUN_RADIUS_DEG, approaches, crossings, sun_direction
from siteplan.terrain.footprints import facades
from siteplan.terrain.surface import heights_at

DAYS = 15  # the plan's date and fourteen days on
_YEAR_DAYS = 340  # the two seasons ahead, none of them twice
_TURN_DEG_PER_MIN = 0.25  # the sky turns by 15 degrees an hour; the sun's declination in an outage is below 9 degrees (1 % less)
_PATH_STEP_MIN = 10
_BEAM_DEG, _OUTAGE_MHZ = 70.0, 11_700.0  # half-power beam of a dish, 70 wavelengths over diameters (common practice, no source)


def sun_finding(work: SpotWork, spot: Spot, views: tuple[SatelliteView, ...], around: Skyline | None) -> SunFinding | None:
    """Return the sun and the landmarks of one spot; None where no wanted satellite rises."""
    rising = [view for view in views if view.look.elevation_deg > 0.0]
    if not rising or around is None:
        return None
    plan, first = work.plan, np.datetime64(work.land.on_date.isoformat())
    place = {"lat_deg": spot.lat_deg, "lon_deg": spot.lon_deg, "height_ell_m": spot.centre_amsl_m}
    where = ground_of(work.site, work.land, plan.mount)
    aids = tuple(_aid(work, spot, view, around, where, place, first) for view in rising)
    return SunFinding(plan.timezone, DAYS, aids, _path(place, first, plan.timezone))


def _aid(
    work: SpotWork, spot: Spot, view: SatelliteView, around: Skyline, where: Ground, place: dict[str, float], first: np.datetime64
) -> SunAid:  # fmt: skip
    look, zone = view.look, work.plan.timezone
    utc = crossings(first=first, days=DAYS, azimuth_deg=look.azimuth_deg, **place)
    _, up = sun_direction(utc=utc, **place) if utc.size else (None, np.empty(0))
    behind = float(elevation_at(around, [look.azimuth_deg])[0])
    seen = tuple(
        SunCrossing(_moment(when), _local(when, zone), float(high), behind)
        for when, high in zip(utc, up, strict=True)
        if not high <= behind
    )
    dish_m = view.dish_m if math.isfinite(view.dish_m) else min(work.plan.kit.dishes_m)
    within = 0.5 * _BEAM_DEG * 299.792458 / _OUTAGE_MHZ / dish_m + SUN_RADIUS_DEG
    near = approaches(first=first, days=_YEAR_DAYS, azimuth_deg=look.azimuth_deg, elevation_deg=look.elevation_deg, **place)
    outages = tuple(
        SunOutage(_moment(when), _local(when, zone), float(apart), 2.0 * math.sqrt(within**2 - apart**2) / _TURN_DEG_PER_MIN)
        for when, apart in zip(near.utc, near.separation_deg, strict=True)
        if apart < within
    )
    marks = (*_ends(work, spot, look.azimuth_deg, where), *_tops(around, look.azimuth_deg), *_walls(work, spot, look.azimuth_deg))
    return SunAid(
        view.satellite.name, look.azimuth_deg, look.elevation_deg, seen, outages, within, marks, "" if seen else "below"
    )  # fmt: skip


def _moment(when: np.datetime64) -> datetime:
    from datetime import UTC

    return when.astype("datetime64[s]").item().replace(tzinfo=UTC)


def _local(when: np.datetime64, zone: str) -> datetime | None:
    return _moment(when).astimezone(ZoneInfo(zone)) if zone else None


def _path(place: dict[str, float], first: np.datetime64, zone: str) -> tuple[tuple[float, float, float], ...]:
    """Return the sun of the plan's date by the plan's own clock, every ten minutes while it is up."""
    start = first.astype("datetime64[s]")
    if zone:
        midnight = first.astype("datetime64[s]").item().replace(tzinfo=ZoneInfo(zone))
        start -= np.timedelta64(int(midnight.utcoffset().total_seconds()), "s")
    minutes = np.arange(0, 24 * 60 + 1, _PATH_STEP_MIN)
    azimuth, elevation = sun_direction(utc=start + minutes.astype("timedelta64[m]"), **place)
    return tuple((float(a), float(e), float(m) / 60.0) for a, e, m in zip(azimuth, elevation, minutes, strict=True) if e > 0.0)


# ---- landmarks -----------------------------------------------------------------------------------------------


def _aside(bearing_deg: float, mark_deg: float) -> float:
    return (bearing_deg - mark_deg + 180.0) % 360.0 - 180.0


def _ends(work: SpotWork, spot: Spot, azimuth_deg: float, where: Ground) -> list[Landmark]:
    """Return the ends of buildings near a bearing that are seen from the spot: of those to the left and to the right the nearest each."""
    found: list[Landmark] = []
    for shape in where.others:
        corners = np.asarray(shape.exterior.coords)[:, :2]
        lat, lon = where.degrees(corners[:, 0], corners[:, 1])
        bearing, _, away = geod_inverse(
            lat1_deg=np.full(lat.size, spot.lat_deg), lon1_deg=np.full(lat.size, spot.lon_deg), lat2_deg=lat, lon2_deg=lon
        )
        turn = (np.asarray(bearing) - azimuth_deg + 180.0) % 360.0 - 180.0
        if np.ptp(turn) > 120.0 or float(np.min(away)) < limits.LANDMARK_FROM_M:
            continue
        for what, at in (("left end", int(np.argmin(turn))), ("right end", int(np.argmax(turn)))):
            if abs(turn[at]) > limits.LANDMARK_ASIDE_DEG:
                continue
            middle = shape.centroid
            inside = np.array([corners[at, 0] + (middle.x - corners[at, 0]) * 0.15]), np.array(
                [corners[at, 1] + (middle.y - corners[at, 1]) * 0.15]
            )
            ground, top, _, _ = heights_at(work.land.surface, **dict(zip(("lat_deg", "lon_deg"), where.degrees(*inside), strict=True)))
            steep = math.degrees(math.atan2(float(top[0]) - spot.centre_amsl_m, float(away[at])))
            if not (top[0] - ground[0] >= 2.0 and _seen(work, spot, float(bearing[at]) % 360.0, float(away[at]), steep)):
                continue
            mark = float(bearing[at]) % 360.0
            found.append(Landmark(what, "building", _aside(azimuth_deg, mark), mark, float(away[at]), float(top[0] - ground[0])))
    sides = ([one for one in found if one.aside_deg < 0.0], [one for one in found if one.aside_deg >= 0.0])
    return [min(side, key=lambda one: (abs(one.aside_deg), one.distance_m)) for side in sides if side]


def _seen(work: SpotWork, spot: Spot, bearing_deg: float, away_m: float, elevation_deg: float) -> bool:
    """Return whether nothing nearer stands higher than a corner of a building."""
    if away_m - 1.5 <= max(spot.own_support_m, 1.0):
        return True
    before = single_rays(
        work.view, eye_amsl_m=spot.centre_amsl_m, azimuth_deg=[bearing_deg], radius_m=away_m - 1.5, own_support_m=spot.own_support_m
    )
    high = float(before.elevation_deg[0])
    return not high > elevation_deg


def _tops(around: Skyline, azimuth_deg: float) -> list[Landmark]:
    """Return the most marked thing in the skyline near a bearing: a peak that rises over what stands to both sides of it."""
    count = around.azimuth_deg.size
    step = 360.0 / count
    reach = max(1, round(limits.PEAK_WIDTH_DEG / step))
    high = np.nan_to_num(around.elevation_deg, nan=-90.0)
    over = np.minimum(high - np.roll(high, reach), high - np.roll(high, -reach))
    local = high >= np.maximum(np.roll(high, 1), np.roll(high, -1))
    turn = (around.azimuth_deg - azimuth_deg + 180.0) % 360.0 - 180.0
    stands = ~np.isin(around.kind, (KIND_GROUND, KIND_UNKNOWN)) & (around.distance_m >= limits.LANDMARK_FROM_M)
    fits = np.flatnonzero(local & stands & (over >= limits.PEAK_OVER_DEG) & (np.abs(turn) <= limits.LANDMARK_ASIDE_DEG))
    if not fits.size:
        return []
    at = int(fits[np.argmin(np.abs(turn[fits]))])
    mark = float(around.azimuth_deg[at])
    return [Landmark("top", KIND_NAMES[int(around.kind[at])], _aside(azimuth_deg, mark), mark, float(around.distance_m[at]))]


def _walls(work: SpotWork, spot: Spot, azimuth_deg: float) -> list[Landmark]:
    """Return the bearing against straight out of the own wall that faces it best: no instrument is needed for that one."""
    if math.isfinite(spot.facade_deg):
        return [Landmark("wall", "building", _aside(azimuth_deg, spot.facade_deg), spot.facade_deg, 0.0)]
    if work.site.building is None:
        return []
    walls = [wall for wall in facades(work.site.building.polygon) if wall.length_m >= limits.SIGHTING_WALL_M]
    if not walls:
        return []
    best = min(walls, key=lambda wall: abs(_aside(azimuth_deg, wall.outward_deg)))
    aside = _aside(azimuth_deg, best.outward_deg)
    return [Landmark("wall", "building", aside, best.outward_deg, 0.0)] if abs(aside) <= limits.OFF_WALL_DEG else []
