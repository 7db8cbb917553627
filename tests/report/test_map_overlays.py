"""Maps of the area in the page: codes that give the values back, scales that hold what decides, legends in words."""

import base64
import json
import re
import struct
import zlib
from dataclasses import replace

import numpy as np
import pytest
import ready_overlays as ready

from siteplan.report import map_overlays, map_page
from siteplan.words.place import WORDS

pytestmark = pytest.mark.quick
RUN, ALONE = ready.with_rows(), ready.area_alone()
MAP, AREA = map_page.page(RUN), map_page.page(ALONE)


def data_of(made):
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', made, re.S).group(1))


def codes_of(uri):
    """Unpack a grey PNG as its standard says, filters None and Up."""
    png = base64.b64decode(uri.split(",", 1)[1])
    place, idat = 8, b""
    while place < len(png):
        (size,), kind = struct.unpack(">I", png[place : place + 4]), png[place + 4 : place + 8]
        body = png[place + 8 : place + 8 + size]
        assert struct.unpack(">I", png[place + 8 + size : place + 12 + size])[0] == zlib.crc32(kind + body)
        if kind == b"IHDR":
            cols, rows, depth, colour = struct.unpack(">IIBB", body[:10])
            assert (depth, colour) == (8, 0)
        idat += body if kind == b"IDAT" else b""
        place += 12 + size
    lines = np.frombuffer(zlib.decompress(idat), np.uint8).reshape(rows, cols + 1)
    out = np.zeros((rows, cols), np.uint8)
    for row, (kind, line) in enumerate(zip(lines[:, 0], lines[:, 1:], strict=True)):
        assert kind in (0, 2)
        out[row] = line + (out[row - 1] if kind == 2 and row else 0)
    return out


def test_every_question_stands_in_the_page_with_its_legend_once():
    for made in (MAP, AREA):
        for one in RUN.overlays:
            assert f'<option value="area-{one.name}">{one.question}</option>' in made
            legend = re.search(rf'<p data-question="area-{one.name}" hidden>(.*?)</p>', made, re.S).group(1)
            assert one.legend in legend and (not one.threshold_words or one.threshold_words in legend)
    assert '<option value="job">' in MAP and '<option value="job">' not in AREA
    assert data_of(AREA)["rows"] == [] and len(data_of(AREA)["overlays"]) == len(RUN.overlays)


def test_classes_come_back_exactly_and_quantities_to_half_a_step():
    for packed, one in zip(data_of(MAP)["overlays"], RUN.overlays, strict=True):
        codes = codes_of(packed["picture"])
        assert packed["bounds"] == [[one.south_deg, one.west_deg], [one.north_deg, one.east_deg]]
        if one.classes:
            assert np.array_equal(codes, one.values)
        else:
            known = np.isfinite(one.values)
            assert np.array_equal(codes < 254, known)
            worth = packed["from"] + codes[known] * packed["step"]
            assert np.abs(worth - one.values[known]).max() <= packed["step"] / 2 + 1e-4


def test_a_height_that_does_not_help_is_told_from_one_that_nobody_knows():
    heights = next(one for one in data_of(MAP)["overlays"] if one["key"] == "area-mount-height")
    codes = codes_of(heights["picture"])
    half_row, half_col = ready.ROWS // 2, ready.COLS // 2
    assert (codes[half_row:, :half_col] == map_overlays.NONE_CODE).all()  # blocked there: no height helps
    assert (codes[half_row:, half_col:] == map_overlays.UNKNOWN_CODE).all()  # view unknown there
    assert {"known", "none", "unknown"} <= set(heights["say"])


def test_tenths_of_a_metre_stay_tenths():
    codes, start, step = map_overlays.quantised(np.arange(0.2, 6.05, 0.1, dtype=np.float32)[None, :])
    assert (start, step) == (0.2, 0.1) and np.array_equal(codes[0], np.arange(codes.size))


def test_a_range_wider_than_the_codes_takes_coarser_steps_and_no_more():
    codes, start, step = map_overlays.quantised(np.array([[-80.0, 45.0, np.nan]], np.float32))
    assert step == 0.5 and codes.tolist() == [[0, 250, 255]] and start == -80.0
    assert (map_overlays.quantised(np.full((2, 2), np.nan, np.float32))[0] == 255).all()


def test_the_scale_holds_the_value_that_decides():
    margin = next(one for one in RUN.overlays if one.name == "tv-margin")
    low, high = map_overlays.scale_of(margin)
    assert low <= -19 and high >= 19
    low, high = map_overlays.scale_of(replace(margin, values=margin.values * 0.1 + 30.0))
    assert low <= 0.0 < high
    assert map_overlays.scale_of(replace(margin, values=np.full((3, 3), np.nan, np.float32))) == (0.0, 1.0)


def test_marks_answer_the_question_that_goes_with_the_map():
    keys = ["job", "satellite", "satellite-1", "satellite-2", "terrestrial", "mobile"]
    about = {one.name: keys[map_overlays.rows_question(one, keys)] for one in RUN.overlays}
    assert about["sees-1"] == "satellite-1" and about["mount-height"] == "satellite" and about["tv-margin"] == "terrestrial"
    assert about["mobile-strength"] == "mobile" and about["best-terrestrial"] == "terrestrial"
    assert map_overlays.rows_question(replace(RUN.overlays[0], name="sees-9"), keys[:2]) == 1


def test_names_from_files_stay_text():
    nasty = replace(RUN.overlays[3], classes=((0, "", "<script>alert(1)</script>"), (1, "", "{value}")), question="<b>which</b>?")
    made = map_page.page(replace(RUN, overlays=(nasty,)))
    assert "<script>alert" not in made and "<b>which" not in made and "&lt;b&gt;which" in made


def test_without_maps_the_page_is_as_before():
    assert "<optgroup" not in map_page.page(replace(RUN, overlays=()))


def test_a_large_area_stays_within_the_weight_of_a_page():
    rng = np.random.default_rng(5)
    rough = (rng.normal(0.0, 12.0, (500, 500)).cumsum(axis=1) / 8.0).astype(np.float32)
    seen = (rng.random((500, 500)) * 4).astype(np.uint8)  # the worst case: no two neighbours alike
    many = [replace(one, values=seen if one.classes else rough) for one in (*RUN.overlays, RUN.overlays[0])]
    assert len(map_page.page(replace(RUN, overlays=tuple(many))).encode()) < 3_000_000  # a quarter of the largest


def test_dispatchers_words():
    kept_off = ("CRS", "EPSG", "raster", "nodata", "RSRP", "dBµV", "azimuth", "multiplex", "transponder", "amsl", "cellular")
    for code, words in WORDS.items():
        assert not any(re.search(rf"\b{re.escape(word)}\b", words) for word in kept_off), code


def test_a_map_on_which_nothing_is_known_is_still_a_map():
    nothing = np.full((4, 5), 255, np.uint8)
    void = nothing * np.float32("nan")
    empty = [replace(one, values=nothing if one.classes else void, classes=()) for one in RUN.overlays]
    made = data_of(map_page.page(replace(RUN, overlays=tuple(empty))))["overlays"]
    assert [(codes_of(one["picture"]) == 255).all() for one in made] == [True] * len(empty)


def test_outlines_of_buildings_come_back_from_their_steps():
    rings = (((-9.48, 47.52), (-9.4799, 47.52), (-9.4799, 47.5201)), ((-9.47, 47.51), (-9.4699, 47.5101), (-9.4701, 47.5102)))
    made = map_page.page(replace(RUN, outlines=rings))
    for flat, ring in zip(data_of(made)["outlines"], rings, strict=True):
        corners = np.cumsum(np.reshape(flat, (-1, 2)), axis=0) / 1e6
        assert np.abs(corners - np.array(ring)).max() < 1e-9
    assert WORDS["outlines"] in made and WORDS["outlines"] not in MAP


def test_heights_in_feet_and_classes_in_the_language_that_is_spoken():
    from siteplan.words.language import speak

    try:
        speak("de", "feet")
        made = map_page.page(ALONE)
    finally:
        speak()
    heights = next(one for one in data_of(made)["overlays"] if one["key"] == "area-mount-height")
    codes = codes_of(heights["picture"])
    assert heights["from"] + codes[0, -1] * heights["step"] == pytest.approx(4.2 / 0.3048, abs=0.051)
    assert "{value} ft" in heights["say"]["known"] and heights["decimals"] == 1
    assert all(one.values.max() <= 255 for one in RUN.overlays if one.classes)


def test_a_dish_that_does_not_exist_is_told_from_one_that_nobody_knows():
    sizes = ready.quarters(0.6, 1.2, np.nan, np.nan, np.float32)
    dish = replace(RUN.overlays[2], name="dish-1", values=sizes)
    packed = data_of(map_page.page(replace(RUN, overlays=(RUN.overlays[0], dish))))["overlays"][1]
    codes = codes_of(packed["picture"])
    assert codes[-1, 0] == map_overlays.NONE_CODE and codes[-1, -1] == map_overlays.UNKNOWN_CODE
    assert packed["say"]["known"] == "here: a {value} m dish" and "none" in packed["say"]
