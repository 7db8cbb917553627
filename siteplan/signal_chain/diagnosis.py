"""What a pattern of readings means: each rule with its threshold. All thresholds are common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

import numpy as np

from siteplan.records.readings import Compared
from siteplan.records.verdict import Reason

# An LNB's gain differs by 5 dB from piece to piece, a meter by 1.5 dB, and a prediction errs as well: a level is low only beyond all that.
LEVEL_LOW_DB = -7.5
LEVEL_NORMAL_DB = -4.0  # under this and out of the window: low as well
CN_LOW_DB = -3.0  # expectation +- 2 dB, and a decibel of the meter
CN_NORMAL_DB = -2.0
SIGMAS = 2.0  # where a prediction is less sure than that (terrestrial TV), low means beyond so many of its own sigmas
APART_DB = 1.0  # the level must be this far from the middle between "low as the C/N" and "as expected", or both causes are named
TILT_DB_PER_GHZ = -5.0  # beyond the slope that was expected
TILT_SPAN_MHZ = 300.0  # a sub-band shows a slope of its own where its carriers are this far apart
SIDE_DB = 6.0  # one polarisation lower than the other, slope counted out
SCATTER_DB = 1.2  # of single levels about a smooth line: meter, ripple, one sub-band of an LNB against another
SURE = 3.0  # a slope or a step counts where it is so many times its own error
WORSE_DB = 1.0  # high-order modulation suffers this much more, where no carrier is free of an opposite one
ALONE_DB = 4.0  # one carrier lower than the median of the rest of its satellite by this
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
    """Both low, level low, or C/N low, taken over all carriers by their median.

    Where C/N is low, an LNB's own gain blurs whether the level is low with it: nearer to that than to what was expected means before the
    LNB, nearer to what was expected means noise; in the middle both are named.
    """
    both = [one for one in compared if math.isfinite(one.level_off_db) and math.isfinite(one.cn_off_db)]
    if not both:
        return ()
    level, noise = median([one.level_off_db for one in both]), median([one.cn_off_db for one in both])
    level_low = min(LEVEL_LOW_DB, -SIGMAS * _median_of([one.expected.level_sigma_db for one in both]))
    noise_low = min(CN_LOW_DB, -SIGMAS * _median_of([one.expected.cn_sigma_db for one in both]))
    aerial = all(one.expected.service == "terrestrial" for one in both)

    def said(code: str) -> tuple[Reason, ...]:
        return (Reason(f"read_tv_{code}" if aerial else f"read_{code}", {"level_db": max(0.0, -level), "cn_db": max(0.0, -noise)}),)

    if noise > noise_low:
        short = median([one.reading.level_dbuv - one.expected.min_dbuv for one in both]) < 0.0
        low = level <= level_low or (short and level <= LEVEL_NORMAL_DB)
        return said("after_lnb") if low and noise >= min(CN_NORMAL_DB, noise_low + 1.0) else ()
    if level <= noise + level_low:
        return said("both_sides")
    if level <= 0.5 * noise - APART_DB:
        return said("before_lnb")
    return said("noisy") if level >= 0.5 * noise + APART_DB else said("before_or_noisy")


def _median_of(values: Sequence[float]) -> float:
    known = [value for value in values if math.isfinite(value)]
    return median(known) if known else 0.0


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
        step, error = _shape(seen)[1]
        less = -step if side == "V" else step
        known = [sum(math.isfinite(one.level_off_db) for one in group) for group in (mine, theirs)]
        if min(known) >= 2 and less >= max(SIDE_DB, SURE * error):
            return [Reason("read_polarisation_low", values | {"less_db": less})]
    return []


def _shape(seen: Sequence[Compared]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return (slope in dB a GHz, its error) and (V over H in dB, its error) of one straight line through all levels; errors infinite where
    carriers are too few, or lie so that one could be taken for the other. Least squares with a known scatter of single levels."""
    nothing = (0.0, math.inf)
    points = [one for one in seen if math.isfinite(one.level_off_db) and math.isfinite(one.expected.if_mhz)]
    sides = [0.5 if one.expected.line[:1] == "V" else -0.5 for one in points]
    two = len(set(sides)) == 2
    if len(points) < 4:
        return nothing, nothing
    columns = [[1.0] * len(points), [one.expected.if_mhz / 1000.0 for one in points]] + ([sides] if two else [])
    matrix = np.array(columns).T
    if np.linalg.matrix_rank(matrix, tol=1e-6) < len(columns):
        return nothing, nothing
    found = np.linalg.lstsq(matrix, np.array([one.level_off_db for one in points]), rcond=None)[0]
    errors = SCATTER_DB * np.sqrt(np.diag(np.linalg.inv(matrix.T @ matrix)))
    slope = (float(found[1]), float(errors[1]))
    return slope, (float(found[2]), float(errors[2])) if two else nothing


def _skew(seen: Sequence[Compared]) -> Reason | None:
    """C/N low on both polarisations just where the opposite one is occupied, while free carriers are better; without free ones, worst on
    high-order modulation: those carriers stand highest over the noise and so lose most to a steady disturbance."""
    facing, free = [], []
    for one in seen:
        if math.isfinite(one.cn_off_db):
            (facing if _opposite_occupied(one, seen) else free).append(one)
    sides = {one.expected.line[:1] for one in facing if one.cn_off_db <= CN_LOW_DB}
    if len(sides) < 2:
        return None
    low = median([one.cn_off_db for one in facing])
    if low > CN_LOW_DB:
        return None
    if free:
        rest = median([one.cn_off_db for one in free])
        if rest <= CN_LOW_DB or low > rest + CN_LOW_DB:
            return None
    elif not _worst_on_high_order(facing):
        return None
    return Reason("read_skew", {"cn_db": -low})


def _worst_on_high_order(facing: Sequence[Compared]) -> bool:
    high = [one.cn_off_db for one in facing if any(order in one.expected.modulation for order in HIGH_ORDER)]
    rest = [one.cn_off_db for one in facing if not any(order in one.expected.modulation for order in HIGH_ORDER)]
    return bool(high) and bool(rest) and median(high) <= median(rest) - WORSE_DB


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
    slope, error = _shape(seen)[0]
    if slope <= min(TILT_DB_PER_GHZ, -SURE * error) and all(one <= 0.5 * TILT_DB_PER_GHZ for one in slopes):
        return Reason("read_tilt", {"db_per_ghz": -slope})
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
