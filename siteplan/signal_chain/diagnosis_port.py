"""What readings at the port of an LNB or aerial mean, alone and beside those at an outlet. Thresholds: common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from siteplan.records.readings import Compared
from siteplan.records.verdict import Reason
from siteplan.signal_chain.diagnosis import CN_LOW_DB, SIGMAS, diagnose

# An LNB's own gain is the same at the port and at the outlet: only the meter, the cable and the parts between are left in the difference.
BETWEEN_DB = -5.0
# No cable is in a reading at the port: what the rules of an outlet put behind the antenna, or leave open, is said otherwise here.
_AT_PORT = {
    "after_lnb": "read_port_gain", "before_lnb": "read_port_before", "both_sides": "read_port_both", "noisy": "read_port_noisy",
    "missing": "read_port_missing",
}  # fmt: skip


def between(at_antenna: Sequence[Compared], at_outlet: Sequence[Compared]) -> Reason | None:
    """Return that more is lost between antenna and outlet than the chain should take; None where it is not, or nothing tells.

    Over the carriers read at both; C/N at the port must be as expected, else the fault lies before the cable.
    """
    ports = {one.expected.carrier: one for one in at_antenna if one.reading.locked}
    pairs = [(ports[one.expected.carrier], one) for one in at_outlet if one.expected.carrier in ports]
    drops = [outlet.level_off_db - port.level_off_db for port, outlet in pairs]
    drops = [drop for drop in drops if math.isfinite(drop)]
    if not drops or median(drops) > BETWEEN_DB:
        return None
    known = [port for port, _ in pairs if math.isfinite(port.cn_off_db)]
    if known and median(one.cn_off_db for one in known) <= min(CN_LOW_DB, -SIGMAS * median(one.expected.cn_sigma_db for one in known)):
        return None
    return Reason("read_between", {"less_db": -median(drops), "count": len(drops)})


def diagnose_port(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Return what the readings of one satellite, or of the aerial, at its port say: the rules of an outlet, told without a cable."""
    found = []
    for one in diagnose(compared):
        code = _AT_PORT.get(one.code.removeprefix("read_").removeprefix("tv_"), one.code)
        more = {"source": compared[0].expected.source} if code.startswith("read_port_") else {}
        found.append(Reason(code, {**one.values, **more}))
    return tuple(found)
