"""Tables of proof and review: one line for each carrier read, and one for each installation."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence

from siteplan.files.write_tables import defused
from siteplan.records.proof import Review
from siteplan.records.readings import Installation
from siteplan.words import sentence

_CARRIER = (
    "id", "row", "source", "outlet", "carrier", "level_dbuv", "expected_level_dbuv", "min_dbuv", "max_dbuv", "cn_db", "expected_cn_db",
    "threshold_db", "margin_db", "rsrp_dbm", "expected_rsrp_dbm", "min_dbm", "rsrq_db", "pci", "planned_pci",
    "passes", "reasons", "taken_at",
)  # fmt: skip
_JOB = (
    "id",
    "row",
    "name",
    "area",
    "expected_carriers",
    "read_carriers",
    "passed",
    "failed",
    "weakest_margin_db",
    "findings",
    "signed_at",
    "changed_after_signing",
)


def proof_csv(done: Installation) -> bytes:
    """Return one line for each expected carrier of an installation; those not read have empty values and "not read"."""
    read = {(one.expected.source, one.expected.outlet, one.expected.carrier): one for one in done.compared}
    rows = []
    for line in done.expected:
        one = read.get((line.source, line.outlet, line.carrier))
        level = one.reading.level_dbuv if one else math.nan
        margin = one.margin_db if one else math.nan
        passes = "not read" if one is None else {True: "yes", False: "no", None: "not proved"}[one.passes]
        said = "; ".join(sentence(reason) for reason in (*one.reasons, *one.reading.notes)) if one else ""
        rows.append(
            [
                defused(done.id), str(done.row), defused(line.source), defused(line.outlet), defused(line.carrier), _number(level),
                _number(line.level_dbuv), _number(line.min_dbuv), _number(line.max_dbuv), _number(one.ratio_db if one else math.nan),
                _number(line.cn_db), _number(line.threshold_db), _number(margin), _number(one.reading.rsrp_dbm if one else math.nan),
                _number(line.rsrp_dbm), _number(line.min_dbm),
                _number(one.reading.rsrq_db if one else math.nan), defused(one.reading.pci) if one else "", defused(line.pci),
                passes, defused(said),
                defused(one.reading.taken_at) if one else "",
            ]
        )  # fmt: skip
    return _csv(_CARRIER, rows)


def review_csv(review: Review) -> bytes:
    """Return one line for each installation, those without readings too; no installer's name."""
    rows = []
    for one in (*review.missing, *review.done):
        name = "" if review.redacted else one.name
        margins = [compared.margin_db for compared in one.compared if math.isfinite(compared.margin_db)]
        passed, failed = (sum(compared.passes is wanted for compared in one.compared) for wanted in (True, False))
        rows.append(
            [
                defused(one.id), str(one.row), defused(name), defused(one.area), str(len(one.expected)), str(len(one.compared)),
                str(passed), str(failed), _number(min(margins, default=math.nan)),
                defused(" ".join(sentence(reason) for reason in one.findings)),
                one.signed_at, "yes" if one.changed_after_signing or one.expected_changed or one.files_changed else "",
            ]
        )  # fmt: skip
    return _csv(_JOB, rows)


def _number(value: float) -> str:
    return f"{value:.1f}" if math.isfinite(value) else ""


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8", "replace")
