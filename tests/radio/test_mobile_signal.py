"""Mobile signals by hand: patterns, overlap of carriers, ratio and its error, cables, the way back, and how far timing reaches."""

import math
from dataclasses import replace

import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.mobile_cable import CABLES, cable_loss_db
from siteplan.radio.mobile_signal import carrier_mhz, into_reference_db, noise_dbm, overlap, pattern_db, ratio, receiving_pattern_db
from siteplan.radio.mobile_uplink import needed_dbm, timing_reach_m, uplink_margin_db
from siteplan.records.emitters import Sector

pytestmark = pytest.mark.quick
LTE = Sector("A", "Mill", "1", 47.5, 11.4, 30.0, "LTE", "20", 806.0, 22.0, 180.0, 5.0, bandwidth_mhz=10.0, uplink_mhz=847.0)


def test_patterns_in_the_axis_and_off_it():
    for shape in ("TR 36.814", "TR 38.901"):
        one = replace(LTE, pattern=shape)
        assert pattern_db(one, bearing_deg=180.0, elevation_deg=-5.0) == 0.0
        # half the beamwidth off: 12 (32.5 / 65)^2 = 3 dB
        assert pattern_db(one, bearing_deg=180.0 + 32.5, elevation_deg=-5.0) == pytest.approx(-3.0)
        assert pattern_db(one, bearing_deg=180.0, elevation_deg=0.0) == pytest.approx(-3.0)
    behind = {shape: pattern_db(replace(LTE, pattern=shape), bearing_deg=0.0, elevation_deg=-5.0) for shape in ("TR 36.814", "TR 38.901")}
    assert behind == {"TR 36.814": -25.0, "TR 38.901": -30.0}


def test_a_pattern_from_a_table_adds_both_cuts():
    one = replace(LTE, pattern="table", horizontal=((0.0, 0.0), (90.0, -10.0), (180.0, -25.0), (270.0, -12.0)),
                  vertical=((-90.0, -20.0), (0.0, 0.0), (10.0, -4.0), (90.0, -20.0)))  # fmt: skip
    assert pattern_db(one, bearing_deg=270.0, elevation_deg=-5.0) == pytest.approx(-10.0)  # 90 degrees clockwise of the axis
    assert pattern_db(one, bearing_deg=135.0, elevation_deg=-10.0) == pytest.approx(-6.0 - 2.0)  # 45 anticlockwise; 5 under the tilt


def test_carriers_overlap_by_their_widths():
    assert overlap(LTE, LTE) == 1.0 and overlap(LTE, replace(LTE, frequency_mhz=816.0)) == 0.0
    assert overlap(LTE, replace(LTE, frequency_mhz=811.0)) == pytest.approx(0.5)
    assert overlap(LTE, replace(LTE, bandwidth_mhz=20.0)) == 1.0 and overlap(replace(LTE, bandwidth_mhz=20.0), LTE) == 0.5
    assert carrier_mhz(replace(LTE, bandwidth_mhz=math.nan)) == 10.0


def test_power_into_a_resource_element():
    assert into_reference_db(LTE, LTE, 1.0) == pytest.approx(0.0) and into_reference_db(LTE, LTE, 0.5) == pytest.approx(-3.01, abs=0.01)
    nr = replace(LTE, technology="NR", spacing_khz=30.0)
    assert into_reference_db(LTE, nr, 1.0) == pytest.approx(-3.01, abs=0.01)  # the same power an element, spread over twice the width
    assert into_reference_db(LTE, replace(LTE, frequency_mhz=900.0), 1.0) == -math.inf and into_reference_db(LTE, LTE, 0.0) == -math.inf


def test_noise_by_hand():
    """15 kHz: -174 + 41.76 + 7 = -125.24 dBm; GSM's 200 kHz: -174 + 53.01 + 7 = -113.99 dBm."""
    assert noise_dbm(LTE, 7.0) == pytest.approx(-125.239, abs=0.001)
    assert noise_dbm(replace(LTE, technology="GSM"), 7.0) == pytest.approx(-113.99, abs=0.001)


def test_ratio_alone_is_over_noise_and_rsrq_knows_its_own_load():
    alone = ratio(LTE, level_dbm=-80.0, load=1.0, same_site_dbm=(), others_dbm=(), noise_figure_db=7.0, sigma_db=8.0)
    assert alone.sinr_db == pytest.approx(-80.0 + 125.239, abs=0.001) and alone.sigma_db == pytest.approx(8.0)
    assert alone.rsrq_db == pytest.approx(-10.79, abs=0.01)  # S / 12 S of a full carrier
    half = ratio(LTE, level_dbm=-80.0, load=0.5, same_site_dbm=(), others_dbm=(), noise_figure_db=7.0, sigma_db=8.0)
    assert half.rsrq_db == pytest.approx(-7.78, abs=0.01)


def test_ratio_against_another_site_and_its_own():
    """Equal strength at half load: 10 log(1 / 0.5) = 3 dB. Two sites' errors go together by half: sigma of the difference is sigma again;
    one site's cancel but for 3 dB."""
    far = ratio(LTE, level_dbm=-80.0, load=0.5, same_site_dbm=(), others_dbm=(-83.0103,), noise_figure_db=7.0, sigma_db=8.0)
    assert far.sinr_db == pytest.approx(3.01, abs=0.01) and far.sigma_db == pytest.approx(8.0, abs=0.01)
    walls = ratio(LTE, level_dbm=-80.0, load=0.5, same_site_dbm=(), others_dbm=(), noise_figure_db=7.0, sigma_db=8.0, shared_sigma_db=6.0)
    assert walls.sigma_db == pytest.approx(10.0, abs=0.01)  # over noise alone the wall counts, against another site it cancels
    own = ratio(LTE, level_dbm=-80.0, load=0.5, same_site_dbm=(-83.0103,), others_dbm=(), noise_figure_db=7.0, sigma_db=8.0)
    assert own.sinr_db == pytest.approx(3.01, abs=0.01) and own.sigma_db == pytest.approx(3.0, abs=0.01)
    older = replace(LTE, technology="UMTS")
    umts = ratio(older, level_dbm=-80.0, load=1.0, same_site_dbm=(), others_dbm=(), noise_figure_db=7.0, sigma_db=8.0)
    assert umts.sinr_db == pytest.approx(-10.0, abs=0.1) and math.isnan(umts.rsrq_db)  # the pilot under its own whole carrier


def test_more_load_never_helps():
    before = math.inf
    for load in (0.0, 0.2, 0.5, 1.0):
        more = into_reference_db(LTE, LTE, load)
        powers = () if more == -math.inf else (-90.0 + more,)
        now = ratio(LTE, level_dbm=-80.0, load=0.5, same_site_dbm=(), others_dbm=powers, noise_figure_db=7.0, sigma_db=8.0).sinr_db
        assert now < before
        before = now


def test_the_houses_own_antenna():
    beam = {"beamwidth_deg": 60.0, "front_to_back_db": 15.0}
    assert [receiving_pattern_db(turn, **beam) for turn in (0.0, 30.0, -330.0, 180.0)] == [0.0, -3.0, -3.0, -15.0]


def test_long_thin_coax_eats_a_gain():
    """25 m of 5 mm foam at 3550 MHz: (1.168 x 59.58 + 5.68) / 4 = 18.8 dB."""
    assert cable_loss_db("5 mm foam", length_m=25.0, frequency_mhz=3550.0) == pytest.approx(18.82, abs=0.01)
    assert cable_loss_db("10 mm foam", length_m=0.0, frequency_mhz=800.0) == 0.0
    at_900 = {kind: cable_loss_db(kind, length_m=100.0, frequency_mhz=900.0) for kind in CABLES}
    assert at_900 == pytest.approx({"5 mm foam": 36.5, "6 mm foam": 24.8, "7 mm foam": 20.0, "10 mm foam": 12.8}, rel=0.01)
    with pytest.raises(InputError, match="5 mm foam"):
        cable_loss_db("string", length_m=1.0, frequency_mhz=900.0)
    with pytest.raises(MethodRangeError, match="30 to 6000"):
        cable_loss_db("5 mm foam", length_m=1.0, frequency_mhz=9000.0)


def test_the_way_back_by_hand():
    """Needed: -174 + 10 log(1.08 MHz) 60.33 + 5 + 3 = -105.67 dBm. 23 + 8 - 120 - 20 log(847 / 806) 0.43 + 17 - 3 + 105.67 = 30.24 dB."""
    assert needed_dbm() == pytest.approx(-105.666, abs=0.001)
    margin = uplink_margin_db(LTE, loss_db=120.0, pattern_db=-3.0, gain_dbi=8.0, cable_loss_db=0.0)
    assert margin == pytest.approx(30.235, abs=0.005)
    assert uplink_margin_db(replace(LTE, antenna_gain_dbi=15.0), loss_db=120.0, pattern_db=-3.0, gain_dbi=8.0, cable_loss_db=1.0) == (
        pytest.approx(margin - 3.0)
    )
    assert math.isnan(uplink_margin_db(replace(LTE, technology="GSM"), loss_db=120.0, pattern_db=0.0, gain_dbi=0.0, cable_loss_db=0.0))


def test_how_far_timing_reaches():
    """63 x 48/13 us x c / 2 = 34.9 km; two symbols of guard, 142.7 us: 21.4 km."""
    assert timing_reach_m(replace(LTE, technology="GSM"), 142.7) == pytest.approx(34_868, abs=5)
    assert timing_reach_m(replace(LTE, duplex="TDD"), 142.7) == pytest.approx(21_390, abs=5)
    assert timing_reach_m(LTE, 142.7) == math.inf
