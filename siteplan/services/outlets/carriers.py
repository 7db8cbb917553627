"""What leaves the LNBs and the TV aerial of one address: each transponder and multiplex with its level, C/N and threshold."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.errors import InputError
from siteplan.radio.antenna import dish_gain_dbi
from siteplan.radio.link_budget import required_cn_db
from siteplan.radio.modes import terrestrial_mode
from siteplan.records.findings import Aim, LinkLine, SatelliteView
from siteplan.records.parts import TERRESTRIAL, Carrier
from siteplan.records.plan import Plan
from siteplan.signal_chain.noise import floor_dbuv
from siteplan.units import dbm_to_dbuv, dbw_to_dbm, free_space_loss_db

# Universal LNB: 9.75 GHz below 11.7 GHz, 10.6 GHz from there on (common practice; values of EN 50494's list of oscillators)
LOW_LO_MHZ, HIGH_LO_MHZ, SWITCH_MHZ = 9750.0, 10600.0, 11700.0
C_BAND_LO_MHZ = 5150.0
ROLL_OFF = {"DVB-S": 0.35, "DVB-S2": 0.25, "DVB-S2X": 0.2}  # EN 300 421 0.35; EN 302 307 0.20, 0.25 or 0.35: the middle one where unsaid


def sub_band(frequency_mhz: float, polarisation: str) -> tuple[str, float]:
    """Return (sub-band, IF in MHz) of a transponder behind a universal LNB; V and R take 13 V, H and L 18 V."""
    side = "V" if polarisation in ("V", "R") else "H"
    if frequency_mhz < 6000.0:
        return f"{side}L", C_BAND_LO_MHZ - frequency_mhz
    high = frequency_mhz >= SWITCH_MHZ
    return f"{side}{'H' if high else 'L'}", frequency_mhz - (HIGH_LO_MHZ if high else LOW_LO_MHZ)


def of_satellites(views: Sequence[SatelliteView], plan: Plan) -> tuple[Carrier, ...]:
    """Return the transponders of known strength of each satellite that has links, as its LNB hands them out.

    Level: EIRP - free space + dish gain + LNB gain, dBW into 75 ohm: the carrier's power in the bandwidth of its symbol rate. Level and C/N
    are those of a clear view: what stands in the way now is not counted, the verdict says it.
    """
    made = []
    for view in views:
        for line in view.links:
            if math.isfinite(line.cn_db) and math.isfinite(line.transponder.eirp_dbw):
                made.append(_transponder(view, line, plan))
    return tuple(made)


def _transponder(view: SatelliteView, line: LinkLine, plan: Plan) -> Carrier:
    sent = line.transponder
    side, if_mhz = sub_band(sent.frequency_mhz, sent.polarisation)
    shaded = view.clearance.loss_db if view.clearance is not None and math.isfinite(view.clearance.loss_db) else 0.0
    power_dbw = (
        sent.eirp_dbw
        - float(free_space_loss_db(view.look.range_km * 1000.0, sent.frequency_mhz))
        + float(dish_gain_dbi(line.dish_m, sent.frequency_mhz, plan.kit.dish_efficiency))
        + plan.installation.lnb_gain_db
    )
    return Carrier(
        name=sent.name or f"{sent.frequency_mhz:g} {sent.polarisation}", source=view.satellite.name, line=side, frequency_mhz=if_mhz,
        bandwidth_mhz=sent.symbol_rate_kbaud / 1000.0, level_dbuv=float(dbm_to_dbuv(dbw_to_dbm(power_dbw))), cn_db=line.cn_db + shaded,
        threshold_db=line.threshold_db, modulation=f"{sent.system} {sent.modulation} {sent.code_rate}".strip(),
        level_sigma_db=math.hypot(plan.installation.lnb_gain_sigma_db, 1.0), cn_sigma_db=1.0,
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
            )  # fmt: skip
        )
    return tuple(made)
