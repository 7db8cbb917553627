"""What a pattern of mobile readings means: each rule with its threshold. All thresholds are common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from siteplan.records.readings import PORT, ROUTER, Compared, Expected
from siteplan.records.verdict import Reason

# A mobile prediction is good to 6 to 10 dB: a strength is low only beyond its own error twice (of all cells together, beyond that of their
# mean), and this at least.
RSRP_LOW_DB = -10.0
RSRP_NORMAL_DB = -6.0
SINR_LOW_DB = -5.0
PAIR_DB = 6.0  # the two leads of one antenna differ by less
CABLE_DB = 3.0  # the cable takes more than expected by this
RSSI_NEAR_DB = 4.0  # over one element by as much as the whole carrier is, within this
HIGH_BANDS_DB = 8.0  # shadowing of two bands of one mast goes together to 3 dB or so
LOW_BAND_MHZ, HIGH_BAND_MHZ = 1000.0, 1700.0
STRONGER_DB, STRONGER_SIGMAS = 15.0, 2.5  # both: of four cells of a healthy house one would else be too strong in one house of seven
_RB_PER_MHZ = 5.0  # resource blocks a MHz: 50 in 10 MHz, 100 in 20 (3GPP TS 36.104, table 5.6-1)


def diagnose_cells(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Return what the readings of mobile cells at one address say together, most telling first; empty where all is as expected."""
    found: list[Reason] = []
    for outlet in dict.fromkeys(one.expected.outlet for one in compared):
        here = [one for one in compared if one.expected.outlet == outlet]
        found += _taken_for_rssi(here)
        if not found:
            found += _strength(here)
        found += _ratio(here)
        found += _pair(here)
        if not found:
            found += [*_high_bands(here), *_stronger(here)]
    found += _cable(compared)
    found += _other_cell(compared)
    found += _none(compared)
    return tuple(reason for place, reason in enumerate(found) if reason not in found[:place])


def is_rssi(rsrp_dbm: float, expected: Expected) -> bool:
    """Return whether a strength lies over what was expected by what a whole carrier has over one element: then it is RSSI.

    By hand: 10 MHz, 50 blocks of 12 elements: 27.8 dB, so 23.8 to 31.8 dB over are taken for it.
    """
    off = rsrp_dbm - expected.rsrp_dbm
    return expected.modulation in ("LTE", "NR") and abs(off - _whole_db(expected)) <= RSSI_NEAR_DB


def _low(one: Compared) -> bool:
    sigma = one.expected.level_sigma_db
    return one.level_off_db <= min(RSRP_LOW_DB, -2.0 * sigma if math.isfinite(sigma) else RSRP_LOW_DB)


def _taken_for_rssi(here: Sequence[Compared]) -> list[Reason]:
    """Every strength is too high by what a whole carrier has over one resource element: RSSI was written in the column of RSRP."""
    seen = [one for one in here if math.isfinite(one.reading.rsrp_dbm) and one.expected.modulation in ("LTE", "NR")]
    if seen and all(is_rssi(one.reading.rsrp_dbm, one.expected) for one in seen):
        return [Reason("read_rssi_for_rsrp", {"over_db": median(one.reading.rsrp_dbm - one.expected.rsrp_dbm for one in seen)})]
    return []


def _whole_db(expected: Expected) -> float:
    """10 log of the resource elements in the carrier: 12 in a block (3GPP TS 36.211, 6.2.3)."""
    width = expected.bandwidth_mhz
    return 10.0 * math.log10(12.0 * _RB_PER_MHZ * width) if math.isfinite(width) and width > 0.0 else math.nan


def _site(one: Compared) -> str:
    return one.expected.carrier.rpartition(", ")[0]


def _all_low(seen: Sequence[Compared]) -> bool:
    """Every cell is 6 dB low or more, and their middle lower than 10 dB or twice the error of a mean over the sites, if that is more.

    Sites err apart from one another: two of 12 dB each are good to 12 / sqrt 2 = 8.5 dB together.
    """
    sigmas = [one.expected.level_sigma_db for one in seen if math.isfinite(one.expected.level_sigma_db)]
    limit = -2.0 * median(sigmas) / math.sqrt(len({_site(one) for one in seen})) if sigmas else RSRP_LOW_DB
    offs = [one.level_off_db for one in seen]
    return len(seen) > 1 and max(offs) <= RSRP_NORMAL_DB and median(offs) <= min(RSRP_LOW_DB, limit)


def _strength(here: Sequence[Compared]) -> list[Reason]:
    """All cells weak: something they share. One alone: its own way, or the aim."""
    seen = [one for one in here if math.isfinite(one.level_off_db) and not _other(one)]
    low = seen if _all_low(seen) else [one for one in seen if _low(one)]
    if not low:
        return []
    values = {"less_db": -median(one.level_off_db for one in low), "count": len(low)}
    if len(low) == len(seen):
        return [Reason("read_cells_low" if len(seen) > 1 else "read_cell_low", values | {"carrier": low[0].expected.carrier})]
    rest = [one for one in seen if one not in low]
    if median(one.level_off_db for one in rest) >= RSRP_NORMAL_DB:
        return [Reason("read_one_cell_low", values | {"carrier": one.expected.carrier}) for one in low]
    return []


def _ratio(here: Sequence[Compared]) -> list[Reason]:
    """Strength as expected and the ratio low: somebody else is heard, or the antenna looks between two sites."""
    off = [one for one in here if one.level_off_db >= RSRP_NORMAL_DB and one.cn_off_db <= _ratio_low_db(one)]
    if not off:
        return []
    return [Reason("read_cell_disturbed", {"carrier": one.expected.carrier, "less_db": -one.cn_off_db}) for one in off]


def _ratio_low_db(one: Compared) -> float:
    sigma = one.expected.cn_sigma_db
    return min(SINR_LOW_DB, -2.0 * sigma if math.isfinite(sigma) else SINR_LOW_DB)


def _pair(here: Sequence[Compared]) -> list[Reason]:
    """One lead of the pair weaker than the other."""
    apart = [one.reading.rsrp_a_dbm - one.reading.rsrp_b_dbm for one in here]
    known = [value for value in apart if math.isfinite(value)]
    if known and abs(median(known)) >= PAIR_DB and all(value * known[0] > 0.0 for value in known):
        return [Reason("read_pair_uneven", {"lead": "B" if known[0] > 0.0 else "A", "less_db": abs(median(known))})]
    return []


def _cable(compared: Sequence[Compared]) -> list[Reason]:
    """What the cable takes between the antenna's port and the router, where both were read, against what it should."""
    at_port = {one.expected.carrier: one for one in compared if one.expected.outlet == PORT and math.isfinite(one.level_off_db)}
    more = [
        at_port[one.expected.carrier].level_off_db - one.level_off_db
        for one in compared
        if one.expected.outlet == ROUTER and one.expected.carrier in at_port and math.isfinite(one.level_off_db)
    ]
    if more and median(more) >= CABLE_DB:
        return [Reason("read_mobile_cable", {"more_db": median(more)})]
    return []


def _other(one: Compared) -> bool:
    return any(reason.code == "read_other_cell" for reason in one.reasons)


def _high_bands(here: Sequence[Compared]) -> list[Reason]:
    """High bands weak against low ones of the same site: what takes more the higher the frequency."""
    gaps = []
    for site in sorted({_site(one) for one in here}):
        own = [one for one in here if _site(one) == site and math.isfinite(one.level_off_db) and not _other(one)]
        low = [one.level_off_db for one in own if one.expected.rf_mhz <= LOW_BAND_MHZ]
        high = [one.level_off_db for one in own if one.expected.rf_mhz >= HIGH_BAND_MHZ]
        if low and high:
            gaps.append(median(low) - median(high))
    return [Reason("read_cells_high_bands", {"less_db": median(gaps)})] if gaps and median(gaps) >= HIGH_BANDS_DB else []


def _strong_db(one: Compared) -> float:
    sigma = one.expected.level_sigma_db
    return max(STRONGER_DB, STRONGER_SIGMAS * sigma) if math.isfinite(sigma) else STRONGER_DB


def _stronger(here: Sequence[Compared]) -> list[Reason]:
    """Much stronger than foretold, and no RSSI: a nearer cell, or a list of senders that is out of date."""
    over = [one for one in here if one.level_off_db >= _strong_db(one) and not is_rssi(one.reading.rsrp_dbm, one.expected)]
    return [Reason("read_cell_stronger", {"carrier": one.expected.carrier, "more_db": one.level_off_db}) for one in over]


def _none(compared: Sequence[Compared]) -> list[Reason]:
    """No service on any cell that was tried."""
    if compared and not any(one.reading.locked for one in compared):
        return [Reason("read_cells_none", {"count": len({one.expected.carrier for one in compared})})]
    return []


def _other_cell(compared: Sequence[Compared]) -> list[Reason]:
    other = [one for one in compared if _other(one)]
    return [Reason("read_serves_other", {"carrier": one.expected.carrier, "pci": one.reading.pci}) for one in other]
