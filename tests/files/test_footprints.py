"""Building footprints in: formats, layers, systems, heights as OpenStreetMap writes them, outlines that cross themselves."""

from __future__ import annotations

import geopandas
import numpy as np
import pytest
from shapely import MultiPolygon, Point, Polygon, box

from siteplan.errors import MissingLibraryError, RasterError
from siteplan.files.footprints import height_m, read_footprints

BOXES = [box(0, 0, 10, 10), box(20, 0, 30, 10), box(40, 0, 50, 10)]


def table(shapes=BOXES, crs="EPSG:32633", **columns):
    moved = geopandas.GeoSeries(shapes).translate(500_000, 5_300_000)
    return geopandas.GeoDataFrame(columns, geometry=moved.values, crs=crs)


@pytest.mark.parametrize(
    ("text", "metres"),
    [("12", 12.0), ("12 m", 12.0), ("12.5m", 12.5), ("12,5", 12.5), ("40 ft", 12.192), ("40'", 12.192), ("40'6\"", 12.3444),
     ("8 metres", 8.0), (7.25, 7.25), (np.float32(4.5), 4.5)],
)  # fmt: skip
def test_heights_as_people_write_them(text, metres):
    assert height_m(text) == pytest.approx(metres, abs=1e-6)


@pytest.mark.parametrize("text", ["", None, "high", "12-14", "-3", 0, -2.0, float("nan"), "5000", "12 parsecs", "3; 4"])
def test_what_is_no_height(text):
    assert np.isnan(height_m(text))


def test_the_height_field_goes_before_levels(tmp_path):
    path = tmp_path / "b.gpkg"
    table(**{"height": ["12 m", None, ""], "building:levels": ["9", "2", None]}).to_file(path)
    file = read_footprints(path)
    np.testing.assert_allclose(file.footprints.height_m, [12.0, 6.0, np.nan])
    assert (file.read, file.with_height, file.from_levels, file.repaired, file.complete) == (3, 2, 1, 0, False)


def test_a_named_field_alone_counts(tmp_path):
    path = tmp_path / "b.gpkg"
    table(Traufe=[5.5, 6.5, 7.5], height=[1, 1, 1]).to_file(path)
    assert read_footprints(path, height_field="traufe").footprints.height_m.tolist() == [5.5, 6.5, 7.5]
    with pytest.raises(RasterError, match="no field 'ridge'.*Traufe"):
        read_footprints(path, height_field="ridge")


@pytest.mark.parametrize("name", ["b.gpkg", "b.geojson", "b.shp", "b.parquet"])
def test_formats(tmp_path, name):
    if name.endswith("parquet"):
        pytest.importorskip("pyarrow")
    path = tmp_path / name
    data = table(height=[3.0, 4.0, 5.0])
    data = data.to_crs("EPSG:4326") if name.endswith("geojson") else data
    data.to_parquet(path) if name.endswith("parquet") else data.to_file(path)
    file = read_footprints(path)
    assert file.footprints.height_m.tolist() == [3.0, 4.0, 5.0]
    west, south, _, _ = file.footprints.polygons[0].bounds
    assert west == pytest.approx(15.0, abs=1e-9) and 47.8 < south < 47.9


def test_outlines_that_cross_themselves_are_repaired_and_counted(tmp_path):
    path = tmp_path / "b.gpkg"
    bow = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    two = MultiPolygon([box(60, 0, 64, 4), box(70, 0, 74, 4)])
    table([bow, two, Polygon([(80, 0), (81, 0), (82, 0)])], height=[4.0, 6.0, 8.0]).to_file(path)
    file = read_footprints(path)
    assert (file.read, file.repaired, file.skipped) == (3, 2, 1)  # the line of no area is both mended and left out
    assert file.footprints.height_m.tolist() == [4.0, 4.0, 6.0, 6.0]  # a bow tie is two triangles
    assert all(polygon.is_valid and polygon.area > 0 for polygon in file.footprints.polygons)


def test_the_first_layer_with_polygons_or_the_one_named(tmp_path):
    path = tmp_path / "b.gpkg"
    geopandas.GeoDataFrame(geometry=[Point(0, 0)], crs="EPSG:4326").to_file(path, layer="trees")
    table(height=[3.0, 4.0, 5.0]).to_file(path, layer="houses")
    table([box(0, 0, 1, 1)], height=[9.0]).to_file(path, layer="sheds")
    assert read_footprints(path).layer == "houses"
    assert read_footprints(path, layer="sheds").footprints.height_m.tolist() == [9.0]
    with pytest.raises(RasterError, match="no layer 'barns'.*houses"):
        read_footprints(path, layer="barns")


def test_refusals(tmp_path):
    with pytest.raises(RasterError, match="no such file"):
        read_footprints(tmp_path / "none.gpkg")
    (tmp_path / "text.gpkg").write_text("hello")
    with pytest.raises(RasterError, match="not a file of footprints"):
        read_footprints(tmp_path / "text.gpkg")
    (tmp_path / "bad.parquet").write_text("hello")
    with pytest.raises((RasterError, MissingLibraryError), match=r"not a file of footprints|pip install pyarrow"):
        read_footprints(tmp_path / "bad.parquet")
    geopandas.GeoDataFrame(geometry=[Point(0, 0)], crs="EPSG:4326").to_file(tmp_path / "points.gpkg")
    with pytest.raises(RasterError, match="no polygons"):
        read_footprints(tmp_path / "points.gpkg")
    with pytest.warns(UserWarning):
        table(crs=None).to_file(tmp_path / "bare.shp")
    with pytest.raises(RasterError, match="no coordinate system"):
        read_footprints(tmp_path / "bare.shp")
    assert len(read_footprints(tmp_path / "bare.shp", crs="EPSG:32633").footprints.polygons) == 3
