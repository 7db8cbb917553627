"""The search for the spot: of all places and mount heights allowed at an address, from which each wanted satellite is clear."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

import numpy as np

from siteplan.records.emitters import Satellite
from siteplan.records.findings import SatelliteView
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.services.satellite import limits
from siteplan.services.satellite.cable import cable_m, entry_point
from siteplan.services.satellite.spot_places import Ground, Places, ground_of, kinds_allowed, places_of
from siteplan.services.satellite.spot_work import SpotWork
from siteplan.services.shared.site import Scatter, scatter_found
from siteplan.sky.clearance import OWN_CELLS, ray_clearance
from siteplan.sky.shadow import Block, Needed, block_of, needed_heights


def placement_m(kind: str, plan: Plan) -> float:
    """Return how far from a spot that was found a dish may come to stand, 1 sigma: on open ground it is paced out."""
    placed_m = plan.mount.placement_error_m
    return max(placed_m, limits.PACED_ERROR_M) if kind == "ground" else placed_m


class FoundSpotWork(SpotWork):
    """One spot that was found on the map: it is placed by that, whatever the error of the address's own point."""

    @cached_property
    def places(self) -> Scatter:
        """Return the places round the spot itself: on the ground nothing but a distance and a bearing says where it is."""
        return scatter_found(self.site, self.spot, self.land, placement_m(self.spot.kind, self.plan))

    @property
    def coarse_places(self) -> Scatter:
        """Return the same: coarse land proves nothing for a spot that was looked for in it."""
        return self.places


@dataclass(frozen=True, eq=False)
class Ray:
    """What is asked of one wanted satellite that rises here: with which dish, at which frequency."""

    satellite: Satellite
    azimuth_deg: float
    elevation_deg: float
    dish_m: float
    frequency_mhz: float


@dataclass(frozen=True, eq=False)
class Tried:
    """All places of one kind, and what they need: the dish's centre, amsl, for the whole tube and for the centre ray, (n, rays).

    margin      (n,) sigmas by which the worst satellite is clear from the worst place around, at the height advised (-inf none)
    height_amsl (n,) the height advised there: the default one, raised where that gives the odds wanted
    """

    places: Places
    tube_amsl_m: np.ndarray
    centre_amsl_m: np.ndarray
    margin: np.ndarray
    height_amsl_m: np.ndarray
    score: np.ndarray

    @property
    def clear(self) -> np.ndarray:
        """Return (n, rays) whether a place sees a satellite at its greatest height, errors not counted."""
        return self.tube_amsl_m <= self.places.highest_amsl_m[:, None]


class SpotSearch:
    """The search at one address; asked once, answers many questions."""

    def __init__(self, work: SpotWork, views: tuple[SatelliteView, ...], plan: Plan) -> None:
        self.work, self.plan = work, plan
        self.where: Ground = ground_of(work.site, work.land, plan.mount)
        least = plan.limits.smallest_elevation_deg
        self.rays = tuple(_ray(view, plan) for view in views if view.look.elevation_deg >= max(least, 0.1))
        self.wanted = len(views)
        self.wanted_sigmas = NormalDist().inv_cdf(max(plan.limits.book_probability, limits.RAISED_PROBABILITY))
        looks = [view.look for view in views]
        self.error_m = work.error_m(looks[0], math.nan) if looks else math.nan
        layer = work.site.layer
        self.cell_m = (layer.surface or layer.ground).cell_m if layer is not None else 0.0
        self.own_m = OWN_CELLS * self.cell_m
        self.entry = entry_point(self.where, plan.mount)

    @cached_property
    def tried(self) -> tuple[Tried, ...]:
        """Return every allowed kind of mount with at least one place, tried."""
        if not self.rays:
            return ()
        found = (places_of(kind, self.where, self.plan.mount) for kind in kinds_allowed(self.work.site, self.plan.mount))
        return tuple(self._try(places) for places in found if places.row.size)

    def _try(self, places: Places) -> Tried:
        work, view = self.work, self.work.view
        block = block_of(view, lat_deg=places.lat_deg, lon_deg=places.lon_deg)
        tube, centre, beyond = [], [], []
        for ray in self.rays:
            needed = self._needed(places, block, ray, places.own_support_m)
            far = needed if places.kind in ("ground", "wall") else self._needed(places, block, ray, max(places.own_support_m, self.own_m))
            turned = np.abs((ray.azimuth_deg - places.facade_deg + 180.0) % 360.0 - 180.0) > work.plan.mount.wall_view_deg
            tube.append(np.where(turned | np.isnan(needed.tube_amsl_m), np.inf, needed.tube_amsl_m))
            centre.append(np.where(turned, np.inf, np.nan_to_num(needed.centre_amsl_m, nan=-np.inf)))
            beyond.append(far.tube_amsl_m)
        tubes, centres = np.column_stack(tube), np.column_stack(centre)
        steps = math.ceil(max(placement_m(places.kind, work.plan), self.cell_m) / limits.STEP_M)
        worst = _within_steps(places, tubes.max(axis=1), steps)
        # the roof round the mount rises and falls with it: its error is not held against the ray, its height is
        apart = _within_steps(places, np.nan_to_num(np.column_stack(beyond), nan=np.inf).max(axis=1), steps)
        needs = np.maximum(worst, apart + self.wanted_sigmas * self.error_m)
        at_default, at_highest = places.default_amsl_m >= needs, places.highest_amsl_m >= needs
        raised = np.clip(needs, places.default_amsl_m, places.highest_amsl_m)
        raised = places.default_amsl_m + np.ceil((raised - places.default_amsl_m) / limits.MOUNT_STEP_M - 1e-6) * limits.MOUNT_STEP_M
        raised = np.minimum(raised, places.highest_amsl_m)
        enough, clear = at_default, worst <= places.highest_amsl_m
        height = np.where(enough, places.default_amsl_m, np.where(clear, np.maximum(raised, places.default_amsl_m), places.highest_amsl_m))
        margin = (height - apart) / self.error_m
        # clear at the default height beats raising, raising beats not enough; among those the margin, then the cable
        score = np.where(enough, 100.0, np.where(at_highest, 50.0, 0.0)) + np.minimum(margin, limits.ENOUGH_SIGMAS)
        score = np.where(clear, score, -100.0 + (tubes <= places.highest_amsl_m[:, None]).sum(axis=1))
        score -= 0.01 * cable_m(places, height - places.ground_amsl_m, self.entry, self.where, self.plan.mount)
        score += limits.SAME_KIND_SIGMAS * (places.kind == work.spot.kind)
        return Tried(places, tubes, centres, margin, height, score)

    def _needed(self, places: Places, block: Block, ray: Ray, own_support_m: float) -> Needed:
        return needed_heights(
            self.work.view, block, asked_amsl_m=places.highest_amsl_m, azimuth_deg=ray.azimuth_deg, elevation_deg=ray.elevation_deg,
            dish_m=ray.dish_m, frequency_mhz=ray.frequency_mhz, own_support_m=own_support_m,
        )  # fmt: skip

    def best(self, *, away_from: tuple[str, float, float] | None = None) -> tuple[Tried, int] | None:
        """Return the best place of all kinds and its number; away_from: of another kind than this spot, or PLAN_B_M away from it."""
        found: list[tuple[float, Tried, int]] = []
        for tried in self.tried:
            score = tried.score
            if away_from is not None and tried.places.kind == away_from[0]:
                away = np.hypot(tried.places.east_m - away_from[1], tried.places.north_m - away_from[2])
                score = np.where(away >= limits.PLAN_B_M, score, -np.inf)
            at = int(np.argmax(score))
            if np.isfinite(score[at]):
                found.append((float(score[at]), tried, at))
        return max(found, key=lambda one: one[0])[1:] if found else None

    def spot(self, tried: Tried, at: int) -> Spot:
        """Return one place as a spot at the height advised."""
        p = tried.places
        return Spot(
            p.kind, float(p.lat_deg[at]), float(p.lon_deg[at]), float(p.ground_amsl_m[at]), float(p.roof_amsl_m[at]),
            float(tried.height_amsl_m[at] - p.ground_amsl_m[at]), float(tried.height_amsl_m[at]), p.own_support_m, float(p.facade_deg[at]),
        )  # fmt: skip

    @property
    def hopeless(self) -> bool:
        """Return whether it is proved that no allowed place and height sees all satellites with the smallest dish.

        Nothing known along a ray counts as possible; so does what the centre ray misses by no more than the error allows.
        """
        allowed = NormalDist().inv_cdf(1.0 - self.plan.limits.not_feasible_probability) * self.error_m
        return not any(((tried.centre_amsl_m - tried.places.highest_amsl_m[:, None]).max(axis=1) <= allowed).any() for tried in self.tried)

    def spare_deg(self, spot: Spot, *, right_m: float = 0.0, ahead_m: float = 0.0, up_m: float = 0.0, facing_deg: float = 0.0) -> float:
        """Return the least spare of all rays from a spot, or from beside it as one faces facing_deg; NaN where nothing is known."""
        from siteplan.sky.horizon import heights_here

        turn = math.radians(facing_deg)
        view = self.work.view
        block = block_of(view, lat_deg=[spot.lat_deg], lon_deg=[spot.lon_deg])
        east = float(block.east_m[0]) + right_m * math.cos(turn) + ahead_m * math.sin(turn)
        north = float(block.north_m[0]) - right_m * math.sin(turn) + ahead_m * math.cos(turn)
        eye = spot.centre_amsl_m + up_m
        if right_m or ahead_m:
            ground, top = heights_here(view, east_m=east, north_m=north)
            base = top - spot.roof_amsl_m if spot.kind in ("roof", "chimney") else ground - spot.ground_amsl_m
            eye += base if math.isfinite(base) else 0.0
        found = [
            ray_clearance(
                view, eye_amsl_m=eye, look_azimuth_deg=ray.azimuth_deg, look_elevation_deg=ray.elevation_deg, dish_m=ray.dish_m,
                frequency_mhz=ray.frequency_mhz, own_support_m=spot.own_support_m, offset_east_m=east, offset_north_m=north,
            ).spare_deg
            for ray in self.rays
        ]  # fmt: skip
        return min(found) if found and all(math.isfinite(one) for one in found) else math.nan


def _ray(view: SatelliteView, plan: Plan) -> Ray:
    dish_m = view.dish_m if math.isfinite(view.dish_m) else min(plan.kit.dishes_m)
    frequency = min((t.frequency_mhz for t in view.satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
    return Ray(view.satellite, view.look.azimuth_deg, view.look.elevation_deg, dish_m, frequency)


def _within_steps(places: Places, needed: np.ndarray, steps: int) -> np.ndarray:
    """Return the greatest height needed at each place and its allowed neighbours, some steps to any side (walls: along the wall)."""
    low, high = int(places.row.min()) - steps, int(places.row.max()) + steps
    left, right = int(places.col.min()) - steps, int(places.col.max()) + steps
    grid = np.full((high - low + 1, right - left + 1), -np.inf)
    row, col = places.row - low, places.col - left
    grid[row, col] = needed
    around = range(-steps, steps + 1)
    return np.max([grid[row + r, col + c] for r in ((0,) if places.kind == "wall" else around) for c in around], axis=0)
