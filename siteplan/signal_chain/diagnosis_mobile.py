"""What a pattern of mobile readings means: each rule with its threshold. All thresholds are common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from siteplan.records.readings import PORT, ROUTER, Compared
from siteplan.records.verdict import Reason

# A mobile prediction is good to 6 to 10 dB: a strength is low only beyond its own error twice, and this at least.
RSRP_LOW_DB = -10.0
RSRP_NORMAL_DB = -6.0
SINR_LOW_DB = -5.0
PAIR_DB = 6.0  # the two leads of one antenna differ by less
CABLE_DB = 3.0  # the cable takes more than expected by this
RSSI_NEAR_DB = 4.0  # over one element by as much as the whole carrier is, within this
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
    found += _cable(compared)
    found += _other_cell(compared)
    return tuple(reason for place, reason in enumerate(found) if reason not in found[:place])


def _low(one: Compared) -> bool:
    sigma = one.expected.level_sigma_db
    return one.level_off_db <= min(RSRP_LOW_DB, -2.0 * sigma if math.isfinite(sigma) else RSRP_LOW_DB)


def _taken_for_rssi(here: Sequence[Compared]) -> list[Reason]:
    """Every strength is too high by what a whole carrier has over one resource element: RSSI was written in the column of RSRP."""
    seen = [one for one in here if math.isfinite(one.level_off_db) and one.expected.modulation in ("LTE", "NR")]
    over = [one.level_off_db - _whole_db(one) for one in seen if math.isfinite(_whole_db(one))]
    if over and all(abs(value) <= RSSI_NEAR_DB for value in over):
        return [Reason("read_rssi_for_rsrp", {"over_db": median(one.level_off_db for one in seen)})]
    return []


def _whole_db(one: Compared) -> float:
    """10 log of the resource elements in the carrier: 12 in a block (3GPP TS 36.211, 6.2.3)."""
    width = one.expected.bandwidth_mhz
    return 10.0 * math.log10(12.0 * _RB_PER_MHZ * width) if math.isfinite(width) and width > 0.0 else math.nan


def _strength(here: Sequence[Compared]) -> list[Reason]:
    """All cells weak: something they share. One alone: its own way, or the aim."""
    seen = [one for one in here if math.isfinite(one.level_off_db)]
    low = [one for one in seen if _low(one)]
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


def _other_cell(compared: Sequence[Compared]) -> list[Reason]:
    other = [one for one in compared if any(reason.code == "read_other_cell" for reason in one.reasons)]
    return [Reason("read_serves_other", {"carrier": one.expected.carrier, "pci": one.reading.pci}) for one in other]
