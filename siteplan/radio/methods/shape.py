"""The one call shape of all propagation methods: what is asked, checked, and what comes back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from siteplan.errors import InputError, MethodRangeError, told
from siteplan.radio import kernels
from siteplan.radio.methods.kernels import TERM_NAMES, inverse_normal
from siteplan.radio.path_geometry import PathGeometry
from siteplan.records.results import PathLoss
from siteplan.units import FIELD_AT_1_KW_ERP_DB

# Location variability of digital television in a square of 500 m (GE06 Agreement, annex 2; Rec. ITU-R P.1546-6, annex 5).
DEFAULT_SIGMA_DB = 5.5
_GEOMETRY_NAMES = (
    ("theta_t_mrad", kernels.THETA_T),
    ("theta_r_mrad", kernels.THETA_R),
    ("theta_mrad", kernels.THETA),
    ("tx_horizon_km", kernels.DLT_KM),
    ("rx_horizon_km", kernels.DLR_KM),
    ("effective_radius_km", kernels.AE_KM),
    ("smooth_earth_tx_amsl_m", kernels.HSTD),
    ("smooth_earth_rx_amsl_m", kernels.HSRD),
    ("effective_height_tx_m", kernels.HTE_DUCTING),
    ("effective_height_rx_m", kernels.HRE_DUCTING),
    ("roughness_m", kernels.ROUGHNESS_M),
    ("sea_fraction", kernels.OMEGA),
    ("longest_land_km", kernels.DTM_KM),
    ("longest_inland_km", kernels.DLM_KM),
    ("ground_in_line_of_sight", kernels.LINE_OF_SIGHT),
)


@dataclass(frozen=True, slots=True)
class Question:
    """What a method is asked over one path geometry.

    erp_kw    power over a half-wave dipole, for the field strength alone
    sigma_db  standard deviation over locations, used where location_pct is not 50
    """

    frequency_mhz: float
    time_pct: float
    location_pct: float
    vertical: bool
    erp_kw: float
    sigma_db: float


@dataclass(frozen=True, slots=True)
class Range:
    """Where a method was published for; both ends belong to it.

    height_agl_m     of both antennas, or of the sender's alone where rx_height_agl_m is given
    """

    method: str
    path_m: tuple[float, float]
    height_agl_m: tuple[float, float]
    frequency_mhz: tuple[float, float]
    time_pct: tuple[float, float]
    location_pct: tuple[float, float]
    rx_height_agl_m: tuple[float, float] | None = None


def checked(
    geometry: PathGeometry,
    bounds: Range,
    *,
    frequency_mhz: float,
    time_pct: float,
    location_pct: float,
    polarisation: str,
    erp_kw: float,
    sigma_db: float,
) -> Question:
    """Return the question, or raise MethodRangeError naming what lies outside the method's range (InputError for a wrong word)."""
    for what, value, (least, most), unit in (
        (told("the path length"), geometry.path_m / 1000.0, (bounds.path_m[0] / 1000.0, bounds.path_m[1] / 1000.0), "km"),
        (told("the sender's antenna height"), geometry.tx_height_agl_m, bounds.height_agl_m, "m above ground"),
        (told("the receiver's antenna height"), geometry.rx_height_agl_m, bounds.rx_height_agl_m or bounds.height_agl_m, "m above ground"),
        ("the frequency", frequency_mhz, bounds.frequency_mhz, "MHz"),
        (told("the time percentage"), time_pct, bounds.time_pct, "%"),
        (told("the location percentage"), location_pct, bounds.location_pct, "%"),
    ):
        if not least <= value <= most:
            holds = told("from {least:g} to {most:g}", least=least, most=most) if least < most else f"at {least:g}"
            raise MethodRangeError(
                told(
                    "{what} is {value:g} {unit}; {method} holds {holds} {unit}{least}",
                    what=what,
                    value=value,
                    unit=unit,
                    method=bounds.method,
                    holds=holds,
                    least=" alone" * (least == most),
                )
            )
    letter = polarisation.lower() if isinstance(polarisation, str) else ""
    if letter not in ("h", "v"):
        raise InputError(told("the polarisation is {polarisation!r}; write h (horizontal) or v (vertical)", polarisation=polarisation))
    if not (math.isfinite(erp_kw) and erp_kw > 0.0):
        raise InputError(told("the radiated power is {erp_kw} kW; give an ERP above 0", erp_kw=erp_kw))
    if not (math.isfinite(sigma_db) and sigma_db >= 0.0):
        raise InputError(told("the location deviation is {sigma_db} dB; give 0 or more", sigma_db=sigma_db))
    return Question(frequency_mhz, time_pct, location_pct, letter == "v", erp_kw, sigma_db)


def answer(
    geometry: PathGeometry,
    question: Question,
    terms: np.ndarray,
    *,
    median_db: float,
    floor_db: float,
    method: str,
    more: Mapping[str, float] | None = None,
) -> PathLoss:
    """Return the record of one answer: location variability, field strength and every named intermediate.

    median_db  loss for 50 % of locations; floor_db  loss that no location goes below; more  intermediates of this method alone

    Source: Rec. ITU-R P.1812-8, 4.7, 4.9 and 4.10 (eq. 70). Building entry (4.8) is left out: antennas here stand outdoors.
    """
    location = 0.0
    if question.location_pct != 50.0 and geometry.rx_zone != kernels.ZONE_SEA:
        location = -inverse_normal(0.01 * question.location_pct) * question.sigma_db
    loss = max(floor_db, median_db + location)
    field = FIELD_AT_1_KW_ERP_DB + 20.0 * math.log10(1e-3 * question.frequency_mhz) - loss + 10.0 * math.log10(question.erp_kw)
    named = {name: value for name, value in zip(TERM_NAMES, terms.tolist(), strict=True) if value == value}
    values = geometry.values.tolist()
    for name, place in _GEOMETRY_NAMES:
        named[name] = values[place]
    rise = (values[kernels.HRS] - values[kernels.HTS]) / (1e3 * values[kernels.D_KM]) - values[kernels.D_KM] / (2.0 * values[kernels.AE_KM])
    named["direct_ray_at_tx_mrad"] = 1e3 * math.atan(rise)
    named["beta0_pct"] = geometry.beta0_pct
    named["location_db"] = location
    named.update(more or {})
    nu = values[kernels.NU_EDGE] / math.sqrt(1e3 * kernels.WAVELENGTH_M_GHZ / question.frequency_mhz)
    named["edge_nu"] = nu
    blocks_m = 1000.0 * values[kernels.EDGE_KM] if nu > -0.78 else math.nan
    return PathLoss(
        loss_db=loss,
        field_strength_dbuv_per_m=field,
        sigma_db=question.sigma_db,
        intermediates=named,
        what_blocks_m=blocks_m,
        method=method,
    )


def location_sigma_db(*, frequency_mhz: float, rx_height_agl_m: float, clutter_m: float, square_m: float) -> float:
    """Return the standard deviation of the median loss over locations in a square around the receiver.

    rx_height_agl_m, clutter_m  antenna, and typical clutter around it, above ground
    square_m                    side of the square the prediction stands for

    Returns dB: (0.52 + 0.024 f_GHz) square^0.28 below the clutter's top, falling to 0 at 10 m above it.
    Source: Rec. ITU-R P.1812-8, 4.7 (also the form of P.1812-5 to -7).
    """
    if not (square_m > 0.0 and frequency_mhz > 0.0):
        raise InputError(told("location_sigma_db needs a square and a frequency above 0"))
    fade = min(1.0, max(0.0, 1.0 - (rx_height_agl_m - clutter_m) / 10.0))
    return (0.52 + 0.024e-3 * frequency_mhz) * square_m**0.28 * fade
