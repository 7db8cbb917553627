"""Okumura-Hata and COST-231-Hata: median loss by distance, heights and the kind of town, for where only coarse terrain exists.

Statistical methods: the shape of the ground enters by the sender's height over it alone, what stands in the way not at all. The town
is counted in them; neither clutter heights nor P.2108 may be added.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.radio.methods.kernels import TERM_COUNT
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB, Range, answer, checked
from siteplan.radio.path_geometry import PathGeometry
from siteplan.records.results import PathLoss
from siteplan.units import free_space_loss_db

EFFECTIVE_HEIGHT_M = (30.0, 200.0)
OKUMURA, COST = "Okumura-Hata", "COST-231-Hata"
SURROUNDINGS = {"open": "open country", "suburban": "suburban", "urban": "medium town", "dense_urban": "large city"}
_TIME = (50.0, 50.0)  # medians over time: the methods say nothing else


def _range(method: str, surroundings: str, frequency_mhz: tuple[float, float]) -> Range:
    label = f"{method}, {SURROUNDINGS[surroundings]}"
    return Range(label, (1000.0, 20_000.0), (0.1, 3000.0), frequency_mhz, _TIME, (1.0, 99.0), rx_height_agl_m=(1.0, 10.0))


RANGES: Mapping[str, Range] = MappingProxyType(
    {
        **{f"hata_{name}": _range(OKUMURA, name, (150.0, 1500.0)) for name in SURROUNDINGS},
        **{f"cost231_{name}": _range(COST, name, (1500.0, 2000.0)) for name in ("urban", "dense_urban")},
    }
)


def mobile_height_gain_db(frequency_mhz: float, rx_height_agl_m: float, *, large_city: bool) -> float:
    """Return a(h) of Hata, dB: what the receiving antenna's height over 1.5 m is worth.

    Raises MethodRangeError for a large city between 200 and 400 MHz, where Hata gives no formula.
    Source: Hata (1980), IEEE Trans. Veh. Technol. VT-29, no. 3, eqs (11) to (13) (from memory; both limits of the large city read in a
    public implementation). Checked in tests/authorities/test_hata.py.
    """
    log_f = math.log10(frequency_mhz)
    if not large_city:
        return (1.1 * log_f - 0.7) * rx_height_agl_m - (1.56 * log_f - 0.8)
    if frequency_mhz <= 200.0:
        return 8.29 * math.log10(1.54 * rx_height_agl_m) ** 2 - 1.1
    if frequency_mhz < 400.0:
        raise MethodRangeError(
            told(
                "the frequency is {frequency_mhz:g} MHz; {okumura} has no large city between 200 and 400 MHz",
                frequency_mhz=frequency_mhz,
                okumura=OKUMURA,
            )
        )
    return 3.2 * math.log10(11.75 * rx_height_agl_m) ** 2 - 4.97


def median_loss_db(method: str, *, frequency_mhz: float, base_m: float, rx_height_agl_m: float, distance_m: float) -> float:
    """Return the median loss of one of RANGES, dB; no range is checked here but that of the large city's height gain.

    base_m  height of the sender over the mean ground
    By hand: hata_urban, 900 MHz, 30 m, 1.5 m, 1 km: 69.55 + 77.285 - 20.414 - 0.016 + 0 = 126.41 dB.
    Source: Hata (1980), as above, eqs (10) to (16); COST Action 231 final report (1999), 4.4.1. Both from memory; checked in
    tests/authorities/test_hata.py against a table with the anchors 137.93, 137.88, 128.03, 109.52, 153.52 and 150.64 dB.
    """
    surroundings = method.split("_", 1)[1]
    log_f, log_b = math.log10(frequency_mhz), math.log10(base_m)
    slope = (44.9 - 6.55 * log_b) * math.log10(1e-3 * distance_m)
    gain = mobile_height_gain_db(frequency_mhz, rx_height_agl_m, large_city=surroundings == "dense_urban")
    if method.startswith("cost231"):
        return 46.3 + 33.9 * log_f - 13.82 * log_b - gain + slope + (3.0 if surroundings == "dense_urban" else 0.0)
    urban = 69.55 + 26.16 * log_f - 13.82 * log_b - gain + slope
    if surroundings == "suburban":
        return urban - 2.0 * math.log10(frequency_mhz / 28.0) ** 2 - 5.4
    if surroundings == "open":
        return urban - 4.78 * log_f**2 + 18.33 * log_f - 40.94
    return urban


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
    """Return the median loss of Okumura-Hata or COST-231-Hata, with the arguments and the answer of p1812.loss_db; 50 % of time alone.

    method  a name of RANGES. The sender's height is taken over the mean ground from 3 to 15 km towards the receiver (from 0.2 d to d
            on shorter paths), the receiver's over the ground at its place.

    Raises MethodRangeError outside 1 to 20 km, 30 to 200 m over the mean ground, 1 to 10 m at the receiver, the method's frequencies,
    or for another share of time; InputError for a wrong word.
    Source: as median_loss_db; effective height as Rec. ITU-R P.1546-6, annex 5, 3.2 (Okumura's own).
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
    base_m = geometry.tx_over_mean_ground_m
    least, most = EFFECTIVE_HEIGHT_M
    if not least <= base_m <= most:
        raise MethodRangeError(
            told(
                "the sender's antenna is {base_m:.1f} m over the mean ground on the way; {method} holds from {least:g} to {most:g} m",
                base_m=base_m,
                method=bounds.method,
                least=least,
                most=most,
            )
        )
    median = median_loss_db(
        method, frequency_mhz=frequency_mhz, base_m=base_m, rx_height_agl_m=geometry.rx_height_agl_m, distance_m=geometry.path_m
    )
    free_space = float(free_space_loss_db(geometry.path_m, frequency_mhz))
    terms = np.full(TERM_COUNT, np.nan)
    terms[0] = free_space
    return answer(
        geometry,
        question,
        terms,
        median_db=median,
        floor_db=free_space,
        method=bounds.method,
        more={"over_mean_ground_m": base_m, "statistical_median_db": median},
    )


def named(method: str) -> Callable[..., PathLoss]:
    """Return loss_db of one method of RANGES, in the common call."""
    return partial(loss_db, method=method)
