"""Where the first spot can't be booked: is there another on the same address, and what does that change of the verdict?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from siteplan.geodesy.projection import geod_inverse
from siteplan.records.findings import SatelliteView
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.satellite import limits
from siteplan.services.satellite.spot_places import ours
from siteplan.services.satellite.spot_search import FoundSpotWork, SpotSearch, Tried
from siteplan.services.satellite.spot_work import SpotWork
from siteplan.services.satellite.view import view_of
from siteplan.services.shared.site import BUILDING_SURE_M

_BLOCKED = ("sat_blocked", "sat_blocked_ground")
_UNKNOWN = ("sat_trees_unknown", "sat_surface_ends", "sat_ground_easily", "sat_ground_narrowly", "sat_data_end")
Join = Callable[[tuple[SatelliteView, ...], SpotWork], Verdict]


@dataclass(frozen=True, eq=False)
class Elsewhere:
    """What the search came to: the spot to stand on, the views from there, the verdict; search None where none was made."""

    work: SpotWork
    views: tuple[SatelliteView, ...]
    verdict: Verdict
    search: SpotSearch | None


def look_elsewhere(work: SpotWork, views: tuple[SatelliteView, ...], plan: Plan, join: Join, *, always: bool = False) -> Elsewhere:
    """Return the verdict after all allowed spots and mount heights were tried, where the first spot can't be booked for its view.

    always  search also where nothing can change the verdict (for the plot of a sheet)

    - another spot is clear for all: it is told, with its odds. It is booked only where it lies on the address's own plot or building and
      the odds that this is the one meant, times those of the view, are those of any booking; else survey first.
    - none is proved clear, but not all are proved blocked: never "not feasible".
    """
    stay = Elsewhere(work, views, join(views, work), None)
    wanted = plan.limits.book_probability
    if plan.mount.search == "never" or not views or not math.isfinite(work.spot.ground_amsl_m):
        return stay
    hidden = [view for view in views if view.clearance is not None and view.probability < wanted]
    lost = any(view.state is State.NOT_FEASIBLE and view.reasons[0].code not in _BLOCKED for view in views)
    if not (hidden and not lost) and not (always and stay.verdict.state is not State.NOT_FEASIBLE):
        return stay
    search = SpotSearch(work, views, plan)
    stay = replace(stay, search=search)
    if not hidden or lost or not search.tried:
        return stay
    moved = _moved(search, work, views, plan, join, stay.verdict)
    if moved is not None:
        return moved
    if stay.verdict.state is not State.NOT_FEASIBLE:
        return stay
    tried = sum(one.places.row.size for one in search.tried)
    if search.hopeless:
        values = {"count": tried, "kinds": [one.places.kind for one in search.tried], "within_m": plan.mount.search_radius_m}
        note = Reason(f"sat_all_spots_{search.where.looked_in}", values)
        return replace(stay, verdict=replace(stay.verdict, reasons=(*stay.verdict.reasons, note)))
    best = search.best()
    reason = _told(f"sat_spot_maybe_{best[0].places.kind}", search.spot(*best), work, plan, views)  # type: ignore[index]
    return replace(stay, verdict=replace(stay.verdict, state=State.SURVEY_FIRST, reasons=(reason, *stay.verdict.reasons), ask=None))


def _moved(
    search: SpotSearch, work: SpotWork, views: tuple[SatelliteView, ...], plan: Plan, join: Join, first: Verdict
) -> Elsewhere | None:
    """Return what the best other spot gives, else the next best; None where none is clear for all with the odds of a booking."""
    best = search.best()
    for _ in range(limits.SPOTS_VERIFIED):
        if best is None or not best[0].score[best[1]] > 0.0:
            return None
        found = _at(search, best, work, views, plan, join, first)
        if found is not None:
            return found
        tried, at = best
        best = search.best(away_from=(tried.places.kind, float(tried.places.east_m[at]), float(tried.places.north_m[at])))
    return None


def _at(
    search: SpotSearch, place: tuple[Tried, int], work: SpotWork, views: tuple[SatelliteView, ...], plan: Plan, join: Join, first: Verdict
) -> Elsewhere | None:
    """Return what one other spot gives, asked as any spot is; None where it isn't clear for all with the odds of a booking."""
    tried, at = place
    spot = search.spot(tried, at)
    if search.where.looked_in == "circle":
        # without a house or a plot a spot is told by its way from the point given: it must be known, and the way no part of its error
        way_m = math.hypot(float(tried.places.east_m[at]), float(tried.places.north_m[at]))
        if work.site.address.position_error_m > BUILDING_SURE_M or way_m < limits.PLAN_B_M:
            return None
    low = float(tried.places.default_amsl_m[at] - tried.places.ground_amsl_m[at])
    there = FoundSpotWork(work.site, work.land, replace(spot, height_agl_m=low, centre_amsl_m=spot.ground_amsl_m + low), plan)
    there.highest_m = float(tried.places.highest_amsl_m[at] - tried.places.ground_amsl_m[at])
    # the satellite seen worst from the first spot is asked first: where it fails, the others need no asking
    seen: dict[int, SatelliteView] = {}
    for k in sorted(range(len(views)), key=lambda k: (views[k].probability if views[k].probability >= 0.0 else 2.0, k)):
        seen[k] = view_of(there, views[k].satellite, views[k].look)
        if not seen[k].probability >= plan.limits.book_probability or seen[k].reasons[0].code in _UNKNOWN:
            return None
    found = tuple(seen[k] for k in range(len(views)))
    chances = [view.probability for view in found]
    joined = join(found, there)
    if joined.state is State.NOT_FEASIBLE:
        return None
    odds = min(chances) * (ours(work.site, work.land) if search.where.looked_in != "circle" else 0.0)
    own = spot.kind != "ground" or search.where.looked_in == "plot"
    sure = own and min(chances) >= limits.RAISED_PROBABILITY and odds >= plan.limits.book_probability
    state = joined.state if sure or joined.state is not State.BOOK else State.SURVEY_FIRST
    told = _told(f"sat_spot_{spot.kind}", replace(spot, height_agl_m=_height(found, low)), work, plan, views)
    hidden = min(views, key=lambda view: view.probability if math.isfinite(view.probability) else 1.0)
    signal = tuple(reason for view in found if view.state is not State.BOOK for reason in view.reasons)
    reasons = (told, *signal, Reason("sat_at_the_point"), *hidden.reasons)
    ask = None if state is State.BOOK else Reason(f"ask_spot_{spot.kind}", dict(told.values))
    verdict = replace(joined, state=state, reasons=reasons, ask=ask)
    if state is not State.BOOK:
        verdict = replace(verdict, how_sure=first.how_sure, probability=odds if odds > 0.0 else first.probability)
    return Elsewhere(there, found, verdict, search)


def _height(views: tuple[SatelliteView, ...], low_m: float) -> float:
    return max([low_m, *(view.mount_height_agl_m for view in views if math.isfinite(view.mount_height_agl_m))])


def _told(code: str, spot: Spot, work: SpotWork, plan: Plan, views: tuple[SatelliteView, ...]) -> Reason:
    """Return where another spot lies, from the address's point, and how high the dish stands there."""
    address = work.site.address
    bearing, _, away = geod_inverse(lat1_deg=address.lat_deg, lon1_deg=address.lon_deg, lat2_deg=spot.lat_deg, lon2_deg=spot.lon_deg)
    least = plan.limits.smallest_elevation_deg
    values: dict[str, object] = {
        "distance_m": float(away), "bearing_deg": float(bearing) % 360.0, "height_agl_m": spot.height_agl_m,
        "satellites": [view.satellite.name for view in views if view.look.elevation_deg >= least],
    }  # fmt: skip
    if math.isfinite(spot.facade_deg):
        values["facade_deg"] = spot.facade_deg
    return Reason(code, values)
