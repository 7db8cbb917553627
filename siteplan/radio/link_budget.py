"""Link budgets: satellite C/N term by term, the reference signal power of a mobile sector (terrestrial TV: terrestrial_link.py)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from siteplan.errors import InputError
from siteplan.radio.antenna import dish_gain_dbi
from siteplan.radio.modes import satellite_mode
from siteplan.radio.noise import BOLTZMANN_DBW_PER_K_HZ, noise_temperature_k
from siteplan.units import free_space_loss_db

# What the clear-sky sum does not hold; codes, the words are in words/.
SATELLITE_LEFT_OUT = ("rain", "clouds", "gases", "scintillation", "pointing", "interference")

# Resource blocks of a carrier. LTE: 3GPP TS 36.101, table 5.6-1. NR: TS 38.101-1, table 5.3.2-1 (keyed by MHz and kHz).
LTE_RESOURCE_BLOCKS = {1.4: 6, 3.0: 15, 5.0: 25, 10.0: 50, 15.0: 75, 20.0: 100}
NR_RESOURCE_BLOCKS: Mapping[tuple[float, float], int] = {
    (5.0, 15.0): 25,
    (10.0, 15.0): 52,
    (15.0, 15.0): 79,
    (20.0, 15.0): 106,
    (10.0, 30.0): 24,
    (15.0, 30.0): 38,
    (20.0, 30.0): 51,
    (40.0, 30.0): 106,
    (50.0, 30.0): 133,
    (60.0, 30.0): 162,
    (80.0, 30.0): 217,
    (100.0, 30.0): 273,
}


@dataclass(frozen=True, slots=True)
class Term:
    """One line of a budget; value in the unit that the name ends with, its sign inside, so that the terms add up."""

    name: str
    value: float
    source: str


@dataclass(frozen=True, slots=True)
class SatelliteLink:
    """A clear-sky satellite budget. cn_db in the bandwidth of the symbol rate, i.e. Es/N0; the terms in dB add up to it."""

    cn_db: float
    g_over_t_db_per_k: float
    terms: tuple[Term, ...]
    left_out: tuple[str, ...] = SATELLITE_LEFT_OUT


def satellite_cn(
    *,
    eirp_dbw: float,
    range_km: float,
    frequency_mhz: float,
    dish_m: float,
    efficiency: float,
    lnb_noise_figure_db: float,
    antenna_noise_k: float,
    symbol_rate_kbaud: float,
    obstruction_loss_db: float = 0.0,
) -> SatelliteLink:
    """Return the C/N of a satellite carrier in clear sky, term by term.

    eirp_dbw              towards the place
    range_km              slant range
    frequency_mhz         downlink
    dish_m, efficiency    diameter and aperture efficiency
    lnb_noise_figure_db, antenna_noise_k   of the LNB; of sky and ground into the dish
    symbol_rate_kbaud     the noise bandwidth in kHz
    obstruction_loss_db   what stands in the ray costs

    Returns SatelliteLink; rain, clouds, gases, scintillation, pointing and interference are left out and named there.
    Raises InputError where a value is not a number or not above 0 where it must be.
    Source: C/N = EIRP - free-space loss (Rec. ITU-R P.525-4) + G - 10 log(k T B). Checked in tests/radio/test_link_budget.py.
    """
    above_zero = {"range_km": range_km, "frequency_mhz": frequency_mhz, "dish_m": dish_m, "symbol_rate_kbaud": symbol_rate_kbaud}
    for name, value in above_zero.items():
        if not (math.isfinite(value) and value > 0.0):
            raise InputError(f"{name} of a satellite link is {value}; give a number above 0")
    for name, value in (("antenna_noise_k", antenna_noise_k), ("obstruction_loss_db", obstruction_loss_db)):
        if not (math.isfinite(value) and value >= 0.0):
            raise InputError(f"{name} of a satellite link is {value}; give 0 or more")
    gain = float(dish_gain_dbi(dish_m, frequency_mhz, efficiency))
    noise_k = antenna_noise_k + noise_temperature_k(lnb_noise_figure_db)
    if not noise_k > 0.0:
        raise InputError("a satellite receiver without any noise; give an antenna noise or a noise figure above 0")
    terms = (
        Term("eirp_dbw", eirp_dbw, "the operator's, or assumed"),
        Term("free_space_loss_db", -float(free_space_loss_db(1e3 * range_km, frequency_mhz)), "ITU-R P.525-4"),
        Term("obstruction_loss_db", 0.0 - obstruction_loss_db, "ITU-R P.526-16, or the share of the dish that is covered"),
        Term("dish_gain_dbi", gain, "aperture efficiency"),
        Term("noise_temperature_db_k", -10.0 * math.log10(noise_k), f"{noise_k:.0f} K: sky and ground {antenna_noise_k:g} K, and the LNB"),
        Term("boltzmann_db", -BOLTZMANN_DBW_PER_K_HZ, "SI"),
        Term("bandwidth_db_hz", -10.0 * math.log10(1e3 * symbol_rate_kbaud), "noise bandwidth is the symbol rate"),
    )
    return SatelliteLink(math.fsum(term.value for term in terms), gain - 10.0 * math.log10(noise_k), terms)


def satellite_threshold_db(*, system: str, modulation: str, code_rate: str, implementation_loss_db: float) -> float:
    """Return the Es/N0 a real receiver needs: the mode's, plus implementation loss where its table is of an ideal receiver.

    Raises InputError naming the modes there are. Source: radio.modes.
    """
    mode = satellite_mode(system, modulation, code_rate)
    return mode.threshold_db + (0.0 if mode.implemented else implementation_loss_db)


def needs_eirp_dbw(link: SatelliteLink, *, eirp_dbw: float, threshold_db: float, margin_db: float) -> float:
    """Return the EIRP that would just hold a margin over a threshold on this link, which was worked with eirp_dbw."""
    return eirp_dbw + threshold_db + margin_db - link.cn_db


def re_eirp_dbm(*, total_power_dbm: float, resource_blocks: int, antenna_gain_dbi: float = 0.0, feeder_loss_db: float = 0.0) -> float:
    """Return the EIRP of one resource element: power spread evenly over 12 resource_blocks, plus gain, less feeder.

    Raises InputError for less than one block. Source: 3GPP TS 36.213, 5.2; TS 38.214, 4.1. Checked in tests/authorities/test_rsrp.py.
    """
    if resource_blocks < 1:
        raise InputError(f"a carrier has {resource_blocks} resource blocks; give 1 or more")
    return total_power_dbm - 10.0 * math.log10(12.0 * resource_blocks) + antenna_gain_dbi - feeder_loss_db


def resource_blocks(*, technology: str, bandwidth_mhz: float, subcarrier_khz: float = 15.0) -> int:
    """Return how many resource blocks a carrier has; InputError naming the bandwidths there are. Source: TS 36.101, TS 38.101-1."""
    if technology.upper() == "LTE":
        table = {(width, 15.0): blocks for width, blocks in LTE_RESOURCE_BLOCKS.items()}
    elif technology.upper() == "NR":
        table = dict(NR_RESOURCE_BLOCKS)
    else:
        raise InputError(f"the technology is {technology!r}; write LTE or NR")
    found = table.get((float(bandwidth_mhz), float(subcarrier_khz)))
    if found is None:
        allowed = ", ".join(f"{width:g} MHz at {spacing:g} kHz" for width, spacing in table)
        raise InputError(f"{technology} with {bandwidth_mhz:g} MHz and {subcarrier_khz:g} kHz is not known; there are {allowed}")
    return found


def rsrp_dbm(*, re_eirp_dbm: float, pattern_db: float, loss_db: float, gain_dbi: float, feeder_loss_db: float) -> float:
    """Return the reference signal power at a device: EIRP of one resource element, pattern, path loss, antenna gain, feeder.

    pattern_db 0 or negative. Source: 3GPP TS 36.214 / 38.215, RSRP is the power of one resource element. Checked in test_rsrp.py.
    """
    return re_eirp_dbm + pattern_db - loss_db + gain_dbi - feeder_loss_db
