"""Times read as people say them, and the sentences about weather."""

import pytest

from siteplan import words
from siteplan.records.verdict import Reason
from siteplan.words import formats, weather

pytestmark = pytest.mark.quick


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "five minutes"),
        (0.0877, "five minutes"),
        (0.34, "20 minutes"),
        (0.5, "half an hour"),
        (0.86, "50 minutes"),
        (1.1, "an hour"),
        (4.2, "four hours"),
        (12.4, "twelve hours"),
        (17.6, "18 hours"),
        (47.6, "two days"),
        (438.3, "18 days"),
        (float("nan"), "an unknown time"),
    ],
)
def test_hours(value, text):
    assert formats.hours(value) == text


@pytest.mark.parametrize(
    ("bound", "hours", "text"),
    [
        ("", 4.1, "About four hours a year without picture in heavy rain."),
        ("under", 0.0877, "Less than five minutes a year without picture in heavy rain."),
        ("over", 438.3, "More than 18 days a year without picture: rain, and often cloud, is too much for this dish."),
    ],
)
def test_how_long_without_picture(bound, hours, text):
    assert words.sentence(Reason(weather.outage_code(bound), {"hours_per_year": hours})) == text


def test_worst_month():
    assert words.sentence(Reason("weather_worst_month", {"hours_worst_month": 1.3})) == "In the wettest month about an hour of it."


def test_every_stretched_range_has_its_sentence():
    from siteplan.radio.atmosphere import extended

    for code in extended(frequency_mhz=30_000, elevation_deg=2.0, time_pct=0.002):
        assert weather.stretched(code).endswith(".")
