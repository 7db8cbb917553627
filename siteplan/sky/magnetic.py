"""Where a compass points: declination by the World Magnetic Model of 2025."""

from __future__ import annotations

import threading
from datetime import date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from siteplan.errors import InputError, MethodRangeError, told

if TYPE_CHECKING:
    from pygeomag import GeoMag, GeoMagResult

VALID_FROM_YEAR, VALID_TO_YEAR = 2025.0, 2030.0  # WMM2025 report: life of the coefficients
LOWEST_M, HIGHEST_M = -1000.0, 850_000.0  # WMM2025 report: 1 km below the ellipsoid to 850 km above it
# WMM2025 report: horizontal field in the blackout zones below 2000 nT, in the caution zones below 6000 nT.
BLACKOUT_NT, CAUTION_NT = 2000.0, 6000.0
_one_at_a_time = threading.Lock()


@lru_cache(maxsize=1)
def _field() -> GeoMag:
    """Return the coefficients of WMM-2025 that come with pygeomag, loaded once."""
    from pygeomag import GeoMag
    from pygeomag.wmm.wmm_2025 import WMM_2025

    return GeoMag(coefficients_data=WMM_2025)


def decimal_year(on_date: date) -> float:
    """Return a date as a decimal year: 1 January 2026 is 2026.0, 2 July 2026 (half of 365 days later) 2026.4986.

    Source: common practice; a day is 1/365 of a year, 1/366 in leap years.
    """
    first, following = date(on_date.year, 1, 1), date(on_date.year + 1, 1, 1)
    day = on_date.date() if isinstance(on_date, datetime) else on_date
    return on_date.year + (day - first).days / (following - first).days


def _field_at(lat_deg: float, lon_deg: float, height_ell_m: float, year: float) -> GeoMagResult:
    if not (abs(lat_deg) <= 90.0 and abs(lon_deg) <= 540.0):
        raise InputError(
            told(
                "No place on the Earth: latitude {lat_deg}, longitude {lon_deg}. Allowed: latitude -90 to 90.",
                lat_deg=lat_deg,
                lon_deg=lon_deg,
            )
        )
    if not VALID_FROM_YEAR <= year <= VALID_TO_YEAR:
        raise MethodRangeError(
            told(
                "Magnetic north is known from 1 January 2025 to the end of 2029 (the world magnetic model of 2025); this asks for "
                "{year:.1f}. Give a date in those years, or take a newer version of the program.",
                year=year,
            )
        )
    if not LOWEST_M <= height_ell_m <= HIGHEST_M:
        raise MethodRangeError(
            told(
                "Magnetic north is known from -1000 m to 850 km above the ellipsoid; this asks for {height_ell_m} m.",
                height_ell_m=height_ell_m,
            )
        )
    with _one_at_a_time:  # the library keeps its sums in shared tables
        return _field().calculate(glat=lat_deg, glon=(lon_deg + 180.0) % 360.0 - 180.0, alt=height_ell_m / 1000.0, time=year)


def declination_in_year_deg(*, lat_deg: float, lon_deg: float, height_ell_m: float, year: float) -> float:
    """Return declination at a decimal year, 2025.0 to 2030.0; otherwise as declination_deg."""
    return float(_field_at(lat_deg, lon_deg, height_ell_m, year).d)


def declination_deg(*, lat_deg: float, lon_deg: float, height_ell_m: float, on_date: date) -> float:
    """Return by how much magnetic north lies east of true north on a date: magnetic azimuth = true azimuth - declination.

    lat_deg, lon_deg  WGS84, east positive; height_ell_m above the ellipsoid, -1000 m to 850 km

    Raises MethodRangeError outside 2025 to 2029 or those heights, InputError for a place off the Earth.
    Source: World Magnetic Model 2025 (NOAA NCEI and British Geological Survey, December 2024). Checked in
    tests/authorities/test_wmm2025.py.
    """
    return declination_in_year_deg(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_ell_m, year=decimal_year(on_date))


def horizontal_field_nt(*, lat_deg: float, lon_deg: float, height_ell_m: float, on_date: date) -> float:
    """Return the horizontal strength of the Earth's field, nT: what turns a compass needle. Arguments and source as declination_deg."""
    return float(_field_at(lat_deg, lon_deg, height_ell_m, decimal_year(on_date)).h)


def compass_trust(*, lat_deg: float, lon_deg: float, height_ell_m: float, on_date: date) -> str:
    """Return whether a compass can be trusted at a place: "good", "caution" (below 6000 nT) or "useless" (below 2000 nT).

    Arguments as declination_deg. Source: WMM2025 report, which calls the two zones caution and blackout.
    """
    strength = horizontal_field_nt(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_ell_m, on_date=on_date)
    return "useless" if strength < BLACKOUT_NT else "caution" if strength < CAUTION_NT else "good"


def declination_error_deg(*, lat_deg: float, lon_deg: float, height_ell_m: float, on_date: date) -> float:
    """Return the 1-sigma error of declination_deg there: sqrt(0.26^2 + (5417 / H)^2) degrees, H in nT.

    Local iron (reinforced concrete, masts, cars) comes on top. Source: WMM2025 report, error model of the declination.
    """
    strength = horizontal_field_nt(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_ell_m, on_date=on_date)
    return (0.26**2 + (5417.0 / strength) ** 2) ** 0.5
