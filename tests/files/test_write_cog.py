"""Rasters out: cloud-optimised, with units and unknown values told, the same bytes each time."""

import math
from pathlib import Path

import numpy as np
import pytest
import rasterio

from siteplan.errors import OutputError
from siteplan.files.raster_info import Band
from siteplan.files.rasters import read_bands, write_cog
from siteplan.geodesy.projection import parse_crs, same_crs

CRS, TRANSFORM = parse_crs("EPSG:32633"), (2.0, 0.0, 500_000.0, 0.0, -2.0, 5_300_000.0)


def heights(rows=700, cols=600):
    z = np.add.outer(np.arange(rows, dtype=np.float32), np.arange(cols, dtype=np.float32))
    z[:50] = np.nan
    return z


def write(path, *bands, nodata=math.nan, tags=None):
    write_cog(path, bands, transform=TRANSFORM, crs=CRS, nodata=nodata, tags=tags or {"PLAN": "Ä & <b>", "DATE": "2026-06-11"})
    return path


def test_what_is_written_says_what_it_is(tmp_path: Path) -> None:
    path = write(tmp_path / "a.tif", Band(heights(), "mount height, metres; NaN unknown", "m"), Band(heights() * 2, "margin", "dB"))
    with rasterio.open(path) as found:
        assert found.descriptions == ("mount height, metres; NaN unknown", "margin") and found.units == ("m", "dB")
        assert math.isnan(found.nodata) and found.dtypes == ("float32", "float32")
        assert found.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG" and found.profile["tiled"] and found.overviews(1) == [2, 4]
        assert found.tags()["PLAN"] == "Ä & <b>" and found.tags()["DATE"] == "2026-06-11"
        assert tuple(found.transform)[:6] == TRANSFORM and same_crs(found.crs.to_wkt(), CRS)
        assert np.array_equal(found.read(1), heights(), equal_nan=True)
    assert [item.name for item in tmp_path.iterdir()] == ["a.tif"]  # nothing beside it


def test_codes_keep_their_meaning_in_coarser_copies(tmp_path: Path) -> None:
    codes = np.tile(np.array([[0, 3], [3, 0]], dtype=np.uint8), (300, 300))
    path = write(tmp_path / "codes.tif", Band(codes, "0 unknown, 3 clear; 255 no ground"), nodata=255)
    with rasterio.open(path) as found:
        assert found.nodata == 255 and set(np.unique(found.read(1, out_shape=(150, 150)))) <= {0, 3}


def test_the_same_cells_give_the_same_bytes(tmp_path: Path) -> None:
    first, second = (write(tmp_path / name, Band(heights(), "z", "m")).read_bytes() for name in ("a.tif", "b.tif"))
    assert first == second


def test_read_back_as_it_was(tmp_path: Path) -> None:
    names = np.full((40, 30), 65_535, dtype=np.uint16)
    names[3, 4] = 7
    bands, transform, crs = read_bands(write(tmp_path / "n.tif", Band(names, "best transmitter"), nodata=65_535))
    assert np.array_equal(bands[0].cells, names) and bands[0].description == "best transmitter" and bands[0].unit == ""
    assert transform == TRANSFORM and same_crs(crs, CRS)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="can't write the raster"):
        write(tmp_path / "no" / "a.tif", Band(heights(10, 10), "z", "m"))
