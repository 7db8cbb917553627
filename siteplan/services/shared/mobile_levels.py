"""How strongly a mobile sector's whole carrier arrives at another antenna: at full load, by its pattern and the ground between."""

from __future__ import annotations

import math

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.mobile_signal import UMTS_OVER_PILOT_DB, carrier_mhz, pattern_db, reference_hz
from siteplan.records.emitters import Sector
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import Profile
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import Land, bearing_and_distance
from siteplan.terrain.profile import profile_between
from siteplan.units import free_space_loss_db

# Share of a carrier's width that its resource blocks fill (LTE from 3 MHz on: 3GPP TS 36.101, table 5.6-1), where their number is not told.
_FILLED = 0.9
# A mobile signal may be stronger than the weakest wanted TV channel by 35 dB next to it (under 16 MHz from its edge), by 45 dB farther off
# (Report ITU-R BT.2215, Rec. ITU-R BT.2033; memory of the 90 % receivers).
NEAR_RATIO_DB, FAR_RATIO_DB, NEAR_MHZ = 35.0, 45.0, 16.0
Places = dict[tuple[float, float], Profile]


def carrier_eirp_dbm(sector: Sector) -> float:
    """Return the EIRP of a whole carrier in its beam's axis at full load, dBm: the reference's and 10 log(12 N_RB) of LTE and NR.

    UMTS: the pilot is taken as a tenth of the carrier; GSM: the reference is the carrier (common practice). Where no width is told the
    usual one is taken (radio.mobile_signal.carrier_mhz). Source: 3GPP TS 36.214, 38.215.
    """
    if sector.technology == "GSM":
        return sector.re_eirp_dbm
    if sector.technology == "UMTS":
        return sector.re_eirp_dbm + UMTS_OVER_PILOT_DB
    elements = 12.0 * sector.resource_blocks or _FILLED * 1e6 * carrier_mhz(sector) / reference_hz(sector)
    return sector.re_eirp_dbm + 10.0 * math.log10(elements)


def arrives_dbm(
    sector: Sector, spot: Spot, land: Land, plan: Plan, *, gain_dbi: float, least_dbm: float, places: Places
) -> float:
    """Return the level of one sector's carrier after an antenna's gain towards it, dBm; -inf where even free space stays under least_dbm.

    gain_dbi   of the receiving antenna towards the sector, its plane counted
    places     profiles by place of the sector, kept between calls

    Loss: ITU-R P.1812 median over the ground between, free space where that is not known. Pattern: as its table says. Sectors of open cell
    lists give no level: neither their power nor their mast is known.
    """
    bearing, away = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
    if sector.origin != "table" or away < 1.0 or away > 1000.0 * plan.mobile.greatest_distance_km:
        return -math.inf
    loss_db = float(free_space_loss_db(away, sector.frequency_mhz))
    most = carrier_eirp_dbm(sector) + gain_dbi
    if most - loss_db < least_dbm:
        return -math.inf
    place = (sector.lat_deg, sector.lon_deg)
    if place not in places:
        places[place] = profile_between(
            land.prepared, tx_lat_deg=place[0], tx_lon_deg=place[1], rx_lat_deg=spot.lat_deg, rx_lon_deg=spot.lon_deg
        )
    profile = places[place]
    sender_amsl_m = spot.ground_amsl_m + sector.antenna_height_agl_m
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
            pass  # free space is the least it can be
    up = math.degrees(math.atan2(spot.centre_amsl_m - sender_amsl_m, away))
    return most + pattern_db(sector, bearing_deg=bearing + 180.0, elevation_deg=up) - loss_db
