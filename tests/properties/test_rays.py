"""Rays, sectors and tubes over made-up land: what must hold wherever."""

from __future__ import annotations

import numpy as np
import pytest
import scenes
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.records.ground import Layer, Surface
from siteplan.sky.clearance import clearances
from siteplan.sky.horizon import FAR_SHARE, SECTOR_TOLERANCE, heights_here, single_rays, skyline
from siteplan.terrain.view import local_view, prepare

SEEDS = st.integers(0, 2**31)
FEW = settings(max_examples=8, deadline=None, derandomize=True)


def seen(seed, **how):
    surface = scenes.rough(seed, **how)
    view = local_view(prepare(surface), lat_deg=scenes.LAT, lon_deg=scenes.LON, radius_m=5_000.0)
    return view, heights_here(view)[1] + 3.0


def highest_of_fan(view, eye, sector_deg=0.5, share=8):
    """Greatest tangent of a dense fan in each sector, edges included."""
    step = sector_deg / share
    fan = np.arange(0.0, 360.0, step)
    rays = np.tan(np.radians(single_rays(view, eye_amsl_m=eye, azimuth_deg=fan).elevation_deg))
    count = round(360 / sector_deg)
    index = (np.arange(count)[:, None] * share + np.arange(-share // 2, share // 2 + 1)[None, :]) % fan.size
    return rays[index].max(axis=1)


@FEW
@given(seed=SEEDS, cell=st.sampled_from([0.5, 2.0, 10.0]))
def test_a_sector_is_no_lower_than_any_ray_in_it_and_hardly_higher(seed, cell):
    view, eye = seen(seed, cell=cell)
    sectors = np.tan(np.radians(skyline(view, eye_amsl_m=eye).elevation_deg))
    fan = highest_of_fan(view, eye)
    # never lower, but for the stated tolerance
    assert (sectors >= fan - SECTOR_TOLERANCE - FAR_SHARE * np.abs(fan) - 1e-6).all()
    # higher only where the fan, a ray each sixteenth of a degree, passes beside the top of a spike that the sector holds
    assert np.median(sectors - fan) < 1e-3
    assert (sectors - fan).max() < 0.05


def test_what_a_sector_finds_above_its_fan_a_finer_fan_finds_too():
    view, eye = seen(7, cell=2.0)
    sky = skyline(view, eye_amsl_m=eye)
    fan = highest_of_fan(view, eye)
    for k in np.argsort(fan - np.tan(np.radians(sky.elevation_deg)))[:5]:
        fine = sky.azimuth_deg[k] + np.linspace(-0.25, 0.25, 4001)
        found = single_rays(view, eye_amsl_m=eye, azimuth_deg=fine).elevation_deg.max()
        assert sky.elevation_deg[k] == pytest.approx(found, abs=0.02)


@FEW
@given(seed=SEEDS)
def test_holes_never_hide_what_is_known(seed):
    view, eye = seen(seed, hole_share=0.02)
    sectors = np.tan(np.radians(skyline(view, eye_amsl_m=eye).elevation_deg))
    fan = highest_of_fan(view, eye)
    known = np.isfinite(fan)
    # beside holes a square can be entered between the lines looked at: rare, so by share
    assert np.mean(sectors[known] >= fan[known] - 1e-3) > 0.97


@FEW
@given(seed=SEEDS, azimuth=st.floats(0, 360), elevation=st.floats(5, 60), growth=st.sampled_from([0.0, 2.0]))
def test_a_higher_dish_never_sees_less_and_nothing_jumps(seed, azimuth, elevation, growth):
    view, eye = seen(seed, cell=1.0)
    heights = np.linspace(0.0, 12.0, 121)
    found = clearances(
        view, eyes=np.column_stack([0 * heights, 0 * heights, eye - 2.0 + heights]), look_azimuth_deg=azimuth,
        look_elevation_deg=elevation, dish_m=0.8, frequency_mhz=11_700.0, growth_m=growth,
    )  # fmt: skip
    for values in (found.spare_deg, found.centre_spare_deg, found.margin_m, found.centre_margin_m):
        assert (np.diff(values) >= -1e-6).all()
    assert (np.diff(found.margin_m) < 0.11).all()  # 10 cm up gain at most 10 cm
    assert (found.spare_deg <= found.centre_spare_deg + 1e-9).all()
    assert (np.diff(found.state.astype(int)) >= 0).all()
    np.testing.assert_array_equal(found.state == 3, found.spare_deg >= 0)
    np.testing.assert_array_equal(found.state == 1, found.centre_spare_deg < 0)
    assert (found.clearance_m[found.state == 1] < 0).all() and (found.clearance_m[found.state > 1] >= 0).all()
    assert (found.clearance_m[found.state == 2] < found.needed_m[found.state == 2]).all()
    assert (found.loss_db[found.state == 3] == 0).all()


@FEW
@given(seed=SEEDS, azimuth=st.floats(0, 360))
def test_growth_and_bigger_dishes_and_more_surface_never_help(seed, azimuth):
    view, eye = seen(seed, cell=1.0)
    how = dict(eyes=[[0.0, 0.0, eye]], look_azimuth_deg=azimuth, look_elevation_deg=20.0, frequency_mhz=11_700.0)
    base = clearances(view, dish_m=0.6, **how).spare_deg[0]
    assert clearances(view, dish_m=1.2, **how).spare_deg[0] <= base + 1e-9
    assert clearances(view, dish_m=0.6, growth_m=3.0, **how).spare_deg[0] <= base + 1e-9
    assert clearances(view, dish_m=0.6, ground_only=True, **how).spare_deg[0] >= base - 1e-9


@FEW
@given(seed=SEEDS, east=st.floats(-6, 6), north=st.floats(-6, 6), azimuth=st.floats(0, 360))
def test_a_displaced_dish_is_a_dish_seen_from_there(seed, east, north, azimuth):
    from siteplan.geodesy.projection import geod_forward

    view, eye = seen(seed, cell=1.0)
    distance, bearing = np.hypot(east, north), np.degrees(np.arctan2(east, north))
    lat, lon = geod_forward(lat_deg=scenes.LAT, lon_deg=scenes.LON, azimuth_deg=bearing, distance_m=distance)
    there = local_view(view.prepared, lat_deg=float(lat), lon_deg=float(lon), radius_m=5_000.0)
    how = dict(look_azimuth_deg=azimuth, look_elevation_deg=25.0, dish_m=0.8, frequency_mhz=11_700.0)
    one = clearances(view, eyes=[[east, north, eye]], **how)
    other = clearances(there, eyes=[[0.0, 0.0, eye]], **how)
    assert one.spare_deg[0] == pytest.approx(other.spare_deg[0], abs=0.01)
    assert one.margin_m[0] == pytest.approx(other.margin_m[0], abs=0.01)


@FEW
@given(seed=SEEDS)
def test_a_layer_cut_in_two_is_the_same_land(seed):
    """West and east halves as two layers that share a column of cells: no seam shows."""
    surface = scenes.rough(seed, cell=2.0)
    layer = surface.layers[0]

    def part(grid, start, stop):
        a, b, c, d, e, f = grid.transform
        return type(grid)(np.ascontiguousarray(grid.z_m[:, start:stop]), (a, b, c + a * start, d, e, f), grid.crs, grid.cell_m)

    halves = [
        Layer(part(layer.ground, a, b), part(layer.surface, a, b), np.ascontiguousarray(layer.kind[:, a:b]))
        for a, b in ((0, 61), (60, 121))
    ]
    views = [
        local_view(prepare(s), lat_deg=scenes.LAT, lon_deg=scenes.LON, radius_m=5_000.0) for s in (surface, Surface(tuple(halves)))
    ]
    eye = heights_here(views[0])[1] + 3.0
    fan = np.arange(0.5, 360, 3.0)
    whole, cut = (single_rays(view, eye_amsl_m=eye, azimuth_deg=fan) for view in views)
    np.testing.assert_allclose(whole.elevation_deg, cut.elevation_deg, atol=1e-6)
    np.testing.assert_allclose(whole.known_to_m, cut.known_to_m, atol=1e-3)
    around = [skyline(view, eye_amsl_m=eye).elevation_deg for view in views]
    np.testing.assert_allclose(*around, atol=0.05)
