"""The sample folder: small, complete, full of cases, and what its own script makes."""

import csv
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import rasterio

SAMPLE = Path(__file__).resolve().parents[2] / "sample_terrain"
TABLES = (
    "addresses.csv", "satellites.csv", "orbits.tle", "transmitters.csv", "sectors.csv", "buildings.geojson", "hamlet_buildings.geojson",
)  # fmt: skip
RASTERS = ("wide_ground_40m.tif", "town_ground_1m.tif", "town_surface_1m.tif", "hamlet_ground_2m.tif")


def rows(name: str) -> list[dict[str, str]]:
    with (SAMPLE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.quick
def test_the_sample_is_small_and_complete() -> None:
    assert sum(path.stat().st_size for path in SAMPLE.rglob("*") if path.is_file()) <= 8_000_000
    assert {path.name for path in SAMPLE.iterdir()} >= {"plan.toml", "README.md", "make_sample.py", *TABLES, *RASTERS}


@pytest.mark.quick
def test_the_lists_hold_what_they_promise() -> None:
    addresses = rows("addresses.csv")
    assert len(addresses) >= 80
    assert {row["mount"] for row in addresses} >= {"", "roof", "ground", "wall", "chimney"}
    assert any(not row["lat_deg"] for row in addresses) and len({row["id"] for row in addresses}) == len(addresses) - 1
    sectors = rows("sectors.csv")
    assert len({row["operator"] for row in sectors}) == 3 and {row["band"] for row in sectors} == {"800", "900", "1800", "2100", "3500"}
    assert len({row["transmitter"] for row in rows("transmitters.csv")}) == 8
    assert {row["eirp_source"] for row in rows("satellites.csv")} == {"stated", "measured", "assumed"}


@pytest.mark.quick
def test_the_surface_never_lies_under_its_ground() -> None:
    with rasterio.open(SAMPLE / "town_ground_1m.tif") as ground, rasterio.open(SAMPLE / "town_surface_1m.tif") as surface:
        assert ground.transform == surface.transform and ground.crs.to_epsg() == 32629
        stands = surface.read(1) - ground.read(1)
    assert stands.min() >= 0.0 and 30.0 < stands.max() < 45.0


def test_the_script_makes_the_same_sample_again(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    subprocess.run([sys.executable, str(SAMPLE / "make_sample.py"), str(tmp_path)], check=True, env=environment, capture_output=True)
    for name in TABLES:
        assert (tmp_path / name).read_bytes() == (SAMPLE / name).read_bytes(), name
    for name in RASTERS:
        with rasterio.open(tmp_path / name) as made, rasterio.open(SAMPLE / name) as kept:
            # another processor's exp() may tip a height over to the next step of 0.125 or 0.25 m, never further
            assert np.abs(made.read(1) - kept.read(1)).max() <= 0.25
