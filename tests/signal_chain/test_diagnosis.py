"""What patterns of readings mean: one hand-made pattern for each rule, and what must not be read into noise."""

import random

import pytest

from siteplan.records.readings import Compared, Expected, Reading
from siteplan.signal_chain.diagnosis import diagnose
from siteplan.words import sentence

pytestmark = pytest.mark.quick
# name, line, RF, IF, modulation: low and high band, both polarisations; V and H pairs face each other on the same RF
PLAN = [
    ("A", "VL", 10800.0, 1050.0, "DVB-S2 8PSK 3/4"), ("B", "VL", 11400.0, 1650.0, "DVB-S2 8PSK 3/4"),
    ("C", "HL", 10805.0, 1055.0, "DVB-S2 16APSK 3/4"), ("D", "HL", 11402.0, 1652.0, "DVB-S2 8PSK 3/4"),
    ("E", "VH", 11750.0, 1150.0, "DVB-S2 8PSK 3/4"), ("F", "VH", 12500.0, 1900.0, "DVB-S2 8PSK 3/4"),
    ("G", "HH", 11752.0, 1152.0, "DVB-S2 8PSK 3/4"), ("H", "HH", 12650.0, 2050.0, "DVB-S2 8PSK 3/4"),
]  # fmt: skip


def pattern(level=lambda line, if_mhz, name: 0.0, noise=lambda line, if_mhz, name: 0.0, missing=()):
    made = []
    for name, line, rf, if_mhz, modulation in PLAN:
        expected = Expected(
            "1", 2, "x", 0.0, 0.0, "satellite", "Oriel", "outlet 1", name,
            line, rf, if_mhz, 27.5, modulation, 65.0, 3.0, 15.0, 1.0, 9.0, 47.0, 77.0, "EN"
        )  # fmt: skip
        locked = name not in missing
        off, cn = (level(line, if_mhz, name), noise(line, if_mhz, name)) if locked else (float("nan"), float("nan"))
        reading = Reading("f", 1, "1", "Oriel", name, "outlet 1", level_dbuv=65.0 + off, cn_db=15.0 + cn, locked=locked)
        made.append(Compared(reading, expected, off, cn, 6.0 + cn, locked))
    return made


def codes(compared):
    found = diagnose(compared)
    assert all(sentence(reason) for reason in found)
    return [reason.code for reason in found]


def flat(value):
    return lambda line, if_mhz, name: value


def test_as_expected_says_nothing():
    assert codes(pattern()) == []
    assert codes(pattern(level=flat(-4.5), noise=flat(-1.0))) == []  # an LNB of less gain


def test_level_low_and_cn_normal_is_loss_after_the_lnb():
    assert codes(pattern(level=flat(-10.0), noise=flat(-1.0))) == ["read_after_lnb"]


def test_both_low_by_the_same_is_before_the_lnb():
    assert codes(pattern(level=flat(-5.0), noise=flat(-4.5))) == ["read_before_lnb"]
    assert codes(pattern(level=flat(-12.0), noise=flat(-4.0))) == ["read_both_sides"]


def test_level_normal_and_cn_low_is_noise():
    assert codes(pattern(level=flat(1.0), noise=flat(-4.0))) == ["read_noisy"]


def test_level_falling_with_if_in_every_sub_band_is_the_cable():
    assert codes(pattern(level=lambda line, f, name: -8.0 * (f - 1000.0) / 1000.0)) == ["read_tilt"]
    one_band = pattern(level=lambda line, f, name: -8.0 * (f - 1000.0) / 1000.0 if line == "VL" else 0.0)
    assert "read_tilt" not in codes(one_band)


def test_a_whole_band_missing_is_the_tone():
    assert codes(pattern(missing="EFGH")) == ["read_high_band_missing"]
    assert codes(pattern(missing="ABCD")) == ["read_low_band_missing"]


def test_one_polarisation_missing_or_low_is_the_voltage():
    gone = diagnose(pattern(missing="CDGH"))
    assert [reason.code for reason in gone] == ["read_polarisation_missing"] and gone[0].values["volts"] == 18
    low = diagnose(pattern(level=lambda line, f, name: -9.0 if line[0] == "V" else 0.0))
    assert low[0].code == "read_polarisation_low" and low[0].values["volts"] == 13


def test_cn_low_where_the_opposite_is_occupied_is_skew():
    """A, B, C, D, E and G face one another; F and H stand alone and are as expected."""
    facing = pattern(noise=lambda line, f, name: (-6.0 if name == "C" else -4.0) if name in "ABCDEG" else 0.0)
    assert codes(facing) == ["read_skew"]
    assert "read_skew" not in codes(pattern(noise=flat(-4.0)))  # the free ones suffer as well: not skew


def test_one_carrier_alone():
    assert codes(pattern(noise=lambda line, f, name: -7.0 if name == "F" else 0.0)) == ["read_one_alone"]
    assert codes(pattern(missing="F")) == ["read_one_alone"]


def test_everything_missing_is_told_plainly():
    assert codes(pattern(missing="ABCDEFGH")) == ["read_missing"]


def test_meter_noise_alone_says_nothing():
    """200 sets with 1 dB of noise on level and 0.7 dB on C/N: none may be called a fault."""
    dice = random.Random(7)
    for _ in range(200):
        offs = {name: (dice.gauss(0, 1.0), dice.gauss(0, 0.7)) for name, *_ in PLAN}
        found = codes(pattern(level=lambda line, f, name, offs=offs: offs[name][0], noise=lambda line, f, name, offs=offs: offs[name][1]))
        assert [code for code in found if code != "read_tilt"] == []
