"""Terrestrial TV over an area: which transmitter is best at a cell of a map, and how strong it is there."""

from __future__ import annotations

import math

from siteplan.records.emitters import Transmitter
from siteplan.records.plan import Plan
from siteplan.services.shared.site import Land, Site
from siteplan.services.terrestrial.judge import judge


def best_at(site: Site, land: Land, transmitters: tuple[Transmitter, ...], plan: Plan) -> tuple[int, float, float]:
    """Return (place in the list, field strength dBuV/m, margin dB) of the transmitter that the judge would aim at from a site.

    Field and margin are those of its weakest multiplex. (-1, NaN, NaN) where none is in range or no path is known.
    """
    _, finding = judge(site, land, transmitters, plan, pictures=False)
    if not finding.aims or not finding.aims[0].lines:
        return -1, math.nan, math.nan
    best = finding.aims[0]
    weakest = min(best.lines, key=lambda line: line.margin_db)
    return transmitters.index(best.transmitter), weakest.field_strength_dbuv_per_m, weakest.margin_db
