"""Terrestrial TV over an area: which transmitter is best at a cell of a map, how strong it is there, what it gives, whether it is open."""

from __future__ import annotations

import math

from siteplan.records.emitters import Transmitter
from siteplan.records.plan import Plan
from siteplan.services.shared.site import Land, Site
from siteplan.services.terrestrial.judge import judge

NOTHING = -1, math.nan, math.nan, math.nan, math.nan


def best_at(site: Site, land: Land, transmitters: tuple[Transmitter, ...], plan: Plan) -> tuple[int, float, float, float, float]:
    """Return (place in the list, field strength dBuV/m, margin dB, programmes, open) of the transmitter that the judge would aim at.

    Field and margin are those of its weakest multiplex; programmes how many can be promised; open 1 where a second aim can't be told from
    it, else 0. (-1, NaN, ...) where none is in range or no path is known.
    """
    _, finding = judge(site, land, transmitters, plan, pictures=False)
    if not finding.aims or not finding.aims[0].lines:
        return NOTHING
    best = finding.aims[0]
    weakest = min(best.lines, key=lambda line: line.margin_db)
    stays_open = float(finding.choice is not None and bool(finding.choice.open_with))
    place = transmitters.index(best.transmitter)
    return place, weakest.field_strength_dbuv_per_m, weakest.margin_db, float(len(best.programmes_sure)), stays_open
