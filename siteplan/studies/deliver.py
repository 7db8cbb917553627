"""Ask report and files for each wanted output of a run, and put them all into one folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from siteplan.errors import told
from siteplan.files import folder as folder_door
from siteplan.files.expected import EXPECTED_FILE, KIT_FILE, expected_csv, kit_csv
from siteplan.files.folder import RUN_RECORD, Content, last_record, publish
from siteplan.files.profile_file import write_profile
from siteplan.files.run_record import run_record
from siteplan.files.source_notes import source_notes
from siteplan.files.write_geo import verdicts_geojson, write_verdicts_gpkg
from siteplan.files.write_tables import rejects_csv, verdicts_csv, verdicts_xlsx
from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.results import Profile
from siteplan.report import index_page, list_page, map_page, methods_page, pdf_door, sheet_page
from siteplan.services.shared.method_notes import method_notes
from siteplan.studies.outlets import day_kits, days_of
from siteplan.studies.sheet_choice import choose_sheets, unlinked
from siteplan.words import sentence

TABLES = ("verdicts.csv", "verdicts.xlsx", "verdicts.gpkg", "verdicts.geojson", "rejects.csv")


@dataclass(frozen=True, slots=True)
class Delivered:
    """What was written: names below the folder, notes for people, and the page to open first (None where there is none)."""

    files: tuple[str, ...]
    notes: tuple[str, ...]
    open_first: Path | None


def deliver(
    findings: Findings,
    folder: Path,
    *,
    started: datetime,
    clock: Callable[[], datetime],
    tables_only: bool = False,
    one: bool = False,
    pdf: bool = False,
    beside: Mapping[str, Content] | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Delivered:
    """Write the outputs of one run into a folder, atomically, and only over files of the last run there.

    started, clock  when the run began, and what tells when it ended: both go into run.json alone
    tables_only     verdicts and rejects as tables and layers; no pages, no profiles
    one             the sheet and profiles of the rows at hand, beside whatever the last run wrote
    pdf             a PDF beside each of those sheets
    beside          more files that belong to the run, and what writes them: maps of the area
    progress        called with ("writing", done, of)
    Raises OutputError where the folder can't be written or holds a stranger under a name of ours.
    """
    said: tuple[str, ...] = ()
    if tables_only:
        findings = replace(findings, rows=tuple(unlinked(row) for row in findings.rows))
    elif not one:  # a sheet asked for by name is written whatever the plan says
        findings, reasons = choose_sheets(findings)
        findings = replace(findings, notes=(*findings.notes, *reasons))  # the front page says it too
        said = tuple(sentence(reason) for reason in reasons)
    beside = dict(beside or {})
    files = _sheets(findings, pdf=pdf) if one else _tables(findings) | beside | ({} if tables_only else _pages(findings, tuple(beside)))

    def record() -> dict[str, object]:
        return _record(findings, folder, started, clock, added=one)

    step = (lambda done, of: progress(told("writing"), done, of)) if progress else None
    notes = publish(folder, files, record, keep=one, progress=step)
    first = next((name for name in ("index.html", "verdicts.xlsx", *files) if name in files), None)
    return Delivered((*files, RUN_RECORD), (*said, *notes), folder / first if first else None)


def deliver_profiles(findings: Findings, folder: Path, *, started: datetime, clock: Callable[[], datetime]) -> tuple[str, ...]:
    """Write the path profiles of the rows at hand beside whatever the last run wrote; return their names. Raises OutputError."""
    files = _profiles(findings)
    if files:
        publish(folder, files, lambda: _record(findings, folder, started, clock, added=True), keep=True)
    return tuple(files)


def deliver_beside(
    findings: Findings | None, folder: Path, files: Mapping[str, str | bytes], *, started: datetime, clock: Callable[[], datetime]
) -> None:
    """Write files beside whatever the last run wrote, and add them to its record. Raises OutputError."""

    def record() -> dict[str, object]:
        if findings is not None:
            return _record(findings, folder, started, clock, added=True)
        return dict(last_record(folder))

    publish(folder, dict(files), record, keep=True)


def _record(findings: Findings, folder: Path, started: datetime, clock: Callable[[], datetime], *, added: bool) -> dict[str, object]:
    """Return what run.json says; added: only a line more in the record of the last run, where there is one."""
    made = run_record(findings, started=started, finished=clock())
    before = dict(last_record(folder)) if added else {}
    if not before:
        return made
    earlier = before.get("added_later")
    line = {**made["run"], "rows": [row.row.row for row in findings.rows]}  # type: ignore[dict-item]
    return before | {"added_later": [*(earlier if isinstance(earlier, list) else []), line]}


def try_folder(folder: Path, *, tables_only: bool = False, one: bool = False) -> None:
    """Raise OutputError before a run begins where its results could not be written: better now than after an hour's work."""
    names = () if one else TABLES if tables_only else (*TABLES, "list.html", "map.html", "methods.html", "index.html")
    folder_door.try_folder(folder, names)


def _tables(findings: Findings) -> dict[str, Content]:
    writers: tuple[Content, ...] = (
        _bytes(lambda: verdicts_csv(findings)),
        _bytes(lambda: verdicts_xlsx(findings)),
        lambda path: write_verdicts_gpkg(path, findings),
        _bytes(lambda: verdicts_geojson(findings)),
        _bytes(lambda: rejects_csv(findings)),
    )
    return dict(zip(TABLES, writers, strict=True))


def _pages(findings: Findings, beside: tuple[str, ...]) -> dict[str, Content]:
    files = _sheets(findings) | {
        "methods.html": _page(lambda: methods_page.page(findings, method_notes(), source_notes())),
    }
    if any(row.outlets is not None for row in findings.rows):
        kit = _bytes(lambda: kit_csv(findings, day_kits(findings), days_of(findings)))
        files |= {EXPECTED_FILE: _bytes(lambda: expected_csv(findings)), KIT_FILE: kit}
    names = tuple(sorted((*TABLES, *files, *beside, "list.html", "map.html", "index.html", RUN_RECORD)))
    return files | {
        "map.html": _page(lambda: map_page.page(findings, names)),
        "list.html": _page(lambda: list_page.page(findings, names)),
        "index.html": _page(lambda: index_page.page(findings, tuple(name for name in names if name != "index.html"))),
    }


def _sheets(findings: Findings, *, pdf: bool = False) -> dict[str, Content]:
    files: dict[str, Content] = {}
    for row in findings.rows:
        if row.sheet_file:
            files[row.sheet_file] = _sheet(findings, row)
            if pdf:
                files[row.sheet_file.removesuffix(".html") + ".pdf"] = _pdf(findings, row)
    return files | _profiles(findings)


def _profiles(findings: Findings) -> dict[str, Content]:
    files: dict[str, Content] = {}
    for row in findings.rows:
        for path in (*(row.terrestrial.aims if row.terrestrial else ()), *(row.mobile.lines if row.mobile else ())):
            if path.profile_file and path.profile is not None:
                files[path.profile_file] = _profile(path.profile)
    return files


def _sheet(findings: Findings, row: AddressFinding) -> Content:
    return _page(lambda: sheet_page.page(findings, row))


def _pdf(findings: Findings, row: AddressFinding) -> Content:
    return _bytes(lambda: pdf_of(sheet_page.page(findings, row), findings))


def pdf_of(page: str, findings: Findings) -> bytes:
    """Return a page of a run as PDF, dated as the run. Raises MissingLibraryError."""
    date = findings.plan.date.isoformat() if findings.plan.date is not None else str(findings.made_with.get("date", ""))
    return pdf_door.make_pdf(page, date=date)


def _page(draw: Callable[[], str]) -> Content:
    return _bytes(lambda: draw().encode("utf-8", "replace"))


def _bytes(make: Callable[[], bytes]) -> Content:
    """Return what writes a file: made only when its turn comes, so that thousands of sheets never lie in memory together."""

    def write(path: Path) -> None:
        path.write_bytes(make())

    return write


def _profile(profile: Profile) -> Content:
    return lambda path: write_profile(path, profile)
