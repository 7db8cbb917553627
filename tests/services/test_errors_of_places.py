"""Each place a ray is held against has the height error of its own layer, and of the mount, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hand_ground import CRS, LAT, LON, ON, judged, layer, plan, satellite, wall

from siteplan.records.ground import Grid, Layer, Surface
from siteplan.records.places import Address
from siteplan.records.plan import MountTable
from siteplan.records.verdict import State
from siteplan.services.satellite.judge import spot_and_looks
from siteplan.services.satellite.spot_work import _sigmas
from siteplan.services.shared.site import Land, site_of
from siteplan.terrain.view import prepare


def _far(height_m=100.0, error_m=10.0) -> Layer:
    """Bare ground, 50 m cells, 20 km around."""
    z = np.full((800, 800), height_m, dtype=np.float32)
    return Layer(Grid(z, (50.0, 0.0, 480_000.0, 0.0, -50.0, 5_320_000.0), CRS, 50.0, "far"), height_error_m=error_m, name="far")


def _work(*layers, made=None):
    surface = Surface(tuple(layers))
    land = Land(surface, prepare(surface), ON)
    made = made or plan()
    site = site_of(Address(2, "a", "A", LAT, LON, 1.0, True, (), "ground"), land, made.mount)
    work, (look,) = spot_and_looks(site, land, (satellite(),), made)
    return work, look


def test_errors_near_and_far_by_hand():
    work, look = _work(layer(*wall(30, 2), error_m=0.3), _far())
    top = 1.0 * 0.7 / math.sqrt(12.0)  # of a 1 m cell
    near, far = math.sqrt(0.3**2 + 0.3**2 + top**2 + 0.1**2), math.sqrt(0.3**2 + 10.0**2 + 0.1**2)
    found = work.errors_m(look, np.array([0.5, math.nan, 30.0, 5_000.0, 90_000.0]))
    assert found == pytest.approx([near, near, near, far, near])  # where nothing is known the spot's own layer is taken
    assert work.error_m(look, 5_000.0) == pytest.approx(far)


def test_the_least_metres_are_held_against_the_error_of_where_they_are():
    # a ray 35 degrees up that has 20 degrees to spare over a wall at 10 m, and 6 m to spare at a place known to 3 m: 2 sigmas there
    _, look = _work(layer(*wall(30, 2)), _far())
    at_wall = 10.0 * (math.tan(math.radians(look.elevation_deg)) - math.tan(math.radians(look.elevation_deg - 20.0))) / 0.5
    at_least = 6.0 / math.cos(math.radians(look.elevation_deg)) / 3.0
    one = (np.array([20.0]), np.array([10.0]), np.array([6.0]))
    assert _sigmas(look, *one, (np.array([0.5]), np.array([3.0])))[0] == pytest.approx(at_least) and at_least < at_wall
    assert _sigmas(look, *one, (np.array([0.5]), np.array([0.1])))[0] == pytest.approx(at_wall)


def test_an_unsure_mount_height_takes_a_booking_away():
    # 3 m up, 16 m of wall at 20 m: 1.0 m of tube room; 0.1 m of mount error books it, 5 m does not
    layers = [layer(*wall(20, 15))]
    sure, _ = judged(layers, made=plan(growth_m_per_year=0.0))
    assert sure.state is State.BOOK
    shaky = plan(growth_m_per_year=0.0).model_copy(update={"mount": MountTable(height_error_m=5.0)})
    unsure, _ = judged(layers, made=shaky)
    assert unsure.state is State.SURVEY_FIRST and unsure.probability < sure.probability
