"""Fresnel zones and the knife edge (ITU-R P.526)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.radio.kernels import knife_edge_db
from siteplan.units import wavelength_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def fresnel_radius_m(*, from_tx_m: ArrayLike, to_rx_m: ArrayLike, frequency_mhz: ArrayLike, zone: int = 1) -> NDArray[np.float64]:
    """Return the radius of a Fresnel zone.

    from_tx_m, to_rx_m  (...)  distances to both ends, m; 0 at an end gives 0
    frequency_mhz       (...)  above 0
    zone                1 for the first

    Returns (...) m: sqrt(n lambda d1 d2 / (d1 + d2)). Raises MethodRangeError if a frequency is not above 0 or the zone is below 1.
    Source: Rec. ITU-R P.526-16, 2.1, eq. (1). Checked in tests/authorities/test_p526.py.
    """
    d1, d2 = np.asarray(from_tx_m, dtype=np.float64), np.asarray(to_rx_m, dtype=np.float64)
    _above_zero(frequency_mhz)
    if zone < 1:
        raise MethodRangeError(told("the Fresnel zone is {zone}; the first is 1", zone=zone))
    total = d1 + d2
    return np.sqrt(zone * wavelength_m(frequency_mhz) * d1 * d2 / np.where(total > 0.0, total, np.nan))[()]


def fresnel_fraction(clearance_m: ArrayLike, from_tx_m: ArrayLike, path_m: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return how much of the first Fresnel zone is open at the tightest step of each path.

    clearance_m             (..., steps)  ray height less ground height, Earth bulge counted, end points left out
    from_tx_m               (..., steps)  distance along the path
    path_m, frequency_mhz   (...)         whole path; above 0

    Returns (...): least clearance / zone radius. 1 is a whole zone open, 0 touches, below 0 blocked, NaN unknown.
    Raises MethodRangeError if frequency_mhz is not above 0.
    Source: Rec. ITU-R P.526-16, 2.1. Checked in tests/authorities/test_p526.py.
    """
    along = np.asarray(from_tx_m, dtype=np.float64)
    whole = np.asarray(path_m, dtype=np.float64)[..., np.newaxis]
    frequency = np.asarray(frequency_mhz, dtype=np.float64)[..., np.newaxis]
    radius = fresnel_radius_m(from_tx_m=along, to_rx_m=whole - along, frequency_mhz=frequency)
    return np.min(np.asarray(clearance_m, dtype=np.float64) / radius, axis=-1)[()]


def knife_edge_nu(*, height_m: ArrayLike, from_tx_m: ArrayLike, to_rx_m: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Return the parameter nu of an edge: sqrt(2) times its height over the ray in first Fresnel radii; negative below the ray.

    Raises MethodRangeError if a frequency is not above 0. Source: Rec. ITU-R P.526-16, 4.1, eq. (26).
    """
    radius = fresnel_radius_m(from_tx_m=from_tx_m, to_rx_m=to_rx_m, frequency_mhz=frequency_mhz)
    return (np.sqrt(2.0) * np.asarray(height_m, dtype=np.float64) / radius)[()]


def knife_edge_loss_db(nu: ArrayLike) -> NDArray[np.float64]:
    """Return the diffraction loss of one knife edge.

    nu (...)  edge parameter. Returns (...) dB: 6.9 + 20 log(sqrt((nu - 0.1)^2 + 1) + nu - 0.1), 0 up to nu = -0.78; NaN stays NaN.
    Source: Rec. ITU-R P.526-16, 4.1, eq. (31). Checked in tests/authorities/test_p526.py.
    """
    return np.vectorize(knife_edge_db, otypes=[np.float64])(np.asarray(nu, dtype=np.float64))[()]


def _above_zero(frequency_mhz: ArrayLike) -> None:
    if not np.all(np.asarray(frequency_mhz, dtype=np.float64) > 0.0):
        raise MethodRangeError(told("the frequency is {frequency_mhz} MHz; give one above 0", frequency_mhz=frequency_mhz))
