"""Senders where they can't or hardly can stand: under the ground (left out), in the sea or inside a building (kept and told)."""

import math
from datetime import date

import numpy as np
import pytest

from siteplan.geodesy.projection import to_wgs84
from siteplan.records.emitters import Transmitter
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, Grid, Layer, Surface
from siteplan.studies.check import left_out_or_odd
from siteplan.studies.inputs import stand
from siteplan.words import sentence

pytestmark = pytest.mark.quick
CRS, CELL, SIZE = "EPSG:32633", 10.0, 101


@pytest.fixture(scope="module")
def coast():
    """Sea at 0 m in the west, land at 3 m in the east with one block 20 m high in its middle."""
    ground = np.full((SIZE, SIZE), 3.0, dtype=np.float32)
    ground[:, :50] = 0.0
    top, kind = ground.copy(), np.full(ground.shape, KIND_GROUND, dtype=np.uint8)
    top[45:56, 70:81] += 20.0
    kind[45:56, 70:81] = KIND_BUILDING
    frame = (CELL, 0.0, 500_000.0, 0.0, -CELL, 5_300_000.0)
    made = Layer(Grid(ground, frame, CRS, CELL, "g"), Grid(top, frame, CRS, CELL, "s"), kind, True, True, date(2026, 1, 1), 0.3, "coast")
    return Surface((made,))


def at(col, row, height_m, name="Mast", ground=math.nan):
    lon, lat = to_wgs84(500_000.0 + CELL * (col + 0.5), 5_300_000.0 - CELL * (row + 0.5), CRS)
    return Transmitter(name, float(lat), float(lon), height_m, (), ground)


@pytest.mark.parametrize(
    ("col", "height_m", "code", "kept"),
    [
        (20, 30.0, "emitter_in_sea", True), (45, 30.0, None, True), (60, 30.0, None, True), (75, 12.0, "emitter_in_building", True),
        (75, 24.0, None, True),
    ],
)  # fmt: skip
def test_sea_and_buildings_are_told_and_kept(coast, col, height_m, code, kept):
    found, told = stand(coast, [at(col, 50, height_m)])
    assert bool(found) == kept and [reason.code for reason in told.values()] == ([code] if code else [])
    for reason in told.values():
        assert "Mast" in sentence(reason) and "used as it stands" in sentence(reason)


def test_what_is_left_out_is_told_before_what_is_odd(coast):
    found, told = stand(coast, [at(20, 50, 30.0), at(60, 50, 5.0, ground=-40.0)])
    assert len(found) == 1 and told["Mast"].code == "emitter_under_ground"


def test_check_lists_as_left_out_only_what_is_not_used(coast):
    masts = [at(20, 50, 30.0, "Wet"), at(75, 50, 12.0, "Indoors"), at(60, 50, 5.0, "Mole", ground=-40.0), at(60, 50, 30.0, "Sound")]
    found, told = stand(coast, masts)
    listed = left_out_or_odd(told.values())
    assert {one.name for one in found} == {"Wet", "Indoors", "Sound"}
    assert [line.split()[0] for line in listed["odd"]] == ["Wet", "Indoors"]
    assert [line.split()[0] for line in listed["left_out"]] == ["Mole"]
