"""Footprints from files: contours and shapes become beams; what can't be taken is told and the rest goes on."""

import json
import math

import numpy as np
import pytest
from table_makers import plan_with

from siteplan.errors import PlanError, TableError
from siteplan.files.emitters import read_satellites

SATELLITES = (
    "satellite,orbit_deg,transponder,frequency_mhz,polarisation,symbol_rate_kbaud,code_rate,eirp_dbw,eirp_source,beam\n"
    "Oriel,25E,O1,11000,H,27500,3/4,50,stated,\nOriel,25E,O2,11100,H,27500,3/4,,,Isles\nGannet,30W,G1,11000,V,27500,3/4,49,stated,\n"
)
RING = [[0.0, 40.0], [20.0, 40.0], [20.0, 55.0], [0.0, 55.0], [0.0, 40.0]]


def feature(kind="Polygon", points=RING, **properties):
    shape = None if kind is None else {"type": kind, "coordinates": [points] if kind == "Polygon" else points}
    return {"type": "Feature", "properties": {"orbit_deg": "25E", "eirp_dbw": 48.0, **properties}, "geometry": shape}


@pytest.fixture
def read(tmp_path):
    (tmp_path / "sats.csv").write_text(SATELLITES)

    def give(*features, name="beams.geojson", text=None, **keys):
        file = tmp_path / name
        file.write_text(text if text is not None else json.dumps({"type": "FeatureCollection", "features": list(features)}))
        return read_satellites(plan_with(tmp_path, satellites={"file": tmp_path / "sats.csv", "beams": (file,), **keys}))

    return give


def test_contours_of_one_beam_and_of_another(read):
    inner = [[x * 0.5 + 5.0, y * 0.5 + 24.0] for x, y in RING]
    (gannet, oriel), rejects = read(
        feature(), feature(points=inner, eirp_dbw="51,5"), feature("LineString", RING[:4], beam="Isles", eirp_dbw=None, EIRP_dBm=79),
        feature(orbit_deg=None, satellite="gannet", eirp_dbw=45),
    )  # fmt: skip
    assert [reject.reason for reject in rejects] == ["is empty"]  # this file's field is eirp_dbw
    (wide,) = oriel.beams
    assert wide.name == "" and [one.eirp_dbw for one in wide.contours] == [48.0, 51.5] and all(one.closed for one in wide.contours)
    assert wide.source == "beams.geojson" and np.array_equal(wide.contours[0].lon_deg, [0.0, 20.0, 20.0, 0.0, 0.0])
    assert gannet.beams[0].contours[0].eirp_dbw == 45.0


def test_levels_in_dbm_and_lines(read):
    (_, oriel), rejects = read(feature("LineString", RING[:4], eirp_dbw=None, eirp_dbm=79.0, beam="Isles") | {"id": 1})
    assert len(rejects) == 1  # eirp_dbw is there and empty
    line = feature("LineString", RING[:4], beam="Isles")
    line["properties"] = {"orbit_deg": 25.0, "EIRP (dBm)": 79.0, "beam": "Isles"}
    (_, oriel), rejects = read(line)
    (beam,) = oriel.beams
    assert rejects == () and beam.name == "Isles" and beam.contours[0].eirp_dbw == 49.0 and not beam.contours[0].closed


@pytest.mark.parametrize(
    ("bad", "field", "says"),
    [
        ({"eirp_dbw": 82.0}, "eirp_dbw", "call the column eirp_dbm (82 dBm is 52 dBW)"),
        ({"eirp_dbw": -3.0}, "eirp_dbw", "0 to 75 dBW"),
        ({"eirp_dbw": "strong"}, "eirp_dbw", "not a number"),
        ({"eirp_dbw": None}, "eirp_dbw", "is empty"),
        ({"orbit_deg": "13E"}, "orbit_deg", "no satellite of the plan's table stands there"),
        ({"orbit_deg": "high"}, "orbit_deg", "no orbital position"),
        ({"orbit_deg": None, "satellite": "Egret"}, "satellite", "is called that"),
        ({"orbit_deg": None}, "orbit_deg", "is empty"),
        ({"kind": "Point", "points": [1.0, 2.0]}, "geometry", "polygons or lines are wanted"),
        ({"kind": None}, "geometry", "is empty"),
        ({"points": [[0.0, 400.0], [1.0, 400.0], [1.0, 500.0], [0.0, 400.0]]}, "geometry", "no longitude and latitude"),
    ],
)
def test_a_bad_contour_is_told_and_the_rest_goes_on(read, bad, field, says):
    (_, oriel), (reject,) = read(feature(), feature(**{"satellite": None, **bad}), feature(eirp_dbw=51.0))
    assert [one.eirp_dbw for one in oriel.beams[0].contours] == [48.0, 51.0]
    assert (reject.file, reject.row, reject.field) == ("beams.geojson", 2, field) and says in reject.reason


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("not json", "can't be read"),
        ('{"type": "FeatureCollection", "features": []}', "contours are wanted|no field"),
        (json.dumps({"type": "FeatureCollection", "features": [{**feature(), "properties": {"level": 48}}]}), "eirp_dbw .fields: level"),
    ],
)
def test_a_file_of_no_use_is_one_message(read, text, says):
    with pytest.raises(TableError, match=says):
        read(text=text)


SHAPES = "orbit_deg,beam,eirp_dbw,boresight_lat_deg,boresight_lon_deg,boresight_east_deg,boresight_north_deg,beamwidth_deg,rotation_deg\n"


def test_shapes_from_a_table(read):
    rows = "25E,,54,47,10,,,4,\n25E,Isles,50,,,1.2,6.5,1,30\n30W,,82,47,10,,,4,\n30W,,49,47,,,,4,\n"
    rows += "25E,isles,50,1,1,,,1,\n30W,,49,47,10,,,40,\n"
    (gannet, oriel), rejects = read(name="beams.csv", text=SHAPES + rows)
    wide, isles = oriel.beams
    assert (wide.peak_eirp_dbw, wide.boresight_lat_deg, wide.beamwidth_deg, wide.rotation_deg) == (54.0, 47.0, 4.0, 0.0)
    assert isles.name == "Isles" and (isles.boresight_east_deg, isles.boresight_north_deg) == (1.2, 6.5)
    assert math.isnan(isles.boresight_lat_deg)
    assert gannet.beams == () and [reject.row for reject in rejects] == [4, 5, 6, 7]
    said = " | ".join(reject.reason for reject in rejects)
    for words in ("82 dBm is 52 dBW", "the boresight is wanted", "is drawn already", "0.1 to 20"):
        assert words in said
    with pytest.raises(TableError, match="write eirp_dbw"):
        read(name="beams.csv", text="orbit_deg,beamwidth_deg\n25E,4\n")


def test_a_wanted_transponder_that_nobody_sends(read):
    found, _ = read(feature(), wanted_transponders=("O1", "30W: G1"))
    assert len(found) == 2
    with pytest.raises(PlanError, match="25E: O2") as caught:
        read(feature(), wanted_transponders=("O9",))
    assert caught.value.key == "satellites.wanted_transponders"


def test_footprints_without_a_table_of_satellites(tmp_path):
    (tmp_path / "b.geojson").write_text("{}")
    with pytest.raises(PlanError, match="need the table"):
        read_satellites(plan_with(tmp_path, satellites={"wanted": (25.0,), "beams": (tmp_path / "b.geojson",)}))
