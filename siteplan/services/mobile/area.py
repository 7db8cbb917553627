"""Mobile internet over an area: which sector is best at a cell of a map, and how strong it is there."""

from __future__ import annotations

import math

from siteplan.records.emitters import Sector
from siteplan.records.plan import Plan
from siteplan.services.mobile.judge import judge
from siteplan.services.shared.site import Land, Site


def best_at(site: Site, land: Land, sectors: tuple[Sector, ...], plan: Plan) -> tuple[int, float, float]:
    """Return (place in the list, RSRP dBm, margin dB) of the best sector at a site, as the judge works it.

    Strength is by the best way that is sold. (-1, NaN, NaN) where none that counts is in range or no path is known.
    """
    _, finding = judge(site, land, sectors, plan, pictures=False)
    if not finding.lines:
        return -1, math.nan, math.nan
    best = finding.lines[0]
    return sectors.index(best.sector), best.rsrp_dbm, best.margin_db
