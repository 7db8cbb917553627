"""How high a dish must stand: the same answers as asking its clearance height by height."""

import math

import numpy as np
import pytest
from hand_ground import GROUND_M, LAT, LON, layer, wall

from siteplan.errors import InputError, MethodRangeError
from siteplan.geodesy.projection import geod_forward
from siteplan.records.ground import Surface
from siteplan.sky import shadow
from siteplan.sky.clearance import clearances
from siteplan.terrain.view import local_view, prepare

ASK = {"dish_m": 0.6, "frequency_mhz": 11_000.0}
AZIMUTH, ELEVATION = 181.3, 34.0


def view_of(*layers):
    return local_view(prepare(Surface(tuple(layers))), lat_deg=LAT, lon_deg=LON, radius_m=5_000.0)


def places(count, spread_m=60.0, seed=3):
    rng = np.random.default_rng(seed)
    away, bearing = rng.uniform(0.0, spread_m, count), rng.uniform(0.0, 360.0, count)
    lat, lon = geod_forward(lat_deg=np.full(count, LAT), lon_deg=np.full(count, LON), azimuth_deg=bearing, distance_m=away)
    return lat, lon, rng.uniform(0.5, 25.0, count) + GROUND_M


def states(asked, needed):
    with np.errstate(invalid="ignore"):
        state = np.where(asked >= needed.tube_amsl_m, 3, np.where(asked < needed.centre_amsl_m, 1, 2))
    return np.where(np.isnan(needed.tube_amsl_m), 0, state)


def rough(seed=11):
    """A layer of boxes and holes of many heights, some of it unknown."""
    rng = np.random.default_rng(seed)
    ground, top, kinds = wall(40, 0)
    for _ in range(60):
        i, j = rng.integers(0, 380, 2)
        top[i : i + 8, j : j + 8] = ground[i : i + 8, j : j + 8] + rng.uniform(1.0, 25.0)
    return layer(ground, top, kinds)


@pytest.mark.parametrize("own_support_m", [0.0, 2.0])
def test_same_states_as_clearances(own_support_m):
    view = view_of(rough())
    lat, lon, asked = places(300)
    block = shadow.block_of(view, lat_deg=lat, lon_deg=lon)
    needed = shadow.needed_heights(
        view, block, asked_amsl_m=asked, azimuth_deg=AZIMUTH, elevation_deg=ELEVATION, own_support_m=own_support_m, **ASK
    )
    eyes = np.column_stack([block.east_m, block.north_m, asked])
    found = [
        clearances(
            view, eyes=eye[None], look_azimuth_deg=AZIMUTH + turned, look_elevation_deg=ELEVATION, own_support_m=own_support_m, **ASK
        ).state[0]
        for eye, turned in zip(eyes, block.turned_deg, strict=True)
    ]
    assert set(found) == {1, 2, 3}  # the scene holds all three
    assert np.array_equal(found, states(asked, needed))


def test_the_height_needed_is_just_enough():
    view = view_of(layer(*wall(20, 18)))
    block = shadow.block_of(view, lat_deg=np.array([LAT]), lon_deg=np.array([LON]))
    needed = shadow.needed_heights(view, block, asked_amsl_m=[103.0], azimuth_deg=180.0, elevation_deg=35.0, **ASK)
    # worked on paper: 18 m less 20 tan 35, plus (0.3 + 0.6 sqrt(0.02725 x 20 / cos 35)) / cos 35 at the wall's near edge, which the
    # bilinear surface has half a cell nearer; refraction takes 0.02 degrees
    tube = 0.3 + 0.6 * math.sqrt(0.02725 * 20 / math.cos(math.radians(35)))
    paper = GROUND_M + 18.0 - 20.0 * math.tan(math.radians(35.02)) + tube / math.cos(math.radians(35))
    assert needed.tube_amsl_m[0] == pytest.approx(paper, abs=0.4)
    for above, state in ((1e-4, 3), (-1e-4, 2)):  # refraction changes by a micrometre with the height of the eye
        eye = [[0.0, 0.0, needed.tube_amsl_m[0] + above]]
        assert clearances(view, eyes=eye, look_azimuth_deg=180.0, look_elevation_deg=35.0, **ASK).state[0] == state
    for above, state in ((1e-4, 2), (-1e-4, 1)):
        eye = [[0.0, 0.0, needed.centre_amsl_m[0] + above]]
        assert clearances(view, eyes=eye, look_azimuth_deg=180.0, look_elevation_deg=35.0, **ASK).state[0] == state


@pytest.mark.quick
def test_nothing_known_is_unknown_and_says_so():
    empty = np.full((401, 401), np.nan)
    view = view_of(layer(empty))
    block = shadow.block_of(view, lat_deg=np.array([LAT]), lon_deg=np.array([LON]))
    needed = shadow.needed_heights(view, block, asked_amsl_m=[103.0], azimuth_deg=180.0, elevation_deg=35.0, **ASK)
    assert np.isnan(needed.tube_amsl_m).all() and np.isnan(needed.centre_amsl_m).all() and needed.known_to_m[0] == -1.0


def test_places_far_from_the_view_keep_true_bearings():
    view = view_of(rough())
    lat, lon, _ = places(50, spread_m=150.0)
    block = shadow.block_of(view, lat_deg=lat, lon_deg=lon)
    # meridians meet by east x tan(lat) / R
    assert block.turned_deg == pytest.approx(-np.degrees(block.east_m * math.tan(math.radians(LAT)) / 6.38e6), abs=2e-5)


def test_known_far_enough_is_the_judges_rule():
    ground, top, kinds = wall(40, 0)
    top[260:] = np.nan  # nothing is known of what stands 60 m south and farther
    view = view_of(layer(ground, top, kinds))
    block = shadow.block_of(view, lat_deg=np.array([LAT, LAT]), lon_deg=np.array([LON, LON]))
    knows = np.array([False, True])
    for elevation, known in ((60.0, True), (20.0, False)):  # 40 m up after 23 m, or after 110 m
        found = shadow.known_far_enough(
            view, block, eye_amsl_m=[103.0, np.nan], azimuth_deg=180.0, elevation_deg=elevation, tallest_m=40.0, knows=knows
        )
        assert found.tolist() == [known, False]


def test_the_quick_look_never_says_more_than_the_slow_one(monkeypatch):
    view = view_of(rough())
    lat, lon, asked = places(40, spread_m=30.0)
    block = shadow.block_of(view, lat_deg=lat, lon_deg=lon)
    ask = {"eye_amsl_m": asked, "azimuth_deg": 180.0, "elevation_deg": 35.0, "tallest_m": 40.0, "knows": np.array([False, True])}
    quick = shadow.known_far_enough(view, block, **ask)
    monkeypatch.setattr(shadow, "_all_known", lambda *_: False)
    assert np.array_equal(quick, shadow.known_far_enough(view, block, **ask)) and quick.all()


@pytest.mark.quick
@pytest.mark.parametrize(
    ("changes", "kind"),
    [({"dish_m": 0.0}, MethodRangeError), ({"elevation_deg": 0.0}, MethodRangeError), ({"own_support_m": -1.0}, InputError)],
)
def test_refuses_what_makes_no_sense(changes, kind):
    view = view_of(layer(np.full((401, 401), GROUND_M)))
    block = shadow.block_of(view, lat_deg=np.array([LAT]), lon_deg=np.array([LON]))
    ask = {"asked_amsl_m": [103.0], "azimuth_deg": 180.0, "elevation_deg": 35.0, **ASK, **changes}
    with pytest.raises(kind):
        shadow.needed_heights(view, block, **ask)


def test_compiled_and_plain_agree():
    from siteplan.sky.kernels import shadows

    view = view_of(layer(*wall(20, 12)))
    land = view.prepared
    places_here = np.array([[0.0, 0.0, 103.0], [1.0, 0.5, 103.0]])
    azimuth, slope = np.full(2, math.pi), np.full(2, math.tan(math.radians(35.0)))
    ask = (
        *land.arrays, view.sizes, land.surface_order, view.coef, places_here, azimuth, slope, 0.3, 0.1, 0.01, 200.0, 6e-8, land.highest_m
    )  # fmt: skip
    assert shadows.needed_heights(*ask) == pytest.approx(shadows.needed_heights.py_func(*ask), nan_ok=True)
    assert shadows.box_known(*land.arrays, 1, 0, 400, 0, 400) and shadows.box_known.py_func(*land.arrays, 1, 3, 40, 3, 40)
