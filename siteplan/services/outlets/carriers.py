"""What leaves the LNBs and the TV aerial of one address: each transponder and multiplex with its level, C/N and threshold."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from siteplan.errors import InputError
from siteplan.radio.antenna import dish_gain_dbi
from siteplan.radio.lnb import at_lnb, best_lnb
from siteplan.radio.modes import terrestrial_mode
from siteplan.radio.terrestrial_link import required_cn_db
from siteplan.records.findings import Aim, LinkLine, SatelliteView, TerrestrialFinding
from siteplan.records.lnb import AtLnb
from siteplan.records.parts import TERRESTRIAL, Carrier
from siteplan.records.plan import Plan
from siteplan.services.shared.mobile_levels import FAR_RATIO_DB, NEAR_MHZ, NEAR_RATIO_DB
from siteplan.signal_chain.noise import floor_dbuv
from siteplan.units import dbm_to_dbuv, dbw_to_dbm, free_space_loss_db


def line_of(seen: AtLnb) -> str:
    """Return which of the four lines of a distribution carries it: V and R are switched by 13 V, H and L by 18 V; high band by the tone."""
    return ("V" if seen.transponder.polarisation in ("V", "R") else "H") + ("H" if seen.tone else "L")


def of_satellites(views: Sequence[SatelliteView], plan: Plan) -> tuple[Carrier, ...]:
    """Return the transponders of known strength of each satellite that has links, as its LNB hands them out.

    Level: EIRP - free space + dish gain + LNB gain, dBW into 75 ohm: the carrier's power in the bandwidth of its symbol rate. Level and C/N
    are those of a clear view: what stands in the way now is not counted, the verdict says it.
    """
    made = []
    for view in views:
        lnb = best_lnb(view.satellite.transponders, plan.kit.lnb)
        seen = [(line, at_lnb(line.transponder, lnb) if lnb is not None else None) for line in view.links]
        loads = Counter(line_of(one) for _, one in seen if one is not None)
        for line, one in seen:
            if one is not None and math.isfinite(line.cn_db) and math.isfinite(_eirp_dbw(line)):
                made.append(replace(_transponder(view, line, one, plan), on_line=loads[line_of(one)]))
    return tuple(made)


def _eirp_dbw(line: LinkLine) -> float:
    """Return the EIRP that a link was worked with: a footprint's or readings' before what the row states."""
    return line.eirp_dbw if math.isfinite(line.eirp_dbw) else line.transponder.eirp_dbw


def _transponder(view: SatelliteView, line: LinkLine, seen: AtLnb, plan: Plan) -> Carrier:
    sent = line.transponder
    shaded = view.clearance.loss_db if view.clearance is not None and math.isfinite(view.clearance.loss_db) else 0.0
    power_dbw = (
        _eirp_dbw(line)
        - float(free_space_loss_db(view.look.range_km * 1000.0, sent.frequency_mhz))
        + float(dish_gain_dbi(line.dish_m, sent.frequency_mhz, plan.kit.dish_efficiency))
        + plan.installation.lnb_gain_db
    )
    return Carrier(
        name=sent.name or f"{sent.frequency_mhz:g} {sent.polarisation}", source=view.satellite.name, line=line_of(seen),
        frequency_mhz=seen.if_mhz,
        bandwidth_mhz=sent.symbol_rate_kbaud / 1000.0, level_dbuv=float(dbm_to_dbuv(dbw_to_dbm(power_dbw))), cn_db=line.cn_db + shaded,
        threshold_db=line.threshold_db, modulation=f"{sent.system} {sent.modulation} {sent.code_rate}".strip(),
        level_sigma_db=math.hypot(plan.installation.lnb_gain_sigma_db, 1.0), cn_sigma_db=1.0, rf_mhz=sent.frequency_mhz,
    )  # fmt: skip


def of_aerial(aim: Aim | None) -> tuple[Carrier, ...]:
    """Return the multiplexes of the recommended transmitter at the aerial's terminals; C/N there over thermal noise alone."""
    made = []
    for line in aim.lines if aim is not None else ():
        try:
            threshold = required_cn_db(terrestrial_mode(line.multiplex.mode))
        except (InputError, KeyError):
            continue
        if not math.isfinite(line.level_dbuv):
            continue
        made.append(
            Carrier(
                name=line.multiplex.name,
                source=TERRESTRIAL,
                line=TERRESTRIAL,
                frequency_mhz=line.multiplex.frequency_mhz,
                bandwidth_mhz=line.multiplex.bandwidth_mhz,
                level_dbuv=line.level_dbuv,
                cn_db=line.level_dbuv - floor_dbuv(line.multiplex.bandwidth_mhz),
                threshold_db=threshold,
                modulation=line.multiplex.mode,
                level_sigma_db=line.sigma_db,
                cn_sigma_db=line.sigma_db,
                rf_mhz=line.multiplex.frequency_mhz,
            )  # fmt: skip
        )
    return tuple(made)


def of_mobile(found: TerrestrialFinding | None, aim: Aim | None) -> tuple[Carrier, ...]:
    """Return what mobile senders put onto a TV aerial's line, all of them at the strongest one's frequency; () where none matters."""
    mobile = found.choice.mobile if found is not None and found.choice is not None else None
    if mobile is None or aim is None or not math.isfinite(mobile.total_dbuv):
        return ()
    top = max(line.multiplex.frequency_mhz + line.multiplex.bandwidth_mhz / 2.0 for line in aim.lines)
    over = NEAR_RATIO_DB if abs(mobile.frequency_mhz - top) < NEAR_MHZ else FAR_RATIO_DB
    return (
        Carrier(
            name=f"{mobile.operator} {mobile.frequency_mhz:.0f} MHz", source=TERRESTRIAL, line=TERRESTRIAL,
            frequency_mhz=mobile.frequency_mhz, bandwidth_mhz=10.0, level_dbuv=mobile.total_dbuv, cn_db=math.inf, threshold_db=-math.inf,
            modulation="", most_over_db=over,
        ),
    )  # fmt: skip
