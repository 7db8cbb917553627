"""The code of the spot: a geo URI of RFC 5870, drawn as one path that says the same squares."""

from __future__ import annotations

import re

import pytest
import ready_findings as ready

from siteplan.report import round_plot, spot_code

pytestmark = pytest.mark.quick


def test_the_uri_is_that_of_rfc_5870():
    # RFC 5870, 6.1: geo:13.4125,103.8667; five decimals here
    assert spot_code.geo_uri(lat_deg=13.4125, lon_deg=103.8667) == "geo:13.41250,103.86670"
    assert spot_code.geo_uri(lat_deg=-0.5, lon_deg=-9.480704) == "geo:-0.50000,-9.48070"


def test_the_path_draws_the_squares_of_the_code():
    segno = pytest.importorskip("segno")
    row = ready.findings().rows[0]
    spot = row.satellite.spot
    made = spot_code.block(row)
    code = segno.make(spot_code.geo_uri(lat_deg=spot.lat_deg, lon_deg=spot.lon_deg), micro=False, error="m", boost_error=False)
    drawn = set()
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1", made):
        drawn |= {(int(x) + k - 4, int(y) - 4) for k in range(int(wide))}
    assert drawn == {(x, y) for y, line in enumerate(code.matrix) for x, dark in enumerate(line) if dark}
    assert 'role="img"' in made and made == spot_code.block(row)


def test_the_skyline_looking_up_has_north_at_the_top_and_its_words():
    row = ready.findings().rows[0]
    made = round_plot.round_skyline(row.satellite, key="r", title="What is up there")
    where = {words: (float(x), float(y)) for x, y, words in re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]+)<', made)}
    assert where["N"][1] < 40 < 300 < where["S"][1] and where["W"][0] < 40 < 300 < where["E"][0]
    assert '<title id="r-t">What is up there</title>' in made
    # a satellite due south, half way up, lies half way down from the middle
    assert round_plot._at(180.0, 45.0) == pytest.approx((170.0, 170.0 + 69.0))
