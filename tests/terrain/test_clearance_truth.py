"""Single rays against an independent brute-force table over airborne-laser terrain (2 cm steps, float64, no library ray code)."""

from __future__ import annotations

import csv

import numpy as np
import pytest
from shared_data import need_shared

from siteplan.files import rasters
from siteplan.records.ground import Layer, Surface
from siteplan.sky.horizon import heights_here, single_rays, skyline
from siteplan.terrain.view import local_view, prepare


@pytest.fixture(scope="module")
def land():
    ground, top = (rasters.read(rasters.describe(need_shared(f"terrain/river_park_{what}_2m.tif"))) for what in ("dtm", "dsm"))
    np.fmax(top.z_m, ground.z_m, out=top.z_m, where=np.isfinite(top.z_m) & np.isfinite(ground.z_m))
    return prepare(Surface((Layer(ground, top, np.full(top.z_m.shape, 4, dtype=np.uint8), True, True),)))


@pytest.fixture(scope="module")
def rows():
    with need_shared("terrain/clearance_truth.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def seen_from(land, row, **how):
    view = local_view(land, lat_deg=float(row["lat"]), lon_deg=float(row["lon"]), radius_m=2000.0)
    eye = float(row["ground_dtm_m"]) + float(row["rx_above_ground_m"])
    return view, single_rays(view, eye_amsl_m=eye, azimuth_deg=float(row["azimuth_deg"]), **how)


def test_rays_that_end_on_something_are_those_of_the_table(land, rows):
    """Wanted: median <= 0.1 degrees, 99th percentile <= 0.5. The table's places are rounded to 1 cm, worth 0.1 degrees beside a wall."""
    differences = []
    for row in rows:
        if row["edge_limited"] == "no" and row["inside_surface"] == "no":
            _, sky = seen_from(land, row)
            differences.append(abs(sky.elevation_deg[0] - float(row["horizon_deg"])))
            assert not sky.data_ended[0]
            assert sky.distance_m[0] == pytest.approx(float(row["horizon_at_m"]), abs=0.3)
    assert len(differences) == 87
    assert np.median(differences) <= 0.01
    assert np.percentile(differences, 99) <= 0.12
    assert max(differences) <= 0.2


def test_rays_that_meet_nothing_say_that_the_data_end(land, rows):
    edge = [row for row in rows if row["edge_limited"] == "yes"]
    assert edge
    for row in edge:
        _, sky = seen_from(land, row)
        assert sky.data_ended[0]
        assert sky.known_to_m[0] == pytest.approx(float(row["ray_length_m"]), rel=1e-3, abs=0.2)


def test_an_antenna_inside_the_surface_is_told(land, rows):
    for row in rows:
        view, sky = seen_from(land, row)
        assert sky.inside_obstruction == (row["inside_surface"] == "yes")
        ground, top = heights_here(view)
        assert ground == pytest.approx(float(row["ground_dtm_m"]), abs=0.002)
        assert top - ground == pytest.approx(max(0.0, float(row["dsm_minus_dtm_m"])), abs=0.02)


def test_grid_azimuth_in_place_of_true_would_be_found_out(land, rows):
    """The table also has angles for azimuths taken from grid north: ours must lie nearer to the true ones."""
    true, grid = [], []
    for row in rows:
        if row["edge_limited"] == "no" and row["inside_surface"] == "no":
            _, sky = seen_from(land, row)
            true.append(abs(sky.elevation_deg[0] - float(row["horizon_deg"])))
            grid.append(abs(sky.elevation_deg[0] - float(row["horizon_gridaz_deg"])))
    assert np.mean(true) < 0.3 * np.mean(grid)


def test_sectors_are_no_lower_than_the_rays_in_them(land, rows):
    for row in rows[::10]:
        view, sky = seen_from(land, row)
        eye = float(row["ground_dtm_m"]) + float(row["rx_above_ground_m"])
        around = skyline(view, eye_amsl_m=eye)
        k = round(float(row["azimuth_deg"]) * 2) % 720
        assert around.elevation_deg[k] >= sky.elevation_deg[0] - 0.02


def test_feet_raster_of_the_same_points_sees_nearly_the_same(land, rows):
    """Gridded apart from the same laser points, in feet of another projection: open points agree to a degree or so in the median."""
    ground, top = (rasters.read(rasters.describe(need_shared(f"terrain/river_park_{what}_6ft.tif"))) for what in ("dtm", "dsm"))
    feet = prepare(Surface((Layer(ground, top, np.full(top.z_m.shape, 4, dtype=np.uint8)),)))
    differences = []
    for row in rows:
        if row["edge_limited"] == "no" and row["inside_surface"] == "no":
            _, sky = seen_from(feet, row)
            differences.append(sky.elevation_deg[0] - float(row["horizon_deg"]))
    assert abs(np.median(differences)) < 0.3 and np.median(np.abs(differences)) < 1.0
