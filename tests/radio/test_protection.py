"""Protection ratios, single-frequency networks and what a TV aerial turns away, worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.radio.protection import APART, NEXT, OVERLAP, SAME, protection_ratio
from siteplan.radio.single_frequency import arrival_us, best_window, useful_share
from siteplan.radio.tv_aerial import GROUPS, group_for, turned_away_db

pytestmark = pytest.mark.quick


def ratio(unwanted_mhz, width=8.0, system="DVB-T2"):
    return protection_ratio(
        system=system, needed_cn_db=20.0, wanted_mhz=498.0, wanted_width_mhz=8.0 if system != "ATSC" else 6.0, unwanted_mhz=unwanted_mhz,
        unwanted_width_mhz=width,
    )  # fmt: skip


def test_the_same_channel_asks_for_the_carrier_to_noise_ratio():
    assert (ratio(498.0).relation, ratio(498.0).ratio_db) == (SAME, pytest.approx(20.0))


def test_an_overlapping_channel_asks_for_its_shared_part():
    # 7 MHz channel 5 MHz beside: signals 7.77 and 7.77 * 7/8 = 6.80 MHz wide share (3.885 + 3.40) - 5 = 2.285 MHz of 6.80: -4.74 dB
    found = ratio(503.0, width=7.0)
    assert found.relation == OVERLAP and found.ratio_db == pytest.approx(20.0 - 4.74, abs=0.02)


@pytest.mark.parametrize(
    ("mhz", "system", "says"), [(490.0, "DVB-T2", -30.0), (506.0, "DVB-T", -30.0), (492.0, "ATSC", -28.0), (504.0, "ATSC", -26.0)]
)
def test_the_next_channel_has_its_own_ratio(mhz, system, says):
    found = ratio(mhz, width=6.0 if system == "ATSC" else 8.0, system=system)
    assert (found.relation, found.ratio_db) == (NEXT, says)


def test_channels_two_apart_do_not_disturb():
    assert ratio(514.0).relation == APART and ratio(514.0).ratio_db == -math.inf


@pytest.mark.parametrize(
    ("late", "share"),
    [
        (0.0, 1.0), (224.0, 1.0),
        (324.0, (1 - 100 / 896) ** 2),  # 100 us beyond the guard interval of 8k 1/4
        (-100.0, (1 - 100 / 896) ** 2), (700.0, 0.0), (-400.0, 0.0),
    ],
)  # fmt: skip
def test_what_arrives_outside_the_guard_interval_helps_less(late, share):
    found = useful_share(late, guard_us=224.0, useful_us=896.0)
    # 7/24 of 896 us is 261 us: later than that, or earlier before the window, nothing helps
    assert found == pytest.approx(share if abs(late) <= 261.3 else 0.0)


def test_unknown_guard_interval_helps_only_together():
    unknown = {"guard_us": math.nan, "useful_us": math.nan}
    assert (useful_share(0.5, **unknown), useful_share(5.0, **unknown)) == (1.0, 0.0)


def test_travel_time_and_delay_make_the_arrival():
    assert arrival_us(distance_m=29_979.2458, delay_us=-20.0) == pytest.approx(80.0)


def test_the_window_is_put_where_it_is_best():
    # the weak one comes 300 us before the strong: begun at the strong one it is early by 300 us and lost, but hurts little
    shares = best_window([0.0, 300.0], [40.0, 70.0], [40.0, 70.0], noise_dbuv=20.0, guard_us=224.0, useful_us=896.0)
    assert shares == (0.0, 1.0)
    assert best_window([0.0, 100.0], [40.0, 70.0], [40.0, 70.0], noise_dbuv=20.0, guard_us=224.0, useful_us=896.0) == (1.0, 1.0)


@pytest.mark.parametrize(
    ("turn", "plane", "wave", "lost"),
    [
        (0.0, "h", "h", 0.0), (40.0, "h", "h", 8.0), (90.0, "v", "v", 16.0), (0.0, "h", "v", 16.0), (40.0, "h", "v", 16.0),
        (180.0, "h", "v", 16.0),  # not 32: pattern and plane are not summed
        (0.0, "h", "s", 3.01), (0.0, "h", "m", 0.0), (180.0, "h", "m", 13.0),
    ],
)  # fmt: skip
def test_pattern_and_plane_are_not_summed(turn, plane, wave, lost):
    assert turned_away_db(off_axis_deg=turn, frequency_mhz=600.0, plane=plane, polarisation=wave) == pytest.approx(lost, abs=0.02)


@given(st.floats(-720, 720), st.sampled_from("hv"), st.sampled_from("hvms"))
def test_never_more_than_the_combined_figure_and_never_a_gain(turn, plane, wave):
    lost = turned_away_db(off_axis_deg=turn, frequency_mhz=600.0, plane=plane, polarisation=wave)
    assert 0.0 <= lost <= 16.0 + (3.02 if wave == "s" else 0.0)


def test_a_table_in_place_of_the_recommendation():
    table = ((0.0, 0.0), (30.0, 6.0), (180.0, 26.0))
    assert turned_away_db(off_axis_deg=-15.0, frequency_mhz=600.0, plane="h", polarisation="h", directivity=table) == pytest.approx(3.0)


def test_groups():
    assert [group_for(*edges)[0] for edges in ((470.0, 510.0), (640.0, 694.0), (474.0, 690.0))] == ["A", "B", "K"]
    assert group_for(186.0, 500.0) == GROUPS[-1][0] and group_for(50.0, 60.0) == ""
