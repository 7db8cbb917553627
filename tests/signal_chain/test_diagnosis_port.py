"""Readings at the antenna's own port, alone and beside an outlet's: for each rule a pattern that fires it and one that must not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from siteplan.records.readings import PORT, Expected, Reading
from siteplan.services.outlets.compare import compare, meaning

pytestmark = pytest.mark.quick
OUTLET = tuple(
    Expected("A-1", 2, "Mill Row 3", 47.5, -9.5, "satellite", "Oriel 25E", "outlet 1", name, "VL", 10700.0 + 40 * place, 950.0 + 40 * place,
             27.5, "DVB-S2 8PSK 3/4", 60.0, 3.5, 15.0, 1.0, 9.0, 47.0, 77.0, "EN")
    for place, name in enumerate("ABC")
)  # fmt: skip
LNB = tuple(replace(one, outlet=PORT, level_dbuv=75.0, min_dbuv=68.0, max_dbuv=82.0) for one in OUTLET)


def at(outlet, level=0.0, noise=0.0, locked=True):
    base = 75.0 if outlet == PORT else 60.0
    return [
        Reading("r.csv", number, "A-1", "Oriel 25E", name, outlet, level_dbuv=base + level, cn_db=15.0 + noise) if locked
        else Reading("r.csv", number, "A-1", "Oriel 25E", name, outlet, locked=False)
        for number, name in enumerate("ABC")
    ]  # fmt: skip


def codes(*readings):
    compared, unknown = compare([one for some in readings for one in some], (*OUTLET, *LNB))
    assert not unknown
    return [reason.code for reason in meaning(compared)]


@pytest.mark.parametrize(
    "level, noise, found",
    [
        (0.0, 0.0, []), (-7.0, 0.0, []), (-8.0, 0.0, ["read_port_gain"]),
        (-4.0, -4.0, ["read_port_before"]), (0.0, -4.0, ["read_port_noisy"]),
        (-12.0, -4.0, ["read_port_both"]), (0.0, -2.5, []),
    ],
)  # fmt: skip
def test_at_the_port_alone(level, noise, found):
    """No cable is in it, so nothing says "behind the LNB"."""
    assert codes(at(PORT, level, noise)) == found


def test_no_signal_at_the_port():
    assert codes(at(PORT, locked=False)) == ["read_port_missing"]


@pytest.mark.parametrize("lost, found", [(6.0, ["read_between"]), (4.0, [])])
def test_lost_between_antenna_and_outlet(lost, found):
    """The LNB's own gain is in both and drops out: 3 dB less of it changes nothing."""
    assert codes(at(PORT), at("outlet 1", -lost)) == found
    assert ("read_between" in codes(at(PORT, -3.0), at("outlet 1", -3.0 - lost))) == bool(found)


def test_a_fault_before_the_lnb_is_not_put_on_the_cable():
    assert "read_between" not in codes(at(PORT, -4.0, -4.0), at("outlet 1", -10.0, -4.0))


def test_a_level_outside_its_window_at_the_port_is_told_and_does_not_fail():
    """The LNB's gain differs by 5 dB from piece to piece: C/N decides there."""
    one = compare(at(PORT, -8.0)[:1], LNB)[0][0]
    assert one.passes is True and one.reasons[0].code == "read_port_low"
    assert compare(at(PORT, 0.0, -7.0)[:1], LNB)[0][0].passes is False


def test_what_several_satellites_say_alike_is_said_once_and_some_are_named():
    from dataclasses import replace as changed

    from siteplan.words import sentence

    def lines(source, off):
        made = []
        for place, mhz in enumerate((1100.0, 1400.0, 1700.0, 2000.0)):
            one = changed(_plain_expected(), source=source, carrier=f"{source[0]}{place}", if_mhz=mhz, rf_mhz=mhz + 9750.0)
            made.append((one, off))
        return made

    def said(*groups):
        pairs = [pair for group in groups for pair in group]
        readings = [
            Reading(file="r.csv", file_row=2, id="A-1", source=one.source, carrier=one.carrier, outlet=one.outlet,
                    level_dbuv=one.level_dbuv + off, cn_db=one.cn_db)
            for one, off in pairs
        ]  # fmt: skip
        return meaning(compare(readings, [one for one, _ in pairs])[0])

    both = said(lines("Oriel 25E", -12.0), lines("Petrel 5W", -14.0))
    assert [reason.code for reason in both] == ["read_after_lnb"] and "those" not in both[0].values and both[0].values["level_db"] == 13.0
    one = said(lines("Oriel 25E", -12.0), lines("Petrel 5W", 0.0))
    assert [reason.code for reason in one] == ["read_after_lnb"] and one[0].values["those"] == ["Oriel 25E"]
    assert sentence(one[0]).startswith("Oriel 25E: Level is low")


def _plain_expected():
    return replace(OUTLET[0], if_mhz=1100.0, level_dbuv=65.0)
