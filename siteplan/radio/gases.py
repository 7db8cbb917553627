"""What the gases of the air take: lines of oxygen and water vapour, and the loss of a slant path (ITU-R P.676-12)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.radio import itur_door

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Rec. ITU-R P.676-12, annex 2, table 3 (c_i, f_i) and table 4 (f_i, a_i, b_i).
_OXYGEN_HEIGHT = np.array(
    [
        (0.1597, 118.750334),
        (0.1066, 368.498246),
        (0.1325, 424.763020),
        (0.1242, 487.249273),
        (0.0938, 715.392902),
        (0.1448, 773.839490),
        (0.1374, 834.145546),
    ]
)

# Section 2.3 of annex 2: the state of the air that column water vapour is turned into loss at.
_REFERENCE_GHZ, _REFERENCE_HPA = 20.6, 845.0
_DRIEST_KG_PER_M2 = 0.01  # below this ln(0.22 V/2.38) has no meaning; no place on Earth is so dry


def standard_pressure_hpa(height_amsl_m: ArrayLike) -> NDArray:
    """Return the pressure of the mean annual global reference atmosphere; (...) hPa, to 11 km. Source: Rec. ITU-R P.835-6, eq. (3a)."""
    km = np.asarray(height_amsl_m, dtype=np.float64) / 1000.0
    geopotential = 6356.766 * km / (6356.766 + km)
    return 1013.25 * (288.15 / (288.15 - 6.5 * geopotential)) ** (-34.1632 / 6.5)


def _columns(*values: ArrayLike) -> list[NDArray]:
    """Return arrays with a last axis added, along which the lines of a gas lie."""
    return [np.asarray(value, dtype=np.float64)[..., np.newaxis] for value in values]


def oxygen_db_per_km(*, frequency_ghz: ArrayLike, dry_hpa: ArrayLike, temperature_k: ArrayLike, vapour_g_per_m3: ArrayLike) -> NDArray:
    """Return the specific attenuation of dry air; (...) dB/km, all arguments broadcast.

    dry_hpa  pressure of the dry air. Source: Rec. ITU-R P.676-12, annex 1, eqs (1) to (9).
    Checked in tests/authorities/test_p676.py.
    """
    f0, a1, a2, a3, a4, a5, a6 = itur_door.gas_lines()[0].T
    f, p, t, rho = _columns(frequency_ghz, dry_hpa, temperature_k, vapour_g_per_m3)
    theta, e = 300.0 / t, rho * t / 216.7
    width = np.sqrt((a3 * 1e-4 * (p * theta ** (0.8 - a4) + 1.1 * e * theta)) ** 2 + 2.25e-6)
    overlap = (a5 + a6 * theta) * 1e-4 * (p + e) * theta**0.8
    strength = a1 * 1e-7 * p * theta**3 * np.exp(a2 * (1.0 - theta))
    lines = np.sum(strength * _line_shape(f, f0, width, overlap), axis=-1)
    f, p, theta, e = f[..., 0], p[..., 0], theta[..., 0], e[..., 0]
    d = 5.6e-4 * (p + e) * theta**0.8
    continuum = f * p * theta**2 * (6.14e-5 / (d * (1.0 + (f / d) ** 2)) + 1.4e-12 * p * theta**1.5 / (1.0 + 1.9e-5 * f**1.5))
    return 0.1820 * f * (lines + continuum)


def vapour_db_per_km(*, frequency_ghz: ArrayLike, dry_hpa: ArrayLike, temperature_k: ArrayLike, vapour_g_per_m3: ArrayLike) -> NDArray:
    """Return the specific attenuation of water vapour; (...) dB/km, all arguments broadcast.

    dry_hpa  pressure of the dry air. Source: Rec. ITU-R P.676-12, annex 1, eqs (1) to (9).
    Checked in tests/authorities/test_p676.py.
    """
    f0, b1, b2, b3, b4, b5, b6 = itur_door.gas_lines()[1].T
    f, p, t, rho = _columns(frequency_ghz, dry_hpa, temperature_k, vapour_g_per_m3)
    theta, e = 300.0 / t, rho * t / 216.7
    width = b3 * 1e-4 * (p * theta**b4 + b5 * e * theta**b6)
    width = 0.535 * width + np.sqrt(0.217 * width**2 + 2.1316e-12 * f0**2 / theta)
    strength = b1 * 0.1 * e * theta**3.5 * np.exp(b2 * (1.0 - theta))
    return 0.1820 * f[..., 0] * np.sum(strength * _line_shape(f, f0, width, 0.0), axis=-1)


def _line_shape(f: NDArray, f0: NDArray, width: NDArray, overlap: NDArray | float) -> NDArray:
    """Return F of eq. (5)."""
    below, above = f0 - f, f0 + f
    return f / f0 * ((width - overlap * below) / (below**2 + width**2) + (width - overlap * above) / (above**2 + width**2))


def oxygen_height_km(*, frequency_ghz: ArrayLike, pressure_hpa: ArrayLike, temperature_k: ArrayLike, vapour_g_per_m3: ArrayLike) -> NDArray:
    """Return the equivalent height of oxygen; (...) km, 1 to 350 GHz. Source: Rec. ITU-R P.676-12, annex 2, eqs (30) to (34)."""
    f, p, t, rho = (np.asarray(value, dtype=np.float64) for value in (frequency_ghz, pressure_hpa, temperature_k, vapour_g_per_m3))
    rp = (p + rho * t / 216.7) / 1013.25
    t1 = 5.1040 / (1.0 + 0.066 * rp**-2.3) * np.exp(-(((f - 59.7) / (2.87 + 12.4 * np.exp(-7.9 * rp))) ** 2))
    c, line = _OXYGEN_HEIGHT.T
    wide = rp[..., np.newaxis]
    t2 = np.sum(c * np.exp(2.12 * wide) / ((f[..., np.newaxis] - line) ** 2 + 0.025 * np.exp(2.2 * wide)), axis=-1)
    t3 = 0.0114 * f / (1.0 + 0.14 * rp**-2.6) * (15.02 * f**2 - 1353.0 * f + 5.333e4) / (f**3 - 151.3 * f**2 + 9629.0 * f - 6803.0)
    height = 6.1 * (0.7832 + 0.00709 * (t - 273.15)) / (1.0 + 0.17 * rp**-1.1) * (1.0 + t1 + t2 + t3)
    return np.where(f < 70.0, np.minimum(height, 10.7 * rp**0.3), height)


def zenith_vapour_db(*, frequency_ghz: ArrayLike, vapour_kg_per_m2: ArrayLike, height_amsl_m: ArrayLike) -> NDArray:
    """Return what the water vapour straight above takes; (...) dB, all arguments broadcast.

    vapour_kg_per_m2  the whole column. Source: Rec. ITU-R P.676-12, annex 2, section 2.3, eqs (39) to (42).
    """
    f = np.asarray(frequency_ghz, dtype=np.float64)
    v = np.maximum(np.asarray(vapour_kg_per_m2, dtype=np.float64), _DRIEST_KG_PER_M2)
    air = {"dry_hpa": _REFERENCE_HPA, "temperature_k": 14.0 * np.log(0.22 * v / 2.38) + 3.0 + 273.15, "vapour_g_per_m3": v / 2.38}
    loss = 0.0176 * v * vapour_db_per_km(frequency_ghz=f, **air) / vapour_db_per_km(frequency_ghz=_REFERENCE_GHZ, **air)
    a = (
        0.2048 * np.exp(-(((f - 22.43) / 3.097) ** 2))
        + 0.2326 * np.exp(-(((f - 183.5) / 4.096) ** 2))
        + 0.2073 * np.exp(-(((f - 325.0) / 3.651) ** 2))
        - 0.1113
    )
    fitted = np.maximum(f, 20.0)  # b counts from 20 GHz on, and overflows far below
    b = 8.741e4 * np.exp(-0.587 * fitted) + 312.2 * fitted**-2.38 + 0.723
    high_km = np.clip(np.asarray(height_amsl_m, dtype=np.float64) / 1000.0, 0.0, 4.0)
    return np.where(f < 20.0, loss, loss * (a * high_km**b + 1.0))


def zenith_gas_db(
    *,
    frequency_ghz: ArrayLike,
    pressure_hpa: ArrayLike,
    temperature_k: ArrayLike,
    vapour_g_per_m3: ArrayLike,
    vapour_kg_per_m2: ArrayLike,
    height_amsl_m: ArrayLike,
) -> NDArray:
    """Return what oxygen and water vapour straight above take; (...) dB, all arguments broadcast, 1 to 350 GHz.

    pressure_hpa, temperature_k, vapour_g_per_m3   at the ground
    vapour_kg_per_m2                               the whole column above

    A slant path takes this over sin(elevation), 5 to 90 degrees.
    Source: Rec. ITU-R P.676-12, annex 2, eqs (30) to (42). Checked in tests/authorities/test_p676.py.
    """
    oxygen = oxygen_db_per_km(
        frequency_ghz=frequency_ghz, dry_hpa=pressure_hpa, temperature_k=temperature_k, vapour_g_per_m3=vapour_g_per_m3
    ) * oxygen_height_km(
        frequency_ghz=frequency_ghz, pressure_hpa=pressure_hpa, temperature_k=temperature_k, vapour_g_per_m3=vapour_g_per_m3
    )
    return np.maximum(
        oxygen + zenith_vapour_db(frequency_ghz=frequency_ghz, vapour_kg_per_m2=vapour_kg_per_m2, height_amsl_m=height_amsl_m), 0.0
    )
