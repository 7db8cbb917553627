"""The satellite rule: can a dish at this address see each wanted satellite, with which dish and mount height."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from siteplan.geodesy.projection import geod_forward
from siteplan.records.emitters import Satellite
from siteplan.records.findings import LinkLine, SatelliteFinding, SatelliteView
from siteplan.records.ground import KIND_NAMES, KIND_OBJECT, Layer
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import Clearance, LookAngles, Skyline
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.records.view import Clearances, LocalView
from siteplan.services.satellite import limits
from siteplan.services.satellite.links import link_lines, smallest_dish
from siteplan.services.shared.aiming import aim
from siteplan.services.shared.chance import normal_cdf, sigmas_of, state_from_chance, worst
from siteplan.services.shared.site import Land, Scatter, Site, declination_at, dish_spot, highest_centre_agl_m, raised, scatter, spot_view
from siteplan.services.shared.trust import how_sure
from siteplan.sky.arc import arc_points, visible_stretches
from siteplan.sky.clearance import clearances, ray_clearance
from siteplan.sky.horizon import elevation_at, skyline
from siteplan.sky.refraction import horizon_lift_deg, refraction_deg
from siteplan.terrain.surface import heights_at

SERVICE = "satellite"


def judge(
    site: Site, land: Land, satellites: tuple[Satellite, ...], plan: Plan, *, pictures: bool = True
) -> tuple[Verdict, SatelliteFinding]:
    """Return the verdict over all wanted satellites at one address, and what it rests on.

    Without satellites the verdict is not judged and the finding gives the stretches of the arc that the spot can see.
    """
    looks = [_look(site, satellite.orbit_deg, land) for satellite in satellites]
    facing = _mean_bearing([look.azimuth_deg for look in looks if look.elevation_deg >= plan.limits.smallest_elevation_deg])
    if math.isnan(facing):
        facing = 180.0 if site.address.lat_deg >= 0 else 0.0
    spot = dish_spot(site, land, plan, facing)
    work = _Work(site, land, spot, plan)
    views = tuple(work.view_of(satellite, look) for satellite, look in zip(satellites, looks, strict=True))
    finding = SatelliteFinding(spot=_spot_for(spot, views), views=views)
    if pictures or not satellites:
        finding = _with_pictures(finding, work)
    if not satellites:
        return _arc_verdict(finding), finding
    return _join(views, work), finding


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


@dataclass(frozen=True)
class _Chance:
    """At one height: chance that the whole needed clearance is there, and that the centre ray at least passes."""

    clear: float
    centre: float
    height_agl_m: float


class _Work:
    """One spot and the questions put to it; each is asked once."""

    def __init__(self, site: Site, land: Land, spot: Spot, plan: Plan) -> None:
        self.site, self.land, self.spot, self.plan = site, land, spot, plan
        self.highest_m = highest_centre_agl_m(spot, plan.mount)

    @cached_property
    def view(self) -> LocalView:
        return spot_view(self.spot, self.land)

    @cached_property
    def places(self) -> Scatter:
        return scatter(self.site, self.spot, self.land)

    def growth_m(self, layer: Layer | None, years_ahead: float) -> float:
        """Return how much growth has risen since the surface was flown, and will until years_ahead from the plan's date."""
        flown = layer.flown_on if layer is not None else None
        age = max(0.0, (self.land.on_date - flown).days / 365.25) if flown is not None else 0.0
        return self.plan.limits.growth_m_per_year * (age + years_ahead)

    def rays(self, look: LookAngles, height_agl_m: float, dish_m: float, frequency_mhz: float, **how: object) -> Clearances:
        """Return clearances of the look's ray from every place of the scatter at one mount height."""
        places = self.places
        eyes = np.column_stack([places.east_m, places.north_m, places.base_amsl_m + height_agl_m])
        return clearances(
            self.view,
            eyes=eyes,
            look_azimuth_deg=look.azimuth_deg,
            look_elevation_deg=look.elevation_deg,
            dish_m=dish_m,
            frequency_mhz=frequency_mhz,
            own_support_m=self.spot.own_support_m,
            **how,
        )

    def error_m(self, look: LookAngles, distance_m: float) -> float:
        """Return the height error, 1 sigma, of the layer that answers where the ray is tightest, with the mount's own."""
        layer = self.site.layer
        if math.isfinite(distance_m) and distance_m > 1.0:
            lat, lon = geod_forward(
                lat_deg=self.spot.lat_deg, lon_deg=self.spot.lon_deg, azimuth_deg=look.azimuth_deg, distance_m=distance_m
            )
            index = int(heights_at(self.land.surface, lat_deg=np.array([lat]), lon_deg=np.array([lon]))[3][0])
            layer = self.land.surface.layers[index] if index >= 0 else layer
        return math.hypot(layer.height_error_m if layer is not None else 10.0, limits.MOUNT_ERROR_M)

    def chance(self, look: LookAngles, height_agl_m: float, dish_m: float, frequency_mhz: float, error_m: float, **how: object) -> _Chance:
        """Return the chances at one mount height, all places of the spot equally likely."""
        rays = self.rays(look, height_agl_m, dish_m, frequency_mhz, **how)
        clear = normal_cdf(_spare_m(look, rays.spare_deg, rays.distance_m) / error_m)
        centre = normal_cdf(_spare_m(look, rays.centre_spare_deg, rays.distance_m) / error_m)
        return _Chance(_mean(clear), _mean(centre), height_agl_m)

    def view_of(self, satellite: Satellite, look: LookAngles) -> SatelliteView:
        """Return one satellite's view from this spot."""
        plan = self.plan
        if look.elevation_deg <= 0.0:
            return _plain_view(satellite, look, State.NOT_FEASIBLE, Reason("sat_never_rises", {"satellite": satellite.name}))
        if look.elevation_deg < plan.limits.smallest_elevation_deg:
            values = {"satellite": satellite.name, "elevation_deg": look.elevation_deg, "limit_deg": plan.limits.smallest_elevation_deg}
            return _plain_view(satellite, look, State.NOT_FEASIBLE, Reason("sat_too_low", values))
        if math.isfinite(self.spot.facade_deg):
            aside = abs((look.azimuth_deg - self.spot.facade_deg + 180.0) % 360.0 - 180.0)
            if aside > plan.mount.wall_view_deg:
                return _plain_view(satellite, look, State.SURVEY_FIRST, Reason("sat_wall_faces_away", {"satellite": satellite.name}))
        dish_m = smallest_dish(satellite, look, plan)
        tried_m = dish_m if math.isfinite(dish_m) else min(plan.kit.dishes_m)
        frequency = min((t.frequency_mhz for t in satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
        return _View(self, satellite, look, dish_m, tried_m, frequency).result()


def _spare_m(look: LookAngles, spare_deg: np.ndarray, distance_m: np.ndarray) -> np.ndarray:
    """Return spare elevation as metres of height where the ray is tightest: what a height error is held against."""
    steep = np.radians(look.elevation_deg)
    return distance_m * (np.tan(steep) - np.tan(steep - np.radians(spare_deg)))


def _mean(chances: np.ndarray) -> float:
    known = chances[np.isfinite(chances)]
    return float(known.mean()) if known.size else math.nan


def _plain_view(satellite: Satellite, look: LookAngles, state: State, reason: Reason) -> SatelliteView:
    chance = 0.0 if state is State.NOT_FEASIBLE else math.nan
    return SatelliteView(satellite, look, None, state, (reason,), chance, math.nan, math.nan)


class _View:
    """One satellite seen from one spot: ground first (proof), then what stands on it, then the link."""

    def __init__(self, work: _Work, satellite: Satellite, look: LookAngles, dish_m: float, tried_m: float, frequency_mhz: float) -> None:
        self.work, self.satellite, self.look = work, satellite, look
        self.dish_m, self.tried_m, self.frequency_mhz = dish_m, tried_m, frequency_mhz
        self.smallest_m = min(work.plan.kit.dishes_m)

    def result(self) -> SatelliteView:
        """Return the view with its state, deciding reason first."""
        work, look = self.work, self.look
        default_m, highest_m = work.spot.height_agl_m, work.highest_m
        ground = self._one(highest_m, self.smallest_m, ground_only=True)
        ground_error = work.error_m(look, ground.distance_m)
        ground_chance = work.chance(look, highest_m, self.smallest_m, self.frequency_mhz, ground_error, ground_only=True)
        if ground_chance.centre <= work.plan.limits.not_feasible_probability:
            return self._blocked(ground, ground_chance.centre, "sat_blocked_ground")
        if math.isnan(ground_chance.clear):
            return self._view(State.SURVEY_FIRST, (self._say("sat_data_end", known_to_m=ground.known_to_m),), math.nan, ground)
        known_to_m, trees, anything = self._surface_reach()
        if not anything:
            return self._ground_only(default_m)
        now = self._one(default_m, self.tried_m)
        error = work.error_m(look, now.distance_m)
        today = work.growth_m(work.site.layer, 0.0)
        later = work.growth_m(work.site.layer, work.plan.limits.growth_years)
        highest = self._one(highest_m, self.smallest_m)
        possible = work.chance(look, highest_m, self.smallest_m, self.frequency_mhz, work.error_m(look, highest.distance_m))
        if possible.centre <= work.plan.limits.not_feasible_probability:
            return self._blocked(highest, possible.centre, "sat_blocked")
        at_default = self._chance(default_m, error, later)
        mount, chance = self._mount(default_m, highest_m, error, later, at_default)
        state = state_from_chance(chance.clear, possible.centre, work.plan.limits)
        reasons = self._reasons(state, mount, chance, now, self._chance(highest_m, error, today))
        if state is State.BOOK and (not trees or math.isfinite(known_to_m)):
            state = State.SURVEY_FIRST
            code = "sat_trees_unknown" if not trees else "sat_surface_ends"
            reasons = (self._say(code, spare_deg=now.spare_deg, known_to_m=known_to_m),)
        elif state is State.BOOK:
            state, reasons = self._link(state, reasons)
        return self._view(state, reasons, chance.clear, now, mount if state is State.BOOK or chance.clear >= 0.5 else math.nan)

    # ---- steps ------------------------------------------------------------------------------------------------

    def _one(self, height_agl_m: float, dish_m: float, **how: object) -> Clearance:
        work, look = self.work, self.look
        return ray_clearance(
            work.view,
            eye_amsl_m=work.spot.ground_amsl_m + height_agl_m,
            look_azimuth_deg=look.azimuth_deg,
            look_elevation_deg=look.elevation_deg,
            dish_m=dish_m,
            frequency_mhz=self.frequency_mhz,
            own_support_m=work.spot.own_support_m,
            **how,
        )

    def _chance(self, height_agl_m: float, error_m: float, growth_m: float) -> _Chance:
        return self.work.chance(self.look, height_agl_m, self.tried_m, self.frequency_mhz, error_m, growth_m=growth_m)

    def _mount(self, low_m: float, high_m: float, error_m: float, growth_m: float, at_low: _Chance) -> tuple[float, _Chance]:
        """Return the lowest mount height that can be booked (a higher mount never sees less), else the default one."""
        wanted = self.work.plan.limits.book_probability
        if at_low.clear >= wanted or high_m <= low_m:
            return low_m, at_low
        best = self._chance(high_m, error_m, growth_m)
        if best.clear < wanted:
            return (high_m, best) if best.clear > at_low.clear + 0.05 else (low_m, at_low)
        steps = max(1, math.ceil((high_m - low_m) / limits.MOUNT_STEP_M - 1e-9))
        below, above, found = 0, steps, best
        while above - below > 1:
            middle = (below + above) // 2
            tried = self._chance(min(high_m, low_m + middle * limits.MOUNT_STEP_M), error_m, growth_m)
            if tried.clear >= wanted:
                above, found = middle, tried
            else:
                below = middle
        return found.height_agl_m, found

    def _surface_reach(self) -> tuple[float, bool, bool]:
        """Return how far what stands on the ground is known along the ray, whether trees are known there, and whether anything is.

        The first is NaN where it is known as far as it matters: until the ray is TALLEST_THING_M above the ground.
        """
        work, look = self.work, self.look
        if work.site.layer is None or not self._layer_knows(work.site.layer):
            return 0.0, False, False
        rise = math.tan(math.radians(look.elevation_deg))
        reach = max(10.0, limits.TALLEST_THING_M / rise)
        away = np.linspace(reach / 60.0, reach * 3.0, 180)
        lat, lon = geod_forward(
            lat_deg=np.full(180, work.spot.lat_deg),
            lon_deg=np.full(180, work.spot.lon_deg),
            azimuth_deg=np.full(180, look.azimuth_deg),
            distance_m=away,
        )
        ground, _, _, index = heights_at(work.land.surface, lat_deg=lat, lon_deg=lon)
        matters = work.spot.centre_amsl_m + away * rise - ground < limits.TALLEST_THING_M
        layers = work.land.surface.layers
        knows = np.array([k >= 0 and self._layer_knows(layers[k]) for k in index.tolist()])
        trees = np.array([k >= 0 and layers[k].knows_trees for k in index.tolist()])
        ends = np.flatnonzero(matters & ~knows)
        return (float(away[ends[0]]) if ends.size else math.nan), bool(trees[matters & knows].all()), True

    @staticmethod
    def _layer_knows(layer: Layer) -> bool:
        return layer.surface is not None and layer.knows_buildings

    # ---- endings ----------------------------------------------------------------------------------------------

    def _say(self, code: str, **values: object) -> Reason:
        return Reason(code, {"satellite": self.satellite.name, **values})

    def _what(self, seen: Clearance) -> dict[str, object]:
        own_roof = self.work.spot.kind in ("roof", "chimney") and seen.kind == "building" and seen.distance_m < limits.OWN_ROOF_M
        return {
            "kind": "own roof" if own_roof else seen.kind,
            "distance_m": seen.distance_m,
            "bearing_deg": seen.bearing_deg,
            "obstacle_agl_m": seen.obstacle_agl_m,
            "above_deg": -seen.centre_spare_deg,
            "clearance_m": max(0.0, seen.clearance_m),
            "needed_m": seen.needed_m,
            "height_agl_m": self.work.spot.height_agl_m,
            "highest_agl_m": self.work.highest_m,
        }

    def _blocked(self, seen: Clearance, chance: float, code: str) -> SatelliteView:
        return self._view(State.NOT_FEASIBLE, (self._say(code, **self._what(seen)),), chance, seen)

    def _ground_only(self, default_m: float) -> SatelliteView:
        """Nothing is known of trees and buildings: ground that clears is survey first, ranked by how easily."""
        seen = self._one(default_m, self.tried_m, ground_only=True)
        chance = self.work.chance(
            self.look, default_m, self.tried_m, self.frequency_mhz, self.work.error_m(self.look, seen.distance_m), ground_only=True
        )
        easily = seen.spare_deg >= limits.GROUND_EASILY_DEG
        code = "sat_ground_easily" if easily else "sat_ground_narrowly" if seen.spare_deg >= 0 else "sat_in_the_way"
        reason = self._say(code, **{**self._what(seen), "spare_deg": seen.spare_deg, "probability": chance.clear})
        return self._view(State.SURVEY_FIRST, (reason,), chance.clear, seen)

    def _reasons(self, state: State, mount_m: float, chance: _Chance, now: Clearance, today: _Chance) -> tuple[Reason, ...]:
        work, default_m = self.work, self.work.spot.height_agl_m
        what = {**self._what(now), "probability": chance.clear, "height_agl_m": mount_m}
        if state is State.BOOK and mount_m > default_m + 0.01:
            if now.state == "clear":
                return (
                    self._say(
                        "sat_raise_to_be_sure",
                        **{**self._from_elsewhere(default_m), "height_agl_m": mount_m, "raise_m": mount_m - default_m},
                    ),
                )
            return (self._say("sat_clear_raised", **{**what, "raise_m": mount_m - default_m}),)
        if state is State.BOOK:
            return (self._say("sat_clear", spare_deg=now.spare_deg, height_agl_m=mount_m),)
        if now.kind in ("growth", KIND_NAMES[KIND_OBJECT]) and now.state == "clear" and today.clear >= work.plan.limits.book_probability:
            return (self._say("sat_growth", **{**what, "years": work.plan.limits.growth_years}),)
        if now.state == "clear":
            return (self._say("sat_depends_on_spot", **{**self._from_elsewhere(mount_m), "share": 1.0 - chance.clear}),)
        return (self._say("sat_partly" if now.state == "partly" else "sat_in_the_way", **what),)

    def _from_elsewhere(self, height_agl_m: float) -> dict[str, object]:
        """Return what stands in the way where the spot's own ray is clear: of the likely places, the one that sees least."""
        rays = self.work.rays(self.look, height_agl_m, self.tried_m, self.frequency_mhz)
        spare = np.where(np.isfinite(rays.spare_deg), rays.spare_deg, np.inf)
        seen = rays.one(int(np.argmin(spare)))
        return self._what(seen)

    def _link(self, state: State, reasons: tuple[Reason, ...]) -> tuple[State, tuple[Reason, ...]]:
        """Hold a clear view against the signal: never booked on an assumed one alone."""
        transponders = self.satellite.transponders
        if not transponders:
            return State.SURVEY_FIRST, (self._say("sat_no_transponder"), *reasons)
        if any(not math.isfinite(t.eirp_dbw) or t.eirp_source == "assumed" for t in transponders):
            return State.SURVEY_FIRST, (self._say("sat_signal_unknown"), *reasons)
        if not math.isfinite(self.dish_m):
            largest = max(self.work.plan.kit.dishes_m)
            weakest = min(line.margin_db for line in link_lines(self.satellite, self.look, largest, self.work.plan))
            lacking = self.work.plan.limits.clear_sky_margin_db - weakest
            state = State.NOT_FEASIBLE if weakest < 0 else State.SURVEY_FIRST
            return state, (self._say("sat_signal_weak", dish_m=largest, lacking_db=lacking), *reasons)
        return state, reasons

    def _view(
        self, state: State, reasons: tuple[Reason, ...], probability: float, seen: Clearance, mount_m: float = math.nan
    ) -> SatelliteView:
        links: tuple[LinkLine, ...] = link_lines(self.satellite, self.look, self.tried_m, self.work.plan, loss_db=seen.loss_db)
        return SatelliteView(self.satellite, self.look, seen, state, reasons, probability, self.dish_m, mount_m, links)


def _spot_for(spot: Spot, views: tuple[SatelliteView, ...]) -> Spot:
    """Return the spot at the mount height that all views that can be booked need."""
    needed = [view.mount_height_agl_m for view in views if math.isfinite(view.mount_height_agl_m)]
    return raised(spot, max(needed)) if needed and max(needed) > spot.height_agl_m else spot


def _join(views: tuple[SatelliteView, ...], work: _Work) -> Verdict:
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


def _with_pictures(finding: SatelliteFinding, work: _Work) -> SatelliteFinding:
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
