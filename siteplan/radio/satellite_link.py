"""The link budget of a satellite carrier: C/N term by term in clear sky, what else is heard, and what weather leaves of it.

Everything broadcasts: one place and dish, or places x dishes x carriers at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import InputError, told
from siteplan.radio.antenna import bo1213_gain_dbi, dish_gain_dbi, s465_gain_dbi
from siteplan.radio.modes import satellite_mode
from siteplan.radio.noise import BOLTZMANN_DBW_PER_K_HZ, noise_temperature_k
from siteplan.units import free_space_loss_db, wavelength_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

OFF_AXIS = ("BO.1213", "S.465")
# The main lobe of Rec. ITU-R BO.1213-1: 0.0025 (D phi / lambda)^2 dB below the axis.
_MAIN_LOBE_DB = 0.0025
# EN 300 421, 302 307-1 and -2 allow several; taken where none is stated (common practice, no source).
ROLL_OFF = {"DVB-S": 0.35, "DVB-S2": 0.25, "DVB-S2X": 0.20}


@dataclass(frozen=True, slots=True)
class Term:
    """One line of a budget; value in the unit that the name ends with, its sign inside, so that the terms add up."""

    name: str
    value: NDArray | float
    source: str


@dataclass(frozen=True, slots=True)
class SatelliteLink:
    """A clear-sky satellite budget. cn_db in the bandwidth of the symbol rate, i.e. Es/N0; the terms in dB add up to it."""

    cn_db: NDArray | float
    gain_dbi: NDArray | float
    system_noise_k: float
    terms: tuple[Term, ...]

    @property
    def g_over_t_db_per_k(self) -> NDArray | float:
        """Return the figure of merit in clear sky."""
        return self.gain_dbi - 10.0 * math.log10(self.system_noise_k)


def satellite_cn(
    *,
    eirp_dbw: ArrayLike,
    range_km: ArrayLike,
    frequency_mhz: ArrayLike,
    dish_m: ArrayLike,
    efficiency: float,
    lnb_noise_figure_db: float,
    antenna_noise_k: float,
    symbol_rate_kbaud: ArrayLike,
    gas_db: ArrayLike = 0.0,
    pointing_db: ArrayLike = 0.0,
    polarisation_db: ArrayLike = 0.0,
    obstruction_db: ArrayLike = 0.0,
) -> SatelliteLink:
    """Return the C/N of a satellite carrier in clear sky, term by term; arrays broadcast, NaN stays NaN.

    eirp_dbw              towards the place
    range_km              slant range
    frequency_mhz         downlink
    dish_m, efficiency    diameter and aperture efficiency
    lnb_noise_figure_db, antenna_noise_k   of the LNB; of sky and ground into the dish
    symbol_rate_kbaud     the noise bandwidth in kHz
    gas_db, pointing_db, polarisation_db, obstruction_db   losses, 0 or more

    Raises InputError where a value is not above 0 where it must be, or a receiver has no noise.
    Source: C/N = EIRP - free-space loss (Rec. ITU-R P.525-4) - losses + G - 10 log(k T B). Checked in tests/radio/test_satellite_link.py.
    """
    above_zero = {"range_km": range_km, "frequency_mhz": frequency_mhz, "dish_m": dish_m, "symbol_rate_kbaud": symbol_rate_kbaud}
    for name, value in above_zero.items():
        if not np.all(np.isfinite(value) & (np.asarray(value) > 0.0)):
            raise InputError(told("{name} of a satellite link is {value}; give a number above 0", name=name, value=value))
    losses = {"gas_db": gas_db, "pointing_db": pointing_db, "polarisation_db": polarisation_db, "obstruction_db": obstruction_db}
    for name, value in ({"antenna_noise_k": antenna_noise_k} | losses).items():
        if np.any(np.asarray(value) < 0.0) or np.any(np.isinf(value)):
            raise InputError(told("{name} of a satellite link is {value}; give 0 or more", name=name, value=value))
    gain = dish_gain_dbi(dish_m, frequency_mhz, efficiency)
    noise_k = antenna_noise_k + noise_temperature_k(lnb_noise_figure_db)
    if not noise_k > 0.0:
        raise InputError(told("a satellite receiver without any noise; give an antenna noise or a noise figure above 0"))
    free_space = free_space_loss_db(1e3 * np.asarray(range_km, dtype=np.float64), frequency_mhz)
    terms = (
        Term("eirp_dbw", _array(eirp_dbw), told("stated, measured, or assumed")),
        Term("free_space_loss_db", -free_space, "ITU-R P.525-4"),
        Term("gas_db", 0.0 - _array(gas_db), told("ITU-R P.676-12, annex 2, water vapour of half the year")),
        Term("pointing_db", 0.0 - _array(pointing_db), told("ITU-R BO.1213-1, main lobe")),
        Term("polarisation_db", 0.0 - _array(polarisation_db), told("cos^2 of the skew error")),
        Term("obstruction_loss_db", 0.0 - _array(obstruction_db), told("ITU-R P.526-16, or the share of the dish that is covered")),
        Term("dish_gain_dbi", gain, told("aperture efficiency {efficiency:g}", efficiency=efficiency)),
        Term(
            "noise_temperature_db_k",
            -10.0 * math.log10(noise_k),
            told("{noise_k:.0f} K: sky and ground {antenna_noise_k:g} K, and the LNB", noise_k=noise_k, antenna_noise_k=antenna_noise_k),
        ),
        Term("boltzmann_db", -BOLTZMANN_DBW_PER_K_HZ, "SI"),
        Term("bandwidth_db_hz", -10.0 * np.log10(1e3 * _array(symbol_rate_kbaud)), told("noise bandwidth is the symbol rate")),
    )
    return SatelliteLink(sum(term.value for term in terms), gain, noise_k, terms)


def _array(value: ArrayLike) -> NDArray:
    return np.asarray(value, dtype=np.float64)[()]


def satellite_thresholds_db(*, system: str, modulation: str, code_rate: str, implementation_loss_db: float) -> tuple[float, float]:
    """Return the Es/N0 of an ideal receiver, and what a real one needs beside it.

    The second is 0 where the mode's table is of real receivers already (DVB-S). Raises InputError naming the modes there are.
    Source: radio.modes (EN 302 307-1, table 13; -2, table 20a; EN 300 421).
    """
    mode = satellite_mode(system, modulation, code_rate)
    return mode.threshold_db, 0.0 if mode.implemented else implementation_loss_db


def pointing_loss_db(*, dish_m: ArrayLike, frequency_mhz: ArrayLike, aim_error_deg: float, box_deg: float) -> NDArray:
    """Return the mean loss of a dish that does not look straight at its satellite; (...) dB.

    aim_error_deg  of the mount, 1 sigma in each of two directions; box_deg half the side of the square the satellite is kept in

    Evenly filled, the box has a variance of box^2 / 3 in each direction: the mean of the square angle is 2 (aim^2 + box^2 / 3).
    Source: main lobe of Rec. ITU-R BO.1213-1, 0.0025 (D phi / lambda)^2.
    """
    ratio = np.asarray(dish_m, dtype=np.float64) / wavelength_m(frequency_mhz)
    return _MAIN_LOBE_DB * ratio**2 * 2.0 * (aim_error_deg**2 + box_deg**2 / 3.0)


def polarisation_loss_db(skew_error_deg: float) -> float:
    """Return what a linear polarisation loses to an LNB turned wrongly, -20 log cos. Source: geometry."""
    return -20.0 * math.log10(math.cos(math.radians(skew_error_deg)))


def cross_polar_db(*, equipment_db: ArrayLike, skew_error_deg: ArrayLike, rain_db: ArrayLike = np.inf) -> NDArray:
    """Return the cross-polar discrimination there is in all: powers that leak over add up; (...) dB.

    equipment_db    of dish and LNB in the axis; skew_error_deg of the LNB (0 for circular); rain_db of rain and ice, inf without

    Source: tan^2 of the skew error; sum of powers.
    """
    turned = np.tan(np.radians(np.asarray(skew_error_deg, dtype=np.float64))) ** 2
    leaks = 10.0 ** (-np.asarray(equipment_db) / 10.0) + turned + 10.0 ** (-np.asarray(rain_db, dtype=np.float64) / 10.0)
    return -10.0 * np.log10(leaks)


def off_axis_gain_dbi(
    *, off_axis_deg: ArrayLike, dish_m: ArrayLike, frequency_mhz: ArrayLike, max_gain_dbi: ArrayLike, turned_deg: ArrayLike, pattern: str
) -> NDArray:
    """Return the gain of a dish towards a neighbour whose polarisation is turned against the wanted one; (...) dBi.

    turned_deg  between the two linear polarisations; 45 where one is circular and the other linear; 0 and 90 for like and unlike circular
    pattern     "BO.1213", or "S.465" (which knows no cross-polar gain and, near the axis, none at all: there BO.1213 answers)

    Source: Rec. ITU-R BO.1213-1, S.465-6; the power of a turned wave splits as cos^2 and sin^2.
    """
    ratio = np.asarray(dish_m, dtype=np.float64) / wavelength_m(frequency_mhz)
    like = bo1213_gain_dbi(off_axis_deg, ratio, max_gain_dbi)
    unlike = bo1213_gain_dbi(off_axis_deg, ratio, max_gain_dbi, cross_polar=True)
    if pattern == "S.465":
        found = np.minimum(s465_gain_dbi(off_axis_deg, ratio), max_gain_dbi)
        like, unlike = np.where(np.isnan(found), like, found), np.where(np.isnan(found), unlike, found)
    share = np.cos(np.radians(turned_deg)) ** 2
    return 10.0 * np.log10(share * 10.0 ** (like / 10.0) + (1.0 - share) * 10.0 ** (unlike / 10.0))


def overlap_db(*, apart_mhz: ArrayLike, wanted_kbaud: ArrayLike, other_kbaud: ArrayLike) -> NDArray:
    """Return the share of another carrier's power that falls into the wanted one's noise bandwidth, dB; -inf where none does.

    Source: spectra taken as flat over the symbol rate (common practice, no source).
    """
    wanted, other, apart = (np.asarray(value, dtype=np.float64) for value in (wanted_kbaud, other_kbaud, apart_mhz))
    half, gap = 0.5 * (wanted + other), 1e3 * np.abs(apart)
    common = np.clip(np.minimum(half - gap, np.minimum(wanted, other)), 0.0, None)
    with np.errstate(divide="ignore"):
        return 10.0 * np.log10(common / other)


def with_interference_db(cn_db: ArrayLike, *ci_db: ArrayLike) -> NDArray:
    """Return C/(N+I) from C/N and any number of C/I, all dB; inf where nothing disturbs. Source: sum of powers."""
    noise = 10.0 ** (-np.asarray(cn_db, dtype=np.float64) / 10.0)
    for one in ci_db:
        noise = noise + 10.0 ** (-np.asarray(one, dtype=np.float64) / 10.0)
    return -10.0 * np.log10(noise)
