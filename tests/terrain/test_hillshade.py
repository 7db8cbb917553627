"""The grey picture lies where the terrain lies, is lit from the north-west, and shows nothing where nothing is known."""

from __future__ import annotations

import numpy as np
import pytest
from terrain_makers import grid_of

from siteplan.geodesy import cells, projection
from siteplan.records.ground import Grid, Layer, Surface
from siteplan.terrain.hillshade import backdrop, draw, from_mercator, hillshade, mercator
from siteplan.terrain.surface import stack

# A UTM zone used far outside its own strip: grid north lies 10 degrees west of true north here.
FAR_CRS = projection.parse_crs("EPSG:32633")
FAR_LAT, FAR_LON = 63.0, 3.8


def far_grid(z, cell=10.0):
    x, y = projection.from_wgs84(FAR_LON, FAR_LAT, FAR_CRS)
    rows, cols = z.shape
    x0, y0 = round(float(x)) - cols * cell / 2, round(float(y)) + rows * cell / 2
    return Grid(z.astype(np.float32), (cell, 0.0, x0, 0.0, -cell, y0), FAR_CRS, cell, "far")


def test_the_sum_of_light_by_hand():
    flat = hillshade(np.zeros((5, 5)), cell_m=1.0)
    np.testing.assert_allclose(flat, np.sin(np.radians(45.0)), rtol=1e-6)
    rows, cols = np.mgrid[0:7, 0:7].astype(float)
    # a slope of 45 degrees that falls to the north-west faces the light, one that falls to the south-east lies along it
    fall = np.sqrt(0.5)
    assert hillshade((rows + cols) * fall, cell_m=1.0)[3, 3] == pytest.approx(1.0, abs=1e-6)
    assert hillshade(-(rows + cols) * fall, cell_m=1.0)[3, 3] == pytest.approx(0.0, abs=1e-6)
    # falls to the north at 45 degrees: the normal is (0, 1, 1)/sqrt 2 (east, north, up), the light (-1/2, 1/2, 1/sqrt 2)
    assert hillshade(rows, cell_m=1.0)[3, 3] == pytest.approx((0.5 + np.sqrt(0.5)) / np.sqrt(2.0), abs=1e-6)


def test_unknown_stays_unknown_and_does_not_darken_its_neighbours():
    z = np.zeros((7, 7))
    z[3, 3] = np.nan
    lit = hillshade(z, cell_m=1.0)
    assert np.isnan(lit[3, 3]) and np.isnan(lit).sum() == 1
    np.testing.assert_allclose(lit[~np.isnan(lit)], np.sin(np.radians(45.0)), rtol=1e-6)


def test_mercator_there_and_back_and_as_proj_says():
    lat, lon = np.array([-60.0, 0.0, 45.5, 84.0]), np.array([-170.0, 0.0, 12.25, 179.0])
    x, y = mercator(lat_deg=lat, lon_deg=lon)
    np.testing.assert_allclose(from_mercator(x, y), (lat, lon), atol=1e-9)
    np.testing.assert_allclose((x, y), projection.from_wgs84(lon, lat, "EPSG:3857"), atol=1e-5)


def test_the_picture_lies_where_the_terrain_lies_to_half_a_cell():
    assert abs(float(projection.grid_convergence_deg(lat_deg=FAR_LAT, lon_deg=FAR_LON, crs=FAR_CRS))) > 9.5
    for row, col in ((12, 12), (12, 108), (108, 12), (108, 108), (60, 60)):
        z = np.zeros((120, 120))
        z[row, col] = 40.0
        grid = far_grid(z)
        picture = backdrop(Surface((Layer(grid),)), largest_side=900)[0]
        assert (picture.alpha == 255).any() and (picture.alpha == 0).any()
        rows, cols = picture.shade.shape
        flat = np.median(picture.shade[picture.alpha == 255])
        off = (np.abs(picture.shade.astype(float) - flat) > 1.5) & (picture.alpha == 255)
        at_row, at_col = (np.argwhere(off).min(axis=0) + np.argwhere(off).max(axis=0) + 1) / 2
        x0, y0 = mercator(lat_deg=picture.south_deg, lon_deg=picture.west_deg)
        x1, y1 = mercator(lat_deg=picture.north_deg, lon_deg=picture.east_deg)
        lat, lon = from_mercator(x0 + at_col / cols * (x1 - x0), y1 - at_row / rows * (y1 - y0))
        peak_lon, peak_lat = projection.to_wgs84(*cells.apply(grid.transform, col + 0.5, row + 0.5), FAR_CRS)
        apart = float(projection.geod_inverse(lat1_deg=lat, lon1_deg=lon, lat2_deg=peak_lat, lon2_deg=peak_lon)[2])
        assert apart <= 0.5 * grid.cell_m, (row, col, apart)


def test_a_step_that_faces_the_light_is_bright_and_its_back_dark():
    rows, cols = np.mgrid[0:80, 0:80]
    ridge = np.where(np.abs(rows + cols - 79) < 8, 40.0 - 5.0 * np.abs(rows + cols - 79), 0.0)
    grid = grid_of(ridge, cell=10.0)
    (picture,) = backdrop(Surface((Layer(grid),)))
    lon, lat = projection.to_wgs84(*cells.apply(grid.transform, np.array([36.5, 44.5]), np.array([36.5, 44.5])), grid.crs)
    x0, y0 = mercator(lat_deg=picture.south_deg, lon_deg=picture.west_deg)
    x1, y1 = mercator(lat_deg=picture.north_deg, lon_deg=picture.east_deg)
    x, y = mercator(lat_deg=lat, lon_deg=lon)
    col = ((x - x0) / (x1 - x0) * picture.shade.shape[1]).astype(int)
    row = ((y1 - y) / (y1 - y0) * picture.shade.shape[0]).astype(int)
    north_west, south_east = picture.shade[row, col].astype(int)
    assert north_west > south_east + 60


def test_a_fine_picture_where_a_fine_layer_lies_within_a_wide_one():
    rows, cols = np.mgrid[0:100, 0:100]
    wide = Layer(grid_of(200 + rows + cols, cell=100.0))
    fine = Layer(grid_of(300 + 0.1 * np.mgrid[0:200, 0:200][0], cell=2.0, origin=(504_000.0, 5_296_000.0)))
    pictures = backdrop(stack([wide, fine]), largest_side=400)
    assert [picture.caption for picture in pictures] == ["all terrain", "finest terrain"]
    assert all(max(picture.shade.shape) <= 400 for picture in pictures)
    assert pictures[1].west_deg > pictures[0].west_deg and pictures[1].north_deg < pictures[0].north_deg
    (near,) = backdrop(stack([wide]), bounds=(15.01, 47.80, 15.05, 47.83))
    assert (near.west_deg, near.south_deg, near.east_deg, near.north_deg) == (15.01, 47.80, 15.05, 47.83)
    assert backdrop(stack([wide]), bounds=(80.0, 10.0, 81.0, 11.0)) == ()
    assert backdrop(Surface(())) == ()


def test_the_same_land_gives_the_same_bytes():
    z = np.random.default_rng(9).uniform(0, 50, (60, 60))
    surface = Surface((Layer(grid_of(z, cell=5.0)),))
    one, two = (draw(surface, west_deg=15.0, south_deg=47.84, east_deg=15.005, north_deg=47.8525, pixel_m=5.0) for _ in range(2))
    assert one.shade.tobytes() == two.shade.tobytes() and one.alpha.tobytes() == two.alpha.tobytes()


def test_lattice_of_places_agrees_with_the_exact_ones():
    """Over 60 km of a projected grid the places between nodes are right to a few centimetres; far from it they are not used for degrees."""
    from siteplan.records.ground import Grid
    from siteplan.terrain.hillshade import _Lattice, mercator
    from siteplan.terrain.surface import place

    grid = Grid(np.zeros((4, 4), np.float32), (10.0, 0.0, 400_000.0, 0.0, -10.0, 5_300_000.0), "EPSG:32633", 10.0, "g")
    dice = np.random.default_rng(5)
    lat, lon = dice.uniform(47.3, 47.9, 500), dice.uniform(13.6, 14.4, 500)
    x0, y0 = mercator(lat_deg=47.3, lon_deg=13.6)
    x1, y1 = mercator(lat_deg=47.9, lon_deg=14.4)
    near = _Lattice(x0=float(x0), x1=float(x1), y0=float(y0), y1=float(y1)).place(grid, lat_deg=lat, lon_deg=lon)
    exact = place(grid, lat_deg=lat, lon_deg=lon)
    assert max(np.abs(a - b).max() for a, b in zip(near, exact, strict=True)) * 10.0 < 0.1
