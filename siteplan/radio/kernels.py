"""Compiled loops of the radio floor: one look along a profile that holds for every frequency, and the diffraction algebra.

Inside this module distances are km, heights m, frequencies GHz and angles mrad, as the published formulas have them.
`geometry` searches along the profile once; what it returns is indexed by the names below. The knife-edge parameter of an
edge is (a length of the geometry)/sqrt(wavelength), so the searches need no frequency: the `NU_*` entries are
nu*sqrt(wavelength) in m^0.5.
"""

import math

import numpy as np
from numba import njit

# entries of the array that geometry() returns
D_KM, HTS, HRS, AE_KM, ABETA_KM = 0, 1, 2, 3, 4
NU_ACTUAL, NU_SMOOTH, NU_ACTUAL_BETA, NU_SMOOTH_BETA = 5, 6, 7, 8
HTE_DIFFRACTION, HRE_DIFFRACTION, HSTD, HSRD = 9, 10, 11, 12
HTE_DUCTING, HRE_DUCTING, ROUGHNESS_M = 13, 14, 15
THETA_T, THETA_R, THETA, DLT_KM, DLR_KM = 16, 17, 18, 19, 20
LINE_OF_SIGHT, EDGE_KM, NU_EDGE = 21, 22, 23
OMEGA, DTM_KM, DLM_KM = 24, 25, 26
GEOMETRY_SIZE = 27

ZONE_SEA, ZONE_COASTAL, ZONE_INLAND = 1, 3, 4
WAVELENGTH_M_GHZ = 0.2998  # the value P.1812 and P.452 use for the speed of light


@njit(cache=True, nogil=True)
def bullington_edge(d, g, hts, hrs, a_km):
    """nu*sqrt(wavelength) of the Bullington point of a profile, and whether the path is in line of sight (P.1812-8, 4.3.1)."""
    last = d.size - 1
    total = d[last]
    curvature = 500.0 / a_km
    slope_direct = (hrs - hts) / total
    slope_tx = -1e30
    slope_rx = -1e30
    nu_most = -1e30
    for i in range(1, last):
        from_tx = d[i]
        to_rx = total - from_tx
        height = g[i] + curvature * from_tx * to_rx
        slope_tx = max(slope_tx, (height - hts) / from_tx)
        slope_rx = max(slope_rx, (height - hrs) / to_rx)
        over = height - (hts * to_rx + hrs * from_tx) / total
        nu_most = max(nu_most, over * math.sqrt(0.002 * total / (from_tx * to_rx)))
    if slope_tx <= slope_direct:
        return nu_most, 1.0
    # the two tangents meet between the two horizons; the clamp holds where they are one line but for rounding
    edge = min(max((hrs - hts + slope_rx * total) / (slope_tx + slope_rx), d[1]), d[last - 1])
    over = hts + slope_tx * edge - (hts * (total - edge) + hrs * edge) / total
    return over * math.sqrt(0.002 * total / (edge * (total - edge))), 0.0


@njit(cache=True, nogil=True)
def dominant_edge(d, g, hts, hrs, a_km):
    """Index of the profile point with the greatest nu, and its nu*sqrt(wavelength)."""
    last = d.size - 1
    total = d[last]
    curvature = 500.0 / a_km
    best = 1
    nu_most = -1e30
    for i in range(1, last):
        over = g[i] + curvature * d[i] * (total - d[i]) - (hts * (total - d[i]) + hrs * d[i]) / total
        nu = over * math.sqrt(0.002 * total / (d[i] * (total - d[i])))
        if nu > nu_most:
            nu_most = nu
            best = i
    return best, nu_most


@njit(cache=True, nogil=True)
def smooth_earth(d, h, hts, hrs):
    """Smooth-Earth heights (hst, hsr, hstp, hsrp): by least squares, and lowered by the obstruction (P.1812-8, attachment 1)."""
    last = d.size - 1
    total = d[last]
    v1 = 0.0
    v2 = 0.0
    for i in range(1, last + 1):
        step = d[i] - d[i - 1]
        v1 += step * (h[i] + h[i - 1])
        v2 += step * (h[i] * (2.0 * d[i] + d[i - 1]) + h[i - 1] * (d[i] + 2.0 * d[i - 1]))
    hst = (2.0 * v1 * total - v2) / total**2
    hsr = (v2 - v1 * total) / total**2
    highest = -1e30
    slope_t = -1e30
    slope_r = -1e30
    for i in range(1, last):
        over = h[i] - (hts * (total - d[i]) + hrs * d[i]) / total
        highest = max(highest, over)
        slope_t = max(slope_t, over / d[i])
        slope_r = max(slope_r, over / (total - d[i]))
    if highest <= 0.0:
        return hst, hsr, hst, hsr
    share = slope_t / (slope_t + slope_r)
    return hst, hsr, hst - highest * share, hsr - highest * (1.0 - share)


@njit(cache=True, nogil=True)
def zone_lengths(d, zone):
    """Share of sea, longest stretch of land and of inland, km; a border lies half way between two points (P.1812-8, 3.6)."""
    last = d.size - 1
    sea = 0.0
    land = 0.0
    inland = 0.0
    most_land = 0.0
    most_inland = 0.0
    for i in range(last + 1):
        start = 0.0 if i == 0 else 0.5 * (d[i - 1] + d[i])
        end = d[last] if i == last else 0.5 * (d[i] + d[i + 1])
        if zone[i] == ZONE_SEA:
            sea += end - start
            land = 0.0
        else:
            land += end - start
        inland = inland + end - start if zone[i] == ZONE_INLAND else 0.0
        most_land = max(most_land, land)
        most_inland = max(most_inland, inland)
    return min(1.0, sea / d[last]), most_land, most_inland


@njit(cache=True, nogil=True)
def mean_ground(d_m, h):
    """Mean ground height from 3 to 15 km along a path, or from 0.2 d to d where it is shorter than 15 km (P.1546-6, annex 5, 3.2)."""
    last = d_m.size - 1
    start, end = 3000.0, 15000.0
    if d_m[last] < end:
        start, end = 0.2 * d_m[last], d_m[last]
    area = 0.0
    for i in range(1, last + 1):
        low, high = max(d_m[i - 1], start), min(d_m[i], end)
        if high > low:
            slope = (h[i] - h[i - 1]) / (d_m[i] - d_m[i - 1])
            area += (high - low) * (h[i - 1] + slope * (0.5 * (low + high) - d_m[i - 1]))
    return area / (end - start)


@njit(cache=True, nogil=True)
def geometry(d, h, g, zone, hts, hrs, ae_km, abeta_km):
    """Everything of a path that does not depend on frequency.

    d (steps,) km rising from 0; h (steps,) ground above sea level, m; g (steps,) the same with clutter, except at the ends;
    zone (steps,) 1 sea, 3 coastal, 4 inland; hts, hrs antenna heights above sea level; returns (GEOMETRY_SIZE,).
    """
    out = np.zeros(GEOMETRY_SIZE)
    last = d.size - 1
    total = d[last]
    out[D_KM], out[HTS], out[HRS], out[AE_KM], out[ABETA_KM] = total, hts, hrs, ae_km, abeta_km
    out[OMEGA], out[DTM_KM], out[DLM_KM] = zone_lengths(d, zone)

    hst, hsr, hstp, hsrp = smooth_earth(d, h, hts, hrs)
    hstd = min(hstp, h[0])
    hsrd = min(hsrp, h[last])
    out[HSTD], out[HSRD] = hstd, hsrd
    out[HTE_DIFFRACTION], out[HRE_DIFFRACTION] = hts - hstd, hrs - hsrd
    flat = np.zeros(d.size)
    out[NU_ACTUAL] = bullington_edge(d, g, hts, hrs, ae_km)[0]
    out[NU_ACTUAL_BETA] = bullington_edge(d, g, hts, hrs, abeta_km)[0]
    out[NU_SMOOTH] = bullington_edge(d, flat, hts - hstd, hrs - hsrd, ae_km)[0]
    out[NU_SMOOTH_BETA] = bullington_edge(d, flat, hts - hstd, hrs - hsrd, abeta_km)[0]

    # radio horizons are those of the bare ground: the reference results count clutter in the diffraction alone
    theta_direct = 1000.0 * math.atan((hrs - hts) / (1e3 * total) - total / (2.0 * ae_km))
    theta_t = -1e30
    theta_r = -1e30
    at_t = 1
    at_r = 1
    for i in range(1, last):
        angle = 1000.0 * math.atan((h[i] - hts) / (1e3 * d[i]) - d[i] / (2.0 * ae_km))
        if angle > theta_t:
            theta_t = angle
            at_t = i
        to_rx = total - d[i]
        angle = 1000.0 * math.atan((h[i] - hrs) / (1e3 * to_rx) - to_rx / (2.0 * ae_km))
        if angle >= theta_r:
            theta_r = angle
            at_r = i
    edge, nu_edge = dominant_edge(d, g, hts, hrs, ae_km)
    out[EDGE_KM], out[NU_EDGE] = d[edge], nu_edge
    if theta_t > theta_direct:
        out[DLT_KM], out[DLR_KM] = d[at_t], total - d[at_r]
    else:
        out[LINE_OF_SIGHT] = 1.0
        theta_t = theta_direct
        theta_r = 1000.0 * math.atan((hts - hrs) / (1e3 * total) - total / (2.0 * ae_km))
        at_t = dominant_edge(d, h, hts, hrs, ae_km)[0]
        at_r = at_t
        out[DLT_KM], out[DLR_KM] = d[at_t], total - d[at_t]
    out[THETA_T], out[THETA_R] = theta_t, theta_r
    out[THETA] = 1e3 * total / ae_km + theta_t + theta_r

    # smooth Earth of the ducting part, and the roughness over it between the horizons
    hst = min(hst, h[0])
    hsr = min(hsr, h[last])
    out[HTE_DUCTING], out[HRE_DUCTING] = hts - hst, hrs - hsr
    slope = (hsr - hst) / total
    rough = -1e30
    for i in range(at_t, at_r + 1):
        rough = max(rough, h[i] - (hst + slope * d[i]))
    out[ROUGHNESS_M] = rough
    return out


@njit(cache=True, nogil=True)
def knife_edge_db(nu):
    """Loss of one knife edge, dB (P.526-16, 4.1, eq. 31)."""
    if nu <= -0.78:
        return 0.0
    return 6.9 + 20.0 * math.log10(math.sqrt((nu - 0.1) ** 2 + 1.0) + nu - 0.1)


@njit(cache=True, nogil=True)
def bullington_db(nu_length, d_km, wavelength_m):
    """Loss of the Bullington construction, dB, from nu*sqrt(wavelength) (P.1812-8, 4.3.1)."""
    edge = knife_edge_db(nu_length / math.sqrt(wavelength_m))
    return edge + (1.0 - math.exp(-edge / 6.0)) * (10.0 + 0.02 * d_km)


@njit(cache=True, nogil=True)
def _height_gain_db(b, k):
    gain = 17.6 * math.sqrt(b - 1.1) - 5.0 * math.log10(b - 1.1) - 8.0 if b > 2.0 else 20.0 * math.log10(b + 0.1 * b**3)
    return max(gain, 2.0 + 20.0 * math.log10(k))


@njit(cache=True, nogil=True)
def _first_term_ground_db(d_km, hte, hre, a_km, f_ghz, vertical, eps, sigma):
    lossy = (18.0 * sigma / f_ghz) ** 2
    k = 0.036 * (a_km * f_ghz) ** (-1.0 / 3.0) * ((eps - 1.0) ** 2 + lossy) ** -0.25
    if vertical:
        k *= math.sqrt(eps**2 + lossy)
    k2 = k * k
    beta = (1.0 + 1.6 * k2 + 0.67 * k2 * k2) / (1.0 + 4.5 * k2 + 1.53 * k2 * k2)
    x = 21.88 * beta * (f_ghz / a_km**2) ** (1.0 / 3.0) * d_km
    y = 0.9575 * beta * (f_ghz**2 / a_km) ** (1.0 / 3.0)
    fx = 11.0 + 10.0 * math.log10(x) - 17.6 * x if x >= 1.6 else -20.0 * math.log10(x) - 5.6488 * x**1.425
    return -fx - _height_gain_db(beta * y * hte, k) - _height_gain_db(beta * y * hre, k)


@njit(cache=True, nogil=True)
def first_term_db(d_km, hte, hre, a_km, f_ghz, vertical, omega):
    """First term of the residue series over a mix of land and sea, dB (P.1812-8, 4.3.3)."""
    loss = 0.0
    if omega < 1.0:
        loss += (1.0 - omega) * _first_term_ground_db(d_km, hte, hre, a_km, f_ghz, vertical, 22.0, 0.003)
    if omega > 0.0:
        loss += omega * _first_term_ground_db(d_km, hte, hre, a_km, f_ghz, vertical, 80.0, 5.0)
    return loss


@njit(cache=True, nogil=True)
def spherical_earth_db(d_km, hte, hre, a_km, f_ghz, vertical, omega):
    """Diffraction loss of a smooth Earth, dB (P.1812-8, 4.3.2)."""
    sight = math.sqrt(2.0 * a_km) * (math.sqrt(0.001 * hte) + math.sqrt(0.001 * hre))
    if d_km >= sight:
        return first_term_db(d_km, hte, hre, a_km, f_ghz, vertical, omega)
    c = (hte - hre) / (hte + hre)
    m = 250.0 * d_km**2 / (a_km * (hte + hre))
    turn = math.acos(max(-1.0, min(1.0, 1.5 * c * math.sqrt(3.0 * m / (m + 1.0) ** 3))))
    b = 2.0 * math.sqrt((m + 1.0) / (3.0 * m)) * math.cos(math.pi / 3.0 + turn / 3.0)
    d1 = 0.5 * d_km * (1.0 + b)
    d2 = d_km - d1
    clear = ((hte - 500.0 * d1**2 / a_km) * d2 + (hre - 500.0 * d2**2 / a_km) * d1) / d_km
    needed = 17.456 * math.sqrt(d1 * d2 * (WAVELENGTH_M_GHZ / f_ghz) / d_km)
    if clear > needed:
        return 0.0
    a_touching = 500.0 * (d_km / (math.sqrt(hte) + math.sqrt(hre))) ** 2
    loss = first_term_db(d_km, hte, hre, a_touching, f_ghz, vertical, omega)
    return 0.0 if loss < 0.0 else (1.0 - clear / needed) * loss
