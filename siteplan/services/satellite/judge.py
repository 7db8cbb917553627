"""The satellite rule: can a dish at this address see each wanted satellite, with which dish and mount height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from siteplan.records.emitters import Satellite, Sector
from siteplan.records.findings import SatelliteFinding, SatelliteView
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import LookAngles, Skyline
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.satellite.dish_work import dish_finding
from siteplan.services.satellite.mobile_into_dish import mobile_into_dish
from siteplan.services.satellite.other_spot import Elsewhere, look_elsewhere
from siteplan.services.satellite.right_satellite import tuned
from siteplan.services.satellite.spot_plan import spot_plan
from siteplan.services.satellite.spot_work import SpotWork
from siteplan.services.satellite.sun_work import sun_finding
from siteplan.services.satellite.view import view_of
from siteplan.services.shared.aiming import aim
from siteplan.services.shared.chance import sigmas_of, worst
from siteplan.services.shared.site import Land, Site, declination_at, dish_spot, raised
from siteplan.services.shared.trust import how_sure
from siteplan.sky.arc import arc_points, visible_stretches
from siteplan.sky.horizon import elevation_at, skyline
from siteplan.sky.refraction import horizon_lift_deg, refraction_deg

SERVICE = "satellite"


def judge(
    site: Site, land: Land, satellites: tuple[Satellite, ...], plan: Plan, *, pictures: bool = True, sectors: Sequence[Sector] = ()
) -> tuple[Verdict, SatelliteFinding]:
    """Return the verdict over all wanted satellites at one address, and what it rests on; sectors: for what they do to 3.4 to 4.2 GHz.

    Without satellites the verdict is not judged and the finding gives the stretches of the arc that the spot can see.
    """
    work, looks = spot_and_looks(site, land, satellites, plan)
    if not satellites:
        finding = _with_pictures(SatelliteFinding(spot=work.spot), work)
        return _arc_verdict(finding), finding
    found = where_it_stands(work, satellites, looks, always=pictures)
    work, spot = found.work, _spot_for(found.work.spot, found.views)
    here = {"lat_deg": spot.lat_deg, "lon_deg": spot.lon_deg, "height_m": spot.centre_amsl_m}
    views = tuned(found.views, plan, **here)
    finding = SatelliteFinding(spot=spot, views=views)
    if pictures:
        finding = _with_pictures(finding, work)
        spots = spot_plan(found.search, spot) if found.search is not None and found.verdict.state is not State.NOT_FEASIBLE else None
        sun = sun_finding(work, spot, views, finding.skyline)
        finding = replace(finding, spots=spots, sun=sun, dish=dish_finding(views, spot, plan))
    verdict = found.verdict
    return replace(verdict, reasons=(*verdict.reasons, *mobile_into_dish(views, sectors, spot, land, plan))), finding


def where_it_stands(work: SpotWork, satellites: tuple[Satellite, ...], looks: list[LookAngles], *, always: bool = False) -> Elsewhere:
    """Return the spot that counts in the end: the first one, or the one found where that can't be booked; with views and verdict."""
    views = tuple(view_of(work, satellite, look) for satellite, look in zip(satellites, looks, strict=True))
    return look_elsewhere(work, views, work.plan, _join, always=always)


def spot_and_looks(
    site: Site, land: Land, satellites: tuple[Satellite, ...], plan: Plan, kind: type[SpotWork] = SpotWork
) -> tuple[SpotWork, list[LookAngles]]:
    """Return the spot of the dish at one address, ready to be asked, and the look angles to each satellite."""
    looks = [_look(site, satellite.stands_at_deg, land) for satellite in satellites]
    facing = _mean_bearing([look.azimuth_deg for look in looks if look.elevation_deg >= plan.limits.smallest_elevation_deg])
    if math.isnan(facing):
        facing = 180.0 if site.address.lat_deg >= 0 else 0.0
    return kind(site, land, dish_spot(site, land, plan, facing), plan), looks


def _look(site: Site, orbit_deg: float, land: Land) -> LookAngles:
    address = site.address
    return aim(
        lat_deg=address.lat_deg,
        lon_deg=address.lon_deg,
        height_amsl_m=site.ground_amsl_m,
        orbit_deg=orbit_deg,
        declination=declination_at(address.lat_deg, address.lon_deg, land.on_date),
    )


def _mean_bearing(bearings_deg: list[float]) -> float:
    if not bearings_deg:
        return math.nan
    angles = np.radians(bearings_deg)
    return math.degrees(math.atan2(np.sin(angles).sum(), np.cos(angles).sum())) % 360.0


def _spot_for(spot: Spot, views: tuple[SatelliteView, ...]) -> Spot:
    """Return the spot at the mount height that all views that can be booked need."""
    needed = [view.mount_height_agl_m for view in views if math.isfinite(view.mount_height_agl_m)]
    return raised(spot, max(needed)) if needed and max(needed) > spot.height_agl_m else spot


def _join(views: tuple[SatelliteView, ...], work: SpotWork) -> Verdict:
    state = worst(view.state for view in views)
    deciding = [view for view in views if view.state is state]
    deciding.sort(key=lambda view: view.probability if math.isfinite(view.probability) else 1.0)
    others = [view for view in views if view.state is not state]
    reasons = tuple(reason for view in (*deciding, *others) for reason in view.reasons)
    first = deciding[0]
    ground_proof = reasons[0].code in ("sat_blocked_ground", "sat_never_rises", "sat_too_low")
    sigmas = math.nan if ground_proof else sigmas_of(first.probability)
    sure = how_sure(
        work.site, work.land.on_date, margin_sigmas=sigmas, ground_proof=ground_proof, assumed=reasons[0].code == "sat_signal_unknown"
    )
    chances = [view.probability for view in views]
    joint = math.nan if any(math.isnan(chance) for chance in chances) else min(chances)
    return Verdict(SERVICE, state, reasons, sure, joint, _ask(first, state))


def _ask(view: SatelliteView, state: State) -> Reason | None:
    """Return the question by phone that could settle a survey-first, where there is one."""
    if state is not State.SURVEY_FIRST or view.clearance is None:
        return None
    code = view.reasons[0].code
    if code in ("sat_ground_easily", "sat_ground_narrowly", "sat_trees_unknown", "sat_surface_ends"):
        # a fist at arm's length spans about 10 degrees (common practice, no source)
        return Reason("ask_trees", {"bearing_deg": view.look.azimuth_deg, "hands": max(1.0, math.floor(view.look.elevation_deg / 10.0))})
    if code in ("sat_in_the_way", "sat_partly", "sat_growth") and view.clearance.kind != "ground":
        seen = view.clearance
        values = {"kind": seen.kind, "distance_m": seen.distance_m, "bearing_deg": seen.bearing_deg, "obstacle_agl_m": seen.obstacle_agl_m}
        return Reason("ask_obstacle", values)
    return None


def _with_pictures(finding: SatelliteFinding, work: SpotWork) -> SatelliteFinding:
    spot = finding.spot or work.spot
    around = skyline(work.view, eye_amsl_m=spot.centre_amsl_m, own_support_m=spot.own_support_m)
    orbit, azimuth, elevation = arc_points(lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, height_ell_m=spot.centre_amsl_m, step_deg=0.5)
    # ray and horizon bend alike: both are compared as they appear
    horizon = elevation_at(around, azimuth) + horizon_lift_deg(distance_m=_nearest(around, azimuth), height_amsl_m=spot.centre_amsl_m)
    seen_at = elevation + refraction_deg(elevation_deg=elevation, height_amsl_m=spot.centre_amsl_m)
    seen = (elevation >= work.plan.limits.smallest_elevation_deg) & (seen_at > horizon)
    if math.isfinite(spot.facade_deg):
        seen &= np.abs((azimuth - spot.facade_deg + 180.0) % 360.0 - 180.0) <= work.plan.mount.wall_view_deg
    stretches = tuple((float(a), float(b)) for a, b in visible_stretches(orbit, seen))
    arc = tuple((float(o), float(a), float(e)) for o, a, e in zip(orbit, azimuth, elevation, strict=True))
    return replace(finding, skyline=around, visible_arc=stretches, arc=arc)


def _nearest(around: Skyline, azimuth_deg: np.ndarray) -> np.ndarray:
    """Return the distance of the skyline's highest point in the sector nearest to each bearing; 0 where nothing is known."""
    step = 360.0 / len(around.azimuth_deg)
    index = np.round((azimuth_deg - around.azimuth_deg[0]) / step).astype(int) % len(around.azimuth_deg)
    return np.nan_to_num(around.distance_m[index])


def _arc_verdict(finding: SatelliteFinding) -> Verdict:
    if not finding.visible_arc:
        return Verdict(SERVICE, State.NOT_JUDGED, (Reason("arc_none"),))
    widest = max(finding.visible_arc, key=lambda stretch: (stretch[1] - stretch[0]) % 360.0)
    return Verdict(SERVICE, State.NOT_JUDGED, (Reason("arc_only", {"from_deg": widest[0], "to_deg": widest[1]}),))
