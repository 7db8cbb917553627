"""The sgp4 library's one door: from mean elements to places, loaded when first asked."""

from __future__ import annotations

import math
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from siteplan.records.orbit import MeanElements

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FIRST = datetime(1949, 12, 31)  # where SGP4 counts days from: Julian date 2433281.5
_FIRST_JD = 2_433_281.5


def julian_date(moment: datetime) -> tuple[float, float]:
    """Return the Julian date of a moment (UTC) as a whole-and-half part and the day's fraction."""
    days = (moment - _FIRST).total_seconds() / 86_400.0
    whole = math.floor(days)
    return _FIRST_JD + whole, days - whole


def teme_places_m(elements: MeanElements, jd: NDArray[np.float64], fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the places of a satellite at moments, (moments, 3) metres in the frame of SGP4 (true equator, mean equinox of date).

    jd, fraction  (moments,) Julian date (UTC) in two parts

    NaN where the method fails (a decayed or impossible orbit). Source: SGP4 of Spacetrack Report No. 3 as revised in AIAA 2006-6753,
    constants WGS72, by the library sgp4. Checked in tests/sky/test_orbit.py.
    """
    from sgp4.api import WGS72, Satrec

    satellite = Satrec()
    turn = math.radians
    minutes = 2.0 * math.pi / 1440.0  # revolutions a day -> radians a minute
    satellite.sgp4init(
        WGS72, "i", elements.number % 100_000, (elements.epoch - _FIRST).total_seconds() / 86_400.0, elements.bstar,
        elements.half_first_derivative * minutes / 1440.0, elements.sixth_second_derivative * minutes / 1440.0**2, elements.eccentricity,
        turn(elements.perigee_deg), turn(elements.inclination_deg), turn(elements.anomaly_deg), elements.mean_motion * minutes,
        turn(elements.node_deg),
    )  # fmt: skip
    errors, places_km, _ = satellite.sgp4_array(np.ascontiguousarray(jd), np.ascontiguousarray(fraction))
    return np.where((errors == 0)[:, None], 1000.0 * places_km, np.nan)
