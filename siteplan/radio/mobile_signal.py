"""A mobile signal at a receiver: sector patterns, what one carrier does to another, noise, and the ratio that is left."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from siteplan.radio.antenna import sector_pattern_db
from siteplan.records.emitters import Sector

THERMAL_DBM_PER_HZ = -174.0  # k T0 at 290 K, rounded as 3GPP does (TR 38.901 evaluations)
# 3GPP TR 38.901, table 7.3-1: least gain under the axis, both cuts and together.
_TR38901_DB = 30.0
UMTS_CHIP_HZ, GSM_CARRIER_HZ = 3.84e6, 200e3  # TS 25.104; TS 45.005
# The whole carrier of UMTS over its pilot (common practice, no source).
UMTS_OVER_PILOT_DB = 10.0
# Error of a ratio of two sectors of one site, where path and house cancel and only the patterns differ (common practice, no source).
SAME_SITE_SIGMA_DB = 3.0
# Shadowing of two sites at one place goes together by half: 3GPP TR 36.814, table A.2.1.1-1 (TR 38.901, 7.4.4 note).
SHADOW_CORRELATION = 0.5


@dataclass(frozen=True, slots=True)
class Ratio:
    """Signal over interference and noise at one receiver.

    sinr_db   LTE and NR per resource element, GSM the carrier, UMTS the pilot over everything received (Ec/N0)
    rsrq_db   LTE and NR: N_RB RSRP / RSSI; NaN for others
    interference_dbm, noise_dbm   in the reference's bandwidth; sigma_db of the ratio
    """

    sinr_db: float
    rsrq_db: float
    interference_dbm: float
    noise_dbm: float
    sigma_db: float


def pattern_db(sector: Sector, *, bearing_deg: float, elevation_deg: float) -> float:
    """Return the gain of a sector towards a place, relative to its axis, dB: 0 or negative.

    bearing_deg    direction of the place from the sector, true; elevation_deg of the ray as it leaves, negative downwards

    TR 36.814: radio.antenna.sector_pattern_db. TR 38.901, table 7.3-1: -min(Ah + Av, 30) with both at most 30 dB. table: the sum of both
    cuts, straight between their angles, the vertical one tilted with the beam. Checked in tests/radio/test_mobile_signal.py.
    """
    if sector.pattern == "TR 36.814":
        return float(
            sector_pattern_db(
                bearing_deg=bearing_deg, elevation_deg=elevation_deg, azimuth_deg=sector.azimuth_deg, downtilt_deg=sector.downtilt_deg,
                beamwidth_deg=sector.beamwidth_deg, vertical_beamwidth_deg=sector.vertical_beamwidth_deg,
            )
        )  # fmt: skip
    turn = 0.0 if math.isnan(sector.azimuth_deg) else (bearing_deg - sector.azimuth_deg + 180.0) % 360.0 - 180.0
    down = -elevation_deg - sector.downtilt_deg
    if sector.pattern == "table":
        around = float(np.interp(turn % 360.0, *_columns(sector.horizontal), period=360.0))
        return around + (float(np.interp(down, *_columns(sector.vertical))) if sector.vertical else 0.0)
    across = min(12.0 * (turn / sector.beamwidth_deg) ** 2, _TR38901_DB)
    along = min(12.0 * (down / sector.vertical_beamwidth_deg) ** 2, _TR38901_DB)
    return -min(across + along, _TR38901_DB)


def _columns(points: tuple[tuple[float, float], ...]) -> tuple[list[float], list[float]]:
    return [point[0] for point in points], [point[1] for point in points]


def carrier_mhz(sector: Sector) -> float:
    """Return the bandwidth of a carrier, MHz; where not told the usual one (common practice, no source): LTE 10 below 1 GHz, else 20; NR 10
    below 1 GHz, 20 below 2.3 GHz, else 100."""
    if math.isfinite(sector.bandwidth_mhz):
        return sector.bandwidth_mhz
    if sector.technology in ("GSM", "UMTS"):
        return {"GSM": 0.2, "UMTS": 5.0}[sector.technology]
    if sector.frequency_mhz < 1000.0:
        return 10.0
    return 100.0 if sector.technology == "NR" and sector.frequency_mhz > 2300.0 else 20.0


def reference_hz(sector: Sector) -> float:
    """Return the bandwidth of a sector's reference: one resource element, the chips of UMTS, the carrier of GSM."""
    if sector.technology in ("GSM", "UMTS"):
        return {"GSM": GSM_CARRIER_HZ, "UMTS": UMTS_CHIP_HZ}[sector.technology]
    return 1e3 * (sector.spacing_khz or 15.0)


def overlap(wanted: Sector, other: Sector) -> float:
    """Return which share of a wanted carrier's band another carrier covers, 0 to 1."""
    half, half_other = 0.5 * carrier_mhz(wanted), 0.5 * carrier_mhz(other)
    low = max(wanted.frequency_mhz - half, other.frequency_mhz - half_other)
    high = min(wanted.frequency_mhz + half, other.frequency_mhz + half_other)
    return max(0.0, high - low) / (2.0 * half)


def into_reference_db(wanted: Sector, other: Sector, load: float) -> float:
    """Return what to add to another sector's reference power to get its mean power in the wanted reference's bandwidth; -inf for none.

    The other's whole power is spread evenly over its band, as far as it sends (load, 0 to 1) and as far as the bands overlap.
    """
    share = overlap(wanted, other) * load
    if not share > 0.0:
        return -math.inf
    whole = UMTS_OVER_PILOT_DB if other.technology == "UMTS" else 0.0
    return whole + 10.0 * math.log10(reference_hz(wanted) / reference_hz(other)) + 10.0 * math.log10(share)


def noise_dbm(sector: Sector, noise_figure_db: float) -> float:
    """Return the receiver's noise in the reference's bandwidth, dBm: -174 + 10 log B + F."""
    return THERMAL_DBM_PER_HZ + 10.0 * math.log10(reference_hz(sector)) + noise_figure_db


def ratio(
    sector: Sector, *, level_dbm: float, load: float, same_site_dbm: Iterable[float], others_dbm: Iterable[float], noise_figure_db: float,
    sigma_db: float, shared_sigma_db: float = 0.0,
) -> Ratio:  # fmt: skip
    """Return signal over interference and noise.

    level_dbm      of the wanted reference; load of its own carrier, 0 to 1
    same_site_dbm, others_dbm   mean powers of other sectors in the reference's bandwidth: of the wanted one's own site, of other sites
    sigma_db       error of one level, 1 sigma; shared_sigma_db error that all of them share (the wall of the house)

    RSRQ = N_RB RSRP / RSSI over whole resource blocks: S / (12 (load S + I + N)) (3GPP TS 36.214, 5.1.3; 38.215, 5.1.3). The error of the
    ratio is first order: a = share of own site, b = share of other sites in I + N; variance = sigma^2 ((1 - a)^2 + b^2 - 2 r (1 - a) b) +
    (3 dB a)^2 + (shared (1 - a - b))^2 with r = 0.5. Checked by hand in tests/radio/test_mobile_signal.py.
    """
    noise = noise_dbm(sector, noise_figure_db)
    own, far = (math.fsum(10.0 ** (0.1 * power) for power in powers) for powers in (same_site_dbm, others_dbm))
    signal, quiet = 10.0 ** (0.1 * level_dbm), 10.0 ** (0.1 * noise)
    total = own + far + quiet
    rsrq = math.nan
    below = total
    if sector.technology in ("LTE", "NR"):
        rsrq = 10.0 * math.log10(signal / (12.0 * (load * signal + total)))
    elif sector.technology == "UMTS":  # its own other channels are in the way too
        below = total + load * signal * 10.0 ** (0.1 * UMTS_OVER_PILOT_DB)
    a, b = own / total, far / total
    variance = sigma_db**2 * ((1.0 - a) ** 2 + b**2 - 2.0 * SHADOW_CORRELATION * (1.0 - a) * b) + (SAME_SITE_SIGMA_DB * a) ** 2
    variance += (shared_sigma_db * (1.0 - a - b)) ** 2
    interference = 10.0 * math.log10(own + far) if own + far > 0.0 else -math.inf
    return Ratio(10.0 * math.log10(signal / below), rsrq, interference, noise, math.sqrt(max(variance, 0.0)))


def receiving_pattern_db(turn_deg: float, *, beamwidth_deg: float, front_to_back_db: float) -> float:
    """Return the gain of the house's own antenna off its axis, 0 or negative: -min(12 (turn/beamwidth)^2, front to back).

    Source: the sector form of 3GPP TR 36.814, table A.2.1.1-2, taken for a small directional antenna (common practice, no source).
    """
    turn = (turn_deg + 180.0) % 360.0 - 180.0
    return -min(12.0 * (turn / beamwidth_deg) ** 2, front_to_back_db)
