"""What comes out of an LNB: sub-bands, edges, what it doesn't take, what disturbs it."""

import math

import pytest

from siteplan.files.lnb_key import lnb_of
from siteplan.radio.lnb import at_lnb, best_lnb, ground_bands_on, occupied_mhz
from siteplan.records.emitters import Transponder

pytestmark = pytest.mark.quick


def carrier(mhz, polarisation="V", rate=27500.0, system="DVB-S2", **more):
    return Transponder(f"{mhz:g}", mhz, polarisation, rate, system, "8PSK", "3/4", **more)


def test_four_sub_bands_of_a_universal_lnb():
    lnb = lnb_of("universal single")
    found = [at_lnb(carrier(mhz, way), lnb).sub_band for mhz in (11_000.0, 12_000.0) for way in "VH"]
    assert found == ["VL", "HL", "VH", "HH"]


def test_the_switch_stands_at_11700_and_the_ends_belong_to_it():
    lnb = lnb_of("universal quad")
    assert [at_lnb(carrier(mhz), lnb).if_mhz for mhz in (11_699.9, 11_700.0, 12_750.0)] == pytest.approx([1949.9, 1100.0, 2150.0])
    assert at_lnb(carrier(12_750.1), lnb) is None and at_lnb(carrier(10_699.9), lnb) is None


def test_a_linear_lnb_takes_no_circular_carrier_and_the_other_way_round():
    assert at_lnb(carrier(11_000.0, "L"), lnb_of("universal single")) is None
    assert at_lnb(carrier(11_000.0, "V"), lnb_of("universal circular single")) is None
    assert at_lnb(carrier(12_300.0, "R"), lnb_of("universal circular single")).sub_band == "RH"


def test_a_wideband_pair_needs_no_voltage_and_no_tone():
    found = at_lnb(carrier(12_750.0, "H"), lnb_of("wideband pair"))
    assert (found.if_mhz, found.sub_band, found.tone) == (2350.0, "H", None) and math.isnan(found.supply_v)


def test_occupied_bandwidth():
    # 27.5 MBd x 1.35 = 37.125 MHz; x 1.2 = 33 MHz
    assert occupied_mhz(27_500.0, 0.35) == pytest.approx(37.125)
    found = at_lnb(carrier(11_000.0), lnb_of("universal single"))
    assert (found.low_mhz, found.high_mhz, found.roll_off_assumed) == (1233.5, 1266.5, True)
    assert at_lnb(carrier(11_000.0, system="DVB-S"), lnb_of("universal single")).occupied_mhz == pytest.approx(37.125)
    stated = at_lnb(carrier(11_000.0, roll_off=0.05), lnb_of("universal single"))
    assert stated.occupied_mhz == pytest.approx(28.875) and not stated.roll_off_assumed


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (1880.0, 1900.0, ("cordless",)), (1870.0, 1903.0, ("cordless", "mobile 1800")), (1900.0, 1933.0, ()), (1492.0, 1500.0, ()),
        (1491.9, 1500.0, ("mobile 1500",)), (2120.0, 2153.0, ("mobile 2100",)),
    ],
)  # fmt: skip
def test_services_on_the_ground_inside_the_if(low, high, found):
    assert ground_bands_on(low, high) == found


def test_the_lnb_that_takes_most_is_chosen_the_first_where_equal():
    kit = tuple(map(lnb_of, ("C band single", "universal single", "universal circular single", "universal twin")))
    assert best_lnb((carrier(11_000.0), carrier(3_800.0, "V"), carrier(12_000.0)), kit).name == "universal single"
    assert best_lnb((carrier(11_000.0, "L"),), kit).name == "universal circular single"
    assert best_lnb((carrier(19_000.0),), kit) is None
