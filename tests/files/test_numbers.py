"""Numbers as people write them: decimal commas, degrees with minutes, compass letters, thousands marks; and what is no number."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.files.numbers import parse_angle, parse_metres, parse_number, split_pair

pytestmark = pytest.mark.quick
SEEDED = settings(derandomize=True, deadline=None, max_examples=300)


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("47.5123", 47.5123, 1e-4),
        ("47,5123", 47.5123, 1e-4),
        ("-47.5", -47.5, 0.1),
        ("−47.5", -47.5, 0.1),
        ("47.5°", 47.5, 0.1),
        ("47.5 N", 47.5, 0.1),
        ("S 47.5", -47.5, 0.1),
        ("47°30'N", 47.5, 1 / 60),
        ("47° 30' 18\" N", 47.505, 1 / 3600),
        ("47°30′18.0″S", -47.505, 1 / 36000),
        ("47 30 18", 47.505, 1 / 3600),
        ("47:30:18", 47.505, 1 / 3600),
        ("47° 30.3' N", 47.505, 1 / 600),
        ("11,5 West", -11.5, 0.1),
        ("11.5 Ost", 11.5, 0.1),
        ("-0°30'", -0.5, 1 / 60),
        ("47d30m18s N", 47.505, 1 / 3600),
        ("4.75e1", 47.5, 0.1),
    ],
)
def test_angles(text, value, step):
    found = parse_angle(text)
    assert math.isclose(found.value, value, abs_tol=1e-12) and math.isclose(found.step, step, rel_tol=1e-9), found


@pytest.mark.parametrize(
    "text", ["", "x", "nan", "inf", "-inf", "1e999", "47°75'", "47°30'60\"", "-47 S", "12 O", "1.2.3", "47,5,1", "N", "°", "1 2 3 4"]
)
def test_no_angles(text):
    found = parse_angle(text)
    assert math.isnan(found.value) and found.fault


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("412345.6", 412345.6),
        ("412 345,6", 412345.6),
        ("4.412.345,6", 4412345.6),
        ("4,412,345.6", 4412345.6),
        ("412'345", 412345),
        ("412,345", 412.345),
    ],
)
def test_map_numbers(text, value):
    assert parse_metres(text).value == value == parse_number(text)


@SEEDED
@given(text=st.text(max_size=30))
def test_any_text_is_a_number_or_a_reason(text):
    for read in (parse_angle, parse_metres):
        found = read(text)
        assert math.isfinite(found.value) != bool(found.fault)
    pair = split_pair(text)
    assert pair is None or all(part.strip() for part in pair)
