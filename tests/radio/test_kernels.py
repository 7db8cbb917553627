"""The compiled loops against plain numpy, and uncompiled against compiled."""

import math

import numpy as np
import pytest
from radio.radio_paths import rough

from siteplan.radio import kernels
from siteplan.radio.methods import kernels as algebra

SEED = 20261


def arguments(rng):
    made = rough(rng, float(rng.uniform(300.0, 90_000.0)))
    km, ground = made.distance_m / 1000.0, made.ground_amsl_m
    with_clutter = ground + made.clutter_m
    with_clutter[0], with_clutter[-1] = ground[0], ground[-1]
    return km, ground, with_clutter, made.zone, ground[0] + rng.uniform(2, 200), ground[-1] + rng.uniform(1, 30), 8500.0, 19113.0


def by_numpy(km, ground, with_clutter, hts, hrs, radius):
    """The searches written once more as array sums (P.1812-8, 4.3.1 and attachment 1)."""
    total, d = km[-1], km[1:-1]
    top = with_clutter[1:-1] + 500.0 / radius * d * (total - d)
    stim, direct = np.max((top - hts) / d), (hrs - hts) / total
    if stim <= direct:
        nu = np.max((top - (hts * (total - d) + hrs * d) / total) * np.sqrt(0.002 * total / (d * (total - d))))
    else:
        srim = np.max((top - hrs) / (total - d))
        at = (hrs - hts + srim * total) / (stim + srim)
        nu = (hts + stim * at - (hts * (total - at) + hrs * at) / total) * math.sqrt(0.002 * total / (at * (total - at)))
    theta_t = 1000.0 * np.arctan((ground[1:-1] - hts) / (1e3 * d) - d / (2.0 * radius)).max()
    theta_d = 1000.0 * math.atan((hrs - hts) / (1e3 * total) - total / (2.0 * radius))
    # the smooth Earth is the straight line of least squares under the polyline, here by dense numeric integration
    fine = np.linspace(0.0, total, 20_001)
    slope, level = np.polyfit(fine, np.interp(fine, km, ground), 1)
    return nu, max(theta_t, theta_d), level, level + slope * total


@pytest.mark.quick
def test_geometry_against_numpy():
    rng = np.random.default_rng(SEED)
    for _ in range(60):
        km, ground, with_clutter, zone, hts, hrs, ae, abeta = arguments(rng)
        found = kernels.geometry(km, ground, with_clutter, zone, hts, hrs, ae, abeta)
        nu, theta_t, hst, hsr = by_numpy(km, ground, with_clutter, hts, hrs, ae)
        assert found[kernels.NU_ACTUAL] == pytest.approx(nu, rel=1e-9, abs=1e-9), f"seed {SEED}"
        assert found[kernels.THETA_T] == pytest.approx(theta_t, rel=1e-12)
        assert hts - found[kernels.HTE_DUCTING] == pytest.approx(min(hst, ground[0]), abs=0.02)
        assert hrs - found[kernels.HRE_DUCTING] == pytest.approx(min(hsr, ground[-1]), abs=0.02)
        beta, *_ = by_numpy(km, ground, with_clutter, hts, hrs, abeta)
        assert found[kernels.NU_ACTUAL_BETA] == pytest.approx(beta, rel=1e-9, abs=1e-9)


def test_uncompiled_is_compiled():
    rng = np.random.default_rng(SEED + 1)
    for _ in range(10):
        args = arguments(rng)
        compiled = kernels.geometry(*args)
        assert kernels.geometry.py_func(*args) == pytest.approx(compiled, rel=1e-12, abs=1e-12), f"seed {SEED + 1}"
        asked = (compiled, 0.6, 10.0, 4.0, 325.0, 500.0, 500.0, True)
        assert algebra.terms.py_func(*asked) == pytest.approx(algebra.terms(*asked), rel=1e-11, abs=1e-11)


@pytest.mark.quick
def test_zone_lengths_by_hand():
    """Points at 0, 2, 4, 6, 8, 10 km: borders at 3 (to coast), 5 (to sea) and 9 km (to inland)."""
    km = np.arange(0.0, 12.0, 2.0)
    sea, land, inland = kernels.zone_lengths(km, np.array([4, 4, 3, 1, 1, 4], dtype=np.uint8))
    assert (sea, land, inland) == pytest.approx((0.4, 5.0, 3.0))


@pytest.mark.quick
def test_grazing_ray_is_no_division_by_nothing():
    """The ray touches the only edge exactly: nu is 0 from both sides of the line-of-sight test."""
    km, flat = np.array([0.0, 5.0, 10.0]), np.zeros(3)
    radius = 12_500.0  # bulges by 1 m half way, exactly
    nu, sight = kernels.bullington_edge(km, flat, 1.0, 1.0, radius)
    assert (nu, sight) == (0.0, 1.0)
    below, hidden = kernels.bullington_edge(km, flat, 1.0 - 1e-9, 1.0 - 1e-9, radius)
    assert below == pytest.approx(0.0, abs=1e-6)
    assert hidden == 0.0


@pytest.mark.quick
def test_inverse_normal():
    """The rational approximation of P.1812 lies within 4.5e-4 of the quantile, and is odd about one half."""
    from statistics import NormalDist

    for share in (0.01, 0.043, 0.1, 0.3, 0.5):
        assert algebra.inverse_normal(share) == pytest.approx(-NormalDist().inv_cdf(share), abs=4.6e-4)
        assert algebra.inverse_normal(1.0 - share) == pytest.approx(-algebra.inverse_normal(share), abs=1e-8)  # 1.3e-9 at one half


@pytest.mark.quick
def test_term_names_fill_the_array():
    assert len(algebra.TERM_NAMES) == len(set(algebra.TERM_NAMES)) == algebra.TERM_COUNT
