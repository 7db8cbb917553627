"""Sites that could not be worked but might still serve: while there is one, nothing is ruled out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.records.emitters import Sector
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.services.mobile import limits
from siteplan.services.mobile.reach import Heard
from siteplan.services.shared.site import bearing_and_distance
from siteplan.units import free_space_loss_db


def left_open(spot: Spot, sectors: Sequence[Sector], heard: Sequence[Heard], notes: Mapping[str, Reason], plan: Plan) -> list[Reason]:
    """Return why each site was left out that might serve all the same, in the order given.

    Might: a sector that counts for the order, in reach, that free space and limits.OVER_FREE_SPACE_DB would bring above its hopeless
    level at the kit's best antenna, aimed at and in the axis of its beam; one that stands at the address always.
    """
    worked = {id(one.sector) for one in heard}
    reach_m = 1000.0 * plan.mobile.greatest_distance_km
    out: dict[str, Reason] = {}
    for sector in sectors:
        if sector.site not in notes or sector.site in out or id(sector) in worked:
            continue
        if plan.mobile.operators_sold and sector.operator not in plan.mobile.operators_sold:
            continue
        if sector.technology not in plan.mobile.technologies:
            continue
        _, away = bearing_and_distance(spot, sector.lat_deg, sector.lon_deg)
        if away <= reach_m and (away < limits.AT_THE_ADDRESS_M or _most_dbm(sector, away, plan) >= limits.wanted(sector, plan.limits)[1]):
            out[sector.site] = notes[sector.site]
    return list(out.values())


def _most_dbm(sector: Sector, away_m: float, plan: Plan) -> float:
    gain_dbi = max(0.0, plan.kit.mobile_gain_dbi, plan.kit.outdoor_unit_gain_dbi)
    return sector.re_eirp_dbm + gain_dbi - float(free_space_loss_db(away_m, sector.frequency_mhz)) + limits.OVER_FREE_SPACE_DB
