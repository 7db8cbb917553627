"""The common call of the propagation methods: range, location variability, power, and which method holds where."""

import math

import numpy as np
import pytest
from radio.radio_paths import profile

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.methods import free_space, p1812
from siteplan.radio.methods.shape import location_sigma_db
from siteplan.radio.methods.table import METHODS, method_for
from siteplan.radio.path_geometry import prepare

pytestmark = pytest.mark.quick


def hill(length_m=10_000.0, height_m=130.0, zone=None):
    ground = np.full(101, 50.0)
    ground[60] = height_m
    return prepare(profile(np.linspace(0.0, length_m, 101), ground, zone=zone), tx_height_agl_m=30.0, rx_height_agl_m=10.0)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"frequency_mhz": 29.9}, "frequency is 29.9 MHz.*30 to 6000"),
        ({"frequency_mhz": 6001.0}, "frequency"),
        ({"frequency_mhz": math.nan}, "frequency"),
        ({"time_pct": 0.9}, "time percentage is 0.9 %.*1 to 50"),
        ({"time_pct": 51.0}, "time percentage"),
        ({"location_pct": 0.5}, "location percentage.*1 to 99"),
    ],
)
@pytest.mark.parametrize("method", [METHODS["free_space"], METHODS["p1812"]], ids=["free_space", "p1812"])
def test_outside_the_published_range(method, asked, says):
    with pytest.raises(MethodRangeError, match=says):
        method.loss_db(hill(), **({"frequency_mhz": 600.0} | asked))


def test_path_and_heights_outside_the_range_of_p1812():
    with pytest.raises(MethodRangeError, match="path length is 0.249 km.*0.25 to 3000 km"):
        p1812.loss_db(hill(249.0), frequency_mhz=600.0)
    for tx, rx, who in ((0.9, 10.0, "sender"), (30.0, 0.5, "receiver"), (3001.0, 10.0, "sender")):
        low = prepare(profile(np.linspace(0.0, 5000.0, 11), 10.0), tx_height_agl_m=tx, rx_height_agl_m=rx)
        with pytest.raises(MethodRangeError, match=f"{who}.*1 to 3000 m"):
            p1812.loss_db(low, frequency_mhz=600.0)
    # the edges themselves belong to it
    assert p1812.loss_db(hill(250.0), frequency_mhz=30.0, time_pct=1.0, location_pct=99.0).loss_db > 0.0


def test_wrong_words_and_powers():
    for bad in ({"polarisation": "x"}, {"polarisation": ""}, {"erp_kw": 0.0}, {"erp_kw": math.nan}, {"sigma_db": -1.0}):
        with pytest.raises(InputError):
            p1812.loss_db(hill(), **({"frequency_mhz": 600.0} | bad))


def test_location_variability_by_hand():
    """5.5 dB at 95 % of locations: 1.645 x 5.5 = 9.05 dB more loss; nothing at 50 %; never below free space at p %."""
    middle = p1812.loss_db(hill(), frequency_mhz=600.0)
    most = p1812.loss_db(hill(), frequency_mhz=600.0, location_pct=95.0)
    few = p1812.loss_db(hill(), frequency_mhz=600.0, location_pct=5.0)
    assert most.loss_db - middle.loss_db == pytest.approx(9.05, abs=0.01)
    assert middle.loss_db - few.loss_db == pytest.approx(9.05, abs=0.01)
    assert middle.sigma_db == 5.5
    lucky = p1812.loss_db(hill(), frequency_mhz=600.0, location_pct=1.0, sigma_db=60.0)
    assert lucky.loss_db == lucky.intermediates["line_of_sight_p_db"]
    # at sea there are no buildings to vary
    zone = np.full(101, 4)
    zone[80:] = 1
    assert p1812.loss_db(hill(zone=zone), frequency_mhz=600.0, location_pct=95.0).intermediates["location_db"] == 0.0


def test_location_sigma_of_the_recommendation():
    """(0.52 + 0.024 x 0.6) x 500^0.28 = 3.045 dB in the clutter, half of it 5 m above, none from 10 m above."""
    def asked(height):
        return location_sigma_db(frequency_mhz=600.0, rx_height_agl_m=height, clutter_m=10.0, square_m=500.0)

    assert [asked(height) for height in (5.0, 10.0, 15.0, 20.0, 30.0)] == pytest.approx([3.045, 3.045, 1.5225, 0.0, 0.0], abs=0.001)
    with pytest.raises(InputError):
        location_sigma_db(frequency_mhz=600.0, rx_height_agl_m=10.0, clutter_m=10.0, square_m=0.0)


def test_field_strength_of_a_power():
    """Eq. (70): 199.36 + 20 log f - loss at 1 kW ERP; 10 kW are 10 dB more."""
    one = p1812.loss_db(hill(), frequency_mhz=1000.0)
    assert one.field_strength_dbuv_per_m == pytest.approx(199.36 - one.loss_db)
    ten = p1812.loss_db(hill(), frequency_mhz=1000.0, erp_kw=10.0)
    assert ten.field_strength_dbuv_per_m - one.field_strength_dbuv_per_m == pytest.approx(10.0)
    assert ten.loss_db == one.loss_db


def test_what_blocks():
    """The hill at 6 km; over open ground with room to spare, nothing."""
    assert p1812.loss_db(hill(), frequency_mhz=600.0).what_blocks_m == pytest.approx(6000.0)
    high = prepare(profile(np.linspace(0.0, 10_000.0, 101), 50.0), tx_height_agl_m=200.0, rx_height_agl_m=200.0)
    assert math.isnan(p1812.loss_db(high, frequency_mhz=600.0).what_blocks_m)


def test_horizontal_and_vertical_differ_over_the_sea():
    zone = np.full(101, 1)
    path = prepare(profile(np.linspace(0.0, 90_000.0, 101), 0.0, zone=zone), tx_height_agl_m=20.0, rx_height_agl_m=10.0)
    level, upright = (p1812.loss_db(path, frequency_mhz=50.0, polarisation=letter).intermediates for letter in "hV")
    assert level["spherical_earth_50_db"] > upright["spherical_earth_50_db"] + 1.0


def test_which_method_holds():
    assert method_for(249.999).label == free_space.LABEL
    assert method_for(250.0).label == p1812.LABEL
    assert method_for(3_000_000.0).label == p1812.LABEL
    for far in (0.5, 3_100_000.0):
        with pytest.raises(MethodRangeError, match="1 m to 3000 km"):
            method_for(far)
