"""The search for a spot, by hand on flat ground with one wall (hand_ground.py), and against LiDAR land made worse.

A satellite due south at 35.04 degrees; the greatest mount 6 m: a wall h high is cleared from h <= 6 + d tan(35.04) less the room the
dish needs, d metres away. The search looks 8 m round the point.
"""

import math

import numpy as np
import pytest
import shapely
from degraded_land import FILES, Degradation, _true_ray, degraded, orbits, receivers, truth
from degraded_land import plan as bare_plan
from degraded_land import satellite as strong
from hand_ground import GROUND_M, LAT, LON, SIZE, judged, layer, plan, satellite, wall
from shared_data import need_shared

from siteplan.geodesy.projection import geod_forward
from siteplan.records.ground import KIND_BUILDING, Footprints
from siteplan.records.places import Address
from siteplan.records.verdict import State
from siteplan.services.satellite.judge import judge
from siteplan.services.shared.site import Land, site_of
from siteplan.terrain.footprints import metres_per_degree
from siteplan.terrain.surface import heights_at
from siteplan.terrain.view import prepare

NORTH_M, EAST_M = metres_per_degree(LAT)
SEARCH = plan(search="auto")


def square(east_m, north_m, half_m):
    """A footprint in degrees: a square round a place east and north of the middle."""
    at = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half_m + [east_m, north_m]
    return shapely.Polygon(at / [EAST_M, NORTH_M] + [LON, LAT])


def house(east_m, north_m, half_m, height_m, *, also=()):
    """Flat ground with one house (and walls `also`), and its outline."""
    ground = np.full((SIZE, SIZE), GROUND_M)
    top, kinds = ground.copy(), np.ones((SIZE, SIZE), dtype=np.uint8)
    middle = SIZE // 2
    for e, n, half, high, kind in ((east_m, north_m, half_m, height_m, KIND_BUILDING), *also):
        rows = slice(round(middle - n - half), round(middle - n + half) + 1)
        cols = slice(round(middle + e - half), round(middle + e + half) + 1)
        top[rows, cols], kinds[rows, cols] = GROUND_M + high, kind
    return layer(ground, top, kinds), Footprints((square(east_m, north_m, half_m + 0.5),), np.array([height_m], dtype=np.float32))


def code(verdict):
    return verdict.reasons[0].code


def test_a_wall_too_high_at_the_point_is_cleared_farther_back():
    """17 m at 14 m: 6 + 14 x 0.70 = 15.8 is too low, 21 m away 6 + 14.7 = 20.7 is not."""
    alone, _ = judged([layer(*wall(14, 17))])
    assert alone.state is not State.BOOK
    verdict, finding = judged([layer(*wall(14, 17))], made=SEARCH)
    assert verdict.state is State.SURVEY_FIRST and code(verdict) == "sat_spot_ground"
    told = verdict.reasons[0].values
    assert told["bearing_deg"] == pytest.approx(0.0, abs=1.0) and told["distance_m"] >= 3.0
    assert finding.views[0].probability >= 0.95 and finding.spot.lat_deg > LAT
    assert [reason.code for reason in verdict.reasons[1:]] == ["sat_at_the_point", alone.reasons[0].code]
    assert verdict.ask.code == "ask_spot_ground"


def test_not_feasible_only_after_every_place_and_height():
    """30 m at 14 m: even 7 m back 6 + 21 x 0.70 = 20.7 falls short by far; of 20.9 m by no more than the heights may err."""
    verdict, _ = judged([layer(*wall(14, 30))], made=SEARCH)
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[-1].code == "sat_all_spots_circle"
    assert verdict.reasons[-1].values["count"] == 193  # whole metres within 8 m, the rim of the circle drawn as a polygon
    maybe, _ = judged([layer(*wall(14, 20.9))], made=SEARCH)
    assert maybe.state is State.SURVEY_FIRST and code(maybe) == "sat_spot_maybe_ground"
    # and the two together are one verdict where nothing is looked for
    assert judged([layer(*wall(14, 20.9))])[0].state is State.NOT_FEASIBLE


def test_a_vague_point_gives_no_spot_of_its_own():
    verdict, _ = judged([layer(*wall(14, 17))], made=SEARCH, position_error_m=15.0)
    assert verdict.state is not State.BOOK and not code(verdict).startswith("sat_spot_ground")


def test_a_spot_on_the_own_roof_may_be_booked_and_a_neighbours_may_not():
    """A chimney stack of 4 m before the point given on a flat roof: one step aside the view is free, on this very house."""
    land, outline = house(0, 0, 6, 8.0, also=[(0, -2, 0.5, 14.0, KIND_BUILDING)])
    alone, _ = judged([land], mount="roof", footprints=outline, position_error_m=0.3)
    assert alone.state is not State.BOOK
    verdict, finding = judged([land], mount="roof", footprints=outline, made=SEARCH, position_error_m=0.3)
    assert verdict.state is State.BOOK and code(verdict) == "sat_spot_roof" and finding.spot.kind == "roof"
    two = Footprints((*outline.polygons, square(20, 0, 6.5)), np.array([8.0, 8.0], dtype=np.float32))
    unsure, _ = judged([land], mount="roof", footprints=two, made=SEARCH, position_error_m=9.0)
    assert unsure.state is State.SURVEY_FIRST


def test_a_wall_that_faces_away_is_no_spot():
    land, outline = house(0, 0, 5, 7.0)
    verdict, finding = judged([land], mount="wall", footprints=outline, made=SEARCH, sat=satellite(SOUTH_EAST := 50.0))
    assert SOUTH_EAST and verdict.state is State.BOOK
    assert abs((finding.spot.facade_deg - finding.views[0].look.azimuth_deg + 180.0) % 360.0 - 180.0) <= 80.0


def with_pictures(land_layer, *, outline=None, plots=None, made=SEARCH, mount=""):
    from siteplan.records.ground import Surface

    surface = Surface((land_layer,), outline)
    land = Land(surface, prepare(surface), made.date, plots)
    address = Address(2, "a", "Middle", LAT, LON, 1.0, True, (), mount)
    return judge(site_of(address, land, made.mount), land, (satellite(),), made, pictures=True)


def test_the_plan_of_a_spot_by_hand():
    """At 10 m the ray stands 3 + 10 tan(35.04) = 10.0 m up; a 0.6 m dish keeps (0.3 + 0.6 sqrt(0.0273 x 12.2)) / cos(35.04) = 0.8 free."""
    _, finding = with_pictures(layer(*wall(20, 10)), mount="ground")
    spots = finding.spots
    elevation = math.radians(finding.views[0].look.elevation_deg)
    room = (0.3 + 0.6 * math.sqrt(299.792458 / 11_000.0 * 10.0 / math.cos(elevation))) / math.cos(elevation)
    assert dict(spots.limits[0].steps)[10.0] == pytest.approx(3.0 + 10.0 * math.tan(elevation) - room, abs=0.01)
    assert (spots.best.kind, spots.best.height_agl_m, spots.best.sees) == ("ground", 3.0, ("Testbird",))
    assert spots.best.cable_m == pytest.approx(3.0 + 3.0)  # no way, the drop and the spare
    assert spots.plan_b is not None and math.hypot(spots.plan_b.east_m, spots.plan_b.north_m) >= 3.0
    moves = {move.way: move.spare_deg for move in spots.moves}
    assert moves["nearer"] < spots.best.spare_deg < moves["farther"]  # the wall is less steep from farther off
    assert moves["down"] < spots.best.spare_deg < moves["up"]
    assert moves["left"] == pytest.approx(moves["right"], abs=0.01)


def test_a_plot_bounds_the_search():
    """The same wall: the clear ground lies 7 m north; a plot that ends 2 m north of the point holds none of it."""
    free = Footprints((square(0, 5, 20.0),), np.array([np.nan], dtype=np.float32))
    narrow = Footprints((square(0, -3.0, 5.0),), np.array([np.nan], dtype=np.float32))
    verdict, finding = with_pictures(layer(*wall(14, 17)), plots=free, mount="ground")
    assert code(verdict) == "sat_spot_ground" and finding.spots.looked_in == "plot"
    # on the address's own plot ground may be booked: the point lies 15 m inside it, known to 1 m
    assert verdict.state is State.BOOK
    verdict, _ = with_pictures(layer(*wall(14, 20)), plots=narrow, mount="ground")
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[-1].code == "sat_all_spots_plot"


def test_cable_along_the_walls():
    """Entry at the wall nearest the point, 5 m off: a house of 10 m x 10 m whose middle lies 10 m north."""
    land, outline = house(0, 10, 5, 6.0)
    made = SEARCH.model_copy(update={"mount": SEARCH.mount.model_copy(update={"kind": "ground"})})
    _, finding = with_pictures(land, outline=outline, made=made)
    spots = finding.spots
    assert spots.entry_m == pytest.approx((0.0, 4.5), abs=0.3)
    way = abs(spots.best.east_m - spots.entry_m[0]) + abs(spots.best.north_m - spots.entry_m[1])
    assert spots.best.cable_m == pytest.approx(1.3 * way + spots.best.height_agl_m + 3.0, abs=0.3)


@pytest.mark.parametrize("high_m", [14, 17, 20, 24])
def test_a_greater_mount_height_never_makes_the_search_see_less(high_m):
    shares, states = [], []
    for highest_m in (3.0, 4.5, 6.0, 9.0, 12.0):
        made = SEARCH.model_copy(update={"mount": SEARCH.mount.model_copy(update={"highest_agl_m": highest_m})})
        verdict, finding = with_pictures(layer(*wall(14, high_m)), made=made, mount="ground")
        states.append({State.NOT_FEASIBLE: 0, State.SURVEY_FIRST: 1, State.BOOK: 2}[verdict.state])
        shares.append(finding.spots.all_clear_share if finding.spots else 0.0)
    assert shares == sorted(shares) and states == sorted(states) and shares[-1] > shares[0]


def test_pictures_change_no_verdict():
    for high in (10, 16, 17, 20.9, 30):
        plain, _ = judged([layer(*wall(14, high))], made=SEARCH)
        drawn, _ = with_pictures(layer(*wall(14, high)), mount="ground")
        assert (plain.state, plain.reasons) == (drawn.state, drawn.reasons)


def test_found_spots_are_clear_in_truth():
    """Spots found in LiDAR land made worse, held against the full land at those very spots.

    They are told, not booked, from land whose shift of 1.5 m nobody states: at most 1 in 10 may be wrong.
    """
    for file in FILES["city"]:
        need_shared(f"terrain/{file}")
    true, worse = truth("city"), Degradation("all of it", cell_m=2.5, noise_m=0.5, shift_m=1.5)
    land, sky, rng = degraded(true, worse, 21), orbits(true), np.random.default_rng([21, 2])
    found = wrong = ruled_out = 0
    made = replace_search(bare_plan(growth=False))
    for lat, lon in receivers(true, rng, 60):
        east, north = worse.position_m * rng.standard_normal(2)
        bearing, moved = math.degrees(math.atan2(east, north)), math.hypot(east, north)
        at = [float(v) for v in geod_forward(lat_deg=lat, lon_deg=lon, azimuth_deg=bearing, distance_m=moved)]
        site = site_of(Address(2, "a", "A", *at, worse.position_m, True, (), "ground"), land, made.mount)
        verdict, finding = judge(site, land, (strong(float(rng.choice(sky))),), made, pictures=False)
        ruled_out += verdict.state is State.NOT_FEASIBLE
        if code(verdict) == "sat_spot_ground":
            spot, view = finding.spot, finding.views[0]
            if not np.isfinite(heights_at(true.land.surface, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg)[0]):
                continue  # the shifted land reaches farther than the true one
            seen = _true_ray(true, (spot.lat_deg, spot.lon_deg), spot, view.look, view.mount_height_agl_m, view.dish_m)
            found, wrong = found + 1, wrong + (seen.state != "clear")
    assert found >= 15 and wrong <= 0.1 * found, f"{wrong} of {found} wrong, {ruled_out} ruled out"


def replace_search(made):
    return made.model_copy(update={"mount": made.mount.model_copy(update={"search": "auto"})})


