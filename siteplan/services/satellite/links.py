"""The link of each transponder in clear sky, and the smallest dish of the kit that holds the wanted margin."""

from __future__ import annotations

import math

from siteplan.errors import InputError
from siteplan.radio.link_budget import SatelliteLink, needs_eirp_dbw, satellite_cn, satellite_threshold_db
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.findings import LinkLine
from siteplan.records.plan import Plan
from siteplan.records.results import LookAngles

# An EIRP to work with where none is known: it cancels out of needs_eirp_dbw and no margin is printed from it.
_ANY_EIRP_DBW = 50.0


def link_lines(satellite: Satellite, look: LookAngles, dish_m: float, plan: Plan, *, loss_db: float = 0.0) -> tuple[LinkLine, ...]:
    """Return the clear-sky link of every transponder of a satellite with one dish.

    loss_db  what stands in the ray costs; a value that is not a number (unknown, or fully blocked) counts as 0 and the view says so

    Transponders whose mode no table knows are left out (the reader rejects them with their row).
    """
    loss = loss_db if math.isfinite(loss_db) and loss_db > 0.0 else 0.0
    return tuple(
        line for line in (_line(transponder, look, dish_m, plan, loss) for transponder in satellite.transponders) if line is not None
    )


def _line(transponder: Transponder, look: LookAngles, dish_m: float, plan: Plan, loss_db: float) -> LinkLine | None:
    kit, wanted_db = plan.kit, plan.limits.clear_sky_margin_db
    known = math.isfinite(transponder.eirp_dbw)
    eirp = transponder.eirp_dbw if known else _ANY_EIRP_DBW
    try:
        threshold = satellite_threshold_db(
            system=transponder.system,
            modulation=transponder.modulation,
            code_rate=transponder.code_rate,
            implementation_loss_db=kit.implementation_loss_db,
        )
    except InputError:
        return None
    link = budget_of(transponder, look, dish_m, plan, loss_db=loss_db)
    return LinkLine(
        transponder=transponder,
        dish_m=dish_m,
        cn_db=link.cn_db if known else math.nan,
        threshold_db=threshold,
        margin_db=link.cn_db - threshold if known else math.nan,
        needs_eirp_dbw=needs_eirp_dbw(link, eirp_dbw=eirp, threshold_db=threshold, margin_db=wanted_db),
        left_out=link.left_out,
    )


def budget_of(transponder: Transponder, look: LookAngles, dish_m: float, plan: Plan, *, loss_db: float = 0.0) -> SatelliteLink:
    """Return the clear-sky budget of one transponder term by term; an unknown EIRP is worked as 50 dBW (it cancels out of what counts)."""
    known = math.isfinite(transponder.eirp_dbw)
    return satellite_cn(
        eirp_dbw=transponder.eirp_dbw if known else _ANY_EIRP_DBW,
        range_km=look.range_km,
        frequency_mhz=transponder.frequency_mhz,
        dish_m=dish_m,
        efficiency=plan.kit.dish_efficiency,
        lnb_noise_figure_db=plan.kit.lnb_noise_figure_db,
        antenna_noise_k=plan.kit.antenna_noise_k,
        symbol_rate_kbaud=transponder.symbol_rate_kbaud,
        obstruction_loss_db=loss_db,
    )


def smallest_dish(satellite: Satellite, look: LookAngles, plan: Plan) -> float:
    """Return the smallest dish of the kit that holds the wanted margin on every transponder; NaN where none does or an EIRP is unknown."""
    for dish_m in sorted(plan.kit.dishes_m):
        lines = link_lines(satellite, look, dish_m, plan)
        if lines and all(line.margin_db >= plan.limits.clear_sky_margin_db for line in lines):
            return dish_m
    return math.nan
