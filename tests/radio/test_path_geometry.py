"""Profiles that can and can't be used, and what is made of them before any frequency."""

import dataclasses
import math

import numpy as np
import pytest
from radio.radio_paths import profile

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio import kernels
from siteplan.radio.path_geometry import beta0_pct, coasts_m, prepare

pytestmark = pytest.mark.quick
HEIGHTS = {"tx_height_agl_m": 30.0, "rx_height_agl_m": 10.0}


def test_clutter_is_left_out_at_both_ends():
    distance, clutter = np.linspace(0.0, 5000.0, 11), np.full(11, 8.0)
    ends_bare = clutter.copy()
    ends_bare[[0, -1]] = 0.0
    full, bare = (prepare(profile(distance, 100.0, cover), **HEIGHTS) for cover in (clutter, ends_bare))
    assert np.array_equal(full.values, bare.values)
    assert full.rx_clutter_m == 8.0


def test_profile_is_not_changed():
    given = profile(np.linspace(0.0, 5000.0, 11), 100.0, np.full(11, 8.0))
    before = dataclasses.replace(given, ground_amsl_m=given.ground_amsl_m.copy(), clutter_m=given.clutter_m.copy())
    prepare(given, **HEIGHTS)
    assert np.array_equal(given.ground_amsl_m, before.ground_amsl_m)
    assert np.array_equal(given.clutter_m, before.clutter_m)


def test_line_of_sight_by_hand():
    """10 km over flat ground from 30 m to 10 m: in sight, horizon angles those of the straight line."""
    found = prepare(profile(np.linspace(0.0, 10_000.0, 101), 50.0), **HEIGHTS)
    ae = 6371.0 * 157.0 / 112.0
    assert found.values[kernels.AE_KM] == pytest.approx(ae)
    assert found.values[kernels.LINE_OF_SIGHT] == 1.0
    assert found.values[kernels.THETA_T] == pytest.approx(1000.0 * math.atan(-0.002 - 10.0 / (2.0 * ae)))
    assert found.values[kernels.THETA] == pytest.approx(0.0, abs=1e-3)
    assert found.values[kernels.HTE_DIFFRACTION] == pytest.approx(30.0)


def test_the_edge_that_blocks():
    """One hill of 80 m at 6 km of 10 km: the governing edge, and both horizons."""
    ground = np.full(101, 50.0)
    ground[60] = 130.0
    found = prepare(profile(np.linspace(0.0, 10_000.0, 101), ground), **HEIGHTS)
    assert found.values[kernels.EDGE_KM] == pytest.approx(6.0)
    assert found.values[kernels.DLT_KM] == pytest.approx(6.0)
    assert found.values[kernels.DLR_KM] == pytest.approx(4.0)
    assert found.values[kernels.LINE_OF_SIGHT] == 0.0


def test_coasts_from_zones():
    distance = np.arange(0.0, 12_000.0, 2_000.0)
    assert coasts_m(profile(distance, 0.0)) == (500_000.0, 500_000.0)
    mixed = profile(distance, 0.0, zone=[4, 3, 1, 1, 3, 4])
    assert coasts_m(mixed) == (3000.0, 3000.0)
    assert coasts_m(profile(distance, 0.0, zone=[1, 1, 1, 1, 3, 4])) == (0.0, 3000.0)
    found = prepare(mixed, **HEIGHTS, tx_coast_m=0.0)
    assert (found.tx_coast_m, found.rx_coast_m) == (0.0, 3000.0)


def test_beta0_turns_at_70_degrees():
    """Both branches of P.1812-8, eqs (3) to (5), meet at 70 degrees but for their printed figures (4.17 for 10^0.62)."""
    assert beta0_pct(69.999, 50.0, 50.0) == pytest.approx(beta0_pct(-70.001, 50.0, 50.0), rel=0.01)
    assert beta0_pct(0.0, 0.001, 0.001) > beta0_pct(60.0, 0.001, 0.001)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"distance_m": [0.0, 500.0, 400.0, 900.0]}, "rise from point to point"),
        ({"distance_m": [1.0, 500.0, 600.0, 900.0]}, "begin at 0"),
        ({"distance_m": [0.0, 500.0, 500.0, 900.0]}, "rise from point to point"),
        ({"distance_m": [0.0, math.nan, 600.0, 900.0]}, "1 of 4 points .* no distance"),
        ({"ground_amsl_m": [10.0, math.nan, math.nan, 10.0]}, "2 of 4 points .* no ground height, first at 0.500 km"),
        ({"clutter_m": [0.0, math.inf, 0.0, 0.0]}, "no clutter height"),
        ({"clutter_m": [0.0, -1.0, 0.0, 0.0]}, "below 0"),
        ({"zone": [4, 2, 4, 4]}, "zone"),
        ({"zone": [4, 4, 4]}, "differ in length"),
    ],
)
def test_profiles_that_cannot_be_used(change, says):
    good = profile([0.0, 500.0, 600.0, 900.0], 10.0)
    bad = dataclasses.replace(good, **{name: np.asarray(value) for name, value in change.items()})
    with pytest.raises(InputError, match=says):
        prepare(bad, **HEIGHTS)


def test_other_arguments_out_of_place():
    good = profile([0.0, 500.0, 600.0, 900.0], 10.0)
    with pytest.raises(InputError, match="at least 3 points"):
        prepare(profile([0.0, 500.0], 10.0), **HEIGHTS)
    for height in (0.0, -3.0, math.nan):
        with pytest.raises(InputError, match="sender"):
            prepare(good, tx_height_agl_m=height, rx_height_agl_m=10.0)
    with pytest.raises(MethodRangeError, match="delta_n"):
        prepare(good, **HEIGHTS, delta_n=160.0)
    with pytest.raises(MethodRangeError, match="n0"):
        prepare(good, **HEIGHTS, n0=math.nan)
    with pytest.raises(MethodRangeError, match="latitude"):
        prepare(good, **HEIGHTS, lat_mid_deg=91.0)
    with pytest.raises(InputError, match="coast"):
        prepare(good, **HEIGHTS, tx_coast_m=-1.0)


def test_three_points_are_enough():
    found = prepare(profile([0.0, 3000.0, 8000.0], [10.0, 60.0, 10.0]), **HEIGHTS)
    assert np.isfinite(found.values).all()
    assert found.values[kernels.EDGE_KM] == pytest.approx(3.0)
