"""The way back from a device to a mobile site, and how far timing lets a carrier reach."""

from __future__ import annotations

import math

from siteplan.constants import SPEED_OF_LIGHT_M_PER_S
from siteplan.records.emitters import Sector

# Greatest power of a device, dBm: 3GPP TS 36.101 and 38.101-1, power class 3.
DEVICE_DBM = 23.0
# The base station: noise figure, rise of noise by other devices, six resource blocks of 180 kHz that one device gets at the edge, and the
# ratio it needs there (common practice, no source).
SITE_NOISE_FIGURE_DB, NOISE_RISE_DB, EDGE_HZ, NEEDED_DB = 5.0, 3.0, 6 * 180e3, 0.0
# Gain of a sector antenna where the table does not tell it (common practice, no source).
USUAL_GAIN_DBI = 17.0
# 63 steps of timing advance of 48/13 us each, there and back: 3GPP TS 45.010, 5.6 (memory).
GSM_REACH_M = 63 * (48.0 / 13.0) * 1e-6 * SPEED_OF_LIGHT_M_PER_S / 2.0


def needed_dbm() -> float:
    """Return the power a base station needs from a device at the edge, dBm: -174 + 10 log B + F + rise + ratio = -105.7."""
    return -174.0 + 10.0 * math.log10(EDGE_HZ) + SITE_NOISE_FIGURE_DB + NOISE_RISE_DB + NEEDED_DB


def uplink_margin_db(sector: Sector, *, loss_db: float, pattern_db: float, gain_dbi: float, cable_loss_db: float) -> float:
    """Return by how much a device at 23 dBm is heard over what the base station needs, dB; NaN for GSM and UMTS.

    loss_db   of the downlink's path, entry into the house counted; the uplink's differs by 20 log of the frequencies (free space)
    gain_dbi, cable_loss_db   of the device's antenna

    23 dBm + gain - cable - loss + the sector's gain and pattern - what is needed. Common practice, no source; by hand in
    tests/radio/test_mobile_signal.py.
    """
    if sector.technology not in ("LTE", "NR"):
        return math.nan
    uplink = sector.uplink_mhz if math.isfinite(sector.uplink_mhz) else sector.frequency_mhz
    there = loss_db + 20.0 * math.log10(uplink / sector.frequency_mhz)
    site_gain = sector.antenna_gain_dbi if math.isfinite(sector.antenna_gain_dbi) else USUAL_GAIN_DBI
    return DEVICE_DBM + gain_dbi - cable_loss_db - there + site_gain + pattern_db - needed_dbm()


def timing_reach_m(sector: Sector, tdd_guard_us: float) -> float:
    """Return how far timing lets a carrier reach, m; infinite where nothing limits it within any plan.

    GSM: the timing advance. Time division (LTE, NR): there and back within the guard period, c x guard / 2.
    """
    if sector.technology == "GSM":
        return GSM_REACH_M
    if sector.duplex == "TDD":
        return 0.5e-6 * tdd_guard_us * SPEED_OF_LIGHT_M_PER_S
    return math.inf
