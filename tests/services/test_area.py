"""A cell of a map and an address at the same point agree: states, mount heights, and what is known."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from area_makers import BOXES, CELL, SIDE, WOOD, lon_lat, village

from siteplan.files.emitters import read_satellites, read_sectors
from siteplan.files.plan_file import read_plan
from siteplan.files.transmitters import read_transmitters
from siteplan.records.beams import Beam, Contour
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.places import Address
from siteplan.records.plan import AreaTable, LimitsTable, Plan
from siteplan.records.view import CLEARANCE_STATES
from siteplan.services.mobile.area import best_at as best_sector
from siteplan.services.satellite.area import BLOCKED, CLEAR, UNKNOWN, arc_of_cells, arc_positions, views_of_cells
from siteplan.services.satellite.area_links import links_of_cells
from siteplan.services.satellite.judge import judge
from siteplan.services.satellite.limits import DEFAULT_FREQUENCY_MHZ
from siteplan.services.satellite.links import SatelliteLinks
from siteplan.services.shared.cells import Cells, cells_at, dish_heights, site_of_cell
from siteplan.services.shared.site import Land, dish_spot, site_of
from siteplan.services.terrestrial.area import best_at as best_transmitter
from siteplan.services.terrestrial.judge import judge as judge_tv
from siteplan.sky.clearance import ray_clearance
from siteplan.sky.look_angles import look_angles
from siteplan.studies.surfaces import load_surface
from siteplan.terrain.view import local_view, prepare


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    plan = read_plan(village(tmp_path_factory.mktemp("village")))
    surface = load_surface(plan)
    return plan, Land(surface, prepare(surface), plan.date)


def cells_of(land, rows, cols):
    rows, cols = (part.ravel() for part in np.meshgrid(rows, cols, indexing="ij"))
    lon, lat = np.array([lon_lat((col + 0.5) * CELL, (row + 0.5) * CELL) for row, col in zip(rows, cols, strict=True)]).T
    return cells_at(land, lat_deg=lat, lon_deg=lon)


def test_roofs_lie_where_buildings_stand_and_nowhere_else(scene):
    _, land = scene
    cells = cells_of(land, range(SIDE)[::2], range(SIDE)[::2])
    on_roof = cells.on_roof.reshape(SIDE // 2, SIDE // 2)
    for rows, cols, _ in BOXES.values():
        assert on_roof[rows[0] // 2 + 1 : rows[1] // 2 - 1, cols[0] // 2 + 1 : cols[1] // 2 - 1].all()
    wood_rows, wood_cols = slice(WOOD[0].start // 2, WOOD[0].stop // 2), slice(WOOD[1].start // 2, WOOD[1].stop // 2)
    assert not on_roof[wood_rows, wood_cols].any()  # nobody mounts a dish on a tree


def test_a_cell_is_an_address_at_its_centre(scene):
    """State and heights of every cell looked at are those of the judge's own view from an address there; none differs."""
    plan, land = scene
    plan = plan.model_copy(update={"mount": plan.mount.model_copy(update={"search": "never"})})  # a map asks each place for itself
    satellites = read_satellites(plan)[0]
    cells = cells_of(land, range(30, 130, 7), range(15, 120, 7))
    views = views_of_cells(cells, land, satellites, plan)
    heights, highest = dish_heights(cells, plan.mount)
    compared, states = 0, set()
    for number in range(cells.lat_deg.size):
        address = Address(2, "a", "", float(cells.lat_deg[number]), float(cells.lon_deg[number]), 1.0, True, (),
                          "roof" if cells.on_roof[number] else "ground")  # fmt: skip
        site = site_of(address, land, plan.mount)
        spot = dish_spot(site, land, plan, 180.0)
        if (spot.lat_deg, spot.lon_deg) != (address.lat_deg, address.lon_deg):
            continue  # an address on the very edge of a house moves on or off it
        assert spot.height_agl_m == pytest.approx(heights[number], abs=1e-6)
        _, finding = judge(site, land, satellites, plan, pictures=False)
        view = local_view(land.prepared, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, radius_m=60_000.0)
        for seen, cell in zip(finding.views, views, strict=True):
            here = cell.state[number]
            if here == UNKNOWN:
                continue

            def state_at(height, seen=seen, view=view, spot=spot):
                return ray_clearance(
                    view, eye_amsl_m=spot.ground_amsl_m + height, look_azimuth_deg=seen.look.azimuth_deg,
                    look_elevation_deg=seen.look.elevation_deg, dish_m=0.6, frequency_mhz=11_000.0, own_support_m=spot.own_support_m,
                ).state  # fmt: skip

            compared += 1
            states.add(int(here))
            assert CLEARANCE_STATES[here] == state_at(spot.height_agl_m)
            mount = cell.mount_height_agl_m[number]
            if np.isnan(mount):
                assert state_at(highest[number]) != "clear"
            else:
                assert state_at(mount + 1e-4) == "clear"
                assert mount <= highest[number] + 1e-9
                if mount > heights[number] + 0.01 and mount < highest[number] - 1e-9:
                    assert state_at(mount - 0.1) != "clear"
                steps = (mount - heights[number]) / 0.1
                assert mount == pytest.approx(highest[number]) or steps == pytest.approx(round(steps), abs=1e-6)
            if seen.clearance is not None and seen.reasons[0].code == "sat_clear":
                assert here == CLEAR
    assert compared > 200 and states == {1, 2, 3}


def test_dish_and_margin_of_a_cell_are_the_addresss(scene):
    """Every cell that sees a satellite has the dish and the margin in rain of an address there: within 0.02 dB."""
    plan, land = scene
    weak = tuple(replace(one, transponders=(replace(one.transponders[0], eirp_dbw=49.6),)) for one in read_satellites(plan)[0])
    cells = cells_of(land, range(32, 130, 30), range(15, 120, 26))
    compared = 0
    for made in (plan, plan.model_copy(update={"limits": LimitsTable(availability_pct=99.99)})):
        views = views_of_cells(cells, land, weak, made)
        for number in range(cells.lat_deg.size):
            _, finding = judge(site_of_cell(cells, number, land, made.mount), land, weak, made, pictures=False)
            for seen, cell in zip(finding.views, views, strict=True):
                if np.isnan(cell.mount_height_agl_m[number]):
                    assert np.isnan(cell.dish_m[number]) and np.isnan(cell.weather_margin_db[number])
                    continue
                compared += 1
                assert cell.dish_m[number] == pytest.approx(seen.dish_m, nan_ok=True)
                free = SatelliteLinks(seen.satellite, (cells.lat_deg[number], cells.lon_deg[number], cells.ground_amsl_m[number]), made)
                (line,) = free.lines(seen.links[0].dish_m)  # nothing in the way, as on the map
                assert cell.weather_margin_db[number] == pytest.approx(line.weather_margin_db, abs=0.02)
    assert compared > 20


def test_links_between_nodes_over_hills_and_a_footprint():
    """A block of 640 m with 450 m of height in it, across contours 40 km apart: within 0.02 dB of each place's own link."""
    rng = np.random.default_rng(7)
    n = 60
    lat, lon = 47.85 + 0.0058 * rng.random(n), 15.0 + 0.0086 * rng.random(n)
    height = np.concatenate([[0.0, 450.0], 450.0 * rng.random(n - 2)])
    ring = np.array([-1.0, 1.0, 1.0, -1.0, -1.0]), np.array([1.0, 1.0, -1.0, -1.0, 1.0])
    levels = ((49.0, 0.4), (52.0, 0.0001))
    beam = Beam(contours=tuple(Contour(value, 47.85 + half * ring[0], 15.0 + half * ring[1]) for value, half in levels))
    one, two = (Transponder(name, mhz, "H", 27_500.0, "DVB-S2", "8PSK", "3/4") for name, mhz in (("A", 10_800.0), ("B", 12_600.0)))
    satellite = Satellite("Hill", 25.0, (one, two), beams=(beam,))
    made = Plan(file=Path("p.toml"), limits=LimitsTable(availability_pct=99.95))
    cells = Cells(lat, lon, height, height, np.zeros(n, dtype=bool), np.zeros(n, dtype=np.int64))
    found = links_of_cells(cells, satellite, made)
    for k in range(n):
        alone = SatelliteLinks(satellite, (float(lat[k]), float(lon[k]), float(height[k])), made)
        dish = alone.smallest_dish()
        assert found.dish_m[k] == pytest.approx(dish, nan_ok=True)
        least = min(line.weather_margin_db for line in alone.lines(dish if np.isfinite(dish) else 0.6))
        assert found.weather_margin_db[k] == pytest.approx(least, abs=0.02)
    nobody = links_of_cells(replace(cells, ground_amsl_m=np.full(n, np.nan)), satellite, made)
    assert np.isnan(nobody.dish_m).all() and np.isnan(links_of_cells(cells, replace(satellite, transponders=()), made).dish_m).all()


def test_where_nobody_knows_what_stands_there_a_cell_is_unknown_never_clear(scene):
    plan, land = scene
    satellites = read_satellites(plan)[0]
    lon, lat = np.array([lon_lat(-500.0, 500.0), lon_lat(160.0, SIDE * CELL - 8.0)]).T  # bare ground; and 8 m before the surface ends
    views = views_of_cells(cells_at(land, lat_deg=lat, lon_deg=lon), land, satellites, plan)
    assert [view.state.tolist() for view in views] == [[UNKNOWN, UNKNOWN]] * 2
    assert all(np.isnan(view.mount_height_agl_m).all() for view in views)


def test_bare_ground_that_blocks_is_proof(scene):
    plan, land = scene
    satellites = read_satellites(plan)[0]
    lon, lat = lon_lat(1_400.0, 160.0)  # 100 m before a bare ridge of 150 m: 56 degrees up, and Eastbird stands lower
    south, east = views_of_cells(cells_at(land, lat_deg=np.array([lat]), lon_deg=np.array([lon])), land, satellites, plan)
    assert east.state.tolist() == [BLOCKED] and south.state.tolist() == [UNKNOWN]


def test_cells_without_ground_are_unknown(scene):
    plan, land = scene
    cells = cells_at(land, lat_deg=np.array([10.0]), lon_deg=np.array([10.0]))
    (first, second) = views_of_cells(cells, land, read_satellites(plan)[0], plan)
    assert not cells.known.any() and first.state.tolist() == second.state.tolist() == [UNKNOWN]


def test_radio_of_a_cell_is_the_judges(scene):
    plan, land = scene
    transmitters, sectors = read_transmitters(plan, "")[0], read_sectors(plan, "")[0]
    cells = cells_of(land, [30], [60])
    site = site_of_cell(cells, 0, land, plan.mount)
    place, field, margin, programmes, stays_open = best_transmitter(site, land, transmitters, plan)
    _, finding = judge_tv(site, land, transmitters, plan)
    weakest = min(finding.aims[0].lines, key=lambda line: line.margin_db)
    assert transmitters[place] is finding.aims[0].transmitter and transmitters[place].name == "North Mast"
    assert (field, margin) == (weakest.field_strength_dbuv_per_m, weakest.margin_db)
    assert programmes == len(finding.aims[0].programmes_sure) and stays_open == bool(finding.choice.open_with)
    number, rsrp, _ = best_sector(site, land, sectors, plan)
    assert sectors[number].operator in ("Corvid", "Plover") and -120 < rsrp < -30
    assert best_transmitter(site, land, (), plan)[0] == -1 and best_sector(site, land, (), plan)[0] == -1


def test_share_of_the_arc_is_that_of_an_address_at_the_same_point(scene):
    """Position by position a ray is asked at each point; the share that is clear is the cell's, and land behind the wood sees less."""
    plan, land = scene
    plan = plan.model_copy(update={"area": plan.area.model_copy(update={"arc_step_deg": 20.0})})
    cells = cells_of(land, range(32, 130, 14), range(15, 120, 13))
    orbits = arc_positions(float(cells.lat_deg[0]), float(cells.lon_deg[0]), plan)
    assert len(orbits) >= 4 and arc_positions(47.5, 10.0, plan.model_copy(update={"area": AreaTable(arc_step_deg=0.0)})) == ()
    shares = arc_of_cells(cells, land, orbits, plan)
    heights, _ = dish_heights(cells, plan.mount)
    for number in np.flatnonzero(np.isfinite(shares)):
        lat, lon, ground = float(cells.lat_deg[number]), float(cells.lon_deg[number]), float(cells.ground_amsl_m[number])
        view = local_view(land.prepared, lat_deg=lat, lon_deg=lon, radius_m=60_000.0)
        support = plan.mount.own_support_m if cells.on_roof[number] else 0.0
        clear = 0
        for orbit in orbits:
            look = look_angles(lat_deg=lat, lon_deg=lon, height_ell_m=ground, orbit_deg=orbit)
            clear += ray_clearance(
                view, eye_amsl_m=ground + heights[number], look_azimuth_deg=look.azimuth_deg, look_elevation_deg=look.elevation_deg,
                dish_m=min(plan.kit.dishes_m), frequency_mhz=DEFAULT_FREQUENCY_MHZ, own_support_m=support,
            ).state == "clear"  # fmt: skip
        assert shares[number] == pytest.approx(100.0 * clear / len(orbits))
    assert len(set(shares[np.isfinite(shares)].tolist())) > 1
