"""Where an antenna may really come to stand: places round an address, and what each kind of mount makes of them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hand_ground import CRS, GROUND_M, LAT, LON, NORTH, ON, SIZE, WEST, judged, layer, plan, wall
from shapely import Polygon

from siteplan.geodesy.projection import to_wgs84
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, Footprints, Grid, Surface
from siteplan.records.places import Address
from siteplan.records.verdict import State
from siteplan.services.shared.site import Land, dish_spot, scatter, site_of
from siteplan.terrain.view import prepare

MIDDLE = SIZE // 2


def houses(*boxes, top_m=8.0):
    """Flat land with flat-roofed houses: (east0, east1, north0, north1) in metres from the middle; returns (layer, footprints)."""
    ground = np.full((SIZE, SIZE), GROUND_M)
    top, kinds, outlines = ground.copy(), np.full((SIZE, SIZE), KIND_GROUND, dtype=np.uint8), []
    x0, y0 = WEST + SIZE / 2, NORTH - SIZE / 2
    for east0, east1, north0, north1 in boxes:
        # cells whose centres lie inside
        rows = slice(math.ceil(MIDDLE - north1), math.floor(MIDDLE - north0) + 1)
        cols = slice(math.ceil(MIDDLE + east0), math.floor(MIDDLE + east1) + 1)
        top[rows, cols] += top_m
        kinds[rows, cols] = KIND_BUILDING
        corners = np.array([(east0, north0), (east1, north0), (east1, north1), (east0, north1)], dtype=float)
        lon, lat = to_wgs84(x0 + corners[:, 0], y0 + corners[:, 1], CRS)
        outlines.append(Polygon(np.column_stack([lon, lat])))
    return layer(ground, top, kinds), Footprints(tuple(outlines), np.full(len(outlines), np.nan))


def places(made, footprints, *, mount, error_m, placement_error_m=1.0):
    surface = Surface((made,), footprints)
    land = Land(surface, prepare(surface), ON)
    address = Address(2, "a", "Middle", LAT, LON, error_m, True, (), mount)
    chosen = plan()
    site = site_of(address, land, chosen.mount)
    spot = dish_spot(site, land, chosen, 180.0)
    return scatter(site, spot, land, placement_error_m=placement_error_m), spot


def test_in_the_open_all_places_count_and_spread_as_the_address_may_be_off():
    found, _ = places(layer(*wall(150, 5)), None, mount="ground", error_m=6.0)
    assert found.weight.sum() == pytest.approx(1.0)
    spread = math.sqrt(found.weight @ (found.east_m**2 + found.north_m**2) / 2.0)
    # 6 m, and the edges of cells of 1 m anywhere in their cell: 0.3 m
    assert spread == pytest.approx(math.hypot(6.0, 1.0 / math.sqrt(12.0)), rel=0.01)
    assert np.allclose(found.base_amsl_m, GROUND_M) and np.allclose(found.base_error_m, 0.0)


def test_a_mast_whose_point_fell_into_a_house_stands_outside_it():
    # a house 12 m wide and deep round the point: with 5 m of error the mast may be on any side of it
    made, outlines = houses((-6, 6, -6, 6))
    found, spot = places(made, outlines, mount="ground", error_m=5.0)
    here = (spot.lat_deg - LAT) * 111_200.0  # the spot is before the south wall
    assert here < -6.0
    north = found.north_m + here
    assert (np.maximum(np.abs(found.east_m), np.abs(north)) > 5.9).all()
    assert north.max() > 6.0 and north.min() < -6.0
    # sure to half a metre it can only mean the house itself: the mast stands where the sheet says
    sure, _ = places(made, outlines, mount="ground", error_m=0.5)
    assert np.hypot(sure.east_m, sure.north_m).max() < 4.0


def test_a_house_between_the_place_and_the_satellite_keeps_a_displaced_mast_from_being_booked():
    made, outlines = houses((-6, 6, -6, 6), top_m=12.0)
    verdict, _ = judged([made], mount="ground", position_error_m=5.0, footprints=outlines)
    assert verdict.state is State.SURVEY_FIRST
    assert 0.3 < verdict.probability < 0.95


def test_a_roof_mount_counts_the_neighbours_roofs_it_may_mean():
    alone, outline = houses((-6, 6, -6, 6))
    found, _ = places(alone, outline, mount="roof", error_m=5.0)
    assert np.hypot(found.east_m, found.north_m).max() < 4.0
    row, outlines = houses((-6, 6, -6, 6), (6.5, 20, -6, 6))
    found, _ = places(row, outlines, mount="roof", error_m=5.0)
    next_door = float(found.weight[found.east_m > 6.0].sum())
    # Phi(-6.5 / 5) = 0.097 of the places lie beyond the party wall, 0.79 of them within the row's depth as those at home do
    assert next_door == pytest.approx(0.11, abs=0.05)


def test_the_plan_says_how_exactly_a_mount_is_put_up():
    flat, outline = houses((-20, 20, -20, 20))
    edge = 1.0 / math.sqrt(12.0)
    for error_m in (0.2, 1.0, 2.0):
        found, _ = places(flat, outline, mount="roof", error_m=5.0, placement_error_m=error_m)
        spread = math.sqrt(found.weight @ (found.east_m**2 + found.north_m**2) / 2.0)
        assert spread == pytest.approx(math.hypot(error_m, edge), rel=0.01)


def test_a_flat_roof_adds_no_error_and_a_step_does():
    flat, outline = houses((-20, 20, -20, 20))
    found, _ = places(flat, outline, mount="roof", error_m=5.0)
    assert np.allclose(found.base_error_m, 0.0)
    top = flat.surface.z_m.copy()
    top[:, MIDDLE:] = np.where(top[:, MIDDLE:] > GROUND_M, top[:, MIDDLE:] + 4.0, top[:, MIDDLE:])
    found, _ = places(layer(np.full((SIZE, SIZE), GROUND_M), top, flat.kind), outline, mount="roof", error_m=5.0)
    # within half a cell of the step the roof may be anything of its 4 m
    assert found.base_error_m.max() == pytest.approx(4.0 / math.sqrt(12.0), abs=0.3)
    assert found.base_error_m.min() == 0.0


def test_a_roof_nobody_knows_proves_nothing():
    booked, _ = judged([layer(*wall(20, 5))], mount="ground")
    assert booked.state is State.BOOK
    for made in (layer(*wall(20, 5)), layer(*wall(20, 60))):
        verdict, finding = judged([made], mount="roof")
        assert verdict.state is State.SURVEY_FIRST and verdict.reasons[0].code == "spot_no_building"
        assert math.isnan(finding.views[0].mount_height_agl_m)


def coarse(cell_m, *, height_m, distance_m):
    """A slab from a distance south on, on cells too coarse to know trees and buildings."""
    count = round(SIZE / cell_m)
    top = np.full((count, count), GROUND_M, dtype=np.float32)
    top[count // 2 + round(distance_m / cell_m) :] += height_m
    grid = Grid(np.full_like(top, GROUND_M), (cell_m, 0.0, WEST, 0.0, -cell_m, NORTH), CRS, cell_m, "hand")
    kinds = np.where(top > GROUND_M, 4, 1).astype(np.uint8)
    made = layer(np.zeros((2, 2)))
    return replace(made, ground=grid, surface=replace(grid, z_m=top), kind=kinds, height_error_m=1.0)


def test_cells_of_five_metres_can_rule_out_but_not_book_and_ten_prove_nothing():
    # 40 m high from 30 m on: 52 degrees up, the satellite at 35
    verdict, _ = judged([coarse(5.0, height_m=40.0, distance_m=30.0)])
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[0].code == "sat_blocked"
    verdict, _ = judged([coarse(10.0, height_m=40.0, distance_m=30.0)])
    assert verdict.state is State.SURVEY_FIRST
    # a row of cells right beside the antenna may be the smear of a house: it rules nothing out
    smeared = coarse(5.0, height_m=0.0, distance_m=0.0)
    smeared.surface.z_m[round(SIZE / 5.0) // 2 + 1] += 40.0
    verdict, _ = judged([smeared])
    assert verdict.state is State.SURVEY_FIRST


def test_places_from_which_nothing_is_known_rule_nothing_out():
    blocked = coarse(5.0, height_m=40.0, distance_m=30.0)
    whole, _ = judged([blocked])
    assert whole.state is State.NOT_FEASIBLE
    # the land ends at the antenna's own meridian: half of the likely places look over nothing known, the others at the same wall
    count = blocked.surface.z_m.shape[0]
    for grid in (blocked.ground, blocked.surface):
        grid.z_m[count // 2 + 1 :, count // 2 :] = np.nan
    verdict, _ = judged([blocked])
    assert verdict.state is State.SURVEY_FIRST
