"""Which rows get a sheet in this run: by number, by state, by id. What gets none can have one by a command, and that is said."""

from __future__ import annotations

from dataclasses import replace

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.verdict import Reason, State

SHOWN_UNKNOWN = 5


def choose_sheets(findings: Findings) -> tuple[Findings, tuple[Reason, ...]]:
    """Return the findings with the names of only those sheets and profiles that the plan wants, and what is to be said of the rest.

    `sheets = "all"` takes every row that could have one, "none" none, "auto" every row of a list of up to most_sheets and in longer lists
    those to survey first, in the list's order, up to most_sheets. sheet_states and sheet_rows narrow "all" and "auto"; with them "auto"
    takes every row they name. A sheet and the ground profiles that it shows go together; without any sheet profiles are kept.
    """
    wanted = findings.plan.outputs
    could = [row for row in findings.rows if row.sheet_file]
    said: list[Reason] = []
    chosen = could
    asked = {str(name) for name in wanted.sheet_rows}
    if asked:
        known = {name for row in findings.rows for name in _names(row)}
        lost = [str(name) for name in wanted.sheet_rows if str(name) not in known]
        if lost:
            said.append(Reason("sheet_rows_unknown", {"names": lost[:SHOWN_UNKNOWN], "count": len(lost)}))
        chosen = [row for row in chosen if _names(row) & asked]
    if wanted.sheet_states:
        chosen = [row for row in chosen if row.job.value in wanted.sheet_states]
    code = "sheets_chosen"
    if wanted.sheets == "none":
        return replace(findings, rows=tuple(replace(row, sheet_file="") for row in findings.rows)), _none(findings, could)
    if wanted.sheets == "auto" and not asked and not wanted.sheet_states and len(could) > wanted.most_sheets:
        chosen = [row for row in could if row.job is State.SURVEY_FIRST][: wanted.most_sheets]
        code = "sheets_survey_first"
    if len(chosen) == len(could):
        return findings, tuple(said)
    kept = {row.row.row for row in chosen}
    rows = tuple(row if row.row.row in kept else unlinked(row) for row in findings.rows)
    said.append(Reason(code, {"count": f"{len(chosen):,}", "all": f"{len(could):,}", "plan": findings.plan.file.name}))
    return replace(findings, rows=rows), tuple(said)


def _none(findings: Findings, could: list[AddressFinding]) -> tuple[Reason, ...]:
    return (Reason("sheets_none", {"plan": findings.plan.file.name}),) if could else ()


def _names(row: AddressFinding) -> set[str]:
    address = row.row.address
    return {str(row.row.row)} | ({address.id} if address is not None and address.id else set())


def unlinked(row: AddressFinding) -> AddressFinding:
    """Return a row without the names of its sheet and profiles: nothing may point at a file that this run does not write."""
    row = replace(row, sheet_file="")
    if row.terrestrial is not None:
        aims = tuple(replace(aim, profile_file="", path_command="") for aim in row.terrestrial.aims)
        row = replace(row, terrestrial=replace(row.terrestrial, aims=aims))
    if row.mobile is not None:
        lines = tuple(replace(line, profile_file="", path_command="") for line in row.mobile.lines)
        row = replace(row, mobile=replace(row.mobile, lines=lines))
    return row
