"""3GPP TR 38.901, rural and urban macro and street-canyon micro: loss in and out of sight, and the odds of sight.

Statistical methods for cellular networks. Of the path only its length, the heights and whether the ground itself blocks it count; the
buildings are in the odds of sight. What is returned is the median (or another share of locations) of the mix of both distributions: in
sight with its shadowing, out of sight with its own. The mixing is ours; both distributions and the odds are the report's.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from statistics import NormalDist
from types import MappingProxyType

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.radio import kernels
from siteplan.radio.methods.kernels import TERM_COUNT
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB, Range, answer, checked
from siteplan.radio.path_geometry import PathGeometry
from siteplan.records.results import PathLoss
from siteplan.units import free_space_loss_db

LIGHT_M_PER_S = 3e8  # as the report has it
ROOFS_M, STREET_M = 5.0, 20.0  # rural: mean building height and street width, table 7.4.1-1
_EFFECTIVE_M = 1.0  # h_E, table 7.4.1-1 note 1
_TIME = (50.0, 50.0)
_ALL = NormalDist()
_PLACES = (1.0, 99.0)
_MACRO_MHZ = (500.0, 100_000.0)
_FAR_M = (10.0, 5000.0)
RANGES: Mapping[str, Range] = MappingProxyType(
    {
        "tr38901_rma": Range("3GPP TR 38.901 RMa", _FAR_M, (10.0, 150.0), (500.0, 30_000.0), _TIME, _PLACES, (1.0, 10.0)),
        "tr38901_uma": Range("3GPP TR 38.901 UMa", _FAR_M, (25.0, 25.0), _MACRO_MHZ, _TIME, _PLACES, (1.5, 22.5)),
        "tr38901_umi": Range("3GPP TR 38.901 UMi street canyon", _FAR_M, (10.0, 10.0), _MACRO_MHZ, _TIME, _PLACES, (1.5, 22.5)),
    }
)


def loss_in_and_out_of_sight_db(
    method: str, *, frequency_mhz: float, distance_m: float, tx_height_agl_m: float, rx_height_agl_m: float
) -> tuple[float, float, float, float]:
    """Return (loss in sight, its shadowing, loss out of sight, its shadowing), dB, of one of RANGES; no range is checked here.

    distance_m  along the ground
    By hand: tr38901_uma, 3.5 GHz, 500 m, 25 m and 1.5 m: 28 + 22 log 500.55 + 20 log 3.5 = 98.27 dB in sight.
    Source: 3GPP TR 38.901 v17.0.0, table 7.4.1-1. Checked in tests/authorities/test_tr38901.py.
    """
    f_ghz = 1e-3 * frequency_mhz
    log_f = math.log10(f_ghz)
    rise = tx_height_agl_m - rx_height_agl_m
    slant = math.hypot(distance_m, rise)
    log_d = math.log10(slant)
    if method == "tr38901_rma":
        return _rural(log_f, distance_m, slant, tx_height_agl_m, rx_height_agl_m)
    turn_m = 4.0 * (tx_height_agl_m - _EFFECTIVE_M) * (rx_height_agl_m - _EFFECTIVE_M) * f_ghz * 1e9 / LIGHT_M_PER_S
    if method == "tr38901_uma":
        near, far = 28.0 + 22.0 * log_d, 28.0 + 40.0 * log_d - 9.0 * math.log10(turn_m**2 + rise**2)
        in_sight = (near if distance_m <= turn_m else far) + 20.0 * log_f
        hidden = 13.54 + 39.08 * log_d + 20.0 * log_f - 0.6 * (rx_height_agl_m - 1.5)
        return in_sight, 4.0, max(in_sight, hidden), 6.0
    near, far = 32.4 + 21.0 * log_d, 32.4 + 40.0 * log_d - 9.5 * math.log10(turn_m**2 + rise**2)
    in_sight = (near if distance_m <= turn_m else far) + 20.0 * log_f
    hidden = 35.3 * log_d + 22.4 + 21.3 * log_f - 0.3 * (rx_height_agl_m - 1.5)
    return in_sight, 4.0, max(in_sight, hidden), 7.82


def _rural(log_f: float, distance_m: float, slant_m: float, tx_m: float, rx_m: float) -> tuple[float, float, float, float]:
    turn_m = 2.0 * math.pi * tx_m * rx_m * 10.0**log_f * 1e9 / LIGHT_M_PER_S

    def near(metres: float) -> float:
        spread = 20.0 * math.log10(40.0 * math.pi * metres / 3.0) + 20.0 * log_f + min(0.03 * ROOFS_M**1.72, 10.0) * math.log10(metres)
        return spread - min(0.044 * ROOFS_M**1.72, 14.77) + 0.002 * math.log10(ROOFS_M) * metres

    within = distance_m <= turn_m
    in_sight = near(slant_m) if within else near(turn_m) + 40.0 * math.log10(slant_m / turn_m)
    hidden = (
        161.04
        - 7.1 * math.log10(STREET_M)
        + 7.5 * math.log10(ROOFS_M)
        - (24.37 - 3.7 * (ROOFS_M / tx_m) ** 2) * math.log10(tx_m)
        + (43.42 - 3.1 * math.log10(tx_m)) * (math.log10(slant_m) - 3.0)
        + 20.0 * log_f
        - (3.2 * math.log10(11.75 * rx_m) ** 2 - 4.97)
    )
    return in_sight, 4.0 if within else 6.0, max(in_sight, hidden), 8.0


def sight_probability(method: str, *, distance_m: float, rx_height_agl_m: float) -> float:
    """Return the probability that buildings leave a clear line, over level ground; 0 to 1.

    Source: 3GPP TR 38.901 v17.0.0, table 7.4.2-1. Checked in tests/authorities/test_tr38901.py.
    Raises MethodRangeError for an urban macro antenna above 23 m, where the report stops.
    """
    if method == "tr38901_rma":
        return 1.0 if distance_m <= 10.0 else math.exp(-(distance_m - 10.0) / 1000.0)
    if distance_m <= 18.0:
        return 1.0
    share = 18.0 / distance_m
    if method == "tr38901_umi":
        return share + math.exp(-distance_m / 36.0) * (1.0 - share)
    if rx_height_agl_m > 23.0:
        raise MethodRangeError(
            told(
                "the receiver is {rx_height_agl_m:g} m above ground; TR 38.901 UMa gives odds of sight up to 23 m",
                rx_height_agl_m=rx_height_agl_m,
            )
        )
    higher = 0.0 if rx_height_agl_m <= 13.0 else ((rx_height_agl_m - 13.0) / 10.0) ** 1.5
    low = share + math.exp(-distance_m / 63.0) * (1.0 - share)
    return low * (1.0 + higher * 1.25 * (distance_m / 100.0) ** 3 * math.exp(-distance_m / 150.0))


def mixed_db(share: float, sight: float, in_sight: tuple[float, float], hidden: tuple[float, float]) -> float:
    """Return the loss that a share (0 to 1) of locations does not exceed, of two normal distributions (mean, sigma) mixed by `sight`.

    Source: definition of a mixture; solved by halving, within 1e-6 dB.
    """
    low = min(mean - 8.0 * sigma for mean, sigma in (in_sight, hidden))
    high = max(mean + 8.0 * sigma for mean, sigma in (in_sight, hidden))
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        below = sum(p * _ALL.cdf((middle - m) / s) for p, (m, s) in ((sight, in_sight), (1.0 - sight, hidden)))
        low, high = (middle, high) if below < share else (low, middle)
    return 0.5 * (low + high)


def loss_db(
    geometry: PathGeometry,
    *,
    method: str,
    frequency_mhz: float,
    time_pct: float = 50.0,
    location_pct: float = 50.0,
    polarisation: str = "h",
    erp_kw: float = 1.0,
    sigma_db: float = DEFAULT_SIGMA_DB,
) -> PathLoss:
    """Return the loss at a share of locations, with the arguments and the answer of p1812.loss_db; 50 % of time alone.

    method    a name of RANGES. Where the ground blocks the path there is no sight; else the report's odds hold.
    sigma_db  not used: the spread over locations is the method's own (half the distance from 15.9 to 84.1 %), and comes back

    Raises MethodRangeError outside the method's lengths, heights, frequencies or share of time, InputError for a wrong word.
    Source: 3GPP TR 38.901 v17.0.0, tables 7.4.1-1 and 7.4.2-1.
    """
    bounds = RANGES[method]
    question = checked(
        geometry,
        bounds,
        frequency_mhz=frequency_mhz,
        time_pct=time_pct,
        location_pct=location_pct,
        polarisation=polarisation,
        erp_kw=erp_kw,
        sigma_db=sigma_db,
    )
    in_sight, sigma_in, hidden, sigma_out = loss_in_and_out_of_sight_db(
        method,
        frequency_mhz=frequency_mhz,
        distance_m=geometry.path_m,
        tx_height_agl_m=geometry.tx_height_agl_m,
        rx_height_agl_m=geometry.rx_height_agl_m,
    )
    sight = 0.0
    if geometry.values[kernels.LINE_OF_SIGHT]:
        sight = sight_probability(method, distance_m=geometry.path_m, rx_height_agl_m=geometry.rx_height_agl_m)
    one_sigma = _ALL.cdf(1.0)
    shares = (0.5, 0.01 * location_pct, 1.0 - one_sigma, one_sigma)
    median, asked, low, high = (mixed_db(share, sight, (in_sight, sigma_in), (hidden, sigma_out)) for share in shares)
    terms = np.full(TERM_COUNT, np.nan)
    terms[0] = float(free_space_loss_db(geometry.path_m, frequency_mhz))
    return answer(
        geometry,
        replace(question, location_pct=50.0, sigma_db=0.5 * (high - low)),
        terms,
        median_db=asked,
        floor_db=-math.inf,
        method=bounds.method,
        more={
            "in_sight_db": in_sight,
            "out_of_sight_db": hidden,
            "sight_probability": sight,
            "statistical_median_db": median,
            "location_db": asked - median,
        },
    )


def named(method: str) -> Callable[..., PathLoss]:
    """Return loss_db of one method of RANGES, in the common call."""
    return partial(loss_db, method=method)
