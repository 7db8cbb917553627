"""Readings beside what was expected: which carrier each row is, what it is off by, whether it passes, and what all say together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.readings import PORT, Compared, Expected, Reading
from siteplan.records.verdict import Reason
from siteplan.signal_chain.diagnosis import diagnose
from siteplan.signal_chain.diagnosis_mobile import diagnose_cells

NEAR_CELL_MHZ = 1.0  # channels of mobile networks may lie 5 MHz apart; a device names its own exactly
NEAR_MHZ = 5.0  # an LNB's oscillator drifts by a few MHz: common practice, no source
WEAK_DB = 1.0  # passes by less than this are weak
CN_TOLERANCE_DB = 2.0


def compare(readings: Sequence[Reading], expected: Sequence[Expected]) -> tuple[tuple[Compared, ...], tuple[Reading, ...]]:
    """Return readings beside their expectation, and those of carriers that were not expected.

    A carrier is found by its name, else by frequency: in the air or on the cable, within 5 MHz, the nearest; where a reading names its
    satellite or outlet only those are looked at.
    """
    made, unknown = [], []
    for reading in readings:
        one = _expectation(reading, expected)
        if one is None:
            unknown.append(reading)
        else:
            made.append(_compared(reading, one))
    return tuple(made), tuple(unknown)


def latest(compared: Sequence[Compared]) -> tuple[Compared, ...]:
    """Return only the latest reading of each carrier at each outlet, in the order of what was expected."""
    kept: dict[tuple, Compared] = {}
    for one in compared:  # oldest first
        kept[one.expected.source, one.expected.outlet, one.expected.carrier] = one
    return tuple(kept.values())


def meaning(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Return what the readings say together, satellite by satellite and outlet by outlet."""
    groups: dict[tuple[str, str], list[Compared]] = {}
    cells = [one for one in compared if one.expected.service == "mobile"]
    for one in compared:
        if one.expected.service != "mobile":
            groups.setdefault((one.expected.source, one.expected.outlet), []).append(one)
    found: list[Reason] = list(diagnose_cells(cells))
    for group in groups.values():
        found += [reason for reason in diagnose(group) if reason not in found]
    return tuple(found)


def repeats(readings: Sequence[Reading]) -> tuple[Reason, ...]:
    """Return which carriers were read more than once."""
    counts: dict[tuple[str, str, str], int] = {}
    for reading in readings:
        key = (reading.source, reading.outlet, reading.carrier or f"{reading.frequency_mhz:g} MHz")
        counts[key] = counts.get(key, 0) + 1
    return tuple(Reason("read_repeat", {"carrier": key[2], "count": count}) for key, count in counts.items() if count > 1)


def _expectation(reading: Reading, expected: Sequence[Expected]) -> Expected | None:
    fitting = [
        one
        for one in expected
        if _same(reading.source, one.source) and _same(reading.outlet, one.outlet) and reading.of_cell == (one.service == "mobile")
    ]
    named = [one for one in fitting if reading.carrier and reading.carrier.casefold() == one.carrier.casefold()]
    if named:
        return named[0]
    if math.isnan(reading.frequency_mhz):
        return None
    near = [
        (min(abs(mhz - reading.frequency_mhz) for mhz in (one.rf_mhz, one.if_mhz) if math.isfinite(mhz)), place)
        for place, one in enumerate(fitting)
    ]
    best = min(near, default=(math.inf, 0))
    return fitting[best[1]] if best[0] <= (NEAR_CELL_MHZ if reading.of_cell else NEAR_MHZ) else None


def _same(asked: str, there: str) -> bool:
    return not asked or not there or asked.casefold() == there.casefold()


def _compared(reading: Reading, expected: Expected) -> Compared:
    return _cell(reading, expected) if expected.service == "mobile" else _carrier(reading, expected)


def _cell(reading: Reading, expected: Expected) -> Compared:
    """Return a mobile cell's reading beside its expectation: strength and ratio must both reach what the plan wants."""
    ratio = reading.sinr_db if math.isfinite(reading.sinr_db) else reading.cn_db
    margin = ratio - expected.threshold_db
    reasons: list[Reason] = []
    if not reading.locked:
        reasons.append(Reason("read_no_cell"))
    if reading.rsrp_dbm < expected.min_dbm:
        reasons.append(Reason("read_rsrp_low", {"rsrp_dbm": reading.rsrp_dbm, "min_dbm": expected.min_dbm}))
    if margin < 0.0:
        reasons.append(Reason("read_sinr_short", {"short_db": -margin}))
    passes: bool | None = not reasons
    if passes and (math.isnan(margin) or math.isnan(reading.rsrp_dbm)):
        passes = None  # one of the two alone proves nothing good
    if reading.pci and expected.pci and reading.pci != expected.pci:
        reasons.append(Reason("read_other_cell", {"pci": reading.pci, "planned": expected.pci}))
    if passes and margin < WEAK_DB:
        reasons.append(Reason("read_sinr_weak", {"margin_db": margin}))
    return Compared(reading, expected, reading.rsrp_dbm - expected.rsrp_dbm, ratio - expected.cn_db, margin, passes, tuple(reasons))


def required(expected: Sequence[Expected], read: Sequence[Compared]) -> tuple[Expected, ...]:
    """Return what a report must show: every carrier at every outlet, one mobile cell, and whatever else was read.

    Readings at the antenna itself help to find faults and are nobody's duty; of the cells one is enough, the customer has one operator.
    """
    there = [one.expected for one in read]
    cell_read = any(one.service == "mobile" and one.outlet != PORT for one in there)
    first = next((one for one in expected if one.service == "mobile" and one.outlet != PORT), None)
    return tuple(
        one
        for one in expected
        if one in there or (one.outlet != PORT and (one.service != "mobile" or (one is first and not cell_read)))
    )


def _carrier(reading: Reading, expected: Expected) -> Compared:
    noise = next((value for value in (reading.cn_db, reading.mer_db) if math.isfinite(value)), math.nan)
    if math.isnan(noise) and math.isfinite(reading.margin_db):
        noise = reading.margin_db + expected.threshold_db
    margin = noise - expected.threshold_db
    reasons: list[Reason] = []
    if not reading.locked:
        reasons.append(Reason("read_no_lock"))
    at_port = expected.outlet == PORT
    if math.isfinite(reading.level_dbuv):
        values = {"level_dbuv": reading.level_dbuv, "min_dbuv": expected.min_dbuv, "max_dbuv": expected.max_dbuv}
        if reading.level_dbuv < expected.min_dbuv:
            reasons.append(Reason("read_port_low" if at_port else "read_level_low", values))
        if reading.level_dbuv > expected.max_dbuv:
            reasons.append(Reason("read_port_high" if at_port else "read_level_high", values))
    if margin < 0.0:
        reasons.append(Reason("read_cn_short", {"short_db": -margin}))
    passes: bool | None = not reasons
    if reading.locked and math.isnan(noise):
        passes = None if not reasons else False  # a level alone proves nothing good
    off = noise - expected.cn_db
    if passes and margin < WEAK_DB:
        reasons.append(Reason("read_cn_weak", {"margin_db": margin}))
    if passes and off < -max(CN_TOLERANCE_DB, expected.cn_sigma_db):
        reasons.append(Reason("read_cn_off", {"off_db": -off}))
    return Compared(reading, expected, reading.level_dbuv - expected.level_dbuv, off, margin, passes, tuple(reasons))
