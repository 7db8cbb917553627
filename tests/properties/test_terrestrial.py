"""What must be true of TV reception whatever the numbers: power and interference order it, patterns never add power, sums stay sums."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.radio.pattern import pattern_loss_db
from siteplan.radio.protection import APART, protection_ratio
from siteplan.radio.single_frequency import best_window, useful_share
from siteplan.radio.terrestrial_link import Amplifier, terrestrial_need
from siteplan.records.emitters import Pattern
from siteplan.records.tv import Disturbance
from siteplan.services.terrestrial.lines import usable_field

pytestmark = pytest.mark.quick
NEED = terrestrial_need("DVB-T2 256QAM 2/3", frequency_mhz=600.0)
levels = st.floats(-40.0, 120.0)


def asks(nuisance):
    return Disturbance("A", "B", "same channel", 600.0, 0.0, 1.0, 0.0, 0.0, 0.0, nuisance)


@given(st.lists(levels, max_size=6), levels)
def test_one_more_disturbance_never_helps(others, more):
    before, shares = usable_field(NEED, tuple(asks(level) for level in others))
    after, _ = usable_field(NEED, tuple(asks(level) for level in (*others, more)))
    assert after >= before - 1e-9 and before >= NEED.minimum_field_dbuv_per_m - 1e-9
    assert all(0.0 <= share <= 1.0 for share in shares) and sum(shares) <= 1.0 + 1e-9


@given(
    st.sampled_from(["omni", "cardioid", "directional", "table"]),
    st.floats(0, 360),
    st.floats(5, 180),
    st.floats(-720, 720),
    st.floats(-90, 90),
)
def test_a_pattern_never_adds_power_and_joins_across_north(shape, azimuth, width, bearing, down):
    losses = tuple((float(angle), float(angle % 70)) for angle in range(0, 360, 30)) if shape == "table" else ()
    pattern = Pattern(shape, azimuth, width, losses, 1.0, 8.0)
    loss = pattern_loss_db(pattern, bearing_deg=bearing, depression_deg=down)
    assert 0.0 <= loss <= 40.0
    assert pattern_loss_db(pattern, bearing_deg=bearing + 360.0, depression_deg=down) == pytest.approx(loss, abs=1e-6)
    near = pattern_loss_db(pattern, bearing_deg=bearing + 1e-6, depression_deg=down)
    assert near == pytest.approx(loss, abs=1e-3)


@given(st.floats(-3000, 3000), st.floats(10, 500), st.floats(500, 4000))
def test_what_arrives_later_never_helps_more(late, guard, useful):
    share = useful_share(late, guard_us=guard, useful_us=useful)
    assert 0.0 <= share <= 1.0
    further = late + 10.0 if late > guard else late - 10.0 if late < 0.0 else late
    assert useful_share(further, guard_us=guard, useful_us=useful) <= share + 1e-12


@given(st.lists(st.tuples(st.floats(0, 1000), levels), min_size=1, max_size=5))
@settings(max_examples=60)
def test_a_window_is_always_found_and_the_strongest_alone_is_useful(own):
    arrivals, strengths = [at for at, _ in own], [level for _, level in own]
    shares = best_window(arrivals, strengths, strengths, noise_dbuv=10.0, guard_us=224.0, useful_us=3584.0)
    assert len(shares) == len(own) and max(shares) == 1.0


@given(st.floats(470, 690), st.sampled_from([6.0, 7.0, 8.0]), st.floats(-30, 30), st.sampled_from([6.0, 7.0, 8.0]))
def test_no_channel_disturbs_more_than_the_same_one(mhz, width, apart, other):
    system = "ATSC" if width == 6.0 else "DVB-T2"
    found = protection_ratio(
        system=system, needed_cn_db=20.0, wanted_mhz=mhz, wanted_width_mhz=width, unwanted_mhz=mhz + apart, unwanted_width_mhz=other
    )
    assert found.ratio_db <= 20.0 + 1e-9 and (found.relation == APART) == math.isinf(found.ratio_db)


@given(st.floats(0.5, 40), st.floats(0.5, 12), st.floats(0, 20))
def test_more_cable_never_helps_and_a_good_amplifier_before_it_never_hurts(gain, figure, cable):
    def needs(loss, amplifier):
        return terrestrial_need(
            "DVB-T 64QAM 2/3", frequency_mhz=600.0, feeder_loss_db_at_500=loss, amplifier=amplifier
        ).minimum_field_dbuv_per_m

    assert needs(cable + 1.0, Amplifier()) >= needs(cable, Amplifier())
    assert needs(cable + 1.0, Amplifier(gain, figure)) >= needs(cable, Amplifier(gain, figure))
    if gain >= 10.0 and figure <= 3.0:
        assert needs(cable, Amplifier(gain, figure)) <= needs(cable, Amplifier()) + 0.1
