"""Does a satellite stay in the dish's beam all day? Its daily figure, as wide as it looks from here, against 70 wavelengths / D."""

from __future__ import annotations

import math
from dataclasses import replace

from siteplan.radio.antenna import dish_beamwidth_deg
from siteplan.records.findings import SatelliteView
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, State
from siteplan.services.satellite import limits
from siteplan.sky.orbit import box_across_deg


def wandering(view: SatelliteView, plan: Plan, *, lat_deg: float, lon_deg: float, height_m: float) -> SatelliteView:
    """Return a view with how far its satellite wanders as seen from here, and with the beam it must stay in.

    One that wanders by more than the beam of the dish chosen (the smallest of the kit where none is) is not booked. Nor is it ruled out
    by its signal alone: what a fixed dish loses to it is no main lobe any more, and a dish that follows would do. A satellite taken to
    stand still comes back as it is.
    """
    if view.satellite.day is None or view.look.elevation_deg <= 0.0:
        return view
    box = box_across_deg(view.satellite.day.track_m, lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_m)
    dish_m = view.dish_m if math.isfinite(view.dish_m) else min(plan.kit.dishes_m)
    frequency = max((t.frequency_mhz for t in view.satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
    beam = float(dish_beamwidth_deg(dish_m, frequency))
    view = replace(view, box_deg=box, beam_deg=beam)
    if not box > beam:
        return view
    wide = Reason("sat_box_wide", {"satellite": view.satellite.name, "box_deg": box, "beam_deg": beam, "dish_m": dish_m})
    if view.state is State.BOOK or view.reasons[0].code == "sat_signal_weak":
        return replace(view, state=State.SURVEY_FIRST, reasons=(wide, *view.reasons))
    return replace(view, reasons=(*view.reasons, wide))
