"""How sure a verdict is: high, fair or low, from the data's resolution and age, margin against its error, and position."""

from __future__ import annotations

import math
from datetime import date as Date

from siteplan.records.verdict import HowSure, Reason
from siteplan.services.shared.site import Site

# Common practice, no source: what makes trust drop by one step.
OLD_SURVEY_YEARS = 6.0
COARSE_GROUND_M = 15.0
VAGUE_POSITION_M = 20.0
ENOUGH_SIGMAS, PLENTY_SIGMAS = 1.65, 3.0
_LEVELS = ("high", "fair", "low")


def how_sure(site: Site, on_date: Date, *, margin_sigmas: float, ground_proof: bool = False, assumed: bool = False) -> HowSure:
    """Return how far to trust a verdict, and why; each weakness costs one step from "high".

    margin_sigmas   size of the deciding margin over its combined error; NaN where it doesn't apply
    ground_proof    the bare ground alone decides: what stands on it can't change the answer
    """
    steps, because = 0, []
    layer = site.layer
    if layer is not None:
        knows = layer.surface is not None and layer.knows_buildings and layer.knows_trees
        if ground_proof:
            because.append(Reason("sure_ground_proof"))
        elif knows:
            because.append(Reason("sure_surface", {"cell_m": layer.surface.cell_m}))
        elif layer.surface is not None and layer.knows_buildings:
            steps += 1
            because.append(Reason("sure_trees_unknown"))
        else:
            steps += 1
            because.append(Reason("sure_surface_unknown"))
        if layer.ground.cell_m > COARSE_GROUND_M and not ground_proof:
            steps += 1
            because.append(Reason("sure_ground_coarse", {"cell_m": layer.ground.cell_m}))
        if layer.flown_on is None:
            if not ground_proof:
                because.append(Reason("sure_undated"))
        else:
            years = (on_date - layer.flown_on).days / 365.25
            if years > OLD_SURVEY_YEARS and not ground_proof:
                steps += 1
            because.append(Reason("sure_age", {"year": layer.flown_on.year, "years": max(0.0, years)}))
    if math.isfinite(margin_sigmas):
        small = margin_sigmas < ENOUGH_SIGMAS
        steps += small
        if small or margin_sigmas >= PLENTY_SIGMAS:
            because.append(Reason("sure_margin_small" if small else "sure_margin", {"ratio": min(margin_sigmas, 99.0)}))
    if site.address.position_error_m > VAGUE_POSITION_M:
        steps += 1
        because.append(Reason("sure_position", {"error_m": site.address.position_error_m}))
    if assumed:
        steps += 1
        because.append(Reason("sure_assumed"))
    return HowSure(_LEVELS[min(steps, 2)], tuple(because))
