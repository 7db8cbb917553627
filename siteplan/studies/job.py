"""One whole run of a plan: read, judge, deliver, and say in words what was made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from siteplan.errors import told
from siteplan.records.findings import Findings
from siteplan.records.verdict import SERVICES, Reason, State
from siteplan.report.pdf_door import pdf_ready
from siteplan.studies.addresses import judge_addresses
from siteplan.studies.area_maps import Found, key_for, maps_in
from siteplan.studies.deliver import deliver, try_folder
from siteplan.studies.speech import open_plan
from siteplan.words import sentence, service_word, state_word
from siteplan.words.area import area_text
from siteplan.words.formats import listing

# What was noted of the terrain that a person should look at before trusting the verdicts; the front page lists all notes.
DOUBTS = (
    "surface_shifted", "surface_without_trees", "layers_disagree", "heights_not_told", "heights_mostly_void", "terrain_window_narrowed",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Done:
    """What a run made: lines for a person, the last of which names the page to open; how many rows were rejected."""

    lines: tuple[str, ...]
    last_line: str
    rejected: int
    findings: Findings


def do_job(
    plan_file: Path,
    out: Path | None,
    *,
    tables_only: bool = False,
    only: str | None = None,
    pdf: bool = False,
    progress: Callable[[str, int, int], None] | None = None,
    say: Callable[[str], None] = print,
    clock: Callable[[], datetime],
) -> Done:
    """Run one plan. clock gives the time for run.json, and today's date where the plan names none (that is said)."""
    started = clock()
    plan = open_plan(plan_file)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    if pdf:
        pdf_ready()
    try_folder(folder, tables_only=tables_only, one=only is not None)
    on_date = plan.date or started.date()
    if plan.date is None:
        say(sentence(Reason("date_today", {"date": on_date.isoformat()})))
    if first_run():
        say(told("This is the first run here: siteplan compiles its inner loops once, which takes up to half a minute."))
    findings = judge_addresses(plan, on_date=on_date, pictures=not tables_only, only=only, progress=progress)
    maps = maps_in(folder, key_for(plan, on_date.isoformat())) if only is None else Found()
    findings = replace(findings, overlays=maps.overlays)
    made = deliver(
        findings, folder, started=started, clock=clock, tables_only=tables_only, one=only is not None, pdf=pdf, beside=maps.files,
        progress=progress,
    )  # fmt: skip
    doubts = [sentence(note) for note in findings.notes if note.code.startswith("emitter_") or note.code in DOUBTS]
    lines = [*_counts(findings), *doubts, *made.notes] + ([area_text("says_old", folder=folder)] if maps.old else [])
    last = (
        told("Open {page}", page=_short(made.open_first))
        if made.open_first
        else told("Wrote {files} files to {folder}", files=len(made.files), folder=folder)
    )
    rejected = _rejected_words(findings)
    if rejected:
        where = told(": see {file}", file=_short(folder / "rejects.csv")) if only is None else ""
        last += told(" ({rejected} rejected{where})", rejected=rejected, where=where)
    return Done(tuple(lines), last, len(findings.rejects), findings)


def _short(place: Path) -> Path:
    """Return a path as a person would type it: below the working folder where it lies there, else whole."""
    whole, here = place.resolve(), Path.cwd().resolve()
    return whole.relative_to(here) if whole.is_relative_to(here) else whole


def _rejected_words(findings: Findings) -> str:
    """Return "5 of 111 addresses and 1 line of other tables", "" where nothing was rejected."""
    rows = findings.addresses.rows
    addresses = sum(row.reject is not None for row in rows)
    others = len(findings.rejects) - addresses
    parts = [told("{addresses} of {rows} addresses", addresses=addresses, rows=len(rows))] if addresses else []
    if others > 0:
        parts.append(told("{count} lines of other tables", count=others) if others > 1 else told("1 line of other tables"))
    return listing(parts) if parts else ""


def first_run() -> bool:
    """Return whether no compiled kernels lie in the cache yet."""
    import os

    place = os.environ.get("NUMBA_CACHE_DIR", "")
    return not place or next(Path(place).rglob("*.nbi"), None) is None


def _counts(findings: Findings) -> list[str]:
    """Return one line for each service and the job: how many rows are in each state."""
    lines = []
    for title, states in (
        *((service_word(service), [row.verdicts[service].state for row in findings.rows]) for service in SERVICES),
        (told("the job as ordered"), [row.job for row in findings.rows]),
    ):
        count = Counter(states)
        counts = ", ".join(f"{count[state]} {state_word(state)}" for state in State)
        lines.append(told("{title}: {counts} of {rows} rows", title=title, counts=counts, rows=len(states)))
    return lines
