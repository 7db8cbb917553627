"""What the weather takes from a satellite's signal: rain, gases, clouds, scintillation and their sum (ITU-R P.618-13)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import InputError, MethodRangeError, told
from siteplan.radio import itur_door
from siteplan.radio.gases import standard_pressure_hpa, zenith_gas_db
from siteplan.radio.rain import RAIN_ABOVE_ZERO_M, rain_path

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# One consistent set: the one the SG 3 validation examples CG-3M3J-13-ValEx were made with. P.618-14 (2023) keeps rain and
# scintillation as they are and takes gases and clouds from P.676-13, P.840-9 and P.2145, whose maps no released library carries.
EDITIONS = {
    "method": "Rec. ITU-R P.618-13 (2017)",
    "specific rain attenuation": "Rec. ITU-R P.838-3 (2005)",
    "gases": "Rec. ITU-R P.676-12 (2019)",
    "clouds": "Rec. ITU-R P.840-8 (2019)",
    "pressure": "Rec. ITU-R P.835-6 (2017)",
    **{name: text for name, text in itur_door.EDITIONS.items() if name not in ("cloud water", "gas lines")},
}

LEAST_TIME_PCT, MOST_TIME_PCT = 0.001, 5.0  # P.618-13, 2.2.1.1
LEAST_FREQUENCY_MHZ, MOST_FREQUENCY_MHZ = 1000.0, 55_000.0  # P.676-12 annex 2 and P.838-3; P.618-13, 2.2.1.1
LEAST_ELEVATION_DEG = 1.0  # our own: below it the extension under 5 degrees says nothing
STATED_ELEVATION_DEG = 5.0  # P.618-13, 2.4.1; P.676-12, annex 2; P.840-8
SCINTILLATION_MHZ = (4000.0, 20_000.0)  # P.618-13, 2.4.1
SCINTILLATION_LEAST_PCT = 0.01  # P.618-13, eq. (46)
HIGHEST_M, LOWEST_M = 8900.0, -430.0  # the Earth's own ground

# Medium that radiates: P.618-13, section 3, for want of the surface temperature; 2.7 K is what lies behind it.
MEDIUM_K, COSMIC_K = 275.0, 2.7

_LEVELS = (1.0, 2.0, 3.0, 5.0)  # gases and clouds are taken at max(1, p), p to 5
_CLEAR_LEVEL = 50.0
_TURBULENCE_M = 1000.0  # P.618-13, 2.4.1, step 4
_EARTH_KM = 8500.0
_SHELL_KM = 5.0  # gases and clouds lie below some 5 km: only shapes the extension under 5 degrees


@dataclass(frozen=True, eq=False, slots=True)
class Climate:
    """The sky over places, arrays (...) or floats; the last axis of water holds 1, 2, 3, 5 and 50 % of the average year.

    ground_amsl_m from the world map; height_amsl_m is the one the vapour was worked for.
    """

    lat_deg: NDArray
    height_amsl_m: NDArray
    rain_001_mm_per_h: NDArray
    rain_height_amsl_m: NDArray
    temperature_k: NDArray
    wet_refractivity: NDArray
    cloud_kg_per_m2: NDArray
    vapour_kg_per_m2: NDArray
    vapour_g_per_m3: NDArray


@dataclass(frozen=True, eq=False, slots=True)
class Fade:
    """Attenuation exceeded for a percentage of the average year, dB, arrays (...) or floats; NaN where the method has no answer.

    total_db is not the sum: gases + sqrt((rain + clouds)^2 + scintillation^2). absorption_db (all but scintillation) radiates noise.
    """

    rain_db: NDArray
    gas_db: NDArray
    cloud_db: NDArray
    scintillation_db: NDArray
    total_db: NDArray
    absorption_db: NDArray


def climate(*, lat_deg: ArrayLike, lon_deg: ArrayLike, height_amsl_m: ArrayLike) -> Climate:
    """Return what the world maps say of places; all arguments broadcast.

    height_amsl_m  of the antenna. Returns Climate of arrays (...), water (..., 5); water is NaN beyond some 88 degrees of latitude.
    Raises InputError for a latitude beyond the poles, MissingLibraryError where the maps are not installed.
    Source: itur_door.EDITIONS. Checked in tests/authorities/test_p618.py and test_p837_p838_p839.py.
    """
    lat, lon, height = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, height_amsl_m)))
    if not (np.all(np.abs(lat[np.isfinite(lat)]) <= 90.0) and np.all(np.isfinite(lon))):
        raise InputError(told("No weather for a latitude beyond 90 degrees or a longitude that is not a number."))
    place = {"lat_deg": lat, "lon_deg": lon}
    levels = (*_LEVELS, _CLEAR_LEVEL)
    return Climate(
        lat_deg=lat,
        height_amsl_m=height,
        rain_001_mm_per_h=itur_door.rain_rate_001_mm_per_h(**place),
        rain_height_amsl_m=itur_door.zero_isotherm_amsl_m(**place) + RAIN_ABOVE_ZERO_M,
        temperature_k=itur_door.temperature_k(**place),
        wet_refractivity=itur_door.wet_refractivity(**place),
        cloud_kg_per_m2=np.stack([itur_door.cloud_water_kg_per_m2(**place, time_pct=p) for p in levels], axis=-1),
        vapour_kg_per_m2=np.stack([itur_door.water_vapour_kg_per_m2(**place, height_amsl_m=height, time_pct=p) for p in levels], axis=-1),
        vapour_g_per_m3=np.stack([itur_door.vapour_density_g_per_m3(**place, height_amsl_m=height, time_pct=p) for p in levels], axis=-1),
    )


@lru_cache(maxsize=4096)
def _climate_kept(lat_deg: float, lon_deg: float, height_amsl_m: float) -> Climate:
    return climate(lat_deg=lat_deg, lon_deg=lon_deg, height_amsl_m=height_amsl_m)


def climate_at(*, lat_deg: float, lon_deg: float, height_amsl_m: float) -> Climate:
    """Return the climate of one place, kept for the next call: to 1e-5 degrees and 0.1 m, which moves a fade by less than 1e-4 dB.

    Arguments, errors and source as climate.
    """
    return _climate_kept(round(lat_deg, 5), round(lon_deg, 5), round(height_amsl_m, 1))


@lru_cache(maxsize=4096)
def _ground_kept(lat_deg: float, lon_deg: float) -> float:
    return float(itur_door.ground_amsl_m(lat_deg=lat_deg, lon_deg=lon_deg))


def map_ground_amsl_m(*, lat_deg: float, lon_deg: float) -> float:
    """Return the ground's height from the world map (cells of 9 km), for want of a better one. Source: Rec. ITU-R P.1511-2."""
    return _ground_kept(round(lat_deg, 5), round(lon_deg, 5))


def _shares(time_pct: NDArray) -> NDArray:
    """Return (..., 5): how much each level counts at max(1, p), linear in the logarithm of p (P.836-6 and P.840-8)."""
    at = np.log(np.clip(time_pct, _LEVELS[0], _LEVELS[-1]))
    nodes = np.log(_LEVELS)
    index = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
    over = (at - nodes[index]) / (nodes[index + 1] - nodes[index])
    columns = np.arange(len(_LEVELS) + 1)
    index, over = index[..., np.newaxis], over[..., np.newaxis]
    return np.where(columns == index, 1.0 - over, 0.0) + np.where(columns == index + 1, over, 0.0)


def _slant(elevation_deg: NDArray) -> NDArray:
    """Return slant path over zenith path: 1/sin from 5 degrees; below, our own continuation by the path through a spherical shell."""
    sine = np.sin(np.radians(elevation_deg))
    edge = math.sin(math.radians(STATED_ELEVATION_DEG))
    bend = 2.0 * _SHELL_KM / _EARTH_KM
    low = (math.sqrt(edge**2 + bend) + edge) / (np.sqrt(np.maximum(sine, 0.0) ** 2 + bend) + np.maximum(sine, 0.0)) / edge
    with np.errstate(divide="ignore"):
        return np.where(elevation_deg >= STATED_ELEVATION_DEG, 1.0 / sine, low)


def cloud_db_per_kg_per_m2(*, frequency_mhz: ArrayLike) -> NDArray:
    """Return what a kg/m2 of cloud water at 0 degrees Celsius takes straight above; (...) dB, to 200 GHz.

    Source: Rec. ITU-R P.840-8, eqs (2) to (11). Checked in tests/authorities/test_p840.py.
    """
    f = np.asarray(frequency_mhz, dtype=np.float64) / 1000.0
    theta = 300.0 / 273.15
    static = 77.66 + 103.3 * (theta - 1.0)
    middle, fast = 0.0671 * static, 3.52
    principal = 20.20 - 146.0 * (theta - 1.0) + 316.0 * (theta - 1.0) ** 2
    secondary = 39.8 * principal
    a, b = 1.0 + (f / principal) ** 2, 1.0 + (f / secondary) ** 2
    real = (static - middle) / a + (middle - fast) / b + fast
    imaginary = f * (static - middle) / (principal * a) + f * (middle - fast) / (secondary * b)
    return 0.819 * f / (imaginary * (1.0 + ((2.0 + real) / imaginary) ** 2))


def scintillation_db(
    *,
    wet_refractivity: ArrayLike,
    frequency_mhz: ArrayLike,
    elevation_deg: ArrayLike,
    time_pct: ArrayLike,
    dish_m: ArrayLike,
    efficiency: ArrayLike,
) -> NDArray:
    """Return the scintillation fade exceeded for a percentage of the average year; all arguments broadcast.

    wet_refractivity     N-units; elevation_deg 5 to 90; frequency_mhz 4000 to 20 000; time_pct 0.01 to 50; beyond, only evaluated
    dish_m, efficiency   diameter and aperture efficiency

    Returns (...) dB, never below 0. Source: Rec. ITU-R P.618-13, section 2.4.1. Checked in tests/authorities/test_p618.py.
    """
    f, p = np.asarray(frequency_mhz, dtype=np.float64) / 1000.0, np.log10(time_pct)
    sine = np.sin(np.radians(elevation_deg))
    path_m = 2.0 * _TURBULENCE_M / (np.sqrt(sine**2 + 2.35e-4) + sine)
    x = 1.22 * np.asarray(efficiency) * np.asarray(dish_m) ** 2 * f / path_m
    averaged = 3.86 * (x**2 + 1.0) ** (11.0 / 12.0) * np.sin(11.0 / 6.0 * np.arctan2(1.0, x)) - 7.08 * x ** (5.0 / 6.0)
    averaged = np.where(x >= 7.0, 0.0, np.sqrt(np.maximum(averaged, 0.0)))
    with np.errstate(invalid="ignore", divide="ignore"):
        sigma = (3.6e-3 + 1e-4 * np.asarray(wet_refractivity)) * f ** (7.0 / 12.0) * averaged / sine**1.2
    return np.maximum((-0.061 * p**3 + 0.072 * p**2 - 1.71 * p + 3.0) * sigma, 0.0)


def combine_db(*, rain_db: ArrayLike, gas_db: ArrayLike, cloud_db: ArrayLike, scintillation_db: ArrayLike) -> NDArray:
    """Return the total, gas + sqrt((rain + cloud)^2 + scintillation^2), gas and cloud at max(1, p) %; (...) dB, all broadcast.

    Source: Rec. ITU-R P.618-13, section 2.5, eq. (64). Checked in tests/authorities/test_p618.py.
    """
    return np.asarray(gas_db) + np.hypot(np.asarray(rain_db) + np.asarray(cloud_db), scintillation_db)


def check_range(*, frequency_mhz: ArrayLike, time_pct: ArrayLike) -> None:
    """Raise MethodRangeError for a frequency outside 1 to 55 GHz or a percentage outside 0.001 to 5. Source: P.618-13, 2.2.1.1."""
    f, p = np.asarray(frequency_mhz, dtype=np.float64), np.asarray(time_pct, dtype=np.float64)
    if not np.all((f >= LEAST_FREQUENCY_MHZ) & (f <= MOST_FREQUENCY_MHZ)):
        raise MethodRangeError(
            told(
                "Rain fade by ITU-R P.618 is known from {least_frequency_mhz:g} to {most_frequency_mhz:g} MHz; {first_outside} MHz "
                "lies outside. Give the downlink frequency in MHz.",
                least_frequency_mhz=LEAST_FREQUENCY_MHZ,
                most_frequency_mhz=MOST_FREQUENCY_MHZ,
                first_outside=_first_outside(f, LEAST_FREQUENCY_MHZ, MOST_FREQUENCY_MHZ),
            )
        )
    if not np.all((p >= LEAST_TIME_PCT) & (p <= MOST_TIME_PCT)):
        raise MethodRangeError(
            told(
                "Rain fade by ITU-R P.618 is known for {least_time_pct:g} to {most_time_pct:g} % of the average year; {first_outside}"
                " % lies outside.",
                least_time_pct=LEAST_TIME_PCT,
                most_time_pct=MOST_TIME_PCT,
                first_outside=_first_outside(p, LEAST_TIME_PCT, MOST_TIME_PCT),
            )
        )


def _first_outside(values: NDArray, least: float, most: float) -> str:
    flat = values.ravel()
    return f"{flat[~((flat >= least) & (flat <= most))][0]:.10g}"


def extended(*, frequency_mhz: float, elevation_deg: float, time_pct: float) -> tuple[str, ...]:
    """Return which stated ranges an answer stretches: "low_elevation", "scintillation_frequency", "scintillation_time"."""
    found = []
    if elevation_deg < STATED_ELEVATION_DEG:
        found.append("low_elevation")
    if not SCINTILLATION_MHZ[0] <= frequency_mhz <= SCINTILLATION_MHZ[1]:
        found.append("scintillation_frequency")
    if time_pct < SCINTILLATION_LEAST_PCT:
        found.append("scintillation_time")
    return tuple(found)


def _zenith_gas(sky: Climate, frequency_mhz: ArrayLike, shares: NDArray) -> NDArray:
    return zenith_gas_db(
        frequency_ghz=np.asarray(frequency_mhz, dtype=np.float64) / 1000.0,
        pressure_hpa=standard_pressure_hpa(sky.height_amsl_m),
        temperature_k=sky.temperature_k,
        vapour_g_per_m3=np.sum(sky.vapour_g_per_m3 * shares, axis=-1),
        vapour_kg_per_m2=np.sum(sky.vapour_kg_per_m2 * shares, axis=-1),
        height_amsl_m=sky.height_amsl_m,
    )


def _reachable(elevation_deg: ArrayLike) -> NDArray:
    """Return elevations as an array, NaN where the method has no answer; MethodRangeError where that is so everywhere."""
    elevation = np.asarray(elevation_deg, dtype=np.float64)
    within = (elevation >= LEAST_ELEVATION_DEG) & (elevation <= 90.0)
    if elevation.size and not np.any(within):
        raise MethodRangeError(
            told(
                "Rain fade needs an elevation of {least_elevation_deg:g} to 90 degrees; {flat:g} lies outside: no satellite is "
                "received from there.",
                least_elevation_deg=LEAST_ELEVATION_DEG,
                flat=float(elevation.flat[0]),
            )
        )
    return np.where(within, elevation, np.nan)


def fade(
    sky: Climate,
    *,
    frequency_mhz: ArrayLike,
    elevation_deg: ArrayLike,
    time_pct: ArrayLike,
    tilt_deg: ArrayLike = 45.0,
    dish_m: ArrayLike = 0.8,
    efficiency: ArrayLike = 0.65,
    rain_001_mm_per_h: ArrayLike | None = None,
) -> Fade:
    """Return the attenuation exceeded for a percentage of the average year; all arguments broadcast with the places.

    sky                 of climate or climate_at
    frequency_mhz       1000 to 55 000; time_pct 0.001 to 5
    elevation_deg       geometric, 5 to 90; stretched down to 1 (extended says so); NaN beyond
    tilt_deg            of the polarisation against the horizontal: 0 horizontal, 90 vertical, 45 circular or unknown
    dish_m, efficiency  smooth the scintillation
    rain_001_mm_per_h   measured at the place, in place of the map's

    Returns Fade. Below 1 % gases and clouds keep their 1 % values. What the receiver's noise gains in rain is rain_margin_db's.
    Raises MethodRangeError for a frequency or percentage outside, or where no elevation lies inside.
    Source: Rec. ITU-R P.618-13, section 2.5. Checked in tests/authorities/test_p618.py.
    """
    check_range(frequency_mhz=frequency_mhz, time_pct=time_pct)
    elevation, p = _reachable(elevation_deg), np.asarray(time_pct, dtype=np.float64)
    shares, slant = _shares(p), _slant(elevation)
    rain = rain_path(
        lat_deg=sky.lat_deg,
        height_amsl_m=sky.height_amsl_m,
        rain_height_amsl_m=sky.rain_height_amsl_m,
        rain_001_mm_per_h=sky.rain_001_mm_per_h if rain_001_mm_per_h is None else rain_001_mm_per_h,
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation,
        time_pct=p,
        tilt_deg=tilt_deg,
    ).loss_db
    gas = _zenith_gas(sky, frequency_mhz, shares) * slant
    cloud = np.sum(sky.cloud_kg_per_m2 * shares, axis=-1) * cloud_db_per_kg_per_m2(frequency_mhz=frequency_mhz) * slant
    shaken = scintillation_db(
        wet_refractivity=sky.wet_refractivity,
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation,
        time_pct=p,
        dish_m=dish_m,
        efficiency=efficiency,
    )
    rain, gas, cloud, shaken = np.broadcast_arrays(np.where(np.isnan(elevation), np.nan, rain), gas, cloud, shaken)
    total = combine_db(rain_db=rain, gas_db=gas, cloud_db=cloud, scintillation_db=shaken)
    return Fade(rain[()], gas[()], cloud[()], shaken[()], total[()], (rain + gas + cloud)[()])


def clear_sky_gas_db(sky: Climate, *, frequency_mhz: ArrayLike, elevation_deg: ArrayLike) -> NDArray:
    """Return what the gases take in clear sky, with the water vapour exceeded for half the average year; (...) dB, all broadcast.

    Raises MethodRangeError as fade. Source: Rec. ITU-R P.676-12, annex 2, with the vapour of P.836-6 at 50 %.
    """
    check_range(frequency_mhz=frequency_mhz, time_pct=1.0)
    half = np.zeros(len(_LEVELS) + 1)
    half[-1] = 1.0
    return (_zenith_gas(sky, frequency_mhz, half) * _slant(_reachable(elevation_deg)))[()]


def noise_rise_k(attenuation_db: ArrayLike, clear_sky_db: ArrayLike = 0.0) -> NDArray:
    """Return by how much a lossy sky makes a dish noisier than a clear one; (...) K, never below 0.

    attenuation_db  that absorbs (Fade.absorption_db: all but scintillation)
    clear_sky_db    that already counts in the clear-sky noise (clear_sky_gas_db)

    Source: Rec. ITU-R P.618-13, section 3: T = 275 (1 - 10^(-A/10)) + 2.7 x 10^(-A/10). Checked in tests/radio/test_atmosphere.py.
    """
    lost = np.asarray(attenuation_db, dtype=np.float64)
    through = 10.0 ** (-np.asarray(clear_sky_db, dtype=np.float64) / 10.0) - 10.0 ** (-lost / 10.0)
    return np.maximum((MEDIUM_K - COSMIC_K) * through, 0.0)[()]


def g_over_t_loss_db(*, attenuation_db: ArrayLike, system_noise_k: ArrayLike, clear_sky_db: ArrayLike = 0.0) -> NDArray:
    """Return by how many dB G/T falls when the sky gets noisier; (...) dB, all broadcast.

    attenuation_db, clear_sky_db  as noise_rise_k; system_noise_k of dish and LNB in clear sky
    Raises MethodRangeError unless system_noise_k is above 0. Source: definition; noise_rise_k.
    """
    system = np.asarray(system_noise_k, dtype=np.float64)
    if not np.all(system > 0.0):
        raise MethodRangeError(told("the noise of the system is {system_noise_k} K; give more than 0", system_noise_k=system_noise_k))
    return (10.0 * np.log10((system + noise_rise_k(attenuation_db, clear_sky_db)) / system))[()]


def rain_margin_db(weather: Fade, *, system_noise_k: ArrayLike, clear_sky_db: ArrayLike = 0.0) -> NDArray:
    """Return the clear-sky margin that a fade uses up: attenuation beyond the clear sky's, and the fall of G/T; (...) dB, never below 0.

    weather         of fade; system_noise_k of dish and LNB in clear sky
    clear_sky_db    gas loss already in the clear-sky budget (clear_sky_gas_db)

    Raises MethodRangeError unless system_noise_k is above 0. Source: Rec. ITU-R P.618-13, sections 2.5 and 3.
    """
    colder = g_over_t_loss_db(attenuation_db=weather.absorption_db, system_noise_k=system_noise_k, clear_sky_db=clear_sky_db)
    return np.maximum(weather.total_db - np.asarray(clear_sky_db) + colder, 0.0)[()]
