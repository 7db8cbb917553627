"""Proof of one installation, and the supervisor's review of many: what is stored beside what was expected."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from siteplan.errors import InputError, told
from siteplan.files.expected import VERDICTS_FILE, booked_rows, expected_digest
from siteplan.files.folder import listed_files, numbered
from siteplan.files.pictures import data_url, picture_files, read_pictures
from siteplan.files.proof_tables import proof_csv, review_csv
from siteplan.records.plan import Plan
from siteplan.records.proof import Picture, Proof, Review
from siteplan.records.readings import Expected, Installation
from siteplan.records.verdict import Reason, State
from siteplan.report import proof_page, review_page
from siteplan.report.pdf_door import pdf_ready
from siteplan.services.outlets.compare import elsewhere, meaning, required
from siteplan.services.outlets.compare_cells import counted
from siteplan.services.outlets.learned import taught_notes, teach
from siteplan.store.readings_store import Store, open_store
from siteplan.studies.addresses import judge_addresses
from siteplan.studies.deliver import deliver_beside, pdf_of
from siteplan.studies.inputs import store_of
from siteplan.studies.readings_job import expected_of_plan, installation_of
from siteplan.studies.speech import open_plan


def make_proof(
    plan_file: Path, wanted: str, *, sign: bool, pictures: Path | None, out: Path | None, clock: Callable[[], datetime], pdf: bool = False
) -> tuple[Path, tuple[str, ...]]:
    """Write the report of one installation as a page and a table; return the page and lines for people.

    sign      store that it is signed as it is now
    pdf       a PDF beside the page
    pictures  a PNG or JPEG file that belongs to it, or a folder of them; None: none are added. They stay with it from then on

    Raises InputError: nothing stored for it, no such address, a picture that is none.
    """
    if pdf:
        pdf_ready()
    started = clock()
    plan = open_plan(plan_file)
    expected = expected_of_plan(plan)
    home = _home(expected, wanted)
    added, lines = _pictures(pictures)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    with open_store(store_of(plan), must_exist=True) as store:
        if not store.readings_of(home.id):
            raise InputError(told("no reading is stored for {id}: take some in first (siteplan readings)", id=home.id))
        others = store.add_pictures(home.id, [(one.name, one.digest, one.image) for one in added])
        lines += [told("{name} is another picture than the one stored under that name before; both are kept", name=name) for name in others]
        if sign:
            mine = tuple(line for line in expected if line.id == home.id)
            store.sign(home.id, started.isoformat(timespec="minutes"), expected_digest(mine))
        installation = _installation(store, home.id, expected, plan, folder)
        shown = tuple(Picture(name, digest, data_url(image)) for name, digest, image in store.images_of(home.id))
    findings = judge_addresses(plan, on_date=plan.date or started.date(), only=home.id)
    listed = tuple((one.name, one.digest) for one in shown)
    proof = Proof(findings, findings.rows[0], installation, tuple(one for one in shown if one.data_url), listed)
    name = _report(installation)
    page = proof_page.page(proof)
    files: dict[str, str | bytes] = {name: page, name.replace(".html", ".csv"): proof_csv(installation)}
    if pdf:
        files[name.replace(".html", ".pdf")] = pdf_of(page, findings)
    deliver_beside(findings, folder, files, started=started, clock=clock)
    with open_store(store_of(plan), must_exist=True) as store:
        written = [(name, _digest(made.encode("utf-8", "replace") if isinstance(made, str) else made)) for name, made in files.items()]
        store.add_reports(home.id, written, started.isoformat(timespec="minutes"))
    read, wanted_count = len(installation.compared), len(installation.expected)
    lines.append(told("{compared} of {expected} expected carriers have a reading", compared=read, expected=wanted_count))
    return folder / name, (*lines, *_changes(installation))


def _changes(done: Installation) -> list[str]:
    """Return what changed after signing or after writing, in words."""
    lines = []
    if done.changed_after_signing:
        lines.append(told("Changed after signing: the readings or pictures are not those that were signed."))
    if done.expected_changed:
        lines.append(told("Changed after signing: what is expected of it is not what was expected then."))
    if done.files_changed:
        names = ", ".join(done.files_changed)
        lines.append(told("Changed by hand: {names} is not as siteplan wrote it.", names=names))
    return lines


def _digest(made: bytes) -> str:
    return hashlib.sha256(made).hexdigest()


def check_proof(plan_file: Path, wanted: str, *, out: Path | None) -> tuple[str, ...]:
    """Return whether anything changed since one installation was signed and its report written, in lines; nothing is written.

    Raises InputError: nothing stored for it, no such address.
    """
    plan = open_plan(plan_file)
    expected = expected_of_plan(plan)
    home = _home(expected, wanted)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    with open_store(store_of(plan), must_exist=True) as store:
        done = _installation(store, home.id, expected, plan, folder)
        written = store.reports_of(home.id)
    lines = [told("Signed on {when}.", when=done.signed_at) if done.signed_at else told("Not signed yet.")]
    changes = _changes(done)
    for name in written:
        if not (folder / name).is_file():
            lines.append(told("{name} is not in {folder}.", name=name, folder=folder))
        elif name not in done.files_changed:
            lines.append(told("{name} is as siteplan wrote it.", name=name))
    return (*lines, *(changes or [told("Nothing was changed.")]))


def make_review(
    plan_file: Path, *, names: bool, out: Path | None, clock: Callable[[], datetime], redacted: bool = False
) -> tuple[Path, Review]:
    """Write review.html and review.csv over all installations; return the page and what it shows.

    names     show installers' names; else "installer 1", "installer 2", ...
    redacted  leave out every name: of installers, of addresses, and links to reports, whose files are called after addresses

    Raises InputError: no run before, no reading stored.
    """
    started = clock()
    plan = open_plan(plan_file)
    review = review_of(plan, names=names and not redacted, redacted=redacted, out=out)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    there = {name for name in listed_files(folder) if name.startswith("proof/")}
    reports = {one.id: _report(one) for one in review.done if _report(one) in there and not redacted}
    files = {"review.html": review_page.page(review, plan, reports), "review.csv": review_csv(review)}
    deliver_beside(None, folder, files, started=started, clock=clock)
    return folder / "review.html", review


def review_of(plan: Plan, *, names: bool, redacted: bool = False, out: Path | None = None) -> Review:
    """Return all installations of a plan: those booked without readings, and those with."""
    expected = expected_of_plan(plan)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    homes: dict[str, Expected] = {}
    lines: dict[str, tuple[Expected, ...]] = {}
    for line in expected:
        homes.setdefault(line.id, line)
        lines[line.id] = (*lines.get(line.id, ()), line)
    with open_store(store_of(plan), must_exist=True) as store:
        done = [_installation(store, id, lines[id], plan, folder) for id in store.ids() if id in homes]
        gone = tuple(id for id in store.ids() if id not in homes)
    have = {one.id for one in done}
    missing = [Installation(id, home.row, home.name, home.job == State.BOOK, (), ()) for id, home in homes.items() if id not in have]
    known = {home.row for home in homes.values()}
    missing += [Installation(id, row, name, True, (), ()) for row, id, name in booked_rows(folder / VERDICTS_FILE) if row not in known]
    return Review(
        tuple(sorted(done, key=lambda one: one.row)), tuple(sorted(missing, key=lambda one: one.row)), names, plan.readings.weak_db,
        gone, redacted, taught_notes(teach([one for home in done for one in home.compared])),
    )  # fmt: skip


def _report(one: Installation) -> str:
    return f"proof/{numbered(one.row, one.name or one.id)}.html"


def _home(expected: tuple[Expected, ...], wanted: str) -> Expected:
    """Return the first line of an address by its id, else by its row: where ids are numbers, an id goes before a row of that number."""
    for asked in (lambda line: line.id, lambda line: str(line.row)):
        for line in expected:
            if asked(line) == wanted:
                return line
    some = ", ".join(dict.fromkeys(line.id for line in expected[:40]))
    raise InputError(told("the last run expected nothing at {wanted!r}; it did at {some}", wanted=wanted, some=some[:200]))


def _installation(store: Store, id: str, expected: tuple[Expected, ...], plan: Plan, folder: Path) -> Installation:
    mine = tuple(line for line in expected if line.id == id)
    readings = store.readings_of(id)
    newest, older = installation_of(id, readings, mine)
    newest = counted(newest, mine)
    signature = store.signature_of(id)
    digest = store.digest_of(id)
    return Installation(
        id=id, row=mine[0].row, name=mine[0].name, booked=mine[0].job == State.BOOK, area=mine[0].area, expected=required(mine, newest),
        compared=newest, older=older,
        findings=(*_damaged(store, id), *elsewhere(readings, mine, plan.readings.match_within_m), *meaning(newest)),
        signed_at=signature[0] if signature else "",
        changed_after_signing=bool(signature) and signature[1] != digest, digest=digest,
        files_changed=_files_changed(store.reports_of(id), folder),
        expected_changed=bool(signature and signature[2]) and signature[2] != expected_digest(mine),
    )  # fmt: skip


def _damaged(store: Store, id: str) -> tuple[Reason, ...]:
    count = store.damaged_of(id)
    return (Reason("read_damaged", {"count": count}),) if count else ()


def _files_changed(written: Mapping[str, frozenset[str]], folder: Path) -> tuple[str, ...]:
    """Return which files of a report lie there otherwise than they were ever written."""
    there = {name: folder / name for name in written if (folder / name).is_file()}
    return tuple(name for name, file in there.items() if _digest(file.read_bytes()) not in written[name])


def _pictures(place: Path | None) -> tuple[tuple[Picture, ...], list[str]]:
    """Return the pictures of a file or folder, and what is to be told of files that are none."""
    if place is None:
        return (), []
    if not place.exists():
        raise InputError(told("{folder} is no folder of pictures", folder=place))
    made, rejects = read_pictures(picture_files(place))
    if not made and rejects:
        raise InputError("; ".join(bad.reason for bad in rejects[:20]))
    if not made:
        raise InputError(told("{folder} holds no picture", folder=place))
    return made, [bad.reason for bad in rejects]
