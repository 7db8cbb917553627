"""Weather on one link: the fade at a place, the clear-sky margin it uses up, and how much of the year a margin lasts."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import InputError, MethodRangeError, told
from siteplan.radio import atmosphere
from siteplan.radio.availability import WORST_MONTH_SOURCE, Availability, availability, hours_per_year, worst_month_pct
from siteplan.radio.fade_lattice import FadeLattice, fade_lattice
from siteplan.radio.rain import rain_path, rain_rate_mm_per_h, rain_xpd_db
from siteplan.sky.look_angles import look_angles_array

__all__ = [
    "Fades", "LinkFade", "Weather", "fade_here", "fades_at", "fades_over_area", "hours_per_year", "link_availability", "link_fade",
    "rain_rate_mm_per_h", "tilt_deg", "worst_month_pct",
]  # fmt: skip

EDITIONS = {**atmosphere.EDITIONS, "worst month": WORST_MONTH_SOURCE}
LOWEST_M, HIGHEST_M = atmosphere.LOWEST_M, atmosphere.HIGHEST_M


class Weather(NamedTuple):
    """The fade at one place, dB, with the steps that led to it; codes of stretched ranges in `stretched`, nan where undefined."""

    rain_db: float
    gas_db: float
    cloud_db: float
    scintillation_db: float
    total_db: float
    absorption_db: float
    clear_sky_gas_db: float
    noise_rise_k: float
    cross_polar_db: float
    height_amsl_m: float
    rain_001_mm_per_h: float
    rain_height_amsl_m: float
    k: float
    alpha: float
    specific_db_per_km: float
    slant_km: float
    stretched: tuple[str, ...]


class LinkFade(NamedTuple):
    """What weather costs one link for one percentage: attenuation, and G/T lost to the warmer sky; margin_db is both beyond clear sky."""

    weather: Weather
    g_over_t_loss_db: float
    margin_db: float


def tilt_deg(polarisation: str, skew_deg: float) -> float:
    """Return the tilt against the horizontal of a received polarisation: 45 for circular, 0 to 90 for linear.

    polarisation  "H", "V", "L" or "R", as the satellite names it
    skew_deg      of the satellite's vertical against the local vertical (sky.look_angles, and the satellite's own offset)

    Raises InputError for another letter. Source: Rec. ITU-R P.838-3, eq. (5); geometry.
    """
    letter = polarisation.upper()
    if letter in ("L", "R"):
        return 45.0
    if letter not in ("H", "V"):
        raise InputError(told("the polarisation is {polarisation!r}; give H, V, L or R", polarisation=polarisation))
    from_vertical = math.degrees(math.acos(min(abs(math.cos(math.radians(skew_deg))), 1.0)))
    return 90.0 - from_vertical if letter == "V" else from_vertical


def _sky(lat_deg: float, lon_deg: float, height_amsl_m: float | None) -> tuple[atmosphere.Climate, float]:
    if height_amsl_m is None or math.isnan(height_amsl_m):
        height_amsl_m = max(atmosphere.map_ground_amsl_m(lat_deg=lat_deg, lon_deg=lon_deg), LOWEST_M)
    if not LOWEST_M <= height_amsl_m <= HIGHEST_M:
        raise InputError(
            told(
                "height_amsl_m is {height_amsl_m:g}. Allowed: {lowest_m:g} to {highest_m:g} m, the Earth's own ground.",
                height_amsl_m=height_amsl_m,
                lowest_m=LOWEST_M,
                highest_m=HIGHEST_M,
            )
        )
    return atmosphere.climate_at(lat_deg=lat_deg, lon_deg=lon_deg, height_amsl_m=height_amsl_m), height_amsl_m


def fade_here(
    *,
    lat_deg: float,
    lon_deg: float,
    frequency_mhz: float,
    elevation_deg: float,
    time_pct: float,
    height_amsl_m: float | None = None,
    tilt_deg: float = 45.0,
    dish_m: float = 0.8,
    efficiency: float = 0.65,
    rain_001_mm_per_h: float | None = None,
) -> Weather:
    """Return the attenuation at one place exceeded for a percentage of the average year, and the steps that led to it.

    height_amsl_m      of the antenna; None takes the ground of a world map
    rain_001_mm_per_h  rain rate exceeded for 0.01 % of the year; None takes the world map's
    the rest           as radio.atmosphere.fade

    Raises InputError for a place or height that is none, MethodRangeError outside 1 to 55 GHz, 0.001 to 5 %, 1 to 90 degrees, and
    within some 2 degrees of a pole, where the maps end. Source: Rec. ITU-R P.618-13; checked in tests/authorities/test_p618.py.
    """
    sky, height = _sky(lat_deg, lon_deg, height_amsl_m)
    asked = {"frequency_mhz": frequency_mhz, "elevation_deg": elevation_deg, "tilt_deg": tilt_deg, "time_pct": time_pct}
    found = atmosphere.fade(sky, **asked, dish_m=dish_m, efficiency=efficiency, rain_001_mm_per_h=rain_001_mm_per_h)
    if not math.isfinite(found.total_db):
        raise MethodRangeError(told("The world maps of clouds and water vapour do not reach latitude {lat_deg:g}.", lat_deg=lat_deg))
    rate = float(sky.rain_001_mm_per_h) if rain_001_mm_per_h is None else rain_001_mm_per_h
    path = rain_path(lat_deg=lat_deg, height_amsl_m=height, rain_height_amsl_m=sky.rain_height_amsl_m, rain_001_mm_per_h=rate, **asked)
    clear = float(atmosphere.clear_sky_gas_db(sky, frequency_mhz=frequency_mhz, elevation_deg=elevation_deg))
    return Weather(
        *(float(getattr(found, part)) for part in ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db", "absorption_db")),
        clear_sky_gas_db=clear,
        noise_rise_k=float(atmosphere.noise_rise_k(found.absorption_db, clear)),
        cross_polar_db=float(rain_xpd_db(rain_db=float(found.rain_db), **asked)),
        height_amsl_m=height,
        rain_001_mm_per_h=rate,
        rain_height_amsl_m=float(sky.rain_height_amsl_m),
        k=float(path.k),
        alpha=float(path.alpha),
        specific_db_per_km=float(path.specific_db_per_km),
        slant_km=float(path.slant_km),
        stretched=atmosphere.extended(frequency_mhz=frequency_mhz, elevation_deg=elevation_deg, time_pct=time_pct),
    )


def link_fade(
    *,
    lat_deg: float,
    lon_deg: float,
    frequency_mhz: float,
    elevation_deg: float,
    time_pct: float,
    system_noise_k: float,
    height_amsl_m: float | None = None,
    tilt_deg: float = 45.0,
    dish_m: float = 0.8,
    efficiency: float = 0.65,
) -> LinkFade:
    """Return what weather costs a link beyond clear sky for a percentage of the average year.

    system_noise_k  of dish and LNB in clear sky, to which the warmer sky is added
    the rest        as fade_here. The clear-sky budget holds Weather.clear_sky_gas_db, and nothing else of the weather.

    Errors and source as fade_here; noise by P.618-13, section 3.
    """
    weather = fade_here(
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation_deg,
        time_pct=time_pct,
        height_amsl_m=height_amsl_m,
        tilt_deg=tilt_deg,
        dish_m=dish_m,
        efficiency=efficiency,
    )
    clear = weather.clear_sky_gas_db
    colder = float(atmosphere.g_over_t_loss_db(attenuation_db=weather.absorption_db, system_noise_k=system_noise_k, clear_sky_db=clear))
    return LinkFade(weather, colder, max(weather.total_db - clear + colder, 0.0))


def link_availability(
    *,
    lat_deg: float,
    lon_deg: float,
    frequency_mhz: float,
    elevation_deg: float,
    margin_db: float,
    system_noise_k: float,
    height_amsl_m: float | None = None,
    tilt_deg: float = 45.0,
    dish_m: float = 0.8,
    efficiency: float = 0.65,
) -> Availability:
    """Return how much of the average year and of its worst month a clear-sky margin lasts, by propagation alone.

    margin_db  of the link in clear sky (gases of clear sky counted) over its threshold; the rest as link_fade

    Returns radio.availability.Availability. Errors as fade_here. Source: P.618-13 turned round; worst month P.841-4.
    """
    sky, _ = _sky(lat_deg, lon_deg, height_amsl_m)
    clear = float(atmosphere.clear_sky_gas_db(sky, frequency_mhz=frequency_mhz, elevation_deg=elevation_deg))

    def needed_db(time_pct: NDArray) -> NDArray:
        found = atmosphere.fade(
            sky,
            frequency_mhz=frequency_mhz,
            elevation_deg=elevation_deg,
            time_pct=time_pct,
            tilt_deg=tilt_deg,
            dish_m=dish_m,
            efficiency=efficiency,
        )
        return atmosphere.rain_margin_db(found, system_noise_k=system_noise_k, clear_sky_db=clear)

    return availability(needed_db, margin_db)


class Fades(NamedTuple):
    """Fades of many carriers at many places, (places, dishes, carriers, times), NaN where no answer is known; clear_gas_db one time."""

    fade: atmosphere.Fade
    clear_gas_db: NDArray


def fades_at(
    *,
    lat_deg: NDArray,
    lon_deg: NDArray,
    height_amsl_m: NDArray,
    elevation_deg: NDArray,
    tilt_deg: NDArray,
    frequency_mhz: NDArray,
    time_pct: NDArray,
    dish_m: NDArray,
    efficiency: float,
) -> Fades:
    """Return the fades of carriers towards one satellite at places that lie together.

    lat_deg, lon_deg, height_amsl_m, elevation_deg (places,); frequency_mhz (carriers,); tilt_deg (places, carriers); time_pct (times,);
    dish_m (dishes,)

    Where no answer is known (elevation under 1 degree, near the poles, above every ground) all of a place is NaN.
    Source: radio.atmosphere, place by place the same as fade_here. Checked in tests/services/test_links.py.
    """
    height = np.where((height_amsl_m >= LOWEST_M) & (height_amsl_m <= HIGHEST_M), height_amsl_m, np.nan)
    if lat_deg.size == 1 and np.isfinite(height[0]):
        sky = atmosphere.climate_at(lat_deg=float(lat_deg[0]), lon_deg=float(lon_deg[0]), height_amsl_m=float(height[0]))
    else:
        spread = (slice(None), np.newaxis, np.newaxis, np.newaxis)
        sky = atmosphere.climate(lat_deg=lat_deg[spread], lon_deg=lon_deg[spread], height_amsl_m=height[spread])
    steep = elevation_deg[:, np.newaxis, np.newaxis, np.newaxis]
    mhz = frequency_mhz[:, np.newaxis]
    reached = np.where(steep >= atmosphere.LEAST_ELEVATION_DEG, steep, np.nan)
    if not np.any(np.isfinite(reached)):
        nothing = np.full((lat_deg.size, dish_m.size, frequency_mhz.size, time_pct.size), np.nan)
        return Fades(atmosphere.Fade(*([nothing] * 6)), nothing[..., :1])
    found = atmosphere.fade(
        sky, frequency_mhz=mhz, elevation_deg=reached, time_pct=time_pct, tilt_deg=tilt_deg[:, np.newaxis, :, np.newaxis],
        dish_m=dish_m[:, np.newaxis, np.newaxis], efficiency=efficiency,
    )  # fmt: skip
    return Fades(found, np.asarray(atmosphere.clear_sky_gas_db(sky, frequency_mhz=mhz, elevation_deg=reached)))


def fades_over_area(
    *,
    south_deg: float,
    north_deg: float,
    west_deg: float,
    east_deg: float,
    lowest_amsl_m: float,
    highest_amsl_m: float,
    orbit_deg: float,
    polarisation: str,
    polarisation_offset_deg: float = 0.0,
    frequency_mhz: float,
    time_pct: float,
    dish_m: float = 0.8,
    efficiency: float = 0.65,
) -> FadeLattice:
    """Return the fades of one transponder over an area, to be asked with FadeLattice.at; within 0.02 dB of fade_here at every place.

    orbit_deg, polarisation, polarisation_offset_deg   of satellite and transponder; the rest as radio.fade_lattice.fade_lattice
    Places from which the satellite stands under 1 degree are NaN. Errors as fade_lattice and tilt_deg.
    """
    circular = tilt_deg(polarisation, 0.0) == 45.0
    across = polarisation.upper() == "H"

    def look(lat: NDArray, lon: NDArray) -> tuple[NDArray, NDArray]:
        seen = look_angles_array(lat_deg=lat, lon_deg=lon, height_ell_m=0.0, orbit_deg=orbit_deg)
        if circular:
            return seen.elevation_deg, np.full(np.shape(seen.elevation_deg), 45.0)
        turned = seen.skew_deg + polarisation_offset_deg
        return seen.elevation_deg, turned if across else 90.0 - turned

    return fade_lattice(
        south_deg=south_deg,
        north_deg=north_deg,
        west_deg=west_deg,
        east_deg=east_deg,
        lowest_amsl_m=lowest_amsl_m,
        highest_amsl_m=highest_amsl_m,
        look=look,
        frequency_mhz=frequency_mhz,
        time_pct=time_pct,
        dish_m=dish_m,
        efficiency=efficiency,
    )
