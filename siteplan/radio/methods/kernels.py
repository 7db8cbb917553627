"""Compiled algebra of ITU-R P.1812-8 for one frequency, time percentage and polarisation, after radio.kernels.geometry.

Distances km, heights m, frequencies GHz, angles mrad, as the published formulas have them.
"""

import math

import numpy as np
from numba import njit

from siteplan.radio import kernels as k

# entries of the array that terms() returns, in the order of TERM_NAMES
TERM_NAMES = (
    "free_space_db", "line_of_sight_p_db", "line_of_sight_beta_db",
    "bullington_actual_50_db", "bullington_smooth_50_db", "spherical_earth_50_db", "diffraction_50_db",
    "bullington_actual_beta_db", "bullington_smooth_beta_db", "spherical_earth_beta_db", "diffraction_beta_db",
    "diffraction_p_db", "basic_diffraction_50_db", "basic_diffraction_p_db",
    "least_line_of_sight_p_db", "ducting_db", "least_line_of_sight_and_ducting_p_db", "diffraction_or_ducting_db",
    "modified_diffraction_db", "troposcatter_db", "combined_db", "fi", "fj", "fk",
)  # fmt: skip
TERM_COUNT = 24


@njit(cache=True, nogil=True)
def inverse_normal(x):
    """Inverse complementary cumulative normal distribution by the rational approximation of P.1812-8, attachment 2."""
    x = min(max(x, 1e-6), 1.0 - 1e-6)
    low = x if x <= 0.5 else 1.0 - x
    t = math.sqrt(-2.0 * math.log(low))
    z = ((0.010328 * t + 0.802853) * t + 2.515516698) / (((0.001308 * t + 0.189269) * t + 1.432788) * t + 1.0)
    return t - z if x <= 0.5 else z - t


@njit(cache=True, nogil=True)
def ducting_db(geo, f_ghz, p_pct, beta0_pct, dct_km, dcr_km):
    """Basic transmission loss of ducting and layer reflection, dB (P.1812-8, 4.5)."""
    d, ae = geo[k.D_KM], geo[k.AE_KM]
    dlt, dlr, omega = geo[k.DLT_KM], geo[k.DLR_KM], geo[k.OMEGA]
    theta_t, theta_r = geo[k.THETA_T], geo[k.THETA_R]
    low = 45.375 - 137.0 * f_ghz + 92.5 * f_ghz**2 if f_ghz < 0.5 else 0.0
    third = f_ghz ** (1.0 / 3.0)
    fixed = 102.45 + 20.0 * math.log10(f_ghz) + 20.0 * math.log10(dlt + dlr) + low
    over = theta_t - 0.1 * dlt
    if over > 0.0:
        fixed += 20.0 * math.log10(1.0 + 0.361 * over * math.sqrt(f_ghz * dlt)) + 0.264 * over * third
    over = theta_r - 0.1 * dlr
    if over > 0.0:
        fixed += 20.0 * math.log10(1.0 + 0.361 * over * math.sqrt(f_ghz * dlr)) + 0.264 * over * third
    if omega >= 0.75:
        if dct_km <= dlt and dct_km <= 5.0:
            fixed += -3.0 * math.exp(-0.25 * dct_km**2) * (1.0 + math.tanh(0.07 * (50.0 - geo[k.HTS])))
        if dcr_km <= dlr and dcr_km <= 5.0:
            fixed += -3.0 * math.exp(-0.25 * dcr_km**2) * (1.0 + math.tanh(0.07 * (50.0 - geo[k.HRS])))

    theta = 1e3 * d / ae + min(theta_t, 0.1 * dlt) + min(theta_r, 0.1 * dlr)
    tau = 1.0 - math.exp(-4.12e-4 * geo[k.DLM_KM] ** 2.41)
    alpha = max(-0.6 - 3.5e-9 * d**3.1 * tau, -3.4)
    mu2 = min(1.0, (500.0 / ae * d**2 / (math.sqrt(geo[k.HTE_DUCTING]) + math.sqrt(geo[k.HRE_DUCTING])) ** 2) ** alpha)
    rough = geo[k.ROUGHNESS_M]
    mu3 = 1.0 if rough <= 10.0 else math.exp(-4.6e-5 * (rough - 10.0) * (43.0 + 6.0 * min(d - dlt - dlr, 40.0)))
    beta = beta0_pct * mu2 * mu3
    log_beta = math.log10(beta)
    gamma = 1.076 / (2.0058 - log_beta) ** 1.012 * math.exp(-(9.51 - 4.8 * log_beta + 0.198 * log_beta**2) * 1e-6 * d**1.13)
    share = p_pct / beta
    time = -12.0 + (1.2 + 3.7e-3 * d) * math.log10(share) + 12.0 * share**gamma
    return fixed + 5e-5 * ae * third * theta + time


@njit(cache=True, nogil=True)
def troposcatter_db(d_km, theta_mrad, f_ghz, p_pct, n0):
    """Basic transmission loss of tropospheric scatter, dB (P.1812-8, 4.4)."""
    lf = 25.0 * math.log10(f_ghz) - 2.5 * math.log10(0.5 * f_ghz) ** 2
    return 190.1 + lf + 20.0 * math.log10(d_km) + 0.573 * theta_mrad - 0.15 * n0 - 10.125 * math.log10(50.0 / p_pct) ** 0.7


@njit(cache=True, nogil=True)
def diffraction_part(geo, f_ghz, p_pct, beta0_pct, vertical):
    """Fill the terms of free space and delta-Bullington diffraction (P.1812-8, 4.2 and 4.3); the rest stays NaN."""
    out = np.full(TERM_COUNT, np.nan)
    d, omega, wavelength = geo[k.D_KM], geo[k.OMEGA], k.WAVELENGTH_M_GHZ / f_ghz
    hte, hre = geo[k.HTE_DIFFRACTION], geo[k.HRE_DIFFRACTION]
    slant = math.sqrt(d**2 + (1e-3 * (geo[k.HTS] - geo[k.HRS])) ** 2)
    free = 92.4 + 20.0 * math.log10(f_ghz) + 20.0 * math.log10(slant)
    shape = 2.6 * (1.0 - math.exp(-0.1 * (geo[k.DLT_KM] + geo[k.DLR_KM])))
    out[0] = free
    out[1] = free + shape * math.log10(p_pct / 50.0)
    out[2] = free + shape * math.log10(beta0_pct / 50.0)
    out[3] = k.bullington_db(geo[k.NU_ACTUAL], d, wavelength)
    out[4] = k.bullington_db(geo[k.NU_SMOOTH], d, wavelength)
    out[5] = k.spherical_earth_db(d, hte, hre, geo[k.AE_KM], f_ghz, vertical, omega)
    out[6] = out[3] + max(out[5] - out[4], 0.0)
    out[7] = k.bullington_db(geo[k.NU_ACTUAL_BETA], d, wavelength)
    out[8] = k.bullington_db(geo[k.NU_SMOOTH_BETA], d, wavelength)
    out[9] = k.spherical_earth_db(d, hte, hre, geo[k.ABETA_KM], f_ghz, vertical, omega)
    out[10] = out[7] + max(out[9] - out[8], 0.0)
    fi = 1.0 if p_pct <= beta0_pct else inverse_normal(0.01 * p_pct) / inverse_normal(0.01 * beta0_pct)
    out[11] = out[6] if p_pct >= 50.0 else out[6] + fi * (out[10] - out[6])
    out[12] = free + out[6]
    out[13] = out[1] + out[11]
    out[21] = fi
    return out


@njit(cache=True, nogil=True)
def terms(geo, f_ghz, p_pct, beta0_pct, n0, dct_km, dcr_km, vertical):
    """All terms of P.1812-8 up to the loss for 50 % of locations, (TERM_COUNT,) in the order of TERM_NAMES (4.2 to 4.6)."""
    out = diffraction_part(geo, f_ghz, p_pct, beta0_pct, vertical)
    d, theta, omega = geo[k.D_KM], geo[k.THETA], geo[k.OMEGA]
    fi = out[21]
    fj = 1.0 - 0.5 * (1.0 + math.tanh(2.4 * (theta - 0.3) / 0.3))
    fk = 1.0 - 0.5 * (1.0 + math.tanh(1.5 * (d - 20.0) / 20.0))
    scatter = troposcatter_db(d, theta, f_ghz, p_pct, n0)
    duct = ducting_db(geo, f_ghz, p_pct, beta0_pct, dct_km, dcr_km)
    land = (1.0 - omega) * out[11]
    least = out[1] + land if p_pct < beta0_pct else out[12] + (out[2] + land - out[12]) * fi
    # eta*ln(exp(a/eta) + exp(b/eta)), written so that no loss overflows
    most = max(duct, out[1])
    least_duct = most + 2.5 * math.log(1.0 + math.exp((min(duct, out[1]) - most) / 2.5))
    either = out[13] if least_duct > out[13] else least_duct + (out[13] - least_duct) * fk
    modified = either + (least - either) * fj
    out[14] = least
    out[15] = duct
    out[16] = least_duct
    out[17] = either
    out[18] = modified
    out[19] = scatter
    small = min(scatter, modified)
    out[20] = small - 5.0 * math.log10(1.0 + 10.0 ** (-0.2 * (max(scatter, modified) - small)))
    out[22] = fj
    out[23] = fk
    return out
