"""What mobile senders do at a TV aerial: their level at its terminals and after the amplifier, and whether a filter is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.radio.antenna import scaled_aerial
from siteplan.radio.tv_aerial import turned_away_db
from siteplan.records.emitters import Sector
from siteplan.records.findings import Aim
from siteplan.records.plan import Plan
from siteplan.records.tv import MobileAtAerial
from siteplan.services.shared.mobile_levels import FAR_RATIO_DB, NEAR_MHZ, NEAR_RATIO_DB, Places, arrives_dbm
from siteplan.services.shared.site import bearing_and_distance
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.disturb import Aerial, House, plane_of
from siteplan.units import dbd_to_dbi, dbm_to_dbuv, dbuv_to_dbm, free_space_loss_db, power_sum_db


def mobile_at_aerial(aim: Aim, sectors: Sequence[Sector], house: House) -> MobileAtAerial | None:
    """Return what mobile senders from 450 to 960 MHz do at an aerial on one aim; None where none comes near what matters.

    Free space says which could matter; only those are worked over the ground (ITU-R P.1812, median). Levels at full load, both planes of a
    mobile antenna at +-45 degrees counted, the aerial's gain as at the channels it is made for. Thresholds: limits.py.
    """
    plan = house.plan
    aerial = Aerial(aim.bearing_deg, plane_of(tuple(line.multiplex for line in aim.lines)))
    found: list[tuple[float, Sector]] = []
    places: Places = {}
    for sector in sectors:
        if not limits.MOBILE_FROM_MHZ <= sector.frequency_mhz <= limits.MOBILE_TO_MHZ:
            continue
        level = _level_dbuv(sector, aerial, house, places)
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


def _level_dbuv(sector: Sector, aerial: Aerial, house: House, places: Places) -> float:
    """Return the level of one sector at the aerial's terminals, -inf where it can't matter."""
    spot, plan = house.spot, house.plan
    bearing, _ = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
    gain, _ = scaled_aerial(frequency_mhz=sector.frequency_mhz, gain_dbd_at_500=plan.kit.aerial_gain_dbd, feeder_loss_db_at_500=0.0)
    turned = turned_away_db(
        off_axis_deg=bearing - aerial.bearing_deg, frequency_mhz=sector.frequency_mhz, plane=aerial.plane, polarisation="s",
        directivity=plan.kit.aerial_directivity,
    )  # fmt: skip
    least = float(dbuv_to_dbm(limits.MOBILE_MATTERS_DBUV))
    level = arrives_dbm(sector, spot, house.land, plan, gain_dbi=float(dbd_to_dbi(gain)) - turned, least_dbm=least, places=places)
    return float(dbm_to_dbuv(level)) if math.isfinite(level) else -math.inf


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
        allowed = NEAR_RATIO_DB if abs(sector.frequency_mhz - top) < NEAR_MHZ else FAR_RATIO_DB
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
