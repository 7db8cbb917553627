"""Where a geostationary satellite really stands: the point below it, the figure it draws over a day, its drift, and how wide that looks."""

from __future__ import annotations

import math
from datetime import date as Date
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import WGS84_FLATTENING, WGS84_SEMI_MAJOR_M
from siteplan.records.orbit import DayOfOrbit, MeanElements
from siteplan.sky.sgp4_door import julian_date, teme_places_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

SIDEREAL_DAY = 0.997269566  # days: 86164.0905 s (IERS Conventions 2010, table 1.1: mean angular speed of the Earth 7.292115e-5 rad/s)
_POINTS = 97  # over one sidereal day: every 15 minutes


def sidereal_angle_rad(jd: ArrayLike, fraction: ArrayLike) -> NDArray[np.float64]:
    """Return Greenwich mean sidereal time, IAU 1982, as an angle in [0, 2 pi).

    jd, fraction  Julian date in UT1 in two parts; UTC stands for it here: up to 0.9 s, 0.004 degrees

    Source: Aoki and others 1982, Astronomy and Astrophysics 105, 359 (as in Vallado, AIAA 2006-6753, appendix C):
    67310.54841 s + (876600 h + 8640184.812866 s) T + 0.093104 T^2 - 6.2e-6 T^3. Checked against sgp4 and astropy in
    tests/sky/test_orbit.py.
    """
    century = ((np.asarray(jd, dtype=np.float64) - 2_451_545.0) + np.asarray(fraction, dtype=np.float64)) / 36_525.0
    seconds = 67_310.54841 + (876_600.0 * 3600.0 + 8_640_184.812866) * century + 0.093104 * century**2 - 6.2e-6 * century**3
    return np.mod(np.radians(seconds / 240.0), 2.0 * math.pi)


def earth_fixed_m(elements: MeanElements, jd: NDArray[np.float64], fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the Earth-fixed places (moments, 3): SGP4's frame turned by mean sidereal time; polar motion (1e-4 deg) left out."""
    places = teme_places_m(elements, jd, fraction)
    angle = sidereal_angle_rad(jd, fraction)
    cosine, sine = np.cos(angle), np.sin(angle)
    x, y = places[:, 0], places[:, 1]
    return np.stack((cosine * x + sine * y, cosine * y - sine * x, places[:, 2]), axis=1)


def point_below(places_m: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return latitude and longitude (degrees) of the points of the WGS84 ellipsoid straight below Earth-fixed places (..., 3).

    Latitude from the geocentric one by the first order of the flattening: good to 1e-4 degrees at the geostationary distance.
    """
    x, y, z = places_m[..., 0], places_m[..., 1], places_m[..., 2]
    radius = np.sqrt(x * x + y * y + z * z)
    geocentric = np.arcsin(z / radius)
    latitude = geocentric + WGS84_FLATTENING * WGS84_SEMI_MAJOR_M / radius * np.sin(2.0 * geocentric)
    return np.degrees(latitude), np.degrees(np.arctan2(y, x))


def day_of(elements: MeanElements, on_date: Date) -> DayOfOrbit:
    """Return where a satellite is over the sidereal day from 0 h UTC of a date; longitudes NaN where SGP4 fails.

    The drift is the change of the middle longitude to the next sidereal day.
    """
    start = datetime(on_date.year, on_date.month, on_date.day)
    jd, fraction = julian_date(start)
    steps = np.linspace(0.0, 2.0 * SIDEREAL_DAY, 2 * _POINTS - 1)
    places = earth_fixed_m(elements, np.full(steps.size, jd), fraction + steps)
    latitude, longitude = point_below(places)
    unwound = np.degrees(np.unwrap(np.radians(longitude))) if np.isfinite(longitude).all() else longitude
    first, second = unwound[:_POINTS], unwound[_POINTS - 1 :]
    middle = 0.5 * (first.min() + first.max())
    drift = (np.mean(second) - np.mean(first)) / SIDEREAL_DAY
    here = latitude[:_POINTS]
    return DayOfOrbit(
        number=elements.number,
        epoch=elements.epoch,
        lon_deg=180.0 - (180.0 - float(middle)) % 360.0,
        lon_across_deg=float(first.max() - first.min()),
        lat_across_deg=float(here.max() - here.min()),
        drift_deg_per_day=float(drift),
        age_days=(start - elements.epoch).total_seconds() / 86_400.0,
        track_m=tuple(tuple(map(float, place)) for place in places[:_POINTS:4]),
    )


def box_across_deg(track_m: ArrayLike, *, lat_deg: float, lon_deg: float, height_ell_m: float) -> float:
    """Return how wide the figure of a day looks from a place: twice the greatest angle from the middle of its directions, degrees.

    track_m  (moments, 3) Earth-fixed; NaN where it is empty
    """
    track = np.asarray(track_m, dtype=np.float64)
    if not track.size:
        return math.nan
    lat, lon = math.radians(lat_deg), math.radians(lon_deg)
    squared = WGS84_FLATTENING * (2.0 - WGS84_FLATTENING)
    curvature = WGS84_SEMI_MAJOR_M / math.sqrt(1.0 - squared * math.sin(lat) ** 2)
    level = (curvature + height_ell_m) * math.cos(lat)
    place = np.array((level * math.cos(lon), level * math.sin(lon), (curvature * (1.0 - squared) + height_ell_m) * math.sin(lat)))
    way = track - place
    way /= np.linalg.norm(way, axis=1)[:, None]
    middle = 0.5 * (way.min(axis=0) + way.max(axis=0))
    middle /= np.linalg.norm(middle)
    # the sine of half the angle keeps its figures where the angle is small
    return 2.0 * float(np.degrees(2.0 * np.arcsin(np.clip(0.5 * np.linalg.norm(way - middle, axis=1).max(), 0.0, 1.0))))
