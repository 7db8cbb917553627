"""Raster files in: units, voids, coordinate systems, orientations, windows, and a clear refusal of everything that is no ground."""

from __future__ import annotations

import os

import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine
from terrain_makers import ORIGIN, write_tif

from siteplan.errors import RasterError
from siteplan.files import raster_checks, rasters
from siteplan.geodesy import cells, projection

Z = 300.0 + np.add.outer(np.arange(5.0), 2.0 * np.arange(7.0)).astype(np.float32)


def read(path, **stated):
    return rasters.read(rasters.describe(path, **stated))


def refused(path, *words, **stated):
    with pytest.raises(RasterError) as caught:
        read(path, **stated)
    text = str(caught.value)
    assert path.name in text or str(path) in text
    for word in words:
        assert word in text, text
    return text


# ---- what is read --------------------------------------------------------------------------------------------------


def test_a_plain_file_comes_as_it_is(tmp_path):
    info = rasters.describe(write_tif(tmp_path / "g.tif", Z, cell=2.0))
    grid = rasters.read(info)
    np.testing.assert_array_equal(grid.z_m, Z)
    assert grid.z_m.dtype == np.float32 and grid.z_m.flags.c_contiguous
    assert grid.transform == (2.0, 0.0, ORIGIN[0], 0.0, -2.0, ORIGIN[1])
    assert info.cell_m == pytest.approx(2.0 / 0.9996, rel=1e-6)  # scale factor of UTM on its central meridian
    assert (info.unit, info.unit_source) == ("m", "not stated")
    assert info.west_deg == pytest.approx(15.0) and info.south_deg < info.north_deg


@pytest.mark.parametrize(
    ("how", "unit", "factor", "source"),
    [
        ({"unit": "metre"}, "m", 1.0, "band unit"),
        ({"unit": "ft"}, "ft", 0.3048, "band unit"),
        ({"unit": "US survey foot"}, "us-ft", 1200 / 3937, "band unit"),
        ({"unit": "metre above ground"}, "m", 1.0, "band unit"),
        ({"tags": {"VERTICAL_UNITS": "foot"}}, "ft", 0.3048, "tag"),
        ({"tags": {"VERTICAL_UNITS": "centimetre"}}, "cm", 0.01, "tag"),
        # GDAL hands the unit of a vertical CRS (NAVD88 height, in metres and in US survey feet) on as the band's unit
        ({"crs": "EPSG:32633+5703"}, "m", 1.0, "band unit"),
        ({"crs": "EPSG:32633+6360"}, "us-ft", 1200 / 3937, "band unit"),
    ],
)
def test_heights_come_in_metres_whatever_says_their_unit(tmp_path, how, unit, factor, source):
    path = write_tif(tmp_path / "g.tif", Z, **how)
    info = rasters.describe(path)
    assert (info.unit, info.unit_source) == (unit, source)
    np.testing.assert_allclose(rasters.read(info).z_m, Z * factor, rtol=1e-6)


def test_a_vertical_crs_speaks_where_the_band_does_not():
    crs = projection.parse_crs("EPSG:32633+6360")
    assert raster_checks.unit("g", stated="", band="", tags={}, crs=crs) == ("us-ft", pytest.approx(1200 / 3937), "vertical CRS")


def test_the_plan_overrules_the_unit(tmp_path):
    path = write_tif(tmp_path / "g.tif", Z, unit="metre")
    info = rasters.describe(path, vertical_unit="ft")
    assert (info.unit, info.unit_source) == ("ft", "plan")
    np.testing.assert_allclose(rasters.read(info).z_m, Z * 0.3048, rtol=1e-6)


def test_a_compound_system_places_cells_by_its_horizontal_part(tmp_path):
    flat = read(write_tif(tmp_path / "a.tif", Z))
    tall = read(write_tif(tmp_path / "b.tif", Z, crs="EPSG:32633+5703"))
    one, other = (projection.to_wgs84(*cells.apply(grid.transform, 3.5, 2.5), grid.crs) for grid in (flat, tall))
    np.testing.assert_allclose(one, other, atol=1e-12)


def test_voids_by_tag_by_nan_by_plan_and_by_mask(tmp_path):
    z = Z.copy()
    z[1, 1], z[2, 2], z[3, 3] = -9999.0, np.nan, -1.0
    grid = read(write_tif(tmp_path / "g.tif", z, nodata=-9999.0), nodata=-1.0)
    np.testing.assert_array_equal(np.argwhere(np.isnan(grid.z_m)), [[1, 1], [2, 2], [3, 3]])
    assert np.nanmax(np.abs(np.where(np.isnan(grid.z_m), np.nan, grid.z_m - Z))) == 0.0


def test_a_void_that_rounds_in_float32_is_still_the_void(tmp_path):
    z = Z.copy()
    z[0, 0] = np.float32(-3.4028234663852886e38)
    assert np.isnan(read(write_tif(tmp_path / "g.tif", z, nodata=-3.4028234663852886e38)).z_m[0, 0])


def test_scale_and_offset_are_honoured(tmp_path):
    path = write_tif(tmp_path / "g.tif", (Z * 10).astype(np.int16), nodata=-32768)
    with rasterio.open(path, "r+") as out:
        out.scales, out.offsets = (0.1,), (50.0,)
    np.testing.assert_allclose(read(path).z_m, Z + 50.0, atol=1e-3)


def test_south_up_and_rotated_rasters_keep_their_place(tmp_path):
    north_up = read(write_tif(tmp_path / "n.tif", Z, cell=2.0))
    south_up = read(write_tif(tmp_path / "s.tif", Z[::-1], transform=Affine(2.0, 0, ORIGIN[0], 0, 2.0, ORIGIN[1] - 10.0)))
    turned = read(write_tif(tmp_path / "r.tif", Z.T, transform=Affine(0, 2.0, ORIGIN[0], -2.0, 0, ORIGIN[1])))
    for row, col in ((0, 0), (4, 6), (2, 3)):
        place = cells.apply(north_up.transform, col + 0.5, row + 0.5)
        for other in (south_up, turned):
            c, r = cells.invert(other.transform, *place)
            assert other.z_m[int(r), int(c)] == Z[row, col]


def test_other_formats_are_read(tmp_path):
    text = "ncols 3\nnrows 2\nxllcorner 500000\nyllcorner 5300000\ncellsize 10\nNODATA_value -99\n1 2 3\n4 -99 6\n"
    path = tmp_path / "g.asc"
    path.write_text(text)
    refused(path, "no coordinate system", "EPSG:25833")
    grid = read(path, crs="EPSG:32633")
    np.testing.assert_array_equal(grid.z_m, np.array([[1, 2, 3], [4, np.nan, 6]], dtype=np.float32))


def test_a_window_is_the_same_cells_and_a_coarser_copy_holds_the_highest(tmp_path):
    rng = np.random.default_rng(5)
    z = rng.uniform(0, 100, (101, 83)).astype(np.float32)
    z[10:14, 10:14] = np.nan
    info = rasters.describe(write_tif(tmp_path / "g.tif", z))
    part = rasters.read(info, window=(20, 60, 5, 33))
    np.testing.assert_array_equal(part.z_m, z[20:60, 5:33])
    assert cells.apply(part.transform, 0, 0) == cells.apply(info.transform, 5, 20)
    coarse = rasters.read(info, factor=4)
    assert coarse.z_m.shape == (26, 21) and coarse.cell_m == pytest.approx(4 * info.cell_m)
    assert coarse.z_m[3, 5] == np.nanmax(z[12:16, 20:24])
    assert coarse.z_m[25, 20] == np.nanmax(z[100:, 80:])
    assert np.nanmax(coarse.z_m) == np.nanmax(z)
    assert cells.apply(coarse.transform, 1, 1) == cells.apply(info.transform, 4, 4)


def test_strips_and_one_piece_are_the_same(tmp_path, monkeypatch):
    z = np.random.default_rng(6).uniform(0, 100, (61, 43)).astype(np.float32)
    info = rasters.describe(write_tif(tmp_path / "g.tif", z))
    once = rasters.read(info, factor=4), rasters.read(info)
    monkeypatch.setattr(rasters, "_STRIP_CELLS", 500)
    for one, strips in zip(once, (rasters.read(info, factor=4), rasters.read(info)), strict=True):
        np.testing.assert_array_equal(one.z_m, strips.z_m)


def test_the_window_around_a_place_holds_its_circle_and_little_more(tmp_path):
    info = rasters.describe(write_tif(tmp_path / "g.tif", np.zeros((200, 200), np.float32) + 7))
    lon, lat = projection.to_wgs84(ORIGIN[0] + 100.5, ORIGIN[1] - 100.5, info.crs)
    r0, r1, c0, c1 = rasters.window_around(info, lat_deg=lat, lon_deg=lon, radius_m=20.0)
    assert r0 <= 80 and r1 >= 121 and c0 <= 80 and c1 >= 121
    assert r1 - r0 < 50 and c1 - c0 < 50
    assert rasters.window_around(info, lat_deg=lat + 1, lon_deg=lon, radius_m=20.0) is None


def test_a_grid_that_counts_longitude_from_0_to_360_meets_western_places(tmp_path):
    path = write_tif(tmp_path / "g.tif", Z, crs="EPSG:4326", transform=Affine(0.01, 0, 275.0, 0, -0.01, 40.0))
    info = rasters.describe(path)
    assert rasters.window_around(info, lat_deg=39.98, lon_deg=-84.97, radius_m=2000.0) is not None


def test_polygons_are_burnt_highest_on_top():
    from shapely import box

    out = rasters.burn([box(0, 0, 4, 4), box(2, 2, 6, 6)], [9.0, 5.0], shape=(6, 6), transform=(1, 0, 0, 0, -1, 6))
    assert out[2, 2] == 9.0 and out[0, 5] == 5.0 and np.isnan(out[0, 0])  # row 0 is y 5..6
    assert out[3, 3] == 9.0  # where both lie the higher one wins


# ---- what is refused ------------------------------------------------------------------------------------------------


def test_missing_empty_text_and_web_page(tmp_path):
    refused(tmp_path / "not_there.tif", "no such file")
    (tmp_path / "empty.tif").touch()
    refused(tmp_path / "empty.tif", "empty")
    (tmp_path / "text.tif").write_text("These are the heights of my village.\n")
    refused(tmp_path / "text.tif", "text file")
    (tmp_path / "page.tif").write_text("<html><body>404</body></html>")
    refused(tmp_path / "page.tif", "web page", "fetch it again")
    (tmp_path / "noise.tif").write_bytes(bytes(range(256)) * 4)
    refused(tmp_path / "noise.tif", "not a raster")
    (tmp_path / "folder").mkdir()
    refused(tmp_path / "folder", "folder")


@pytest.mark.parametrize("keep", [0.02, 0.3, 0.9])
def test_truncated(tmp_path, keep):
    whole = write_tif(tmp_path / "whole.tif", np.random.default_rng(1).uniform(1, 90, (300, 300)).astype(np.float32), tiled=True)
    cut = tmp_path / "cut.tif"
    cut.write_bytes(whole.read_bytes()[: int(os.path.getsize(whole) * keep)])
    refused(cut, "cut short")


def test_no_crs_wrong_crs_and_two_that_disagree(tmp_path):
    bare = write_tif(tmp_path / "bare.tif", Z, crs=None)
    refused(bare, "no coordinate system", 'crs = "EPSG:25833"')
    assert rasters.describe(bare, crs="EPSG:32633").crs_name.endswith("(EPSG:32633)")
    refused(bare, "EPSG:999999", crs="EPSG:999999")
    tagged = write_tif(tmp_path / "tagged.tif", Z)
    refused(tagged, "apart", crs="EPSG:32632")
    assert rasters.describe(tagged, crs="EPSG:25833").crs_name.endswith("(EPSG:32633)")  # the same within centimetres: let pass
    nowhere = write_tif(tmp_path / "nowhere.tif", Z, transform=Affine.identity())
    refused(nowhere, "where it lies")
    off = write_tif(tmp_path / "off.tif", Z, crs="EPSG:4326", transform=Affine(1.0, 0, 500_000, 0, -1.0, 5_300_000))
    refused(off, "nowhere on Earth")


def test_pictures_stacks_palettes_and_slivers(tmp_path):
    refused(write_tif(tmp_path / "rgb.tif", np.zeros((3, 4, 4), np.uint8)), "picture", "not heights")
    refused(write_tif(tmp_path / "stack.tif", np.ones((5, 4, 4), np.float32)), "5 bands")
    palette = write_tif(tmp_path / "palette.tif", np.ones((4, 4), np.uint8), photometric="palette")
    with rasterio.open(palette, "r+") as out:
        out.write_colormap(1, {0: (0, 0, 0, 255), 1: (255, 0, 0, 255)})
    refused(palette, "picture")
    refused(write_tif(tmp_path / "row.tif", np.ones((1, 9), np.float32)), "1 × 9 cells", "at least two")
    refused(write_tif(tmp_path / "cell.tif", np.ones((1, 1), np.float32)), "1 × 1 cells")


def test_nothing_but_voids_and_infinities(tmp_path):
    refused(write_tif(tmp_path / "void.tif", np.full((4, 4), -9999.0, np.float32), nodata=-9999.0), "all 16 cells are void")
    z = Z.copy()
    z[0, :3] = np.inf
    z[4, 4] = -np.inf
    refused(write_tif(tmp_path / "inf.tif", z), "4 of 35", "infinity")


@pytest.mark.parametrize(
    ("mark", "dtype", "shown"),
    [(32767, "int16", "32767"), (-32768, "int16", "-32768"), (-9999, "float32", "-9999"), (-9999, "int32", "-9999"),
     (9500, "float32", "9,500"), (1e20, "float32", "1e+20"), (-3.4e38, "float32", "-3.4e+38")],
)  # fmt: skip
def test_untagged_voids_are_refused_by_value_and_count(tmp_path, mark, dtype, shown):
    z = Z.astype(np.float64)
    z[1, 2] = z[3, 4] = mark
    text = refused(write_tif(tmp_path / "g.tif", z, dtype=dtype, unit="metre"), "2 of 35", "nodata")
    assert shown in text.replace(",", "") or shown in text
    if dtype != "float32" or abs(mark) < 1e5:
        assert np.isnan(read(tmp_path / "g.tif", nodata=float(mark)).z_m[1, 2])


def test_centimetres_and_feet_are_asked_for(tmp_path):
    cm = write_tif(tmp_path / "cm.tif", (Z * 100).astype(np.int32))
    refused(cm, "centimetres", 'vertical_unit = "cm"')
    np.testing.assert_allclose(read(cm, vertical_unit="cm").z_m, Z, atol=0.006)
    full = write_tif(tmp_path / "cm327.tif", np.full((3, 3), 32767, np.int16))
    np.testing.assert_allclose(read(full, vertical_unit="cm").z_m, 327.67, rtol=1e-6)  # a height like any other
    feet = write_tif(tmp_path / "feet.tif", Z, crs="EPSG:2994", origin=(636_000.0, 849_000.0))
    refused(feet, "feet", 'vertical_unit = "ft"')
    np.testing.assert_allclose(read(feet, vertical_unit="ft").z_m, Z * 0.3048, rtol=1e-6)
    refused(write_tif(tmp_path / "odd.tif", Z, unit="furlong"), "furlong", "vertical_unit")


def test_centimetres_of_low_land_show_by_their_steepness(tmp_path):
    rows, cols = np.mgrid[0:40, 0:40]
    low = 20.0 + 0.03 * cols + 0.02 * rows  # 3 % of slope, 20 to 22 m above the sea
    path = write_tif(tmp_path / "cm.tif", np.round(low * 100).astype(np.int16))
    refused(path, "probably centimetres", 'vertical_unit = "cm"')
    np.testing.assert_allclose(read(path, vertical_unit="cm").z_m, low, atol=0.006)
    read(write_tif(tmp_path / "m.tif", np.round(low).astype(np.int16)))


@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_file_gives_a_message_or_heights_never_a_library_error(tmp_path, seed):
    rng = np.random.default_rng(seed)
    z = rng.uniform(100, 120, (64, 64)).astype(np.float32)
    path = write_tif(tmp_path / "g.tif", z, tiled=True, blockxsize=32, blockysize=32, compress=["deflate", "lzw", None][seed % 3])
    data = bytearray(path.read_bytes())
    for at in rng.integers(0, min(len(data), 400 if seed % 2 else len(data)), 12):
        data[at] = rng.integers(0, 256)
    path.write_bytes(bytes(data))
    try:
        assert read(path).z_m.ndim == 2
    except RasterError as error:
        assert "g.tif" in str(error)


@pytest.mark.parametrize("path", ["/vsicurl/http://127.0.0.1:9/a.tif", "/vsizip/a.zip/b.tif", "http://127.0.0.1:9/a.tif", "s3://bucket/a.tif"])
def test_network_and_virtual_paths_are_not_opened(path):
    with pytest.raises(RasterError, match="local files only"):
        rasters.describe(path)


VRT = """<VRTDataset rasterXSize="7" rasterYSize="5"><SRS>EPSG:32633</SRS>
<GeoTransform>500000, 1, 0, 5300000, 0, -1</GeoTransform>
<VRTRasterBand dataType="Float32" band="1"><SimpleSource><SourceFilename relativeToVRT="{relative}">{name}</SourceFilename>
<SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>"""


def test_a_virtual_raster_of_files_beside_it_is_read_and_any_other_refused(tmp_path):
    (tmp_path / "in").mkdir()
    write_tif(tmp_path / "in" / "g.tif", Z)
    write_tif(tmp_path / "outside.tif", Z)
    good = tmp_path / "in" / "good.vrt"
    good.write_text(VRT.format(relative=1, name="g.tif"))
    np.testing.assert_array_equal(read(good).z_m, Z)
    for relative, name in ((1, "../outside.tif"), (0, str(tmp_path / "outside.tif")), (0, "/vsicurl/http://127.0.0.1:9/x.tif"), (0, "http://127.0.0.1:9/x")):
        bad = tmp_path / "in" / "bad.vrt"
        bad.write_text(VRT.format(relative=relative, name=name))
        refused(bad, "points outside")
    (tmp_path / "in" / "nested.vrt").write_text(VRT.format(relative=1, name="good.vrt"))
    refused(tmp_path / "in" / "nested.vrt")
    derived = VRT.format(relative=1, name="g.tif").replace('band="1"', 'band="1" subClass="VRTDerivedRasterBand"')
    (tmp_path / "in" / "derived.vrt").write_text(derived)
    refused(tmp_path / "in" / "derived.vrt", "one GeoTIFF")


def test_a_vector_file_is_no_raster(tmp_path):
    import geopandas
    from shapely import box

    geopandas.GeoDataFrame(geometry=[box(0, 0, 1, 1)], crs="EPSG:4326").to_file(tmp_path / "v.gpkg")
    refused(tmp_path / "v.gpkg", "not a raster")
