"""Clearance of a dish's ray: answers worked on paper."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scenes

from siteplan.errors import InputError, MethodRangeError
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, Layer, Surface
from siteplan.sky.clearance import MEDIAN_K, clearances, covered_share, edge_loss_db, needed_clearance_m, ray_clearance
from siteplan.sky.horizon import single_rays
from siteplan.sky.refraction import refraction_deg
from siteplan.terrain.view import local_view, prepare

pytestmark = pytest.mark.quick
HOW = dict(look_azimuth_deg=180.0, look_elevation_deg=30.0, dish_m=0.8, frequency_mhz=11_700.0)
WAVELENGTH_M = 299_792_458.0 / 11.7e9
APPARENT = math.radians(30.0 + float(refraction_deg(elevation_deg=30.0, height_amsl_m=103.0)))


def view_of(surface):
    return local_view(prepare(surface), lat_deg=scenes.LAT, lon_deg=scenes.LON, radius_m=20_000.0)


def wall(height_m, near_m=20.0, **how):
    return view_of(scenes.wall(near_m=near_m, height_m=height_m, **how))


def over_wall(height_m, near_m=20.0, eye=103.0):
    """Clearance over the near top edge of a wall, perpendicular to the ray."""
    d = near_m / scenes.SCALE
    return (eye + d * math.tan(APPARENT) - 100.0 - height_m) * math.cos(APPARENT), d


def test_over_open_ground_all_is_clear():
    found = ray_clearance(view_of(scenes.flat()), eye_amsl_m=103.0, **HOW)
    assert found.state == "clear" and found.loss_db == 0.0 and found.kind == "ground"
    assert 29.0 < found.spare_deg < found.centre_spare_deg < 32.0
    assert found.known_to_m == pytest.approx(100.0 / scenes.SCALE, abs=0.1)


@pytest.mark.parametrize("height_m", [10.0, 13.0, 14.0, 14.5, 15.5, 20.0])
def test_a_wall_is_passed_missed_or_hit(height_m):
    """At 20 m the ray from 3 m up is at 14.55 m; the needed 0.4 + 0.6 sqrt(0.0256 * 23) = 0.86 m is 1.0 m of height there."""
    clear, d = over_wall(height_m)
    need = float(needed_clearance_m(d / math.cos(APPARENT), dish_m=0.8, frequency_mhz=11_700.0))
    assert need == pytest.approx(0.4 + 0.6 * math.sqrt(WAVELENGTH_M * d / math.cos(APPARENT)))
    found = ray_clearance(wall(height_m), eye_amsl_m=103.0, **HOW)
    assert found.state == ("clear" if clear >= need else "partly" if clear >= 0 else "blocked")
    if clear < 5.0:
        assert found.kind == "building" and found.bearing_deg == pytest.approx(180.0, abs=2.5)
        assert found.distance_m == pytest.approx(d, abs=0.6)
        assert found.obstacle_amsl_m == pytest.approx(100 + height_m, abs=0.6) and found.obstacle_agl_m == pytest.approx(height_m, abs=0.6)
        needed_deg = math.degrees(math.atan2(height_m - 3.0, d))
        assert found.centre_spare_deg == pytest.approx(math.degrees(APPARENT) - needed_deg, abs=0.02)
        lifted = math.degrees(math.atan2(height_m - 3.0 + need / math.cos(APPARENT), d))
        assert found.spare_deg == pytest.approx(math.degrees(APPARENT) - lifted, abs=0.05)
        if found.state == "blocked":
            assert found.clearance_m == pytest.approx(clear, abs=0.02)


def test_margins_in_metres_are_those_of_the_wall_also_where_far_hills_are_tighter_in_angle():
    ground = scenes.square(lambda e, n: 100.0 + np.where(n < -1500, 800.0, 0.0), half=450, cell=5.0)
    fine = scenes.wall(near_m=20.0, height_m=12.0)
    view = view_of(Surface((*fine.layers, Layer(ground))))
    found = clearances(view, eyes=[[0.0, 0.0, 103.0]], **HOW)
    clear, d = over_wall(12.0)
    need = float(needed_clearance_m(d / math.cos(APPARENT), dish_m=0.8, frequency_mhz=11_700.0))
    assert found.distance_m[0] == pytest.approx(1500.0, rel=0.02)  # tightest in angle
    assert found.clearance_m[0] > 30.0
    assert found.margin_m[0] == pytest.approx(clear - need, abs=0.03)
    assert found.centre_margin_m[0] == pytest.approx(clear, abs=0.01)
    assert found.margin_distance_m[0] == pytest.approx(d, abs=0.5)


def test_a_wall_beside_the_ray_counts_by_its_distance_to_the_side():
    def beside(gap):
        ground = scenes.square(lambda e, n: 100.0 + 0 * e, cell=0.25, half=160)
        return scenes.land(ground, scenes.square(lambda e, n: np.where(e >= gap, 140.0, 100.0), cell=0.25, half=160))

    near, far = (ray_clearance(view_of(beside(gap)), eye_amsl_m=103.0, **HOW) for gap in (0.75, 5.0))
    assert near.state == "partly" and near.kind == "building"
    assert 0.2 < near.clearance_m < 0.75 and near.clearance_m < near.needed_m
    assert far.state == "clear"
    east, west = (ray_clearance(view_of(beside(5.0)), eye_amsl_m=103.0, offset_east_m=off, **HOW).state for off in (4.3, -4.3))
    assert (east, west) == ("partly", "clear")


def test_only_growth_grows_and_ground_alone_is_ground_alone():
    for kind, state in ((KIND_GROWTH, "blocked"), (KIND_BUILDING, "clear")):
        view = wall(13.0, kind=kind)
        assert ray_clearance(view, eye_amsl_m=103.0, **HOW).state == "clear"
        later = ray_clearance(view, eye_amsl_m=103.0, growth_m=3.0, **HOW)
        assert later.state == state
        assert later.kind == ("growth" if kind == KIND_GROWTH else later.kind)
    bare = ray_clearance(wall(40.0), eye_amsl_m=103.0, ground_only=True, **HOW)
    assert bare.state == "clear" and bare.kind == "ground"
    hill = scenes.square(lambda e, n: np.where(n < -50, 160.0, 100.0))
    assert ray_clearance(view_of(Surface((Layer(hill),))), eye_amsl_m=103.0, ground_only=True, **HOW).state == "blocked"


def test_own_support_is_left_out_and_the_own_building_is_not():
    ground = scenes.square(lambda e, n: 100.0 + 0 * e, cell=0.5)
    house = scenes.square(lambda e, n: np.where((np.abs(e) < 6) & (np.abs(n) < 6), 106.0, 100.0), cell=0.5)
    top = scenes.square(lambda e, n: np.where(np.hypot(e, n) < 0.9, 109.0, house.z_m), cell=0.5)
    view = view_of(scenes.land(ground, top))
    assert ray_clearance(view, eye_amsl_m=108.0, **HOW).state == "blocked"
    assert ray_clearance(view, eye_amsl_m=108.0, own_support_m=1.5, **HOW).state == "clear"
    ridge = scenes.square(lambda e, n: np.where(np.abs(n + 4) < 0.3, 115.0, 100.0), cell=0.5)
    assert ray_clearance(view_of(scenes.land(ground, ridge)), eye_amsl_m=108.0, own_support_m=1.5, **HOW).state == "blocked"


def test_ray_and_horizon_bend_alike():
    """The ray leaves at its apparent elevation over an Earth of 4/3 the radius: a far ridge stands 1/4 of its drop higher than geometry."""
    ground = scenes.square(lambda e, n: np.where(np.abs(n + 15_000) < 30, 2000.0, 100.0), half=330, cell=50.0)
    view = view_of(Surface((Layer(ground),)))
    geometric = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[180.0])
    bent = single_rays(view, eye_amsl_m=103.0, azimuth_deg=[180.0], effective_radius_m=MEDIAN_K * scenes.EARTH_M)
    assert bent.elevation_deg[0] - geometric.elevation_deg[0] == pytest.approx(math.degrees(15_000 / 2 / scenes.EARTH_M / 4), rel=0.02)
    found = ray_clearance(view, eye_amsl_m=103.0, **{**HOW, "look_elevation_deg": 8.0})
    lift = float(refraction_deg(elevation_deg=8.0, height_amsl_m=103.0))
    assert found.centre_spare_deg == pytest.approx(8.0 + lift - bent.elevation_deg[0], abs=2e-3)


def test_many_eyes_are_each_their_own():
    view = wall(14.0)
    eyes = [[e, 0.0, z] for e in (0.0, 3.0) for z in (101.0, 103.0, 106.0)]
    found = clearances(view, eyes=eyes, **HOW)
    for k, (east, north, z) in enumerate(eyes):
        one = ray_clearance(view, eye_amsl_m=z, offset_east_m=east, offset_north_m=north, **HOW)
        other = found.one(k)
        assert one.state == other.state and one.kind == other.kind
        assert one.spare_deg == pytest.approx(other.spare_deg, abs=2e-3) and one.clearance_m == pytest.approx(other.clearance_m, abs=2e-2)


def test_without_data_nothing_is_claimed():
    void = view_of(Surface((Layer(scenes.square(lambda e, n: np.full(e.shape, np.nan), half=4)),)))
    found = ray_clearance(void, eye_amsl_m=103.0, **HOW)
    assert found.state == "unknown" and math.isnan(found.spare_deg) and found.kind == "unknown" and found.known_to_m == 0.0
    half = view_of(Surface((Layer(scenes.square(lambda e, n: np.where(n < 0, np.nan, 100.0))),)))
    assert ray_clearance(half, eye_amsl_m=103.0, **HOW).known_to_m < 1.0


@pytest.mark.parametrize(
    ("bad", "error"),
    [({"dish_m": 0.0}, MethodRangeError), ({"frequency_mhz": -1.0}, MethodRangeError), ({"look_elevation_deg": 90.0}, MethodRangeError),
     ({"own_support_m": -1.0}, InputError), ({"eye_amsl_m": float("nan")}, InputError)],
)  # fmt: skip
def test_questions_that_make_no_sense_are_refused(bad, error):
    with pytest.raises(error):
        ray_clearance(view_of(scenes.flat(half=5)), **{"eye_amsl_m": 103.0, **HOW, **bad})


def test_a_straight_edge_covers_a_segment_of_the_dish():
    assert covered_share(0.0, 0.8) == pytest.approx(0.5)
    assert covered_share([0.4, 1.0, -0.4, -3.0], 0.8) == pytest.approx([0.0, 0.0, 1.0, 1.0])
    # half the radius: pi/3 - sqrt(3)/4 over pi
    assert covered_share(0.2, 0.8) == pytest.approx((math.pi / 3 - math.sqrt(3) / 4) / math.pi)


def test_losses_are_shading_near_and_knife_edge_far():
    near = 2 * 0.8**2 / WAVELENGTH_M  # 50 m
    how = dict(dish_m=0.8, frequency_mhz=11_700.0)
    assert edge_loss_db(0.0, distance_m=10.0, **how) == pytest.approx(20 * math.log10(2))
    # ITU-R P.526: J(0) = 6.03 dB, J(1) = 13.9 dB, J(-0.78) = 0 dB
    assert edge_loss_db(0.0, distance_m=near * 2, **how) == pytest.approx(6.03, abs=0.01)
    edge = math.sqrt(WAVELENGTH_M * 200.0 / 2.0)
    assert edge_loss_db(-edge, distance_m=200.0, **how) == pytest.approx(13.9, abs=0.05)
    assert edge_loss_db(0.79 * edge, distance_m=200.0, **how) == 0.0
    free = edge_loss_db([5.0, 5.0], distance_m=[10.0, 300.0], **how)
    assert (free == 0.0).all() and not np.signbit(free).any()  # never -0.0
    assert edge_loss_db(-5.0, distance_m=10.0, **how) == 60.0
    c = np.linspace(-1.0, 1.0, 201)
    for d in (10.0, 300.0):
        assert (np.diff(edge_loss_db(c, distance_m=d, **how)) <= 1e-9).all()


def test_kinds_are_read_at_the_place():
    found = clearances(wall(16.0, kind=KIND_GROWTH), eyes=[[0.0, 0.0, 103.0]], **HOW)
    assert found.kind[0] == KIND_GROWTH and found.one(0).kind == "growth"
    assert clearances(view_of(scenes.flat()), eyes=[[0.0, 0.0, 103.0]], **HOW).kind[0] == KIND_GROUND
