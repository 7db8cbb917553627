"""Rain on a slant path: specific attenuation (ITU-R P.838-3), its loss and its cross-polar discrimination (ITU-R P.618-13)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.radio import itur_door

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

RAIN_ABOVE_ZERO_M = 360.0  # rain height over the 0 degree isotherm: Rec. ITU-R P.839-4, eq. (1)
_EARTH_KM = 8500.0  # effective radius of Rec. ITU-R P.618, eq. (2)

# Rec. ITU-R P.838-3, tables 1 to 4: rows a_j, b_j, c_j; then slope and offset.
_K_H = ((-5.33980, -0.35351, -0.23789, -0.94158), (-0.10008, 1.26970, 0.86036, 0.64552), (1.13098, 0.45400, 0.15354, 0.16817))
_K_V = ((-3.80595, -3.44965, -0.39902, 0.50167), (0.56934, -0.22911, 0.73042, 1.07319), (0.81061, 0.51059, 0.11899, 0.27195))
_ALPHA_H = (
    (-0.14318, 0.29591, 0.32177, -5.37610, 16.1721),
    (1.82442, 0.77564, 0.63773, -0.96230, -3.29980),
    (-0.55187, 0.19822, 0.13164, 1.47828, 3.43990),
)
_ALPHA_V = (
    (-0.07771, 0.56727, -0.20238, -48.2991, 48.5833),
    (2.33840, 0.95545, 1.14520, 0.791669, 0.791459),
    (-0.76284, 0.54039, 0.26809, 0.116226, 0.116479),
)
_SLOPES = {"k_h": (-0.18961, 0.71147), "k_v": (-0.16398, 0.63297), "alpha_h": (0.67849, -1.95537), "alpha_v": (-0.053739, 0.83433)}


class RainPath(NamedTuple):
    """Rain on one path, arrays (...): the loss, and the steps of P.618 that lead to it."""

    loss_db: NDArray
    loss_001_db: NDArray
    k: NDArray
    alpha: NDArray
    specific_db_per_km: NDArray
    slant_km: NDArray


def _curve(log_f: NDArray, shape: tuple[tuple[float, ...], ...], slope: tuple[float, float]) -> NDArray:
    """Return eq. (2) or (3) of P.838-3."""
    return sum(a * np.exp(-(((log_f - b) / c) ** 2)) for a, b, c in zip(*shape, strict=True)) + slope[0] * log_f + slope[1]


def rain_coefficients(*, frequency_mhz: ArrayLike, elevation_deg: ArrayLike = 0.0, tilt_deg: ArrayLike = 0.0) -> tuple[NDArray, NDArray]:
    """Return k and alpha of specific rain attenuation k R^alpha; two arrays (...), all arguments broadcast, 1 to 1000 GHz.

    tilt_deg  of the polarisation against the horizontal: 0 horizontal, 90 vertical, 45 circular
    Source: Rec. ITU-R P.838-3, eqs (2) to (5). Checked in tests/authorities/test_p837_p838_p839.py.
    """
    log_f = np.log10(np.asarray(frequency_mhz, dtype=np.float64) / 1000.0)
    k_h, k_v = 10.0 ** _curve(log_f, _K_H, _SLOPES["k_h"]), 10.0 ** _curve(log_f, _K_V, _SLOPES["k_v"])
    a_h, a_v = _curve(log_f, _ALPHA_H, _SLOPES["alpha_h"]), _curve(log_f, _ALPHA_V, _SLOPES["alpha_v"])
    turn = np.cos(np.radians(elevation_deg)) ** 2 * np.cos(2.0 * np.radians(tilt_deg))
    k = (k_h + k_v + (k_h - k_v) * turn) / 2.0
    return k, (k_h * a_h + k_v * a_v + (k_h * a_h - k_v * a_v) * turn) / (2.0 * k)


def rain_path(
    *,
    lat_deg: ArrayLike,
    height_amsl_m: ArrayLike,
    rain_height_amsl_m: ArrayLike,
    rain_001_mm_per_h: ArrayLike,
    frequency_mhz: ArrayLike,
    elevation_deg: ArrayLike,
    time_pct: ArrayLike,
    tilt_deg: ArrayLike = 45.0,
) -> RainPath:
    """Return what rain takes on a slant path, exceeded for a percentage of the average year; all arguments broadcast.

    lat_deg              -90 to 90
    height_amsl_m        of the antenna
    rain_height_amsl_m   where rain begins (0 degree isotherm + 360 m)
    rain_001_mm_per_h    exceeded for 0.01 % of the year; 0 gives 0 dB
    frequency_mhz        to 55 000; elevation_deg above 0; time_pct 0.001 to 5
    tilt_deg             of the polarisation against the horizontal, 45 for circular

    Returns RainPath of arrays (...); 0 dB above the rain. Outside these ranges the formula is only evaluated: who calls checks them.
    Source: Rec. ITU-R P.618-13, section 2.2.1.1 (unchanged in -14). Checked in tests/authorities/test_p618.py.
    """
    f = np.asarray(frequency_mhz, dtype=np.float64) / 1000.0
    elevation, p, lat = (np.asarray(value, dtype=np.float64) for value in (elevation_deg, time_pct, np.abs(lat_deg)))
    sine, cosine = np.sin(np.radians(elevation)), np.cos(np.radians(elevation))
    depth = np.maximum((np.asarray(rain_height_amsl_m, dtype=np.float64) - np.asarray(height_amsl_m, dtype=np.float64)) / 1000.0, 0.0)
    rate = np.asarray(rain_001_mm_per_h, dtype=np.float64)
    k, alpha = rain_coefficients(frequency_mhz=frequency_mhz, elevation_deg=elevation, tilt_deg=tilt_deg)
    specific = k * np.maximum(rate, 0.0) ** alpha
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slant = np.where(elevation >= 5.0, depth / sine, 2.0 * depth / (np.sqrt(sine**2 + 2.0 * depth / _EARTH_KM) + sine))
        level = np.abs(slant * cosine)
        reduction = 1.0 / (1.0 + 0.78 * np.sqrt(level * specific / f) - 0.38 * (1.0 - np.exp(-2.0 * level)))
        steep = np.degrees(np.arctan2(depth, level * reduction))
        path = np.where(steep > elevation, level * reduction / cosine, depth / sine)
        chi = np.maximum(36.0 - lat, 0.0)
        bracket = 31.0 * (1.0 - np.exp(-elevation / (1.0 + chi))) * np.sqrt(path * specific) / f**2 - 0.45
        at_001 = specific * path / (1.0 + np.sqrt(sine) * bracket)
        beta = np.where((p >= 1.0) | (lat >= 36.0), 0.0, -0.005 * (lat - 36.0) + np.where(elevation >= 25.0, 0.0, 1.8 - 4.25 * sine))
        power = 0.655 + 0.033 * np.log(p) - 0.045 * np.log(at_001) - beta * (1.0 - p) * sine
        loss = at_001 * (p / 0.01) ** -power
    dry = (depth <= 0.0) | (rate <= 0.0)
    return RainPath(np.where(dry, 0.0, loss), np.where(dry, 0.0, at_001), k, alpha, specific, slant)


def rain_xpd_db(
    *, rain_db: ArrayLike, frequency_mhz: ArrayLike, elevation_deg: ArrayLike, time_pct: ArrayLike, tilt_deg: ArrayLike = 45.0
) -> NDArray:
    """Return the cross-polar discrimination left in rain and ice, not exceeded for a percentage of the average year; all broadcast.

    rain_db        co-polar rain attenuation exceeded for the same percentage
    frequency_mhz  4000 to 55 000; elevation_deg to 60; tilt_deg as rain_path

    Returns (...) dB; NaN outside these ranges and where rain_db is not above 0 (no rain, no depolarisation by it).
    Source: Rec. ITU-R P.618-13, section 4.1, steps 1 to 8, and 4.2. Checked in tests/authorities/test_p618.py.
    """
    rain, mhz, elevation, p, tilt = (
        np.asarray(value, dtype=np.float64) for value in (rain_db, frequency_mhz, elevation_deg, time_pct, tilt_deg)
    )
    f = mhz / 1000.0
    known = (f >= 4.0) & (f <= 55.0) & (elevation <= 60.0) & (rain > 0.0)
    worked = np.clip(f, 6.0, 55.0)  # below 6 GHz: worked at 6 GHz and scaled, section 4.2
    log_f = np.log10(worked)
    by_frequency = np.where(worked < 9.0, 60.0 * log_f - 28.3, np.where(worked < 36.0, 26.0 * log_f + 4.1, 35.9 * log_f - 11.3))
    v = np.where(worked < 9.0, 30.8 * worked**-0.21, 12.8 * worked**0.19)
    v = np.where(worked < 20.0, v, np.where(worked < 40.0, 22.6, 13.0 * worked**0.15))
    by_tilt = -10.0 * np.log10(1.0 - 0.484 * (1.0 + np.cos(np.radians(4.0 * tilt))))
    by_elevation = -40.0 * np.log10(np.cos(np.radians(np.minimum(elevation, 60.0))))
    co_polar = np.log10(np.where(known, rain, np.nan))
    sigma = np.where(p <= 0.001, 15.0, np.where(p <= 0.01, 10.0, np.where(p <= 0.1, 5.0, 0.0)))
    in_rain = by_frequency - v * co_polar + by_tilt + by_elevation + 0.0053 * sigma**2
    with_ice = in_rain - in_rain * (0.3 + 0.1 * np.log10(p)) / 2.0
    return np.where(known, with_ice - 20.0 * np.log10(f / worked), np.nan)[()]


_DAYS = np.array([31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0])


def rain_rate_mm_per_h(*, lat_deg: float, lon_deg: float, time_pct: float) -> float:
    """Return the rain rate exceeded for any percentage of the average year at one place; 0 where it rains less often than that.

    time_pct  above 0, to 100; 0.01 is read from the map of 0.01 %

    Returns mm/h. Source: Rec. ITU-R P.837-7, annex 1, steps 2 to 8. Checked in tests/authorities/test_p837_p838_p839.py.
    """
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    if time_pct == 0.01:
        return float(itur_door.rain_rate_001_mm_per_h(**place))
    celsius, month_mm = itur_door.monthly_temperature_k(**place) - 273.15, itur_door.monthly_rain_mm(**place)
    rate = np.where(celsius >= 0.0, 0.5874 * np.exp(0.0883 * celsius), 0.5874)
    chance = 100.0 * month_mm / (24.0 * _DAYS * rate)
    rate = np.where(chance > 70.0, 100.0 / 70.0 * month_mm / (24.0 * _DAYS), rate)
    chance = np.minimum(chance, 70.0)
    if time_pct > float(np.sum(_DAYS * chance) / 365.25):
        return 0.0

    def exceeded_pct(mm_per_h: float) -> float:
        tail = [0.5 * math.erfc((math.log(mm_per_h) + 0.7938 - math.log(r)) / 1.26 / math.sqrt(2.0)) for r in rate]
        return float(np.sum(_DAYS * chance * np.array(tail)) / 365.25)

    low, high = math.log(1e-10), math.log(1000.0)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if exceeded_pct(math.exp(middle)) > time_pct else (low, middle)
    return math.exp(0.5 * (low + high))
