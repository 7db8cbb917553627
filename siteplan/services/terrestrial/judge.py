"""The terrestrial TV rule: the transmitter to aim at, and whether it is strong enough to promise."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from statistics import NormalDist

from siteplan.records.emitters import Sector, Transmitter
from siteplan.records.findings import Aim, TerrestrialFinding
from siteplan.records.plan import Plan
from siteplan.records.tv import AerialChoice, Disturbance
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.shared.chance import normal_cdf, state_from_chance
from siteplan.services.shared.paths import looks_at_the_ground, statistical_note
from siteplan.services.shared.site import Land, Site, declination_at, mast_spot
from siteplan.services.shared.trust import how_sure
from siteplan.services.terrestrial.choice import choose, programmes_given, rank
from siteplan.services.terrestrial.disturb import Aerial, House, plane_of
from siteplan.services.terrestrial.lines import line_of, need_of
from siteplan.services.terrestrial.mobile_into_tv import mobile_at_aerial
from siteplan.services.terrestrial.ways import Way, fades_db, left_open, ways_to

SERVICE = "terrestrial"
KEEP_PROFILES = 2
DISTURBED_DB = 3.0  # a disturbance that raises what is needed by this much is told (common practice, no source)


def judge(
    site: Site,
    land: Land,
    transmitters: tuple[Transmitter, ...],
    plan: Plan,
    *,
    pictures: bool = True,
    sectors: Sequence[Sector] = (),
) -> tuple[Verdict, TerrestrialFinding]:
    """Return the verdict for terrestrial TV at one address, with all aims in range, best first.

    sectors  mobile senders, for what they do at the TV aerial; left out where only the aim is asked for
    """
    if not plan.transmitters.file:
        return Verdict(SERVICE, State.NOT_JUDGED, (Reason("none_listed_terrestrial"),)), TerrestrialFinding(None)
    spot = mast_spot(site, land, plan, plan.mount.aerial_height_agl_m)
    house = House(spot, land, plan)
    ways, notes = ways_to(spot, transmitters, land, plan)
    # while one that could not be worked might serve, nothing is ruled out
    at_address = any(note.code == "emitter_at_address" for note in notes)
    still_open = at_address or any(left_open(way, plan, need_of) for way in ways)
    aims = [_aim(way, ways, site, house) for way in ways if way.within]
    if not aims:
        reasons = tuple(notes) or (Reason("tv_too_far", {"limit_m": 1000.0 * plan.transmitters.greatest_distance_km}),)
        state = State.SURVEY_FIRST if still_open else State.NOT_FEASIBLE
        return Verdict(SERVICE, state, reasons, how_sure(site, land.on_date, margin_sigmas=math.nan)), TerrestrialFinding(spot)
    aims.sort(key=lambda aim: rank(aim, plan))
    by_sender = {id(way.transmitter): way for way in ways}
    kept = tuple(
        _over_time(aim, by_sender[id(aim.transmitter)], plan) if pictures and place < KEEP_PROFILES else replace(aim, profile=None)
        for place, aim in enumerate(aims)
    )
    choice = choose(kept, plan, mobile_at_aerial(kept[0], sectors, house) if sectors else None)
    said = (*statistical_note(plan.propagation.method_tv), *notes)
    verdict = _verdict(site, land, kept, plan, choice, notes=said, still_open=still_open)
    return verdict, TerrestrialFinding(spot, kept, choice)


def _aim(way: Way, ways: list[Way], site: Site, house: House) -> Aim:
    """Return one transmitter as an aerial aimed at it takes its multiplexes."""
    sender, spot, plan = way.transmitter, house.spot, house.plan
    aerial = Aerial(way.bearing_deg, plane_of(sender.multiplexes))
    lines = tuple(line_of(way, number, ways, aerial, site, house) for number in range(len(sender.multiplexes)))
    worst = max(way.losses, key=lambda loss: loss.intermediates.get("diffraction_50_db", 0.0))
    declination = declination_at(spot.lat_deg, spot.lon_deg, house.land.on_date)
    return Aim(
        transmitter=sender,
        distance_m=way.distance_m,
        bearing_deg=way.bearing_deg,
        magnetic_bearing_deg=(way.bearing_deg - declination) % 360.0,
        lines=lines,
        profile=way.profile,
        ray_blocked_m=way.distance_m - worst.what_blocks_m,
        diffraction_db=float(worst.intermediates.get("diffraction_50_db", math.nan)),
        tx_height_agl_m=way.tx_height_agl_m,
        rx_height_agl_m=way.rx_height_agl_m,
        plane=aerial.plane,
        programmes_sure=programmes_given(line for line in lines if line.probability >= plan.limits.book_probability),
        programmes_likely=programmes_given(line for line in lines if line.margin_db >= 0.0),
    )


def _over_time(aim: Aim, way: Way, plan: Plan) -> Aim:
    """Return an aim with what each multiplex still gives for 99 % of time."""
    lines = []
    for line, fade in zip(aim.lines, fades_db(way, plan), strict=True):
        chance = float(normal_cdf(NormalDist().inv_cdf(min(max(line.probability, 1e-9), 1.0 - 1e-9)) - fade / line.sigma_db))
        lines.append(replace(line, fade_db=fade, probability_99=chance))
    return replace(aim, lines=tuple(lines))


def _verdict(
    site: Site,
    land: Land,
    aims: tuple[Aim, ...],
    plan: Plan,
    choice: AerialChoice,
    *,
    notes: tuple[Reason, ...],
    still_open: bool,
) -> Verdict:
    best = aims[0]
    weakest = min(best.lines, key=lambda line: line.probability)
    strongest_aim, strongest = max(((aim, line) for aim in aims for line in aim.lines), key=lambda pair: pair[1].probability)
    state = state_from_chance(weakest.probability, strongest.probability, plan.limits)
    proves = looks_at_the_ground(plan.propagation.method_tv)
    if not proves or (still_open and state is State.NOT_FEASIBLE):
        state = State.SURVEY_FIRST
    values = {"transmitter": best.transmitter.name, "bearing_deg": best.bearing_deg, "distance_m": best.distance_m}
    values |= {"margin_db": weakest.margin_db, "lacking_db": -weakest.margin_db, "probability": weakest.probability}
    reasons: list[Reason] = []
    if state is State.BOOK:
        reasons.append(Reason("tv_good", values))
    elif state is State.NOT_FEASIBLE:
        aim = strongest_aim
        values |= {"transmitter": aim.transmitter.name, "bearing_deg": aim.bearing_deg, "distance_m": aim.distance_m}
        reasons.append(Reason("tv_none", {**values, "lacking_db": -strongest.margin_db}))
    else:
        reasons.append(Reason("tv_doubtful" if weakest.margin_db >= 0 else "tv_short", values))
        sure = sum(line.probability >= plan.limits.book_probability for line in best.lines)
        if 0 < sure < len(best.lines):
            reasons.append(Reason("tv_some_channels", {"given": sure, "all": len(best.lines), "transmitter": best.transmitter.name}))
    disturber = _disturber(best) if state is not State.BOOK else None
    if disturber is not None:
        reasons.append(Reason("tv_disturbed", {"transmitter": disturber.transmitter, "bearing_deg": disturber.bearing_deg}))
    if math.isfinite(best.ray_blocked_m) and best.diffraction_db >= 6.0:
        reasons.append(Reason("path_blocked", {"distance_m": best.ray_blocked_m, "loss_db": best.diffraction_db}))
    if choice.open_with and state is not State.NOT_FEASIBLE:
        reasons.append(Reason("tv_open", {"first": best.transmitter.name, "second": choice.open_with}))
    deciding = strongest if state is State.NOT_FEASIBLE else weakest
    sigmas = abs(deciding.margin_db) / deciding.sigma_db
    sure_of = how_sure(site, land.on_date, margin_sigmas=sigmas)
    if not proves:
        sure_of = replace(sure_of, level="low")
    ask = Reason("ask_neighbours", {"bearing_deg": best.bearing_deg}) if state is State.SURVEY_FIRST else None
    return Verdict(SERVICE, state, (*reasons, *notes), sure_of, deciding.probability, ask)


def _disturber(aim: Aim) -> Disturbance | None:
    """Return the worst disturbance of an aim, None where none raises what a multiplex needs by DISTURBED_DB."""
    found = [
        line.disturbances[0]
        for line in aim.lines
        if line.disturbances and line.needed_median_dbuv_per_m - line.minimum_median_dbuv_per_m >= DISTURBED_DB
    ]
    return max(found, key=lambda one: one.nuisance_dbuv_per_m, default=None)
