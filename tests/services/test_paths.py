"""One path worked end to end: which method, how many answers, and what a mismatch says."""

import numpy as np
import pytest
from radio.radio_paths import profile

from siteplan.errors import InputError, MethodRangeError
from siteplan.services.shared.paths import coasts_m, work_path

pytestmark = pytest.mark.quick
HEIGHTS = {"tx_height_agl_m": 30.0, "rx_height_agl_m": 10.0}


def flat(length_m, **more):
    return profile(np.linspace(0.0, length_m, 51), 10.0, **more)


def test_the_method_follows_the_length():
    (short,) = work_path(flat(249.9), frequencies_mhz=[800.0], **HEIGHTS)
    (long,) = work_path(flat(250.0), frequencies_mhz=[800.0], **HEIGHTS)
    assert short.method.startswith("free space")
    assert long.method == "ITU-R P.1812-8"
    assert long.loss_db == pytest.approx(short.loss_db, abs=0.02)
    with pytest.raises(MethodRangeError):
        work_path(flat(0.5), frequencies_mhz=[800.0], **HEIGHTS)


def test_as_many_answers_as_frequencies():
    assert work_path(flat(5000.0), frequencies_mhz=[], **HEIGHTS) == ()
    three = work_path(flat(5000.0), frequencies_mhz=[200.0, 500.0, 800.0], polarisations=["h", "v", "h"], erps_kw=1, **HEIGHTS)
    assert [loss.loss_db for loss in three] == sorted(loss.loss_db for loss in three)
    for bad in ({"polarisations": ["h"]}, {"erps_kw": [1.0, 2.0, 3.0]}):
        with pytest.raises(InputError, match="2 frequencies"):
            work_path(flat(5000.0), frequencies_mhz=[500.0, 600.0], **HEIGHTS, **bad)


def test_coasts_come_from_the_zones():
    """A sea path of 40 km with 2 km of shore at either end: 500 km given by hand leaves the coast out of the ducting term."""
    zone = np.full(51, 1)
    zone[:3], zone[-3:] = 3, 3
    sea = flat(40_000.0, zone=zone)
    assert coasts_m(sea) == pytest.approx((2000.0, 2000.0))
    near, far = (
        work_path(sea, frequencies_mhz=[600.0], time_pct=1.0, **HEIGHTS, **coast)[0].intermediates["ducting_db"]
        for coast in ({}, {"tx_coast_m": 500_000.0, "rx_coast_m": 500_000.0})
    )
    assert near < far - 1.0
