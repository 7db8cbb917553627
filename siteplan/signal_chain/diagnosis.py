"""What a pattern of readings means: each rule with its threshold. All thresholds are common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from siteplan.records.readings import Compared
from siteplan.records.verdict import Reason

# An LNB's gain differs by 5 dB from piece to piece: a level is low only beyond that and a decibel of the meter.
LEVEL_LOW_DB = -6.0
LEVEL_NORMAL_DB = -4.0
CN_LOW_DB = -3.0  # expectation +- 2 dB, and a decibel of the meter
CN_NORMAL_DB = -2.0
SAME_DB = 2.5  # level and C/N count as low by the same within this
TILT_DB_PER_GHZ = -5.0  # beyond the slope that was expected
TILT_SPAN_MHZ = 300.0
ALONE_DB = 4.0  # one carrier lower than the median of the rest of its sub-band by this
HIGH_ORDER = ("16APSK", "32APSK", "64APSK", "256APSK")


def diagnose(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Return what the readings of one satellite at one outlet say together, most telling first; empty where all is as expected.

    compared  carriers of one satellite at one outlet; a carrier that did not lock has reading.locked False
    """
    seen = [one for one in compared if one.expected.service == "satellite"]
    if not seen:
        return _plain(compared)
    missing = [one for one in seen if not one.reading.locked]
    found: list[Reason] = []
    found += _band_missing(seen)
    found += _polarisation(seen)
    if found and missing:
        return tuple(found)
    skew = _skew(seen)
    tilt = _tilt(seen)
    alone = _alone(seen)
    if skew is not None:
        found.append(skew)
    if tilt is not None:
        found.append(tilt)
    if alone:
        found += alone
    if skew is None and tilt is None and not alone:
        found += _plain([one for one in seen if one.reading.locked])
    if missing and not found:
        found.append(Reason("read_missing", {"carriers": ", ".join(one.expected.carrier for one in missing)}))
    return tuple(found)


def _plain(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Both low, level low, or C/N low, taken over all carriers by their median."""
    levels = [one.level_off_db for one in compared if math.isfinite(one.level_off_db)]
    noises = [one.cn_off_db for one in compared if math.isfinite(one.cn_off_db)]
    if not levels or not noises:
        return ()
    level, noise = median(levels), median(noises)
    values = {"level_db": level, "cn_db": noise}
    if level <= CN_LOW_DB and noise <= CN_LOW_DB and abs(level - noise) <= SAME_DB:
        return (Reason("read_before_lnb", values),)
    if level <= LEVEL_LOW_DB and noise >= CN_NORMAL_DB:
        return (Reason("read_after_lnb", values),)
    if level >= LEVEL_NORMAL_DB and noise <= CN_LOW_DB:
        return (Reason("read_noisy", values),)
    if level <= LEVEL_LOW_DB and noise <= CN_LOW_DB:
        return (Reason("read_both_sides", values),)
    return ()


def _gone(compared: Sequence[Compared]) -> bool:
    """Return whether a whole group is missing; one carrier alone is no group."""
    return len(compared) >= 2 and all(not one.reading.locked for one in compared)


def _band_missing(seen: Sequence[Compared]) -> list[Reason]:
    """The whole high (or low) band is missing while the other is there."""
    high = [one for one in seen if one.expected.line[1:] == "H"]
    low = [one for one in seen if one.expected.line[1:] == "L"]
    if _gone(high) and low and not _gone(low):
        return [Reason("read_high_band_missing", {"count": len(high)})]
    if _gone(low) and high and not _gone(high):
        return [Reason("read_low_band_missing", {"count": len(low)})]
    return []


def _polarisation(seen: Sequence[Compared]) -> list[Reason]:
    """One polarisation is missing, or lower than the other by far, in both bands where both are used."""
    sides = {side: [one for one in seen if one.expected.line[:1] == side] for side in ("V", "H")}
    for side, other in (("V", "H"), ("H", "V")):
        mine, theirs = sides[side], sides[other]
        if not mine or not theirs:
            continue
        values = {"volts": 13 if side == "V" else 18, "count": len(mine)}
        if _gone(mine) and not _gone(theirs):
            return [Reason("read_polarisation_missing", values)]
        low = [one.level_off_db for one in mine if math.isfinite(one.level_off_db)]
        rest = [one.level_off_db for one in theirs if math.isfinite(one.level_off_db)]
        if len(low) >= 2 and len(rest) >= 2 and median(low) <= LEVEL_LOW_DB and median(low) - median(rest) <= LEVEL_LOW_DB:
            return [Reason("read_polarisation_low", values | {"less_db": median(rest) - median(low)})]
    return []


def _skew(seen: Sequence[Compared]) -> Reason | None:
    """C/N low on both polarisations just where the opposite one is occupied; free carriers are as expected; level is normal."""
    facing, free = [], []
    for one in seen:
        if math.isfinite(one.cn_off_db):
            (facing if _opposite_occupied(one, seen) else free).append(one)
    sides = {one.expected.line[:1] for one in facing if one.cn_off_db <= CN_LOW_DB}
    if len(sides) < 2 or median([one.cn_off_db for one in facing]) > CN_LOW_DB:
        return None
    if free and median([one.cn_off_db for one in free]) <= CN_LOW_DB:
        return None
    levels = [one.level_off_db for one in facing if math.isfinite(one.level_off_db)]
    if not free and not _worst_on_high_order(facing):
        return None
    if levels and median(levels) <= LEVEL_NORMAL_DB:
        return None
    return Reason("read_skew", {"cn_db": median([one.cn_off_db for one in facing])})


def _worst_on_high_order(facing: Sequence[Compared]) -> bool:
    high = [one.margin_db for one in facing if any(order in one.expected.modulation for order in HIGH_ORDER)]
    rest = [one.margin_db for one in facing if not any(order in one.expected.modulation for order in HIGH_ORDER)]
    return bool(high) and bool(rest) and min(high) < min(rest)


def _opposite_occupied(one: Compared, seen: Sequence[Compared]) -> bool:
    mine = one.expected
    for other in seen:
        theirs = other.expected
        if theirs.line[:1] != mine.line[:1] and abs(theirs.rf_mhz - mine.rf_mhz) < 0.5 * (theirs.bandwidth_mhz + mine.bandwidth_mhz):
            return True
    return False


def _tilt(seen: Sequence[Compared]) -> Reason | None:
    """Level falls with IF, beyond what was expected, in every sub-band that has carriers far enough apart."""
    slopes = []
    for line in sorted({one.expected.line for one in seen}):
        points = [(one.expected.if_mhz, one.level_off_db) for one in seen if one.expected.line == line and math.isfinite(one.level_off_db)]
        if len(points) >= 2 and max(points)[0] - min(points)[0] >= TILT_SPAN_MHZ:
            mean_f = sum(f for f, _ in points) / len(points)
            mean_l = sum(level for _, level in points) / len(points)
            spread = sum((f - mean_f) ** 2 for f, _ in points)
            slopes.append(1000.0 * sum((f - mean_f) * (level - mean_l) for f, level in points) / spread)
    if slopes and max(slopes) <= TILT_DB_PER_GHZ:
        return Reason("read_tilt", {"db_per_ghz": -median(slopes)})
    return None


def _alone(seen: Sequence[Compared]) -> list[Reason]:
    """One carrier stands out while the rest of its sub-band is as expected."""
    found = []
    out = [one for one in seen if _stands_out(one, seen)]
    if len(out) == 1:
        one = out[0].expected
        found.append(Reason("read_one_alone", {"carrier": one.carrier, "if_mhz": one.if_mhz}))
    return found


def _stands_out(one: Compared, seen: Sequence[Compared]) -> bool:
    rest = [other for other in seen if other is not one]
    if len(rest) < 2 or not all(other.reading.locked for other in rest):
        return False
    noises = [other.cn_off_db for other in rest if math.isfinite(other.cn_off_db)]
    if len(noises) < 2 or median(noises) <= CN_LOW_DB:
        return False
    return not one.reading.locked or (math.isfinite(one.cn_off_db) and one.cn_off_db <= median(noises) - ALONE_DB)
