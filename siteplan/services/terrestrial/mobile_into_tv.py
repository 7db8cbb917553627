"""What mobile senders do at a TV aerial: their level at its terminals and after the amplifier, and whether a filter is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.antenna import scaled_aerial, sector_pattern_db
from siteplan.radio.tv_aerial import turned_away_db
from siteplan.records.emitters import Sector
from siteplan.records.findings import Aim
from siteplan.records.plan import Plan
from siteplan.records.tv import MobileAtAerial
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import bearing_and_distance
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.disturb import Aerial, House, plane_of
from siteplan.terrain.profile import profile_between
from siteplan.units import dbd_to_dbi, dbm_to_dbuv, free_space_loss_db, power_sum_db

_SUBCARRIERS = 12
# Resource blocks of a carrier whose table names no width: 10 MHz of LTE (3GPP TS 36.101, table 5.6-1), the common width under 1 GHz.
_USUAL_BLOCKS = 50


def carrier_eirp_dbm(sector: Sector) -> float:
    """Return the EIRP of a whole carrier in its beam's axis at full load, dBm: the reference's and 10 log(12 N_RB) of LTE and NR.

    UMTS: the pilot is taken as a tenth of the carrier; GSM: the reference is the carrier (common practice). Source: 3GPP TS 36.214, 38.215.
    """
    if sector.technology == "GSM":
        return sector.re_eirp_dbm
    if sector.technology == "UMTS":
        return sector.re_eirp_dbm + 10.0
    blocks = sector.resource_blocks or _USUAL_BLOCKS
    return sector.re_eirp_dbm + 10.0 * math.log10(_SUBCARRIERS * blocks)


def mobile_at_aerial(aim: Aim, sectors: Sequence[Sector], house: House) -> MobileAtAerial | None:
    """Return what mobile senders from 450 to 960 MHz do at an aerial on one aim; None where none comes near what matters.

    Free space says which could matter; only those are worked over the ground (ITU-R P.1812, median). Levels at full load, both planes of a
    mobile antenna at +-45 degrees counted, the aerial's gain as at the channels it is made for. Thresholds: limits.py.
    """
    plan = house.plan
    aerial = Aerial(aim.bearing_deg, plane_of(tuple(line.multiplex for line in aim.lines)))
    found: list[tuple[float, Sector]] = []
    profiles: dict[tuple[float, float], object] = {}
    for sector in sectors:
        if not limits.MOBILE_FROM_MHZ <= sector.frequency_mhz <= limits.MOBILE_TO_MHZ:
            continue
        level = _level_dbuv(sector, aerial, house, profiles)
        if level >= limits.MOBILE_MATTERS_DBUV:
            found.append((level, sector))
    uplink, uplink_dbuv = _uplink(aim, sectors, plan)
    if not found and not uplink:
        return None
    if not found:
        first = next(sector for sector in sectors if _sends_700(sector))
        return MobileAtAerial(first.operator, first.site, first.frequency_mhz, math.nan, math.nan, "none", "", math.nan, True, uplink_dbuv)
    found.sort(key=lambda pair: (-pair[0], pair[1].operator, pair[1].site, pair[1].name))
    level, strongest = found[0]
    total = float(power_sum_db([one for one, _ in found]))
    advice, why = _advice(aim, found, total, plan)
    gain = plan.kit.amplifier_gain_db
    return MobileAtAerial(
        strongest.operator, strongest.site, strongest.frequency_mhz, level, total, advice, why, total + gain if gain > 0.0 else math.nan,
        uplink, uplink_dbuv,
    )  # fmt: skip


def _level_dbuv(sector: Sector, aerial: Aerial, house: House, profiles: dict) -> float:
    """Return the level of one sector at the aerial's terminals, -inf where it can't matter."""
    spot, plan = house.spot, house.plan
    bearing, away = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
    if away < 1.0 or away > 1000.0 * plan.mobile.greatest_distance_km:
        return -math.inf
    gain, _ = scaled_aerial(frequency_mhz=sector.frequency_mhz, gain_dbd_at_500=plan.kit.aerial_gain_dbd, feeder_loss_db_at_500=0.0)
    turned = turned_away_db(
        off_axis_deg=bearing - aerial.bearing_deg, frequency_mhz=sector.frequency_mhz, plane=aerial.plane, polarisation="s",
        directivity=plan.kit.aerial_directivity,
    )  # fmt: skip
    sender_amsl_m = house.spot.ground_amsl_m + sector.antenna_height_agl_m  # near enough for a first look: sites that matter are near
    most = carrier_eirp_dbm(sector) + float(dbd_to_dbi(gain)) - turned
    if float(dbm_to_dbuv(most - float(free_space_loss_db(away, sector.frequency_mhz)))) < limits.MOBILE_MATTERS_DBUV:
        return -math.inf
    place = (sector.lat_deg, sector.lon_deg)
    if place not in profiles:
        profiles[place] = profile_between(
            house.land.prepared, tx_lat_deg=place[0], tx_lon_deg=place[1], rx_lat_deg=spot.lat_deg, rx_lon_deg=spot.lon_deg
        )
    profile = profiles[place]
    loss_db = float(free_space_loss_db(away, sector.frequency_mhz))
    if profile.complete:
        tx_height = sector.antenna_height_agl_m
        if math.isfinite(sector.ground_amsl_m):
            tx_height = max(1.0, sector.ground_amsl_m + tx_height - float(profile.ground_amsl_m[0]))
        sender_amsl_m = float(profile.ground_amsl_m[0]) + tx_height
        rx_height = spot.centre_amsl_m - float(profile.ground_amsl_m[-1])
        try:
            (loss,) = work_path(
                profile, tx_height_agl_m=round(tx_height, 2), rx_height_agl_m=round(rx_height, 2),
                frequencies_mhz=[sector.frequency_mhz], polarisations="v", delta_n=plan.limits.delta_n, n0=plan.limits.n0,
            )  # fmt: skip
            loss_db = loss.loss_db
        except (MethodRangeError, InputError):
            pass  # free space is the most it can be
    up = math.degrees(math.atan2(spot.centre_amsl_m - sender_amsl_m, away))
    pattern = sector_pattern_db(
        bearing_deg=bearing + 180.0, elevation_deg=up, azimuth_deg=sector.azimuth_deg, downtilt_deg=sector.downtilt_deg,
        beamwidth_deg=sector.beamwidth_deg, vertical_beamwidth_deg=sector.vertical_beamwidth_deg,
    )  # fmt: skip
    return float(dbm_to_dbuv(most + float(pattern) - loss_db))


def _advice(aim: Aim, found: Sequence[tuple[float, Sector]], total_dbuv: float, plan: Plan) -> tuple[str, str]:
    """Return (advice, why) from levels at the terminals. With an amplifier its own clean output counts, before and after a filter."""
    wanted = [line for line in aim.lines if line.probability > plan.limits.not_feasible_probability] or list(aim.lines)
    weakest = min(line.level_dbuv for line in wanted)
    top = max(line.multiplex.frequency_mhz + line.multiplex.bandwidth_mhz / 2.0 for line in wanted)
    gain = plan.kit.amplifier_gain_db
    if gain > 0.0 and total_dbuv + gain > plan.kit.amplifier_most_dbuv:
        filtered = total_dbuv - limits.FILTER_DB + gain
        return ("filter_first" if filtered <= plan.kit.amplifier_most_dbuv else "amplifier_harmful"), "overload"
    if total_dbuv > limits.OVERLOAD_DBUV:
        return "filter", "overload"
    for level, sector in found:
        allowed = limits.NEAR_RATIO_DB if abs(sector.frequency_mhz - top) < limits.NEAR_MHZ else limits.FAR_RATIO_DB
        if level - weakest > allowed:
            return ("filter_first" if gain > 0.0 else "filter"), "ratio"
    return "none", ""


def _sends_700(sector: Sector) -> bool:
    uplink = sector.uplink_mhz
    if math.isfinite(uplink):
        return limits.UPLINK_MHZ <= uplink <= limits.UPLINK_TO_MHZ
    return 758.0 <= sector.frequency_mhz <= 788.0


def _uplink(aim: Aim, sectors: Sequence[Sector], plan: Plan) -> tuple[bool, float]:
    """Return (a phone's uplink from 703 MHz may disturb the highest channel aimed at, its level at the terminals from PHONE_M, dBuV)."""
    top = max(line.multiplex.frequency_mhz + line.multiplex.bandwidth_mhz / 2.0 for line in aim.lines)
    if top <= limits.UPLINK_NEAR_MHZ or not any(_sends_700(sector) for sector in sectors):
        return False, math.nan
    gain, _ = scaled_aerial(frequency_mhz=limits.UPLINK_MHZ, gain_dbd_at_500=plan.kit.aerial_gain_dbd, feeder_loss_db_at_500=0.0)
    level = limits.PHONE_DBM - float(free_space_loss_db(limits.PHONE_M, limits.UPLINK_MHZ)) + float(dbd_to_dbi(gain)) - 16.0
    return True, float(dbm_to_dbuv(level))  # 16 dB: the phone is seldom ahead of the aerial (BT.419-3)
