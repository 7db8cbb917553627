"""The grid of an area: which system, how fine, what it covers, how it is cut."""

from dataclasses import dataclass

import numpy as np
import pytest

from siteplan.errors import InputError
from siteplan.geodesy.projection import parse_crs, same_crs, to_wgs84
from siteplan.records.plan import AreaTable
from siteplan.studies.area_grid import MOST_CELLS, area_bounds, area_grid, utm_zone, with_margin

pytestmark = pytest.mark.quick
BOX = (15.0, 47.85, 15.01, 47.855)


@dataclass(frozen=True)
class Info:
    """What a grid needs to know of a raster."""

    crs: str
    cell_m: float


def grid(*infos, box=BOX, table=None, cell_m=2.0):
    return area_grid(box, infos or (Info(parse_crs("EPSG:32633"), 1.0),), table or AreaTable(), cell_m)


def test_system_of_the_finest_ground_where_it_is_projected():
    found = grid(Info(parse_crs("EPSG:32633"), 40.0), Info(parse_crs("EPSG:31256"), 1.0))
    assert same_crs(found.crs, "EPSG:31256")


@pytest.mark.parametrize(("box", "code"), [(BOX, 32633), ((-9.6, -47.51, -9.59, -47.5), 32729), ((179.98, 10.0, 179.99, 10.01), 32660)])
def test_utm_where_the_ground_is_in_degrees(box, code):
    assert same_crs(grid(Info(parse_crs("EPSG:4326"), 30.0), box=box).crs, f"EPSG:{code}")


def test_cells_are_metres_also_where_the_system_counts_feet():
    found = grid(Info(parse_crs("EPSG:2232"), 1.0), box=(-105.0, 39.0, -104.99, 39.005), cell_m=3.048)  # US survey feet, Colorado
    assert found.transform[0] == pytest.approx(3.048 / (1200 / 3937)) and found.cell_m == 3.048
    assert found.cols * 3.048 == pytest.approx(865.0, abs=12.0)  # 0.01 degrees at 39 N


def test_the_grid_holds_the_box_and_its_corners_are_whole_cells():
    found = grid()
    west, south, east, north = found.bounds()
    assert west <= BOX[0] and south <= BOX[1] and east >= BOX[2] and north >= BOX[3]
    assert found.transform[2] % 2.0 == 0.0 and found.transform[5] % 2.0 == 0.0
    lat, lon = found.centres(np.array([0]), np.array([0]))
    x, y = found.transform[2] + 1.0, found.transform[5] - 1.0
    assert (float(lon[0]), float(lat[0])) == pytest.approx(tuple(float(v) for v in to_wgs84(x, y, found.crs)))


def test_tiles_cover_every_cell_once():
    found, seen = grid(), 0
    hits = np.zeros((found.rows, found.cols), dtype=int)
    for tile in found.tiles():
        for block in tile.blocks(50):
            rows, cols = block.index()
            hits[rows, cols] += 1
            seen += block.shape[0] * block.shape[1]
    assert (hits == 1).all() and seen == found.cells
    assert len({tile.name for tile in found.tiles()}) == len(tuple(found.tiles()))


def test_the_default_cell_is_the_finest_that_stays_handy():
    assert grid(cell_m=None).cell_m == 2.0  # 750 x 560 m
    assert grid(box=(15.0, 47.8, 15.2, 47.9), cell_m=None).cell_m == 20.0  # 15 x 11 km
    assert grid(table=AreaTable(cell_m=7.5), cell_m=None).cell_m == 7.5
    assert grid(table=AreaTable(cell_m=7.5), cell_m=4.0).cell_m == 4.0


def test_bounds_with_a_margin_or_as_wanted():
    west, south, east, north = with_margin(np.array([47.85, 47.86]), np.array([15.0, 15.02]), 300.0)
    assert (47.85 - south) * 111_000 == pytest.approx(300.0, rel=0.01) and north > 47.86
    assert (15.0 - west) * 74_700 == pytest.approx(300.0, rel=0.02) and east > 15.02
    assert area_bounds(BOX) == BOX


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: area_bounds(()), "--bounds"),
        (lambda: area_bounds((1.0, 2.0, 3.0)), "west,south,east,north"),
        (lambda: area_bounds((15.0, 48.0, 14.0, 49.0)), "enclose no area"),
        (lambda: area_bounds((15.0, 48.0, float("nan"), 49.0)), "west,south,east,north"),
        (lambda: grid(box=(15.0, 47.0, 16.0, 48.0), cell_m=2.0), f"{MOST_CELLS:,}"),
        (lambda: grid(cell_m=0.01), "0.25 to 5000"),
    ],
)
def test_what_is_refused_says_what_to_give(ask, says):
    with pytest.raises(InputError, match=says):
        ask()


def test_utm_zones():
    assert [utm_zone(lon) for lon in (-180.0, -9.6, 0.0, 15.0, 179.9)] == [1, 29, 31, 33, 60]
