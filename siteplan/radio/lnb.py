"""What an LNB makes of a carrier: its frequency on the cable, its sub-band, how the receiver asks for it, what may disturb it."""

from __future__ import annotations

import math

from siteplan.records.emitters import Transponder
from siteplan.records.lnb import CIRCULAR, AtLnb, Lnb, Oscillator

# Roll-off where a table states none. DVB-S has one (ETSI EN 300 421, clause 4.5). DVB-S2 has 0.35, 0.25 and 0.20 (EN 302 307-1, clause
# 5.6), DVB-S2X down to 0.05 (EN 302 307-2): 0.20 is what broadcast carriers mostly use (common practice, no source).
ROLL_OFF = {"DVB-S": 0.35, "DVB-S2": 0.20, "DVB-S2X": 0.20}
_OTHER_ROLL_OFF = 0.35

# Vertical and right-hand are asked for with 13 V, horizontal and left-hand with 18 V; 22 kHz chooses the upper oscillator (common practice,
# as in ../shared/standards/lnb_if_plan.csv; the voltages are those of EN 61319-1, from memory).
SUPPLY_V = {"V": 13.0, "R": 13.0, "H": 18.0, "L": 18.0}

# Services on the ground inside the IF range of an LNB, MHz: cordless phones (ETSI EN 300 175-2), mobile downlinks of 3GPP TS 36.101 table
# 5.5-1, bands 3, 1 (up to the end of the IF range) and 32.
GROUND_BANDS = {
    "cordless": (1880.0, 1900.0),
    "mobile 1800": (1805.0, 1880.0),
    "mobile 2100": (2110.0, 2150.0),
    "mobile 1500": (1452.0, 1492.0),
}


def oscillator_for(lnb: Lnb, frequency_mhz: float) -> Oscillator | None:
    """Return the oscillator that brings a downlink frequency down, None where it lies outside every band of the LNB."""
    return next((one for one in lnb.oscillators if one.from_mhz <= frequency_mhz < one.to_mhz or _top(lnb, one, frequency_mhz)), None)


def _top(lnb: Lnb, one: Oscillator, frequency_mhz: float) -> bool:
    return frequency_mhz == one.to_mhz and all(other.from_mhz != one.to_mhz for other in lnb.oscillators)


def takes_polarisation(lnb: Lnb, polarisation: str) -> bool:
    """Return whether an LNB is made for a polarisation: H and V for a linear one, L and R for a circular one."""
    return (polarisation in "LR") == (lnb.polarisation == CIRCULAR)


def intermediate_mhz(frequency_mhz: float, oscillator_mhz: float) -> float:
    """Return the frequency on the cable: the distance of the carrier from the oscillator, above it or below it.

    Checked against ../shared/standards/lnb_if_plan.csv in tests/authorities/test_lnb.py: 11493.5 with 9750 gives 1743.5 MHz.
    """
    return abs(frequency_mhz - oscillator_mhz)


def roll_off_of(transponder: Transponder) -> tuple[float, bool]:
    """Return the roll-off of a carrier, and whether it is assumed (source at ROLL_OFF)."""
    if math.isfinite(transponder.roll_off):
        return transponder.roll_off, False
    return ROLL_OFF.get(transponder.system, _OTHER_ROLL_OFF), True


def occupied_mhz(symbol_rate_kbaud: float, roll_off: float) -> float:
    """Return the occupied bandwidth of a carrier, symbol rate x (1 + roll-off). Source: ETSI EN 300 421, clause 4.5; EN 302 307-1, 5.6."""
    return symbol_rate_kbaud * (1.0 + roll_off) / 1000.0


def ground_bands_on(low_mhz: float, high_mhz: float) -> tuple[str, ...]:
    """Return the names of GROUND_BANDS that a stretch of IF reaches into."""
    return tuple(name for name, (first, last) in GROUND_BANDS.items() if low_mhz < last and high_mhz > first)


def at_lnb(transponder: Transponder, lnb: Lnb) -> AtLnb | None:
    """Return a carrier as it comes out of an LNB; None where the LNB doesn't take its frequency or polarisation.

    On a single cable and on a wideband pair the receiver's own supply chooses nothing: voltage NaN, tone None. A quattro's outputs are
    fixed as well; the multiswitch behind it answers to the same voltage and tone, so they are given.
    """
    one = oscillator_for(lnb, transponder.frequency_mhz)
    if one is None or not takes_polarisation(lnb, transponder.polarisation):
        return None
    centre = intermediate_mhz(transponder.frequency_mhz, one.mhz)
    roll_off, assumed = roll_off_of(transponder)
    half = 0.5 * occupied_mhz(transponder.symbol_rate_kbaud, roll_off)
    switched = len(lnb.oscillators) > 1
    fixed = lnb.outputs in ("wideband pair", "single-cable")
    return AtLnb(
        transponder=transponder,
        sub_band=transponder.polarisation + (("H" if one.tone else "L") if switched else ""),
        if_mhz=centre,
        supply_v=math.nan if fixed else SUPPLY_V[transponder.polarisation],
        tone=None if fixed else one.tone,
        low_mhz=centre - half,
        high_mhz=centre + half,
        roll_off=roll_off,
        roll_off_assumed=assumed,
        inverted=one.inverted,
        disturbed=ground_bands_on(centre - half, centre + half),
    )


def best_lnb(transponders: tuple[Transponder, ...], lnbs: tuple[Lnb, ...]) -> Lnb | None:
    """Return the LNB of the kit that takes most of a satellite's transponders, the first named where several do; None where none does."""
    counts = [sum(at_lnb(transponder, lnb) is not None for transponder in transponders) for lnb in lnbs]
    return lnbs[counts.index(max(counts))] if counts and max(counts) > 0 else None
