"""One spot and the questions put to it: the land around, likely places of the mount, and odds of a clear ray."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from siteplan.geodesy.projection import geod_forward
from siteplan.records.ground import Layer
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import LookAngles
from siteplan.records.view import Clearances, LocalView
from siteplan.services.satellite import limits
from siteplan.services.shared.chance import normal_cdf
from siteplan.services.shared.site import Land, Scatter, Site, highest_centre_agl_m, scatter, spot_view
from siteplan.sky.clearance import clearances
from siteplan.terrain.surface import heights_at


@dataclass(frozen=True)
class Chance:
    """At one height: chance that the whole needed clearance is there, and that the centre ray at least passes.

    A place where nothing is known along the ray proves nothing: it counts as not clear, and as possible.

    possible  what can be said against the centre ray passing: places that were looked at and failed leave room for some between them
              that would not, so n of them prove no less than (n p + 1/2) / (n + 1) (Jeffreys' prior for a share, rounded up)
    """

    clear: float
    centre: float
    possible: float
    height_agl_m: float


class SpotWork:
    """One spot and the questions put to it; each is asked once."""

    def __init__(self, site: Site, land: Land, spot: Spot, plan: Plan) -> None:
        self.site, self.land, self.spot, self.plan = site, land, spot, plan
        self.highest_m = highest_centre_agl_m(spot, plan.mount)

    @cached_property
    def view(self) -> LocalView:
        return spot_view(self.spot, self.land)

    @cached_property
    def places(self) -> Scatter:
        return scatter(self.site, self.spot, self.land, placement_error_m=self.plan.mount.placement_error_m)

    @cached_property
    def coarse_places(self) -> Scatter:
        """Return the places by a surface too coarse to know trees and buildings, where an edge may be off by a whole cell."""
        return scatter(
            self.site, self.spot, self.land, edge_cells=limits.COARSE_EDGE_CELLS, placement_error_m=self.plan.mount.placement_error_m
        )

    def growth_m(self, layer: Layer | None, years_ahead: float) -> float:
        """Return how much growth has risen since the surface was flown, and will until years_ahead from the plan's date."""
        flown = layer.flown_on if layer is not None else None
        age = max(0.0, (self.land.on_date - flown).days / 365.25) if flown is not None else 0.0
        return self.plan.limits.growth_m_per_year * (age + years_ahead)

    def rays(
        self, look: LookAngles, height_agl_m: float, dish_m: float, frequency_mhz: float, *, coarse: bool = False, **how: object
    ) -> Clearances:
        """Return clearances of the look's ray from every place of the scatter at one mount height."""
        places = self.coarse_places if coarse else self.places
        eyes = np.column_stack([places.east_m, places.north_m, places.base_amsl_m + height_agl_m])
        return clearances(
            self.view,
            eyes=eyes,
            look_azimuth_deg=look.azimuth_deg,
            look_elevation_deg=look.elevation_deg,
            dish_m=dish_m,
            frequency_mhz=frequency_mhz,
            **{"own_support_m": self.spot.own_support_m, **how},
        )

    def error_m(self, look: LookAngles, distance_m: float, *, ground_only: bool = False) -> float:
        """Return the error of the height between ray and obstacle, 1 sigma, where the ray is tightest.

        The obstacle's top and the height the mount stands on both come from the land, each with its layer's error; a top that is not
        bare ground has that of its cell's size too, and the mount has its own.
        """
        return float(self.errors_m(look, np.array([distance_m]), ground_only=ground_only)[0])

    def errors_m(self, look: LookAngles, distance_m: np.ndarray, *, ground_only: bool = False) -> np.ndarray:
        """Return what error_m does for things at several distances (n,) along the ray; NaN and the first metre: of the spot's own layer."""
        here, layers = self.site.layer, self.land.surface.layers
        index = np.full(distance_m.shape, -1)
        away = np.isfinite(distance_m) & (distance_m > 1.0)
        if away.any() and not (len(layers) == 1 and layers[0] is here):
            n = int(away.sum())
            lat, lon = geod_forward(
                lat_deg=np.full(n, self.spot.lat_deg), lon_deg=np.full(n, self.spot.lon_deg),
                azimuth_deg=np.full(n, look.azimuth_deg), distance_m=distance_m[away],
            )  # fmt: skip
            index[away] = heights_at(self.land.surface, lat_deg=lat, lon_deg=lon)[3]
        by_layer = np.array([self._error_between(here, there, ground_only) for there in (*layers, here)])
        return by_layer[index]

    def _error_between(self, here: Layer | None, there: Layer | None, ground_only: bool) -> float:
        errors_m = (layer.height_error_m if layer is not None else limits.UNKNOWN_ERROR_M for layer in (here, there))
        stands = there is not None and there.surface is not None and not ground_only
        top_m = there.surface.cell_m * limits.PITCH / math.sqrt(12.0) if stands else 0.0
        return math.hypot(*errors_m, top_m, self.plan.mount.height_error_m)

    def chance(self, look: LookAngles, height_agl_m: float, dish_m: float, frequency_mhz: float, error_m: float, **how: object) -> Chance:
        """Return the chances at one mount height, over all places where the antenna may stand."""
        places = self.coarse_places if how.get("coarse") else self.places
        rays = self.rays(look, height_agl_m, dish_m, frequency_mhz, **how)
        tightest_m = np.hypot(error_m, places.base_error_m)
        ground_only = bool(how.get("ground_only"))
        both_m = self.errors_m(look, np.concatenate([rays.margin_distance_m, rays.centre_margin_distance_m]), ground_only=ground_only)
        least_m, centre_least_m = np.hypot(both_m.reshape(2, -1), places.base_error_m)
        clear = normal_cdf(_sigmas(look, rays.spare_deg, rays.distance_m, rays.margin_m, (tightest_m, least_m)))
        centre = normal_cdf(_sigmas(look, rays.centre_spare_deg, rays.distance_m, rays.centre_margin_m, (tightest_m, centre_least_m)))
        n, open_ = places.looked_at, _mean(centre, places.weight, unknown=1.0)
        return Chance(
            clear=_mean(clear, places.weight, unknown=0.0),
            centre=_mean(centre, places.weight, unknown=0.0),
            possible=(n * open_ + 0.5) / (n + 1.0),
            height_agl_m=height_agl_m,
        )


def _mean(chances: np.ndarray, weights: np.ndarray, *, unknown: float) -> float:
    """Return the mean over the places, each by how likely it is, those where nothing is known taken as `unknown`; NaN where all are."""
    known = np.isfinite(chances)
    return float((np.where(known, chances, unknown) * weights).sum()) if known.any() else math.nan


def _sigmas(
    look: LookAngles, spare_deg: np.ndarray, distance_m: np.ndarray, margin_m: np.ndarray, errors_m: tuple[np.ndarray, np.ndarray]
) -> np.ndarray:
    """Return by how many sigmas things could be higher.

    errors_m  of heights where the ray is tightest in angle, and where the least metres are left

    The lesser of what is left where the ray is tightest in angle, and of margin_m (perpendicular to the ray), which may be another
    place: a degree far off is more metres than many degrees near by. Each is held against the error of its own place: where a far hill
    known to 10 m is the tightest in angle, the roof near by that leaves the least metres is known better, and the other way round.
    """
    steep = np.radians(look.elevation_deg)
    tightest_m, least_m = errors_m
    at_tightest = distance_m * (np.tan(steep) - np.tan(steep - np.radians(spare_deg))) / tightest_m
    return np.fmin(at_tightest, margin_m / np.cos(steep) / least_m)
