"""The mobile rule: which site and band is likely strongest for each operator, and is it strong enough."""

from __future__ import annotations

import math
from dataclasses import replace

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.antenna import sector_pattern_db
from siteplan.radio.link_budget import rsrp_dbm
from siteplan.records.emitters import Sector
from siteplan.records.findings import MobileFinding, SectorLine
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import Profile
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.mobile import limits
from siteplan.services.shared.chance import normal_cdf, state_from_chance
from siteplan.services.shared.paths import error_of_method, statistical_note, work_path
from siteplan.services.shared.site import Land, Site, bearing_and_distance, mast_spot
from siteplan.services.shared.trust import how_sure
from siteplan.terrain.profile import profile_between

SERVICE = "mobile"
KEEP_PROFILES = 1


def judge(site: Site, land: Land, sectors: tuple[Sector, ...], plan: Plan, *, pictures: bool = True) -> tuple[Verdict, MobileFinding]:
    """Return the verdict for mobile internet at one address: the best sector of each operator and band, strongest first."""
    if not plan.mobile.file:
        return Verdict(SERVICE, State.NOT_JUDGED, (Reason("none_listed_mobile"),)), MobileFinding(None)
    spot = mast_spot(site, land, plan, plan.mount.mobile_height_agl_m)
    profiles: dict[tuple[float, float], Profile] = {}
    best: dict[tuple[str, str], SectorLine] = {}
    notes: dict[str, Reason] = {}
    for sector in sectors:
        found = _line(sector, site, spot, land, plan, profiles, notes)
        key = (sector.operator, sector.band)
        if found is not None and (key not in best or found.rsrp_dbm > best[key].rsrp_dbm):
            best[key] = found
    lines = sorted(best.values(), key=lambda line: (-line.rsrp_dbm, line.sector.operator, line.sector.band))
    kept = tuple(line if pictures and place < KEEP_PROFILES else replace(line, profile=None) for place, line in enumerate(lines))
    if not kept:
        reasons = tuple(notes.values()) or (Reason("mobile_too_far", {"limit_m": 1000.0 * plan.mobile.greatest_distance_km}),)
        state = State.SURVEY_FIRST if notes else State.NOT_FEASIBLE
        return Verdict(SERVICE, state, reasons, how_sure(site, land.on_date, margin_sigmas=math.nan)), MobileFinding(spot)
    return _verdict(site, land, kept, plan), MobileFinding(spot, kept)


def _line(sector: Sector, site: Site, spot: Spot, land: Land, plan: Plan, profiles: dict, notes: dict[str, Reason]) -> SectorLine | None:
    """Return one sector worked over its path (the path once for all sectors of a site), None out of range or left out."""
    bearing, away = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
    if away > 1000.0 * plan.mobile.greatest_distance_km:
        return None
    if away < limits.AT_THE_ADDRESS_M:
        notes.setdefault(sector.site, Reason("emitter_at_address", {"name": sector.site}))
        return None
    place = (sector.lat_deg, sector.lon_deg)
    if place not in profiles:
        profiles[place] = profile_between(
            land.prepared, tx_lat_deg=sector.lat_deg, tx_lon_deg=sector.lon_deg, rx_lat_deg=spot.lat_deg, rx_lon_deg=spot.lon_deg
        )
    profile = profiles[place]
    if not profile.complete:
        notes.setdefault(sector.site, Reason("mobile_unknown_path", {"site": sector.site}))
        return None
    tx_height = sector.antenna_height_agl_m
    if math.isfinite(sector.ground_amsl_m):
        tx_height = max(1.0, sector.ground_amsl_m + tx_height - float(profile.ground_amsl_m[0]))
    tx_height, rx_height = round(tx_height, 2), round(spot.centre_amsl_m - float(profile.ground_amsl_m[-1]), 2)
    try:
        (loss,) = work_path(
            profile,
            tx_height_agl_m=tx_height,
            rx_height_agl_m=rx_height,
            frequencies_mhz=[sector.frequency_mhz],
            polarisations="v",
            time_pct=limits.TIME_PCT,
            location_pct=limits.LOCATION_PCT,
            delta_n=plan.limits.delta_n,
            n0=plan.limits.n0,
            method=plan.propagation.method_mobile,
            unknown_clutter=plan.propagation.unknown_clutter,
        )
    except MethodRangeError as wrong:
        notes.setdefault(sector.site, Reason("path_out_of_method", {"name": sector.site, "why": str(wrong)}))
        return None
    except InputError:
        notes.setdefault(sector.site, Reason("mobile_unknown_path", {"site": sector.site}))
        return None
    up = math.degrees(math.atan2(spot.centre_amsl_m - float(profile.ground_amsl_m[0]) - tx_height, away))
    pattern = sector_pattern_db(
        bearing_deg=bearing + 180.0,
        elevation_deg=up,
        azimuth_deg=sector.azimuth_deg,
        downtilt_deg=sector.downtilt_deg,
        beamwidth_deg=sector.beamwidth_deg,
        vertical_beamwidth_deg=sector.vertical_beamwidth_deg,
    )
    kit = plan.kit
    level = rsrp_dbm(
        re_eirp_dbm=sector.re_eirp_dbm,
        pattern_db=float(pattern),
        loss_db=loss.loss_db,
        gain_dbi=kit.mobile_gain_dbi,
        feeder_loss_db=kit.mobile_feeder_loss_db,
    )
    sigma = math.hypot(loss.sigma_db, error_of_method(loss, plan)[0])
    if not (site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees):
        sigma = math.hypot(sigma, limits.CLUTTER_UNKNOWN_SIGMA_DB)
    margin = level - plan.limits.rsrp_dbm
    return SectorLine(
        sector=sector,
        distance_m=away,
        bearing_deg=bearing,
        loss_db=loss.loss_db,
        rsrp_dbm=level,
        margin_db=margin,
        sigma_db=sigma,
        probability=float(normal_cdf(margin / sigma)),
        profile=profile,
        tx_height_agl_m=tx_height,
        rx_height_agl_m=rx_height,
        ray_blocked_m=away - loss.what_blocks_m,
        diffraction_db=float(loss.intermediates.get("diffraction_50_db", math.nan)),
    )


def _verdict(site: Site, land: Land, lines: tuple[SectorLine, ...], plan: Plan) -> Verdict:
    best = lines[0]
    hopeless = plan.limits.rsrp_floor_dbm
    possible = float(normal_cdf((best.rsrp_dbm - hopeless) / best.sigma_db))
    state = state_from_chance(best.probability, possible, plan.limits)
    values = {
        "operator": best.sector.operator, "band": best.sector.band, "site": best.sector.site, "bearing_deg": best.bearing_deg,
        "distance_m": best.distance_m, "margin_db": best.margin_db, "lacking_db": -best.margin_db, "probability": best.probability,
    }  # fmt: skip
    if state is State.BOOK:
        reason = Reason("mobile_good", values)
    elif state is State.NOT_FEASIBLE:
        reason = Reason("mobile_none", values)
    else:
        reason = Reason("mobile_doubtful" if best.margin_db >= 0 else "mobile_short", values)
    reasons = [reason]
    if math.isfinite(best.ray_blocked_m) and best.diffraction_db >= 6.0:
        reasons.append(Reason("path_blocked", {"distance_m": best.ray_blocked_m, "loss_db": best.diffraction_db}))
    reasons += statistical_note(plan.propagation.method_mobile)
    sigmas = abs(best.margin_db if state is not State.NOT_FEASIBLE else best.rsrp_dbm - hopeless) / best.sigma_db
    sure_of = how_sure(site, land.on_date, margin_sigmas=sigmas)
    ask = None
    if state is State.SURVEY_FIRST:
        ask = Reason("ask_phone_signal", {"operator": best.sector.operator, "bearing_deg": best.bearing_deg})
    chance = possible if state is State.NOT_FEASIBLE else best.probability
    return Verdict(SERVICE, state, tuple(reasons), sure_of, chance, ask)
