"""Antennas: what a dish gains, what a TV aerial turns away, how a mobile sector spreads its power."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.units import log10_or_nan, wavelength_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# 3GPP TR 36.814, table A.2.1.1-2: least gain of a sector antenna under its axis, at the side and up or down.
FRONT_TO_BACK_DB, SIDE_LOBE_DB = 25.0, 20.0
# Rec. ITU-R BT.419-3: no discrimination up to the first angle, a straight line in dB to the second, flat beyond.
_BT419 = {"III": (27.0, 60.0, 12.0), "IV_V": (20.0, 60.0, 16.0)}
BT419_CROSS_POLAR_DB = 16.0
# Planning gain (over a half-wave dipole) and feeder loss of a roof aerial, GE06 Agreement, annex 2 (from memory of the table).
_REFERENCE_AERIAL = ((200.0, 7.0, 2.0), (500.0, 10.0, 3.0), (800.0, 12.0, 5.0))


def dish_gain_dbi(dish_m: ArrayLike, frequency_mhz: ArrayLike, efficiency: ArrayLike = 0.65) -> NDArray[np.float64]:
    """Return the gain of a dish in its axis: 10 log(efficiency (pi D / lambda)^2).

    dish_m, frequency_mhz (...)  above 0, else NaN; efficiency (...) of the aperture, 0 to 1

    Returns (...) dBi. Raises MethodRangeError for an efficiency outside (0, 1].
    Source: definition of aperture efficiency. Checked in tests/authorities/test_dish_gain.py.
    """
    share = np.asarray(efficiency, dtype=np.float64)
    if not np.all((share > 0.0) & (share <= 1.0)):
        raise MethodRangeError(
            told("the efficiency of a dish is {efficiency}; give a share above 0, at most 1 (0.65 is common)", efficiency=efficiency)
        )
    return (20.0 * log10_or_nan(math.pi * np.asarray(dish_m, dtype=np.float64) / wavelength_m(frequency_mhz)) + 10.0 * np.log10(share))[()]


def dish_beamwidth_deg(dish_m: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return the width of a dish's beam at half power, 70 lambda / D degrees. Source: common practice; test_dish_gain.py."""
    return (70.0 * wavelength_m(frequency_mhz) / np.asarray(dish_m, dtype=np.float64))[()]


def bo1213_gain_dbi(
    off_axis_deg: ArrayLike, d_over_wavelength: ArrayLike, max_gain_dbi: ArrayLike, *, cross_polar: bool = False
) -> NDArray[np.float64]:
    """Return the gain of a broadcasting-satellite receiving dish off its axis; all arguments broadcast.

    off_axis_deg        any sign, to 180; d_over_wavelength diameter over wavelength, above 0; max_gain_dbi in the axis
    cross_polar         for the other polarisation

    Returns (...) dBi; NaN stays NaN. Never above max_gain_dbi.
    Source: Rec. ITU-R BO.1213-1, annex 1 (as restated publicly; cross-polar likewise). Checked in tests/authorities/test_dish_patterns.py.
    """
    turn, ratio, top = (np.asarray(value, dtype=np.float64) for value in (np.abs(off_axis_deg), d_over_wavelength, max_gain_dbi))
    if cross_polar:
        return np.minimum(_bo1213_cross_dbi(turn, ratio, top), top)[()]
    first = 29.0 - 25.0 * np.log10(95.0 / ratio)
    edge = np.sqrt(np.maximum(top - first, 0.0) / 0.0025) / ratio
    with np.errstate(divide="ignore"):
        slope = 29.0 - 25.0 * np.log10(turn)
    gain = np.where(turn < 70.0, -5.0, 0.0)
    gain = np.where(turn < 10.0 ** (34.0 / 25.0), slope, gain)
    gain = np.where(turn < 95.0 / ratio, first, gain)
    gain = np.where(turn < edge, top - 0.0025 * (ratio * turn) ** 2, gain)
    return np.where(np.isnan(turn + ratio + top), np.nan, np.minimum(gain, top))[()]


def _bo1213_cross_dbi(turn: NDArray, ratio: NDArray, top: NDArray) -> NDArray:
    wide = 2.0 / ratio * math.sqrt(3.0 / 0.0025)
    far = wide / 2.0 * math.sqrt(10.1875)
    with np.errstate(divide="ignore"):
        slope = 21.0 - 25.0 * np.log10(turn)
    fall = 21.0 - 25.0 * np.log10(far) - (top - 17.0)
    gain = np.where(turn < 70.0, -5.0, 0.0)
    gain = np.where(turn < 10.0 ** (26.0 / 25.0), slope, gain)
    gain = np.where(turn < far, top - 17.0 + fall * np.abs((turn - wide) / (far - wide)), gain)
    gain = np.where(turn < wide, top - 17.0, gain)
    gain = np.where(turn < 0.44 * wide, top - 25.0 + 8.0 * (turn - 0.25 * wide) / (0.19 * wide), gain)
    gain = np.where(turn < 0.25 * wide, top - 25.0, gain)
    return np.where(np.isnan(turn + ratio + top), np.nan, gain)


def s465_gain_dbi(off_axis_deg: ArrayLike, d_over_wavelength: ArrayLike) -> NDArray[np.float64]:
    """Return the gain of an earth station's dish off its axis: 32 - 25 log phi to 48 degrees, -10 dBi beyond; arguments broadcast.

    NaN nearer to the axis than the recommendation says anything: max(1, 100 lambda/D) degrees from D/lambda 50 up,
    max(2, 114 (D/lambda)^-1.09) from 33.3, 2.5 below.

    Source: Rec. ITU-R S.465-6, recommends 2 and note 5 (as restated publicly). Checked in tests/authorities/test_dish_patterns.py.
    """
    turn, ratio = (np.asarray(value, dtype=np.float64) for value in (np.abs(off_axis_deg), d_over_wavelength))
    middle = np.maximum(2.0, 114.0 * ratio**-1.09)
    least = np.where(ratio >= 50.0, np.maximum(1.0, 100.0 / ratio), np.where(ratio >= 33.3, middle, 2.5))
    with np.errstate(divide="ignore"):
        gain = np.where(turn < 48.0, 32.0 - 25.0 * np.log10(turn), -10.0)
    return np.where((turn >= least) & ~np.isnan(ratio), gain, np.nan)[()]


def off_focus_loss_db(off_deg: ArrayLike, *, dish_m: float, frequency_mhz: float, focal_ratio: float) -> NDArray[np.float64]:
    """Return what a dish loses to an LNB set beside its focus: (n / n1)^2 dB for a beam n beamwidths off, n1 = 0.44 + 22 (f/D)^2.

    off_deg  (...)  angle between the dish's aim and the satellite of that LNB; focal_ratio f/D of the dish

    A 0.8 m dish at 11.7 GHz with f/D 0.6 (beam 2.24 degrees): 6 degrees off is 2.7 of 8.4 beamwidths, 0.1 dB.
    Source: 1 dB at n1 beamwidths is a fit to scans of paraboloids in handbooks of antennas (memory); the square between is common
    practice, no source. The shadow of LNB and arm is not in it.
    """
    beams = np.abs(np.asarray(off_deg, dtype=np.float64)) / dish_beamwidth_deg(dish_m, frequency_mhz)
    return ((beams / (0.44 + 22.0 * focal_ratio**2)) ** 2)[()]


def bt419_discrimination_db(off_axis_deg: ArrayLike, frequency_mhz: float, *, cross_polar: bool = False) -> NDArray[np.float64]:
    """Return how much weaker a TV aerial takes a wave from aside, relative to its axis: 0 or negative.

    off_axis_deg   (...)  angle between the aerial's axis and the wave, any sign, degrees; NaN stays NaN
    frequency_mhz  band III (160 to 300) or bands IV and V (450 to 960)
    cross_polar    the wave has the other linear polarisation: -16 dB from every side, in place of the sum of both

    Raises MethodRangeError for another band.
    Source: Rec. ITU-R BT.419-3 (band III and cross-polar from memory). Checked in tests/authorities/test_bt419.py.
    """
    if 160.0 <= frequency_mhz <= 300.0:
        first, second, most = _BT419["III"]
    elif 450.0 <= frequency_mhz <= 960.0:
        first, second, most = _BT419["IV_V"]
    else:
        raise MethodRangeError(
            told("BT.419-3 is used here for 160 to 300 and 450 to 960 MHz, not {frequency_mhz:g} MHz", frequency_mhz=frequency_mhz)
        )
    turn = np.abs(np.mod(np.asarray(off_axis_deg, dtype=np.float64) + 180.0, 360.0) - 180.0)
    if cross_polar:
        return np.where(np.isnan(turn), np.nan, -BT419_CROSS_POLAR_DB)[()]
    return (-most * np.clip((turn - first) / (second - first), 0.0, 1.0))[()]


def reference_aerial(frequency_mhz: float) -> tuple[float, float]:
    """Return gain (dBd) and feeder loss (dB) that planning takes for a roof aerial.

    frequency_mhz  above 0; straight in log frequency between 200 MHz (7 dBd, 2 dB), 500 MHz (10, 3) and 800 MHz (12, 5), held beyond

    Raises MethodRangeError if the frequency is not above 0. Source: GE06 Agreement, annex 2 (values at 500 MHz as in Rec. ITU-R BT.1368;
    from memory); the interpolation is common practice, no source.
    """
    if not frequency_mhz > 0.0:
        raise MethodRangeError(told("the frequency is {frequency_mhz} MHz; give one above 0", frequency_mhz=frequency_mhz))
    at = [math.log10(row[0]) for row in _REFERENCE_AERIAL]
    gain = np.interp(math.log10(frequency_mhz), at, [row[1] for row in _REFERENCE_AERIAL])
    feeder = np.interp(math.log10(frequency_mhz), at, [row[2] for row in _REFERENCE_AERIAL])
    return float(gain), float(feeder)


def scaled_aerial(*, frequency_mhz: float, gain_dbd_at_500: float, feeder_loss_db_at_500: float) -> tuple[float, float]:
    """Return gain (dBd) and feeder loss (dB) at a frequency of an aerial known at 500 MHz, changing as reference_aerial does."""
    gain, feeder = reference_aerial(frequency_mhz)
    gain_500, feeder_500 = reference_aerial(500.0)
    return gain_dbd_at_500 + gain - gain_500, max(0.0, feeder_loss_db_at_500 + feeder - feeder_500)


def sector_pattern_db(
    *,
    bearing_deg: ArrayLike,
    elevation_deg: ArrayLike,
    azimuth_deg: float,
    downtilt_deg: float = 0.0,
    beamwidth_deg: float = 65.0,
    vertical_beamwidth_deg: float = 10.0,
) -> NDArray[np.float64]:
    """Return the gain of a sector antenna towards a place, relative to its axis: 0 or negative.

    bearing_deg     (...)  direction of the place from the sector, clockwise from true north
    elevation_deg   (...)  of the ray as it leaves the sector, negative downwards
    azimuth_deg     of the sector; NaN: the same all around
    downtilt_deg    below the horizon; beamwidths at -3 dB

    Returns (...) dB: -min(Ah + Av, 25) with Ah = min(12 (phi/phi3)^2, 25), Av = min(12 (theta/theta3)^2, 20). NaN stays NaN.
    Raises MethodRangeError for a beamwidth not above 0.
    Source: 3GPP TR 36.814, table A.2.1.1-2 (the form of TR 38.901, table 7.3-1, with its side lobes). Checked by hand in
    tests/radio/test_antenna.py.
    """
    if not (beamwidth_deg > 0.0 and vertical_beamwidth_deg > 0.0):
        raise MethodRangeError(
            told(
                "a sector's beamwidths are {beamwidth_deg} and {vertical_beamwidth_deg} degrees; give values above 0",
                beamwidth_deg=beamwidth_deg,
                vertical_beamwidth_deg=vertical_beamwidth_deg,
            )
        )
    bearing = np.asarray(bearing_deg, dtype=np.float64)
    axis = bearing if math.isnan(azimuth_deg) else azimuth_deg
    turn = np.mod(bearing - axis + 180.0, 360.0) - 180.0
    across = np.minimum(12.0 * (turn / beamwidth_deg) ** 2, FRONT_TO_BACK_DB)
    tilt = np.asarray(elevation_deg, dtype=np.float64) + downtilt_deg
    along = np.minimum(12.0 * (tilt / vertical_beamwidth_deg) ** 2, SIDE_LOBE_DB)
    return (-np.minimum(across + along, FRONT_TO_BACK_DB))[()]
