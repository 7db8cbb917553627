"""The satellite verdict step by step. The rule itself is run again, and what it asks is written down: no second set of sums."""

from __future__ import annotations

import math

import numpy as np

from siteplan.constants import SPEED_OF_LIGHT_M_PER_S
from siteplan.errors import told, wording
from siteplan.radio.vegetation import foliage_figure_db
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.explained import Section, Step
from siteplan.records.findings import LinkLine, SatelliteView
from siteplan.records.plan import Plan
from siteplan.records.results import Clearance, LookAngles
from siteplan.services.satellite import limits
from siteplan.services.satellite.explain_tuning import day_steps, explain_tuning
from siteplan.services.satellite.judge import spot_and_looks, where_it_stands
from siteplan.services.satellite.right_satellite import tuned
from siteplan.services.satellite.spot_search import FoundSpotWork
from siteplan.services.satellite.spot_work import Chance, SpotWork
from siteplan.services.satellite.view import view_of
from siteplan.services.shared.explain import PRACTICE, of_plan, spot_steps
from siteplan.services.shared.site import Land, Site
from siteplan.sky.clearance import ray_clearance

SERVICE = "satellite"
_LEAVES_M = 5.0  # the crown of one tree (common practice, no source)
ANGLES = wording("vector geometry on the WGS84 ellipsoid, orbit radius 42164 km")
RULE = wording("rule of services/satellite/view.py")
TUBE = wording("D/2 + 0.6 sqrt(wavelength x distance): common practice, no source")
RAY = wording("highest surface along the ray, bilinear, over an Earth of 4/3 its radius (ITU-R P.310, P.834)")


class TracedWork(SpotWork):
    """A spot that remembers which odds it was asked for."""

    def __init__(self, *args: object) -> None:
        super().__init__(*args)  # type: ignore[arg-type]
        self.asked: list[tuple[dict[str, object], Chance]] = []

    def chance(self, look: LookAngles, height_agl_m: float, dish_m: float, frequency_mhz: float, error_m: float, **how: object) -> Chance:
        """Return what SpotWork does, and write it down."""
        found = super().chance(look, height_agl_m, dish_m, frequency_mhz, error_m, **how)
        rays = self.rays(look, height_agl_m, dish_m, frequency_mhz, **how)
        self.asked.append(({"dish_m": dish_m, "error_m": error_m, "clear_places": int((rays.state == 3).sum()), **how}, found))
        return found


class TracedFoundWork(TracedWork, FoundSpotWork):
    """The same of a spot that was found where the first one could not be booked."""


def explain(site: Site, land: Land, satellites: tuple[Satellite, ...], plan: Plan) -> tuple[Section, ...]:
    """Return every number of the satellite verdict at one address, in the order in which they came about."""
    if not satellites:
        return ()
    work: TracedWork
    work, looks = spot_and_looks(site, land, satellites, plan, TracedWork)  # type: ignore[assignment]
    found = where_it_stands(work, satellites, looks).work
    if found is not work:
        work = TracedFoundWork(site, land, found.spot, plan)
        work.highest_m = found.highest_m
    highest = Step("highest", work.highest_m, "m above ground", of_plan(plan, "mount.highest_agl_m", "mount.highest_above_roof_m"))
    sections = [Section("spot_dish", (*spot_steps(work.spot, plan, "mount.dish_height_agl_m"), highest), service=SERVICE)]
    for number, (satellite, look) in enumerate(zip(satellites, looks, strict=True), start=1):
        work.asked.clear()
        view = view_of(work, satellite, look)
        here = {"lat_deg": work.spot.lat_deg, "lon_deg": work.spot.lon_deg, "height_m": work.spot.centre_amsl_m}
        (view,) = tuned((view,), plan, **here)
        sections.append(_look_section(view))
        if view.clearance is not None:
            sections.append(_clearance_section(work, satellite, view))
            sections.append(_places_section(work, satellite))
            sections += [_odds_section(plan, satellite, *asked) for asked in _different(work.asked)]
        sections += [_link_section(satellite, line, plan) for line in view.links]
        if view.dishes:
            sections.append(_dishes_section(satellite, view, plan))
        sections += explain_tuning(view, plan, position=number, positions=len(satellites))
        sections.append(_view_section(satellite, view, plan))
    return tuple(sections)


def _look_section(view: SatelliteView) -> Section:
    satellite, look = view.satellite, view.look
    steps = (
        Step("orbit", satellite.orbit_deg, "deg east", "plan, satellites"),
        *day_steps(view),
        Step("azimuth", look.azimuth_deg, "deg true", ANGLES),
        Step(
            "magnetic_azimuth", look.magnetic_azimuth_deg, told("deg by compass"), told("true less declination, World Magnetic Model 2025")
        ),
        Step("elevation", look.elevation_deg, "deg", ANGLES),
        Step("refraction", look.refraction_deg, "deg", "ITU-R P.834-7, eq. (14)"),
        Step("apparent_elevation", look.elevation_deg + look.refraction_deg, "deg", told("elevation plus refraction")),
        Step("range", look.range_km, "km", ANGLES),
        Step("skew", look.skew_deg, "deg clockwise", told("Earth axis against the local vertical, along the line of sight")),
        Step("polarisation_offset", satellite.polarisation_offset_deg, "deg", told("table of satellites")),
    )
    return Section("look_angles", steps, satellite.name, SERVICE)


def _asked_for(work: TracedWork, view: SatelliteView, frequency_mhz: float) -> tuple[float, float, bool | None]:
    """Return (mount height, dish, bare ground alone) of the clearance that the view shows: the question that gives it again."""
    kit = work.plan.kit.dishes_m
    dishes = dict.fromkeys((view.dish_m if math.isfinite(view.dish_m) else min(kit), min(kit)))
    for height in dict.fromkeys((work.spot.height_agl_m, work.highest_m)):
        for dish in dishes:
            for ground_only in (True, False) if "ground" in view.reasons[0].code else (False, True):
                found = ray_clearance(
                    work.view, eye_amsl_m=work.spot.ground_amsl_m + height, look_azimuth_deg=view.look.azimuth_deg,
                    look_elevation_deg=view.look.elevation_deg, dish_m=dish, frequency_mhz=frequency_mhz,
                    own_support_m=work.spot.own_support_m, ground_only=ground_only,
                )  # fmt: skip
                if repr(found) == repr(view.clearance):  # equal to the last digit, NaN included
                    return height, dish, ground_only
    return math.nan, math.nan, None


def _clearance_section(work: TracedWork, satellite: Satellite, view: SatelliteView) -> Section:
    seen: Clearance = view.clearance  # type: ignore[assignment]
    frequency = min((t.frequency_mhz for t in satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
    height, dish, ground_only = _asked_for(work, view, frequency)
    steps = (
        Step("clearance_height", height, "m above ground", told("the default mount height, or the highest where no height helps")),
        Step("clearance_ground_only", ground_only, "", told("bare ground alone where that is proof, or all that is known")),
        Step(
            "dish",
            dish,
            "m",
            told("smallest of the kit that holds the margin, else the smallest: {of_plan}", of_plan=of_plan(work.plan, "kit.dishes_m")),
        ),
        Step("frequency", frequency, "MHz", told("lowest transponder of the table")),
        Step("wavelength", SPEED_OF_LIGHT_M_PER_S / (frequency * 1e6), "m", told("speed of light over frequency (SI)")),
        Step(
            "clearance_state", seen.state, "", told("clear: the needed clearance holds; blocked: the centre ray is below; partly: between")
        ),
        Step("obstacle_distance", seen.distance_m, "m", RAY),
        Step("obstacle_bearing", seen.bearing_deg, "deg true", RAY),
        Step("obstacle_amsl", seen.obstacle_amsl_m, "m amsl", RAY),
        Step("obstacle_agl", seen.obstacle_agl_m, "m above ground", told("surface less ground there")),
        Step("obstacle_kind", seen.kind, "", told("building outlines, else the surface over the ground")),
        Step("needed_clearance", seen.needed_m, "m", TUBE),
        Step("clearance", seen.clearance_m, told("m perpendicular to the ray"), RAY),
        Step("spare", seen.spare_deg, "deg", told("apparent elevation less the elevation that the needed clearance asks for")),
        Step("centre_spare", seen.centre_spare_deg, "deg", told("the same for the centre ray alone")),
        Step(
            "obstacle_loss", seen.loss_db, "dB", told("covered share of the dish within 2 D^2/wavelength, else ITU-R P.526-16, section 4.1")
        ),
        *_leaves(seen, frequency, view.look.elevation_deg),
        Step("known_to", seen.known_to_m, "m", told("how far the terrain reaches along the ray")),
    )
    return Section("clearance", steps, satellite.name, SERVICE)


def _leaves(seen: Clearance, frequency_mhz: float, elevation_deg: float) -> tuple[Step, ...]:
    """Return what looking through leaves would take where growth may stand in the ray: a figure, on which nothing rests."""
    if seen.state == "clear" or seen.kind not in ("growth", "object") or not elevation_deg > 0.1:
        return ()
    source = told("ITU-R P.833-10, 2.2, one fit to one pine wood (memory): a figure alone, the ray counts as blocked")
    figure = foliage_figure_db(frequency_mhz, _LEAVES_M, elevation_deg)
    return (Step("foliage_figure", figure, told("dB for {leaves_m:g} m of leaves", leaves_m=_LEAVES_M), source),)


def _places_section(work: TracedWork, satellite: Satellite) -> Section:
    places = work.places
    away = np.hypot(places.east_m, places.north_m)
    ahead = work.plan.limits.growth_years
    layer = work.site.layer
    steps = (
        Step("places", float(away.size), "", told("likely places of the antenna, services/shared/site.py ({practice})", practice=PRACTICE)),
        Step("places_farthest", float(away.max()), told("m from the spot"), told("position error of the address")),
        Step("places_looked_at", places.looked_at, "", told("n: equally likely places these are worth, 1 / sum of squared weights")),
        Step("places_roof_error", float(places.base_error_m.max()), "m", told("1 sigma, greatest: the lie of the roof within half a cell")),
        Step("mount_error", work.plan.mount.height_error_m, "m", f"1 sigma: {of_plan(work.plan, 'mount.height_error_m')}"),
        Step(
            "growth_today",
            work.growth_m(layer, 0.0),
            "m",
            told("since the flight: {of_plan}", of_plan=of_plan(work.plan, "limits.growth_m_per_year")),
        ),
        Step(
            "growth_later",
            work.growth_m(layer, ahead),
            "m",
            told("in {ahead:g} years: {of_plan}", ahead=ahead, of_plan=of_plan(work.plan, "limits.growth_years")),
        ),
    )
    return Section("places", steps, satellite.name, SERVICE)


def _different(asked: list[tuple[dict[str, object], Chance]]) -> list[tuple[dict[str, object], Chance]]:
    """Return each question once, in the order asked."""
    seen: dict[str, tuple[dict[str, object], Chance]] = {}
    for how, found in asked:
        seen.setdefault(f"{how}{found.height_agl_m:.6f}", (how, found))
    return list(seen.values())


def _odds_section(plan: Plan, satellite: Satellite, how: dict[str, object], found: Chance) -> Section:
    steps = (
        Step("odds_height", found.height_agl_m, "m above ground", told("mount heights tried in steps of 0.1 m")),
        Step("odds_dish", float(how["dish_m"]), "m", of_plan(plan, "kit.dishes_m")),  # type: ignore[arg-type]
        Step("odds_ground_only", bool(how.get("ground_only", False)), "", told("proof by bare ground leaves out what stands on it")),
        Step("odds_growth", float(how.get("growth_m", 0.0)), "m", of_plan(plan, "limits.growth_m_per_year")),  # type: ignore[arg-type]
        Step("odds_error", float(how["error_m"]), "m", told("1 sigma: terrain at both ends, tops between cells, mount")),  # type: ignore[arg-type]
        Step("odds_places_clear", float(how["clear_places"]), "places", RAY),  # type: ignore[arg-type]
        Step("odds_clear", found.clear, "", told("mean over the places, by how likely each is, of Phi(spare height / error)")),
        Step("odds_centre", found.centre, "", told("the same for the centre ray")),
        Step("odds_possible", found.possible, "", told("centre ray, with what may lie between the places: (n p + 1/2) / (n + 1)")),
    )
    return Section("odds", steps, satellite.name, SERVICE)


def _link_section(satellite: Satellite, line: LinkLine, plan: Plan) -> Section:
    transponder: Transponder = line.transponder
    steps = [
        Step("dish", line.dish_m, "m", of_plan(plan, "kit.dishes_m")),
        Step("link_frequency", transponder.frequency_mhz, "MHz", told("table of satellites")),
        Step("link_mode", f"{transponder.system} {transponder.modulation} {transponder.code_rate}", "", told("table of satellites")),
        Step("eirp_source", line.eirp_source, "", told("table of satellites") if line.eirp_from == "table" else line.eirp_from),
        Step("link_wanted", line.wanted, "", of_wanted(plan)),
        *(Step(one.code, one.value, one.unit, one.source) for one in line.terms),
    ]
    return Section("link", tuple(steps), f"{satellite.name}, {transponder.name}", SERVICE)


def of_wanted(plan: Plan) -> str:
    """Return where it comes from which transponders count."""
    return (
        told("plan, satellites.wanted_transponders")
        if plan.satellites.wanted_transponders
        else told("all whose EIRP is stated or measured")
    )


def _dishes_section(satellite: Satellite, view: SatelliteView, plan: Plan) -> Section:
    steps = []
    for one in view.dishes:
        steps += [
            Step("dish", one.dish_m, "m", of_plan(plan, "kit.dishes_m")),
            Step("dish_weakest", one.weakest, "", told("least of margin over the wanted one and of margin in weather")),
            Step("dish_margin", one.margin_db, "dB", told("least clear-sky margin of the wanted transponders")),
            Step("dish_weather_margin", one.weather_margin_db, "dB", told("least margin at the wanted availability")),
            Step("dish_spare", one.spare_db, "dB", told("the lesser of the two over what is wanted")),
            Step("dish_holds", one.holds, "", of_plan(plan, "limits.clear_sky_margin_db", "limits.availability_pct")),
        ]
    return Section("dishes", tuple(steps), satellite.name, SERVICE)


def _view_section(satellite: Satellite, view: SatelliteView, plan: Plan) -> Section:
    steps = (
        Step("least_elevation", plan.limits.smallest_elevation_deg, "deg", of_plan(plan, "limits.smallest_elevation_deg")),
        Step("view_probability", view.probability, "", RULE),
        Step("view_mount", view.mount_height_agl_m, "m above ground", told("lowest mount height that can be booked")),
        Step(
            "view_dish", view.dish_m, "m", told("smallest dish of the kit that holds margin and availability on every wanted transponder")
        ),
        Step("view_state", str(view.state), "", RULE),
        Step("view_reason", view.reasons[0].code, "", RULE),
    )
    return Section("view", steps, satellite.name, SERVICE)
