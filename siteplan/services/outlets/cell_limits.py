"""Named limits of mobile cells at the device: common practice by the plan's own keys, or a company's own."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.errors import InputError, told
from siteplan.records.plan import Plan

PRACTICE = "mobile, common practice"
LEAST_RSRQ_DB = -15.0  # of a usable cell under load: common practice, no source. It counts only where a device shows no SINR


@dataclass(frozen=True, slots=True)
class CellLimits:
    """Least RSRP, SINR and RSRQ by a name; own: the company's, so they stand for those that the verdict used."""

    name: str
    rsrp_dbm: float
    sinr_db: float
    rsrq_db: float
    own: bool


def cell_limits(plan: Plan) -> CellLimits:
    """Return the limits of mobile cells that a plan names. Raises InputError naming those there are.

    "mobile, common practice" is what the verdict uses, [limits] rsrp_dbm and sinr_db, and an RSRQ of -15 dB where no SINR is shown.
    """
    known = {PRACTICE: CellLimits(PRACTICE, plan.limits.rsrp_dbm, plan.limits.sinr_db, LEAST_RSRQ_DB, own=False)}
    for table in plan.mobile_profiles:
        known[table.name] = CellLimits(table.name, table.rsrp_dbm, table.sinr_db, table.rsrq_db, own=True)
    named = plan.installation.mobile_profile
    if named not in known:
        raise InputError(
            told(
                "[installation] mobile_profile: no limits of mobile cells are called {named!r}; there are: {known}",
                named=named, known=", ".join(repr(name) for name in known),
            )
        )  # fmt: skip
    return known[named]
