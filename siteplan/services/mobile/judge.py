"""The mobile rule: which operator, band and site is best, by which way, and is it good enough."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from siteplan.radio.mobile_uplink import timing_reach_m
from siteplan.records.emitters import Sector
from siteplan.records.findings import MobileFinding, SectorLine, WayLine
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.mobile import limits
from siteplan.services.mobile.left_open import left_open
from siteplan.services.mobile.reach import Heard, hear
from siteplan.services.mobile.ways import OUTDOORS, WAYS, Surroundings, fits, kit_list, way_line
from siteplan.services.shared.chance import state_from_chance
from siteplan.services.shared.paths import looks_at_the_ground, statistical_note
from siteplan.services.shared.site import Land, Site, declination_at, mast_spot
from siteplan.services.shared.trust import how_sure

SERVICE = "mobile"
KEEP_PROFILES = 1
DISTURBERS = 3


def judge(site: Site, land: Land, sectors: tuple[Sector, ...], plan: Plan, *, pictures: bool = True) -> tuple[Verdict, MobileFinding]:
    """Return the verdict for mobile internet at one address: the best sector of each operator and band, best first."""
    if not plan.mobile.file:
        return Verdict(SERVICE, State.NOT_JUDGED, (Reason("none_listed_mobile"),)), MobileFinding(None)
    spot = mast_spot(site, land, plan, plan.mount.mobile_height_agl_m)
    heard, notes = hear(spot, land, sectors, plan)
    still_open = left_open(spot, sectors, heard, notes, plan)
    lines = _lines(site, land, heard, plan, declination_at(spot.lat_deg, spot.lon_deg, land.on_date))
    sold = [line for line in lines if line.counts]
    unsold = tuple(replace(line, profile=None) for line in lines if not line.counts)
    kept = tuple(line if pictures and place < KEEP_PROFILES else replace(line, profile=None) for place, line in enumerate(sold))
    if not kept:
        nobody = Reason("mobile_none_sold" if unsold else "mobile_too_far", {"limit_m": 1000.0 * plan.mobile.greatest_distance_km})
        reasons = tuple(notes.values()) or (nobody,)
        state = State.SURVEY_FIRST if still_open else State.NOT_FEASIBLE
        return Verdict(SERVICE, state, reasons, how_sure(site, land.on_date, margin_sigmas=math.nan)), MobileFinding(spot, unsold=unsold)
    enough = _enough(kept[0], plan)
    verdict = _verdict(site, land, kept, plan, enough, still_open=still_open)
    return verdict, MobileFinding(spot, kept, enough, kit_list(enough or kept[0].way, plan.kit), unsold)


def _lines(site: Site, land: Land, heard: list[Heard], plan: Plan, declination_deg: float) -> list[SectorLine]:
    knows = site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees
    around = Surroundings(heard, 0.0 if knows else limits.CLUTTER_UNKNOWN_SIGMA_DB, plan)
    groups: dict[tuple[str, str], list[Heard]] = {}
    for one in heard:
        groups.setdefault((one.sector.operator, one.sector.band), []).append(one)
    lines = [_line(group, around, declination_deg) for group in groups.values()]
    book = plan.limits.book_probability

    def rank(line: SectorLine) -> tuple:
        promised = line.probability >= book
        chance = 0.0 if promised else -line.probability
        return (not promised, chance, -line.rsrp_dbm, line.sector.operator, line.sector.band)

    return sorted(lines, key=rank)


def _line(group: list[Heard], around: Surroundings, declination_deg: float) -> SectorLine:
    """Return one operator's band: its strongest sector by the best way sold, and all four ways."""
    plan = around.plan
    found = [pair for way in WAYS if (pair := way_line(way, group, around)) is not None]
    usable = [pair for pair in found if pair[0].sold and pair[0].fits]
    way, others = max(usable or found, key=lambda pair: (round(pair[0].probability, 9), pair[0].rsrp_dbm))
    level = "outdoors_dbm" if way.way in OUTDOORS else "indoors_dbm"
    ranked = sorted(group, key=lambda one: -getattr(one, level) if math.isfinite(getattr(one, level)) else math.inf)
    one, second = ranked[0], ranked[1] if len(ranked) > 1 else None
    sector = one.sector
    sold = not plan.mobile.operators_sold or sector.operator in plan.mobile.operators_sold
    loudest = sorted(others, key=lambda pair: (-pair[1], pair[0].sector.operator, pair[0].sector.name))[:DISTURBERS]
    error = 0.0
    if sector.origin == "cell list":
        error = min(90.0, math.degrees(math.atan2(2.0 * sector.site_error_m, one.distance_m)))
    return SectorLine(
        sector=sector,
        distance_m=one.distance_m,
        bearing_deg=one.bearing_deg,
        loss_db=one.outdoors.loss_db,
        rsrp_dbm=way.rsrp_dbm,
        margin_db=way.rsrp_dbm - limits.wanted(sector, plan.limits)[0],
        sigma_db=way.sigma_db,
        probability=way.probability,
        profile=one.profile,
        tx_height_agl_m=one.tx_height_agl_m,
        rx_height_agl_m=one.rx_height_agl_m,
        ray_blocked_m=one.distance_m - one.outdoors.what_blocks_m,
        diffraction_db=float(one.outdoors.intermediates.get("diffraction_50_db", math.nan)),
        magnetic_bearing_deg=(one.bearing_deg - declination_deg) % 360.0,
        sinr_db=way.sinr_db,
        rsrq_db=way.rsrq_db,
        way=way.way,
        ways=tuple(pair[0] for pair in found),
        counts=sold and sector.technology in plan.mobile.technologies and bool(usable),
        wanted_ratio_db=limits.wanted(sector, plan.limits)[2],
        gap_db=getattr(one, level) - getattr(second, level) if second is not None else math.nan,
        second_site=second.sector.site if second is not None else "",
        bearing_error_deg=error,
        disturbers=tuple((other.sector.operator, other.sector.site, other.sector.name, power) for other, power in loudest),
        warnings=_warnings(one, around, plan),
    )


def _warnings(one: Heard, around: Surroundings, plan: Plan) -> tuple[Reason, ...]:
    """Return what else holds of a sector: beyond timing's reach; carriers of its site that the roof antenna misses."""
    out = []
    reach = timing_reach_m(one.sector, plan.mobile.tdd_guard_us)
    if one.distance_m > reach:
        code = "mobile_beyond_timing" if one.sector.technology == "GSM" else "mobile_beyond_guard"
        out.append(Reason(code, {"site": one.sector.site, "distance_m": one.distance_m, "reach_m": reach}))
    if "roof antenna" in plan.mobile.ways:
        own = [
            other.sector for other in around.heard
            if (other.sector.operator, other.sector.site) == (one.sector.operator, one.sector.site)
            and other.sector.technology in plan.mobile.technologies
        ]  # fmt: skip
        missed = dict.fromkeys(other.band for other in own if other.origin != "cell list" and not fits(other, plan.kit))
        if missed:
            out.append(Reason("mobile_antenna_misses", {"bands": list(missed), "site": one.sector.site}))
    return tuple(out)


def _enough(line: SectorLine, plan: Plan) -> str:
    """Return the way with the least work that is sold, fits and can be promised; "" where none."""
    if line.sector.origin == "cell list":
        return ""
    book = plan.limits.book_probability
    return next((way.way for way in line.ways if way.sold and way.fits and way.probability >= book), "")


def _verdict(
    site: Site, land: Land, lines: Sequence[SectorLine], plan: Plan, enough: str, *, still_open: Sequence[Reason]
) -> Verdict:
    best = lines[0]
    sellable = [way for line in lines for way in line.ways if way.sold and way.fits]
    possible = max(way.possible for way in sellable)
    state = state_from_chance(best.probability, possible, plan.limits)
    listed = best.sector.origin == "cell list"
    no_proof = listed or not looks_at_the_ground(plan.propagation.method_mobile)  # where phones measured is none, for or against
    if no_proof or (still_open and state is State.NOT_FEASIBLE):
        state = State.SURVEY_FIRST
    chosen = next(way for way in best.ways if way.way == (enough or best.way))
    reasons = _reasons(best, chosen, state, enough, plan)
    if math.isfinite(best.ray_blocked_m) and best.diffraction_db >= 6.0:
        reasons.append(Reason("path_blocked", {"distance_m": best.ray_blocked_m, "loss_db": best.diffraction_db}))
    reasons += still_open if state is not State.BOOK else ()
    reasons += [*best.warnings, *statistical_note(plan.propagation.method_mobile)]
    deciding = best.rsrp_dbm - limits.wanted(best.sector, plan.limits)[1] if state is State.NOT_FEASIBLE else best.margin_db
    sure_of = how_sure(site, land.on_date, margin_sigmas=abs(deciding) / best.sigma_db, assumed=listed)
    if no_proof:
        sure_of = replace(sure_of, level="low")
    ask = None
    if state is State.SURVEY_FIRST:
        ask = Reason("ask_phone_signal", {"operator": best.sector.operator, "bearing_deg": best.bearing_deg})
    chance = possible if state is State.NOT_FEASIBLE else best.probability
    return Verdict(SERVICE, state, tuple(reasons), sure_of, chance, ask)


def _reasons(best: SectorLine, chosen: WayLine, state: State, enough: str, plan: Plan) -> list[Reason]:
    sector = best.sector
    values = {
        "operator": sector.operator, "band": sector.band, "site": sector.site, "bearing_deg": best.bearing_deg,
        "distance_m": best.distance_m, "margin_db": best.margin_db, "lacking_db": -best.margin_db, "probability": best.probability,
    }  # fmt: skip
    if sector.origin == "cell list":
        around = {"from_deg": best.bearing_deg - best.bearing_error_deg, "to_deg": best.bearing_deg + best.bearing_error_deg}
        return [Reason("mobile_list_only", {**values, **around, "error_m": sector.site_error_m})]
    if state is State.NOT_FEASIBLE:
        disturbed = best.margin_db >= 0.0 and best.disturbers
        return [Reason("mobile_none_clear" if disturbed else "mobile_none", values)]
    reasons = []
    if state is State.BOOK:
        reasons.append(Reason("mobile_good", {**values, "margin_db": chosen.rsrp_dbm - limits.wanted(sector, plan.limits)[0]}))
        reasons.append(Reason(f"mobile_enough_{enough.replace(' ', '_')}"))
        return reasons
    reasons.append(Reason("mobile_doubtful" if best.margin_db >= 0 else "mobile_short", values))
    reasons.append(Reason(f"mobile_try_{best.way.replace(' ', '_')}"))
    if best.disturbers and best.sinr_db - best.wanted_ratio_db < min(best.margin_db, 10.0):
        operator, place, _, _ = best.disturbers[0]
        same = (operator, place) == (sector.operator, sector.site)
        values = {"operator": operator, "site": place, "over_db": best.sinr_db}
        reasons.append(Reason("mobile_disturbed_same", values) if same else Reason("mobile_disturbed", values))
    if math.isfinite(chosen.uplink_margin_db) and chosen.uplink_margin_db < best.margin_db:
        reasons.append(Reason("mobile_way_back", {"margin_db": chosen.uplink_margin_db}))
    return reasons
