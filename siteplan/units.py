"""Levels, fields, powers and wavelengths in one another's units; numpy arrays or plain numbers, NaN stays NaN."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import SPEED_OF_LIGHT_M_PER_S

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Gain of a half-wave dipole over an isotropic antenna: 1.64, which published tables round to 2.15 dB.
HALF_WAVE_DIPOLE_DBI = 2.15
COAX_OHM = 75.0
# Impedance of free space as ITU-R P.525 rounds it, 120 pi ohm.
FREE_SPACE_OHM = 120.0 * math.pi


def _array(value: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(value, dtype=np.float64)


def log10_or_nan(value: ArrayLike) -> NDArray[np.float64]:
    """Return log10, NaN where the value is not above 0."""
    number = _array(value)
    positive = number > 0.0
    return np.where(positive, np.log10(np.where(positive, number, 1.0)), np.nan)[()]


# ---- power and voltage ------------------------------------------------------------------------------------


def dbm_to_dbuv(power_dbm: ArrayLike, impedance_ohm: float = COAX_OHM) -> NDArray[np.float64]:
    """Return the level in dBuV across an impedance that carries a power in dBm: dBm + 90 + 10 log R (108.75 at 75 ohm).

    Source: definition, U^2 = P R; checked in tests/authorities/test_units.py.
    """
    return (_array(power_dbm) + 90.0 + 10.0 * math.log10(impedance_ohm))[()]


def dbuv_to_dbm(level_dbuv: ArrayLike, impedance_ohm: float = COAX_OHM) -> NDArray[np.float64]:
    """Return the power in dBm of a level in dBuV across an impedance; the way back of dbm_to_dbuv. Source: definition."""
    return (_array(level_dbuv) - 90.0 - 10.0 * math.log10(impedance_ohm))[()]


def dbw_to_dbm(power_dbw: ArrayLike) -> NDArray[np.float64]:
    """Return dBm from dBW: plus 30. Source: definition."""
    return (_array(power_dbw) + 30.0)[()]


def dbm_to_dbw(power_dbm: ArrayLike) -> NDArray[np.float64]:
    """Return dBW from dBm: minus 30. Source: definition."""
    return (_array(power_dbm) - 30.0)[()]


def kw_to_dbw(power_kw: ArrayLike) -> NDArray[np.float64]:
    """Return dBW from kilowatts: 30 + 10 log P; NaN unless above 0. Source: definition."""
    return (30.0 + 10.0 * log10_or_nan(power_kw))[()]


def dbw_to_kw(power_dbw: ArrayLike) -> NDArray[np.float64]:
    """Return kilowatts from dBW. Source: definition."""
    return (10.0 ** ((_array(power_dbw) - 30.0) / 10.0))[()]


def db_to_ratio(level_db: ArrayLike) -> NDArray[np.float64]:
    """Return the power ratio of decibels. Source: definition."""
    return (10.0 ** (_array(level_db) / 10.0))[()]


def ratio_to_db(ratio: ArrayLike) -> NDArray[np.float64]:
    """Return decibels of a power ratio; NaN unless above 0. Source: definition."""
    return (10.0 * log10_or_nan(ratio))[()]


def power_sum_db(levels_db: ArrayLike, axis: int = -1) -> NDArray[np.float64]:
    """Return the sum, as powers, of levels in one decibel unit along an axis.

    levels_db  (..., n)  -inf is no power. Returns (...); -inf where n is 0. NaN stays NaN. Source: definition.
    """
    levels = np.atleast_1d(_array(levels_db))
    if levels.shape[axis] == 0:
        return np.full(np.sum(levels, axis=axis).shape, -np.inf)[()]
    top = np.max(levels, axis=axis, keepdims=True)
    top = np.where(np.isneginf(top), 0.0, top)
    with np.errstate(divide="ignore"):
        return (np.squeeze(top, axis=axis) + 10.0 * np.log10(np.sum(10.0 ** ((levels - top) / 10.0), axis=axis)))[()]


# ---- antennas ---------------------------------------------------------------------------------------------


def dbd_to_dbi(gain_dbd: ArrayLike) -> NDArray[np.float64]:
    """Return gain over an isotropic antenna from gain over a half-wave dipole: plus 2.15. Source: Rec. ITU-R BS.561-2, annex 1."""
    return (_array(gain_dbd) + HALF_WAVE_DIPOLE_DBI)[()]


def dbi_to_dbd(gain_dbi: ArrayLike) -> NDArray[np.float64]:
    """Return gain over a half-wave dipole from gain over an isotropic antenna: minus 2.15. Source: Rec. ITU-R BS.561-2, annex 1."""
    return (_array(gain_dbi) - HALF_WAVE_DIPOLE_DBI)[()]


def erp_to_eirp(power_erp: ArrayLike) -> NDArray[np.float64]:
    """Return EIRP from ERP (over a half-wave dipole), both in the same decibel unit: plus 2.15. Source: RR No. 1.161, 1.162."""
    return (_array(power_erp) + HALF_WAVE_DIPOLE_DBI)[()]


def eirp_to_erp(power_eirp: ArrayLike) -> NDArray[np.float64]:
    """Return ERP (over a half-wave dipole) from EIRP, both in the same decibel unit: minus 2.15. Source: RR No. 1.161, 1.162."""
    return (_array(power_eirp) - HALF_WAVE_DIPOLE_DBI)[()]


# ---- waves and fields -------------------------------------------------------------------------------------


def wavelength_m(frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return the wavelength in metres; NaN unless the frequency is above 0. Source: c = 299 792 458 m/s."""
    frequency = _array(frequency_mhz)
    positive = frequency > 0.0
    return np.where(positive, SPEED_OF_LIGHT_M_PER_S / (np.where(positive, frequency, 1.0) * 1e6), np.nan)[()]


def free_space_loss_db(distance_m: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return the basic transmission loss in free space, 20 log(4 pi d / lambda).

    distance_m, frequency_mhz  (...)  broadcast; NaN unless both are above 0

    Source: Rec. ITU-R P.525-4, eq. (3); printed there as 32.4 + 20 log f_MHz + 20 log d_km, exactly 32.4478.
    """
    return (20.0 * log10_or_nan(4.0 * math.pi * _array(distance_m) / wavelength_m(frequency_mhz)))[()]


# E in dBuV/m for 1 kW ERP and a basic loss Lb: E = CONSTANT + 20 log f_GHz - Lb.
FIELD_AT_1_KW_ERP_DB = 199.36  # as printed, Rec. ITU-R P.1812-8, eq. (70)


def field_strength_dbuv_per_m(loss_db: ArrayLike, frequency_mhz: ArrayLike, erp_kw: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Return the field strength at a basic transmission loss: 199.36 + 20 log f_GHz - loss, for 1 kW ERP, plus 10 log ERP.

    loss_db, frequency_mhz, erp_kw  (...)  ERP over a half-wave dipole, kW

    Source: Rec. ITU-R P.1812-8, eq. (70); checked in tests/authorities/test_units.py.
    """
    return (FIELD_AT_1_KW_ERP_DB + 20.0 * (log10_or_nan(frequency_mhz) - 3.0) - _array(loss_db) + 10.0 * log10_or_nan(erp_kw))[()]


def loss_from_field_db(field_dbuv_per_m: ArrayLike, frequency_mhz: ArrayLike, erp_kw: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Return the basic transmission loss that gives a field strength; the way back of field_strength_dbuv_per_m."""
    return (FIELD_AT_1_KW_ERP_DB + 20.0 * (log10_or_nan(frequency_mhz) - 3.0) - _array(field_dbuv_per_m) + 10.0 * log10_or_nan(erp_kw))[()]


def power_flux_dbw_per_m2(field_dbuv_per_m: ArrayLike) -> NDArray[np.float64]:
    """Return the power flux density of a field strength: E - 120 - 10 log(120 pi), i.e. E - 145.76. Source: Rec. ITU-R P.525-4, eq. (8)."""
    return (_array(field_dbuv_per_m) - 120.0 - 10.0 * math.log10(FREE_SPACE_OHM))[()]


def field_from_flux_dbuv_per_m(flux_dbw_per_m2: ArrayLike) -> NDArray[np.float64]:
    """Return the field strength of a power flux density; the way back of power_flux_dbw_per_m2."""
    return (_array(flux_dbw_per_m2) + 120.0 + 10.0 * math.log10(FREE_SPACE_OHM))[()]


def effective_area_dbm2(gain_dbi: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return the effective area of an antenna in dB(m2): gain + 10 log(lambda^2 / 4 pi). Source: Rec. ITU-R P.525-4, eq. (6)."""
    return (_array(gain_dbi) + 20.0 * log10_or_nan(wavelength_m(frequency_mhz)) - 10.0 * math.log10(4.0 * math.pi))[()]


def field_strength_to_terminal_dbuv(
    field_dbuv_per_m: ArrayLike, frequency_mhz: ArrayLike, gain_dbi: ArrayLike, loss_db: ArrayLike = 0.0, *, impedance_ohm: float = COAX_OHM
) -> NDArray[np.float64]:
    """Return the level a matched load sees at an aerial's terminals (or after a cable) in a field.

    field_dbuv_per_m  (...)  field strength at the aerial
    frequency_mhz     (...)  above 0, else NaN
    gain_dbi          (...)  towards the wave, polarisation counted
    loss_db           (...)  cable and other losses between the terminals and the load
    impedance_ohm     of the load

    Returns (...) dBuV: power = flux x effective area, then U^2 = P R. At 75 ohm this is E - 20 log f_MHz + 31.53 + G_dBi (33.68 with
    G_dBd). Source: Rec. ITU-R P.525-4, eqs (6) and (8); checked in tests/authorities/test_units.py.
    """
    power_dbw = power_flux_dbw_per_m2(field_dbuv_per_m) + effective_area_dbm2(gain_dbi, frequency_mhz) - _array(loss_db)
    return dbm_to_dbuv(dbw_to_dbm(power_dbw), impedance_ohm)


def terminal_dbuv_to_field_strength(
    level_dbuv: ArrayLike, frequency_mhz: ArrayLike, gain_dbi: ArrayLike, loss_db: ArrayLike = 0.0, *, impedance_ohm: float = COAX_OHM
) -> NDArray[np.float64]:
    """Return the field strength that gives a level; the way back of field_strength_to_terminal_dbuv."""
    power_dbw = dbm_to_dbw(dbuv_to_dbm(level_dbuv, impedance_ohm))
    return field_from_flux_dbuv_per_m(power_dbw - effective_area_dbm2(gain_dbi, frequency_mhz) + _array(loss_db))
