"""The terrestrial TV rule: the transmitter to aim at, and whether it is strong enough to promise."""

from __future__ import annotations

import math
from dataclasses import replace

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.terrestrial_link import terrestrial_need
from siteplan.records.emitters import Multiplex, Transmitter
from siteplan.records.findings import Aim, MultiplexLine, TerrestrialFinding
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss
from siteplan.records.verdict import Reason, State, Verdict
from siteplan.services.shared.chance import normal_cdf, state_from_chance
from siteplan.services.shared.paths import statistical_note, work_path
from siteplan.services.shared.site import Land, Site, bearing_and_distance, declination_at, mast_spot
from siteplan.services.shared.trust import how_sure
from siteplan.services.terrestrial import limits
from siteplan.terrain.profile import profile_between
from siteplan.units import dbd_to_dbi, field_strength_to_terminal_dbuv

SERVICE = "terrestrial"
KEEP_PROFILES = 2


def judge(
    site: Site, land: Land, transmitters: tuple[Transmitter, ...], plan: Plan, *, pictures: bool = True
) -> tuple[Verdict, TerrestrialFinding]:
    """Return the verdict for terrestrial TV at one address, with all aims in range, best first."""
    if not plan.transmitters.file:
        return Verdict(SERVICE, State.NOT_JUDGED, (Reason("none_listed_terrestrial"),)), TerrestrialFinding(None)
    spot = mast_spot(site, land, plan, plan.mount.aerial_height_agl_m)
    aims, notes = [], []
    for transmitter in transmitters:
        found, note = _aim(transmitter, site, spot, land, plan)
        if found is not None:
            aims.append(found)
        if note is not None:
            notes.append(note)
    if not aims:
        reasons = tuple(notes) or (Reason("tv_too_far", {"limit_m": 1000.0 * plan.transmitters.greatest_distance_km}),)
        state = State.SURVEY_FIRST if notes else State.NOT_FEASIBLE
        return Verdict(SERVICE, state, reasons, how_sure(site, land.on_date, margin_sigmas=math.nan)), TerrestrialFinding(spot)
    aims.sort(key=lambda aim: _rank(aim, plan))
    kept = tuple(aim if pictures and place < KEEP_PROFILES else replace(aim, profile=None) for place, aim in enumerate(aims))
    said = (*statistical_note(plan.propagation.method_tv), *notes)
    return _verdict(site, land, kept, plan, said), TerrestrialFinding(spot, kept)


def _rank(aim: Aim, plan: Plan) -> tuple:
    """Return the sort key of an aim: most channels that can be promised, then most that work at all, then the weakest margin."""
    sure = sum(line.probability >= plan.limits.book_probability for line in aim.lines)
    works = sum(line.margin_db >= 0 for line in aim.lines)
    return (-sure, -works, -aim.margin_db, aim.transmitter.name)


def _aim(transmitter: Transmitter, site: Site, spot: Spot, land: Land, plan: Plan) -> tuple[Aim | None, Reason | None]:
    """Return one transmitter worked over its own path, or why it was left out; (None, None) out of range."""
    bearing, away = bearing_and_distance(spot, transmitter.lat_deg, transmitter.lon_deg)
    if away > 1000.0 * plan.transmitters.greatest_distance_km or not transmitter.multiplexes:
        return None, None
    if away < limits.AT_THE_ADDRESS_M:
        return None, Reason("emitter_at_address", {"name": transmitter.name})
    profile = profile_between(
        land.prepared,
        tx_lat_deg=transmitter.lat_deg,
        tx_lon_deg=transmitter.lon_deg,
        rx_lat_deg=spot.lat_deg,
        rx_lon_deg=spot.lon_deg,
    )
    if not profile.complete:
        return None, Reason("tv_unknown_path", {"transmitter": transmitter.name})
    tx_height = transmitter.antenna_height_agl_m
    if math.isfinite(transmitter.ground_amsl_m):
        tx_height = max(1.0, transmitter.ground_amsl_m + tx_height - float(profile.ground_amsl_m[0]))
    tx_height, rx_height = round(tx_height, 2), round(spot.centre_amsl_m - float(profile.ground_amsl_m[-1]), 2)
    try:
        losses = work_path(
            profile,
            tx_height_agl_m=tx_height,
            rx_height_agl_m=rx_height,
            frequencies_mhz=[m.frequency_mhz for m in transmitter.multiplexes],
            polarisations=["v" if m.polarisation == "v" else "h" for m in transmitter.multiplexes],
            erps_kw=[10.0 ** (m.erp_dbw / 10.0 - 3.0) for m in transmitter.multiplexes],
            time_pct=limits.TIME_PCT,
            location_pct=limits.LOCATION_PCT,
            delta_n=plan.limits.delta_n,
            n0=plan.limits.n0,
            method=plan.propagation.method_tv,
            unknown_clutter=plan.propagation.unknown_clutter,
        )
    except MethodRangeError as wrong:
        return None, Reason("path_out_of_method", {"name": transmitter.name, "why": str(wrong)})
    except InputError:
        return None, Reason("tv_unknown_path", {"transmitter": transmitter.name})
    lines = tuple(_line(m, loss, site, plan) for m, loss in zip(transmitter.multiplexes, losses, strict=True))
    worst = max(losses, key=lambda loss: loss.intermediates.get("diffraction_50_db", 0.0))
    declination = declination_at(spot.lat_deg, spot.lon_deg, land.on_date)
    return Aim(
        transmitter=transmitter,
        distance_m=away,
        bearing_deg=bearing,
        magnetic_bearing_deg=(bearing - declination) % 360.0,
        lines=lines,
        profile=profile,
        ray_blocked_m=away - worst.what_blocks_m,
        diffraction_db=float(worst.intermediates.get("diffraction_50_db", math.nan)),
        tx_height_agl_m=tx_height,
        rx_height_agl_m=rx_height,
    ), None


def _line(multiplex: Multiplex, loss: PathLoss, site: Site, plan: Plan) -> MultiplexLine:
    """Hold one multiplex's median field against its minimum median field: both medians, never crosswise."""
    kit = plan.kit
    need = terrestrial_need(
        multiplex.mode,
        frequency_mhz=multiplex.frequency_mhz,
        bandwidth_mhz=multiplex.bandwidth_mhz,
        gain_dbd_at_500=kit.aerial_gain_dbd,
        feeder_loss_db_at_500=kit.aerial_feeder_loss_db,
    )
    field = loss.field_strength_dbuv_per_m
    sigma = math.hypot(loss.sigma_db, plan.limits.method_sigma_db)
    if not (site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees):
        sigma = math.hypot(sigma, limits.CLUTTER_UNKNOWN_SIGMA_DB)
    return MultiplexLine(
        multiplex=multiplex,
        loss_db=loss.loss_db,
        field_strength_dbuv_per_m=field,
        minimum_median_dbuv_per_m=need.minimum_median_dbuv_per_m,
        level_dbuv=field_strength_to_terminal_dbuv(field, multiplex.frequency_mhz, gain_dbi=dbd_to_dbi(need.gain_dbd)),
        margin_db=field - need.minimum_median_dbuv_per_m,
        sigma_db=sigma,
        probability=float(normal_cdf((field - need.minimum_field_dbuv_per_m) / sigma)),
    )


def _verdict(site: Site, land: Land, aims: tuple[Aim, ...], plan: Plan, notes: tuple[Reason, ...]) -> Verdict:
    best = aims[0]
    weakest = min(best.lines, key=lambda line: line.probability)
    strongest_aim, strongest = max(((aim, line) for aim in aims for line in aim.lines), key=lambda pair: pair[1].probability)
    state = state_from_chance(weakest.probability, strongest.probability, plan.limits)
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
    if math.isfinite(best.ray_blocked_m) and best.diffraction_db >= 6.0:
        reasons.append(Reason("path_blocked", {"distance_m": best.ray_blocked_m, "loss_db": best.diffraction_db}))
    deciding = strongest if state is State.NOT_FEASIBLE else weakest
    sigmas = abs(deciding.margin_db) / deciding.sigma_db
    sure_of = how_sure(site, land.on_date, margin_sigmas=sigmas)
    ask = Reason("ask_neighbours", {"bearing_deg": best.bearing_deg}) if state is State.SURVEY_FIRST else None
    return Verdict(SERVICE, state, (*reasons, *notes), sure_of, deciding.probability, ask)
