"""What mobile senders do to a dish for 3.4 to 4.2 GHz: whether together they are more than its LNB bears."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.radio.antenna import s465_gain_dbi
from siteplan.records.emitters import Sector
from siteplan.records.findings import SatelliteView
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.services.shared.mobile_levels import Places, arrives_dbm
from siteplan.services.shared.site import Land, bearing_and_distance
from siteplan.units import power_sum_db, wavelength_m

FROM_MHZ, TO_MHZ = 3400.0, 4200.0
MOBILE_FROM_MHZ = 3300.0
# What an LNB for this band takes in all before it is driven too hard, at its input (memory: -60 dBm; makers say -50 to -60 dBm).
LNB_MOST_DBM = -60.0
_WORTH_DBM = LNB_MOST_DBM - 20.0


def mobile_into_dish(
    views: Sequence[SatelliteView], sectors: Sequence[Sector], spot: Spot, land: Land, plan: Plan
) -> tuple[Reason, ...]:
    """Return what is to be said of dishes for 3.4 to 4.2 GHz: that mobile senders overdrive the LNB (band-pass filter), or nothing.

    The dish's gain towards a mobile site is Rec. ITU-R S.465-6's at the angle between them (its greatest near the axis); at full load
    over the ground between (services.shared.mobile_levels).
    """
    near = [sector for sector in sectors if MOBILE_FROM_MHZ <= sector.frequency_mhz <= TO_MHZ]
    if not near:
        return ()
    places: Places = {}
    said = []
    for view in views:
        if not any(FROM_MHZ <= carrier.frequency_mhz <= TO_MHZ for carrier in view.satellite.transponders):
            continue
        dish_m = view.dish_m if math.isfinite(view.dish_m) else max(plan.kit.dishes_m)
        found = [(_arrives(sector, view, dish_m, spot, land, plan, places), sector) for sector in near]
        found = sorted(((level, sector) for level, sector in found if level > _WORTH_DBM), key=lambda one: -one[0])
        if found and (total := float(power_sum_db([level for level, _ in found]))) > LNB_MOST_DBM:
            strongest = found[0][1]
            values = {"satellite": view.satellite.name, "site": strongest.site, "operator": strongest.operator}
            said.append(Reason("sat_mobile_filter", {**values, "over_db": total - LNB_MOST_DBM}))
    return tuple(said)


def _arrives(sector: Sector, view: SatelliteView, dish_m: float, spot: Spot, land: Land, plan: Plan, places: Places) -> float:
    bearing, away = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
    if away < 1.0:
        return -math.inf
    ground = sector.ground_amsl_m if math.isfinite(sector.ground_amsl_m) else spot.ground_amsl_m
    up = math.atan2(ground + sector.antenna_height_agl_m - spot.centre_amsl_m, away)
    turn, dish_up = math.radians(bearing - view.look.azimuth_deg), math.radians(view.look.elevation_deg)
    cosine = math.sin(dish_up) * math.sin(up) + math.cos(dish_up) * math.cos(up) * math.cos(turn)
    off_axis = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
    ratio = dish_m / float(wavelength_m(sector.frequency_mhz))
    gain = float(s465_gain_dbi(max(off_axis, 2.5), ratio))
    return arrives_dbm(sector, spot, land, plan, gain_dbi=gain, least_dbm=_WORTH_DBM, places=places)
