"""What must hold of any path: order, ends that swap, and numbers everywhere."""

import math

import numpy as np
import pytest
from radio.radio_paths import rough

from siteplan.radio import kernels
from siteplan.radio.methods import p1812
from siteplan.radio.path_geometry import prepare
from siteplan.records.results import Profile
from siteplan.services.shared.paths import work_path

SEED = 20265


def some_paths(count, **more):
    rng = np.random.default_rng(SEED)
    for _ in range(count):
        yield rng, rough(rng, float(10 ** rng.uniform(2.5, 5.5)), roughness_m=float(rng.choice([0.0, 0.3, 3.0, 15.0])), **more)


def turned(made):
    return Profile(
        (made.distance_m[-1] - made.distance_m[::-1]).round(3),
        made.ground_amsl_m[::-1].copy(),
        made.clutter_m[::-1].copy(),
        made.zone[::-1].copy(),
        0.0,
        made.lat_mid_deg,
    )


def test_every_intermediate_is_a_number():
    for rng, made in some_paths(300):
        path = prepare(made, tx_height_agl_m=float(rng.uniform(1, 300)), rx_height_agl_m=float(rng.uniform(1, 30)))
        found = p1812.loss_db(path, frequency_mhz=float(rng.uniform(30, 6000)), time_pct=float(rng.uniform(1, 50)))
        assert all(math.isfinite(value) for value in found.intermediates.values()), f"seed {SEED}"
        assert found.loss_db >= found.intermediates["line_of_sight_p_db"]


def test_diffraction_is_the_same_from_either_end():
    """Free space and delta-Bullington diffraction do not know which end sends; the sums run the other way round, hence 1e-6."""
    for rng, made in some_paths(200):
        tx, rx = float(rng.uniform(1, 300)), float(rng.uniform(1, 300))
        mhz = float(rng.uniform(30, 6000))
        there = p1812.loss_db(prepare(made, tx_height_agl_m=tx, rx_height_agl_m=rx), frequency_mhz=mhz)
        back = p1812.loss_db(prepare(turned(made), tx_height_agl_m=rx, rx_height_agl_m=tx), frequency_mhz=mhz)
        for name in ("free_space_db", "bullington_actual_50_db", "bullington_smooth_50_db", "spherical_earth_50_db", "diffraction_p_db"):
            assert back.intermediates[name] == pytest.approx(there.intermediates[name], abs=1e-6), f"seed {SEED}, {name}"


def test_loss_is_the_same_from_either_end_without_ducting():
    """With all of it: on land and at 50 % of time the whole loss swaps too, within what the ducting term's heights round to."""
    for rng, made in some_paths(100):
        made.zone[:] = 4
        tx, rx = float(rng.uniform(1, 300)), float(rng.uniform(1, 300))
        there = p1812.loss_db(prepare(made, tx_height_agl_m=tx, rx_height_agl_m=rx), frequency_mhz=600.0)
        back = p1812.loss_db(prepare(turned(made), tx_height_agl_m=rx, rx_height_agl_m=tx), frequency_mhz=600.0)
        assert back.loss_db == pytest.approx(there.loss_db, abs=1e-5), f"seed {SEED}"


def test_less_time_and_fewer_places_never_lose_more():
    for rng, made in some_paths(100):
        path = prepare(made, tx_height_agl_m=float(rng.uniform(1, 300)), rx_height_agl_m=float(rng.uniform(1, 30)))
        by_place = [p1812.loss_db(path, frequency_mhz=600.0, location_pct=share).loss_db for share in (1, 20, 50, 80, 99)]
        assert by_place == sorted(by_place)
        scatter = [p1812.loss_db(path, frequency_mhz=600.0, time_pct=share).intermediates["troposcatter_db"] for share in (1, 5, 20, 50)]
        assert scatter == sorted(scatter)


def test_a_higher_obstacle_never_lets_more_through():
    """One hill grown: the Bullington loss of the actual profile never falls (the smooth-Earth part may)."""
    distance = np.linspace(0.0, 20_000.0, 81)
    before = -1.0
    for top in range(0, 400, 10):
        ground = np.full(81, 50.0)
        ground[37] += top
        made = Profile(distance, ground, np.zeros(81), np.full(81, 4, np.uint8), 0.0, 50.0)
        found = p1812.loss_db(prepare(made, tx_height_agl_m=50.0, rx_height_agl_m=10.0), frequency_mhz=600.0)
        assert found.intermediates["bullington_actual_50_db"] >= before
        before = found.intermediates["bullington_actual_50_db"]


def test_a_taller_mast_never_sees_its_horizon_higher():
    for _, made in some_paths(100):
        angles = [prepare(made, tx_height_agl_m=height, rx_height_agl_m=10.0).values for height in (5.0, 20.0, 80.0, 300.0)]
        edge = [value[kernels.NU_EDGE] for value in angles]
        assert edge == sorted(edge, reverse=True), f"seed {SEED}"


def test_many_frequencies_are_each_alone():
    for rng, made in some_paths(20):
        heights = {"tx_height_agl_m": float(rng.uniform(1, 300)), "rx_height_agl_m": 10.0}
        together = work_path(made, frequencies_mhz=[198.5, 482.0, 690.0], polarisations=["v", "h", "v"], erps_kw=[1.0, 2.0, 0.5], **heights)
        for place, (mhz, letter, power) in enumerate(((198.5, "v", 1.0), (482.0, "h", 2.0), (690.0, "v", 0.5))):
            (alone,) = work_path(made, frequencies_mhz=[mhz], polarisations=letter, erps_kw=power, **heights)
            assert alone.intermediates == together[place].intermediates
            assert alone.field_strength_dbuv_per_m == together[place].field_strength_dbuv_per_m
