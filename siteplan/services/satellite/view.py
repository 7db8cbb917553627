"""One satellite seen from one spot: ground first (proof), then what stands on it, then the link."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from siteplan.geodesy.projection import geod_forward
from siteplan.records.emitters import Satellite
from siteplan.records.findings import LinkLine, SatelliteView
from siteplan.records.ground import KIND_NAMES, KIND_OBJECT, Layer
from siteplan.records.places import Spot
from siteplan.records.results import Clearance, LookAngles
from siteplan.records.verdict import Reason, State
from siteplan.services.satellite import limits
from siteplan.services.satellite.links import SatelliteLinks
from siteplan.services.satellite.spot_work import Chance, SpotWork
from siteplan.services.satellite.wander import wandering
from siteplan.services.shared.chance import normal_cdf, state_from_chance
from siteplan.sky.clearance import ray_clearance
from siteplan.terrain.surface import heights_at


def view_of(work: SpotWork, satellite: Satellite, look: LookAngles) -> SatelliteView:
    """Return one satellite's view from this spot."""
    spot = work.spot
    view = _view_of(work, satellite, look)
    return wandering(view, work.plan, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, height_m=spot.centre_amsl_m)


def _view_of(work: SpotWork, satellite: Satellite, look: LookAngles) -> SatelliteView:
    plan = work.plan
    if look.elevation_deg <= 0.0:
        return _plain_view(satellite, look, State.NOT_FEASIBLE, Reason("sat_never_rises", {"satellite": satellite.name}))
    if look.elevation_deg < plan.limits.smallest_elevation_deg:
        values = {"satellite": satellite.name, "elevation_deg": look.elevation_deg, "limit_deg": plan.limits.smallest_elevation_deg}
        return _plain_view(satellite, look, State.NOT_FEASIBLE, Reason("sat_too_low", values))
    if math.isfinite(work.spot.facade_deg):
        aside = abs((look.azimuth_deg - work.spot.facade_deg + 180.0) % 360.0 - 180.0)
        if aside > plan.mount.wall_view_deg:
            return _plain_view(satellite, look, State.SURVEY_FIRST, Reason("sat_wall_faces_away", {"satellite": satellite.name}))
    address = work.site.address
    links = SatelliteLinks(satellite, (address.lat_deg, address.lon_deg, work.site.ground_amsl_m), plan)
    frequency = min((t.frequency_mhz for t in satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
    return _where_it_was_wanted(_View(work, satellite, look, links, frequency).result(), work.spot)


def _plain_view(satellite: Satellite, look: LookAngles, state: State, reason: Reason) -> SatelliteView:
    chance = 0.0 if state is State.NOT_FEASIBLE else math.nan
    return SatelliteView(satellite, look, None, state, (reason,), chance, math.nan, math.nan)


def _in_the_way(seen: Clearance) -> str:
    return "sat_partly" if seen.state == "partly" else "sat_ground_in_the_way" if seen.kind == "ground" else "sat_in_the_way"


def _where_it_was_wanted(view: SatelliteView, spot: Spot) -> SatelliteView:
    """Return the view, but nothing proved of the ground where a roof or wall is wanted that nobody knows of."""
    missing = tuple(note for note in spot.notes if note.code == "spot_no_building")
    if not missing or not (view.state is State.BOOK or view.reasons[0].code in ("sat_blocked", "sat_blocked_ground")):
        return view
    return replace(view, state=State.SURVEY_FIRST, reasons=(*missing, *view.reasons), mount_height_agl_m=math.nan)


class _View:
    """One satellite seen from one spot: ground first (proof), then what stands on it, then the link."""

    def __init__(self, work: SpotWork, satellite: Satellite, look: LookAngles, links: SatelliteLinks, frequency_mhz: float) -> None:
        self.work, self.satellite, self.look = work, satellite, look
        self.links, self.frequency_mhz = links, frequency_mhz
        self.smallest_m = min(work.plan.kit.dishes_m)
        self.dish_m = links.smallest_dish()
        self.tried_m = self.dish_m if math.isfinite(self.dish_m) else self.smallest_m

    def result(self) -> SatelliteView:
        """Return the view with its state, deciding reason first."""
        work, look = self.work, self.look
        default_m, highest_m = work.spot.height_agl_m, work.highest_m
        ground = self._one(highest_m, self.smallest_m, ground_only=True)
        ground_error = work.error_m(look, ground.distance_m, ground_only=True)
        ground_chance = work.chance(look, highest_m, self.smallest_m, self.frequency_mhz, ground_error, ground_only=True)
        if ground_chance.possible <= work.plan.limits.not_feasible_probability:
            return self._blocked(ground, ground_chance.centre, "sat_blocked_ground")
        if math.isnan(ground_chance.clear):
            return self._view(State.SURVEY_FIRST, (self._say("sat_data_end", known_to_m=ground.known_to_m),), math.nan, ground)
        known_to_m, trees, anything = self._surface_reach()
        if not anything:
            return self._blocked_by_coarse() or self._ground_only(default_m)
        now = self._one(default_m, self.tried_m)
        error = work.error_m(look, now.distance_m)
        later = work.growth_m(work.site.layer, work.plan.limits.growth_years)
        at_default = self._chance(default_m, error, later)
        possible = at_default.clear
        if not possible >= work.plan.limits.book_probability:  # else the highest mount and smallest dish can't be ruled out either
            highest = self._one(highest_m, self.smallest_m)
            best = work.chance(look, highest_m, self.smallest_m, self.frequency_mhz, work.error_m(look, highest.distance_m))
            possible = best.possible
            if possible <= work.plan.limits.not_feasible_probability:
                return self._blocked(highest, best.centre, "sat_blocked")
        mount, chance = self._mount(default_m, highest_m, error, later, at_default)
        state = state_from_chance(chance.clear, possible, work.plan.limits)
        reasons = self._reasons(state, mount, chance, now, error)
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
            **{"own_support_m": work.spot.own_support_m, **how},
        )

    def _blocked_by_coarse(self) -> SatelliteView | None:
        """Return not feasible where a surface that doesn't know all trees and buildings blocks nevertheless; None where it doesn't.

        What stands within limits.SMEARED_CELLS cells is left out: a coarse cell spreads a house over the garden beside it.
        """
        work, layer = self.work, self.work.site.layer
        if layer is None or layer.surface is None or layer.surface.cell_m > limits.COARSEST_PROOF_M:
            return None
        far = {"own_support_m": max(work.spot.own_support_m, limits.SMEARED_CELLS * layer.surface.cell_m)}
        seen = self._one(work.highest_m, self.smallest_m, **far)
        error = work.error_m(self.look, seen.distance_m)
        chance = work.chance(self.look, work.highest_m, self.smallest_m, self.frequency_mhz, error, coarse=True, **far)
        blocks = chance.possible <= work.plan.limits.not_feasible_probability
        return self._blocked(seen, chance.centre, "sat_blocked") if blocks else None

    def _chance(self, height_agl_m: float, error_m: float, growth_m: float) -> Chance:
        return self.work.chance(self.look, height_agl_m, self.tried_m, self.frequency_mhz, error_m, growth_m=growth_m)

    def _mount(self, low_m: float, high_m: float, error_m: float, growth_m: float, at_low: Chance) -> tuple[float, Chance]:
        """Return the lowest mount height that can be booked (a higher mount never sees less), else the default one."""
        wanted = self.work.plan.limits.book_probability
        if at_low.clear >= wanted or high_m <= low_m:
            return low_m, at_low
        best = self._chance(high_m, error_m, growth_m)
        if best.clear < wanted:
            return (high_m, best) if best.clear > at_low.clear + 0.05 else (low_m, at_low)
        # where not even the highest mount has the odds wanted of a raised one, the least height with nearly the highest's odds is taken
        enough = min(max(wanted, limits.RAISED_PROBABILITY), max(wanted, best.clear - 0.001))
        steps = max(1, math.ceil((high_m - low_m) / limits.MOUNT_STEP_M - 1e-9))
        below, above, found = 0, steps, best
        while above - below > 1:
            middle = (below + above) // 2
            tried = self._chance(min(high_m, low_m + middle * limits.MOUNT_STEP_M), error_m, growth_m)
            if tried.clear >= enough:
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
            self.look, default_m, self.tried_m, self.frequency_mhz,
            self.work.error_m(self.look, seen.distance_m, ground_only=True), ground_only=True,
        )
        easily = seen.spare_deg >= limits.GROUND_EASILY_DEG
        code = "sat_ground_easily" if easily else "sat_ground_narrowly" if seen.spare_deg >= 0 else _in_the_way(seen)
        reason = self._say(code, **{**self._what(seen), "spare_deg": seen.spare_deg, "probability": chance.clear})
        return self._view(State.SURVEY_FIRST, (reason,), chance.clear, seen)

    def _reasons(self, state: State, mount_m: float, chance: Chance, now: Clearance, error_m: float) -> tuple[Reason, ...]:
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
        if now.kind in ("growth", KIND_NAMES[KIND_OBJECT]) and now.state == "clear" and self._clear_today(error_m):
            return (self._say("sat_growth", **{**what, "years": work.plan.limits.growth_years}),)
        if now.state == "clear":
            return (self._say("sat_depends_on_spot", **{**self._from_elsewhere(mount_m), "share": 1.0 - chance.clear}),)
        if now.distance_m < limits.OVERHEAD_M and now.kind != "ground":
            return (self._say("sat_inside", **what),)
        return (self._say(_in_the_way(now), **what),)

    def _clear_today(self, error_m: float) -> bool:
        """Return whether the highest mount could be booked were it not for the growth to come."""
        today = self.work.growth_m(self.work.site.layer, 0.0)
        return self._chance(self.work.highest_m, error_m, today).clear >= self.work.plan.limits.book_probability

    def _from_elsewhere(self, height_agl_m: float) -> dict[str, object]:
        """Return what stands in the way where the spot's own ray is clear: of the likely places, the one that sees least."""
        rays = self.work.rays(self.look, height_agl_m, self.tried_m, self.frequency_mhz)
        spare = np.where(np.isfinite(rays.spare_deg), rays.spare_deg, np.inf)
        seen = rays.one(int(np.argmin(spare)))
        return self._what(seen)

    def _link(self, state: State, reasons: tuple[Reason, ...]) -> tuple[State, tuple[Reason, ...]]:
        """Hold a clear view against the signal: never booked on an assumed one alone."""
        links, wanted_db = self.links, self.work.plan.limits.clear_sky_margin_db
        if not self.satellite.transponders:
            return State.SURVEY_FIRST, (self._say("sat_no_transponder"), *reasons)
        if links.outside():
            return State.SURVEY_FIRST, (self._say("sat_outside_footprint"), *reasons)
        best = links.best()
        if not links.known or best is None:
            return State.SURVEY_FIRST, (self._say("sat_signal_unknown"), *reasons)
        if math.isfinite(self.dish_m):
            assumed = links.assumed()
            some = (self._say("sat_some_assumed", count=assumed, all=len(self.satellite.transponders)),) if assumed else ()
            return state, (*reasons, *some)
        if best.margin_db < wanted_db:
            # proof that no dish of the kit will do: the threshold itself is out of reach of the error of the link
            hopeless = normal_cdf(best.margin_db / limits.LINK_ERROR_DB) <= self.work.plan.limits.not_feasible_probability
            state = State.NOT_FEASIBLE if hopeless else State.SURVEY_FIRST
            return state, (self._say("sat_signal_weak", dish_m=best.dish_m, lacking_db=wanted_db - best.margin_db), *reasons)
        if math.isnan(best.weather_margin_db):
            return State.SURVEY_FIRST, (self._say("sat_weather_unknown"), *reasons)
        line = next(line for line in links.lines(best.dish_m) if line.transponder.name == best.weakest)
        values = {"dish_m": best.dish_m, "hours_per_year": line.hours_per_year, "wanted_pct": line.wanted_pct, "transponder": best.weakest}
        return State.SURVEY_FIRST, (self._say("sat_rain_weak", **values), *reasons)

    def _view(
        self, state: State, reasons: tuple[Reason, ...], probability: float, seen: Clearance, mount_m: float = math.nan
    ) -> SatelliteView:
        links: tuple[LinkLine, ...] = self.links.lines(self.tried_m, loss_db=seen.loss_db)
        # a signal nobody states has a margin of NaN and stays partly
        if seen.state == "partly" and seen.loss_db > 0.0 and any(line.margin_db < 0.0 for line in links):
            seen = replace(seen, state="blocked")
        dishes = self.links.dishes()
        return SatelliteView(self.satellite, self.look, seen, state, reasons, probability, self.dish_m, mount_m, links, dishes=dishes)
