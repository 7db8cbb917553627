"""How much of the year a margin lasts: outage of the average year, of the worst month (ITU-R P.841-4), and in hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import InputError, MethodRangeError, told, wording
from siteplan.radio.atmosphere import LEAST_TIME_PCT, MOST_TIME_PCT

if TYPE_CHECKING:
    from numpy.typing import NDArray

HOURS_PER_YEAR = 8766.0  # 365.25 days
HOURS_PER_MONTH = HOURS_PER_YEAR / 12.0

# Rec. ITU-R P.841-4 (2005), annex 1: values for global planning.
WORST_MONTH_SOURCE = wording("Rec. ITU-R P.841-4 (2005), annex 1, eqs (1) and (2), global planning: Q1 2.85, beta 0.13")
_Q1, _BETA = 2.85, 0.13
_MOST_Q = 12.0  # no month can hold more than the whole year
_BEND_PCT, _FLAT_PCT = 3.0, 30.0

# Points of the first look at the whole range, then of each closer one: 2e-5 of the percentage in the end.
_LOOKS = (96, 64, 64)


@dataclass(frozen=True, slots=True)
class Availability:
    """How long a link is out, by propagation alone: power, equipment and mains are not in it.

    outage_pct        of the average year, within 0.001 to 5
    bound             "" where it was found, "under" where the link is out for less than 0.001 %, "over" for more than 5 %
    available_pct     100 - outage_pct
    worst_month_pct   of the worst month of an average year
    """

    outage_pct: float
    available_pct: float
    worst_month_pct: float
    hours_per_year: float
    hours_worst_month: float
    bound: str = ""


def _q(annual_pct: float) -> float:
    if annual_pct <= (_Q1 / _MOST_Q) ** (1.0 / _BETA):
        return _MOST_Q
    if annual_pct <= _BEND_PCT:
        return _Q1 * annual_pct**-_BETA
    at_bend = _Q1 * _BEND_PCT**-_BETA
    if annual_pct <= _FLAT_PCT:
        return at_bend
    return at_bend * (annual_pct / _FLAT_PCT) ** (np.log10(at_bend) / np.log10(0.3))


def worst_month_pct(annual_pct: float) -> float:
    """Return the percentage of the worst month that goes with one of the average year, Q p; both 0 to 100.

    Raises InputError for a percentage outside. Source: Rec. ITU-R P.841-4, annex 1, eqs (1) and (2), global planning values.
    Checked in tests/authorities/test_p841.py.
    """
    if not 0.0 <= annual_pct <= 100.0:
        raise InputError(told("{annual_pct} % of the year; give 0 to 100", annual_pct=annual_pct))
    return 0.0 if annual_pct == 0.0 else min(float(_q(annual_pct) * annual_pct), 100.0)


def annual_pct(month_pct: float) -> float:
    """Return the percentage of the average year that goes with one of the worst month: worst_month_pct turned round, by bisection.

    Raises InputError for a percentage outside 0 to 100. Source: as worst_month_pct.
    """
    if not 0.0 <= month_pct <= 100.0:
        raise InputError(told("{month_pct} % of the month; give 0 to 100", month_pct=month_pct))
    low, high = 0.0, 100.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if worst_month_pct(middle) < month_pct else (low, middle)
    return high


def hours_per_year(pct: float) -> float:
    """Return a percentage of the average year in hours. Source: 365.25 days."""
    return HOURS_PER_YEAR * pct / 100.0


def outage(needed_db: Callable[[NDArray], NDArray], margin_db: float) -> tuple[float, str]:
    """Return for which percentage of the average year a fade uses up a margin.

    needed_db  maps percentages (n,) within 0.001 to 5 to the margin (n,) used up for that long; falls as they rise
    margin_db  there is; below 0 counts as 0

    Returns (percentage, bound) as Availability. Where needed_db is not falling throughout, the longest outage counts.
    Raises MethodRangeError where needed_db or margin_db is not a number. Source: inversion of P.618-13, 2.5.
    """
    low, high = np.log(LEAST_TIME_PCT), np.log(MOST_TIME_PCT)
    margin = max(margin_db, 0.0)
    for points in _LOOKS:
        at = np.linspace(low, high, points)
        needed = np.asarray(needed_db(np.clip(np.exp(at), LEAST_TIME_PCT, MOST_TIME_PCT)), dtype=np.float64)
        if np.isnan(margin) or np.any(np.isnan(needed)):
            raise MethodRangeError(told("No availability can be found here: the margin or the fade is unknown."))
        short = np.flatnonzero(needed > margin)
        if short.size == 0:
            return LEAST_TIME_PCT, "under"
        if short[-1] == points - 1:
            return MOST_TIME_PCT, "over"
        low, high = at[short[-1]], at[short[-1] + 1]
    return float(np.exp(0.5 * (low + high))), ""


def availability(needed_db: Callable[[NDArray], NDArray], margin_db: float) -> Availability:
    """Return how long a clear-sky margin holds; arguments and errors as outage, worst month as worst_month_pct."""
    pct, bound = outage(needed_db, margin_db)
    month = worst_month_pct(pct)
    return Availability(pct, 100.0 - pct, month, hours_per_year(pct), HOURS_PER_MONTH * month / 100.0, bound)
