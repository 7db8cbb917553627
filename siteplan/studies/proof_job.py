"""Proof of one installation, and the supervisor's review of many: what is stored beside what was expected."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from siteplan.errors import InputError, told
from siteplan.files.expected import expected_digest
from siteplan.files.folder import listed_files, numbered
from siteplan.files.proof_tables import proof_csv, review_csv
from siteplan.records.plan import Plan
from siteplan.records.proof import Picture, Proof, Review
from siteplan.records.readings import Expected, Installation
from siteplan.records.verdict import State
from siteplan.report import proof_page, review_page
from siteplan.report.pdf_door import pdf_ready
from siteplan.services.outlets.compare import meaning, required
from siteplan.services.outlets.compare_cells import counted
from siteplan.store.readings_store import Store, open_store
from siteplan.studies.addresses import judge_addresses
from siteplan.studies.deliver import deliver_beside, pdf_of
from siteplan.studies.inputs import store_of
from siteplan.studies.readings_job import expected_of_plan, installation_of
from siteplan.studies.speech import open_plan

# What pictures begin with (PNG, JPEG, WebP): anything else is no picture, whatever its name says.
_PICTURES = ((b"\x89PNG\r\n\x1a\n", "image/png"), (b"\xff\xd8\xff", "image/jpeg"))
LARGEST_PICTURE_BYTES = 3_000_000


def make_proof(
    plan_file: Path, wanted: str, *, sign: bool, pictures: Path | None, out: Path | None, clock: Callable[[], datetime], pdf: bool = False
) -> tuple[Path, tuple[str, ...]]:
    """Write the report of one installation as a page and a table; return the page and lines for people.

    sign      store that it is signed as it is now
    pdf       a PDF beside the page
    pictures  folder of PNG or JPEG files that belong to it; None: none are added

    Raises InputError: nothing stored for it, no such address, a picture that is none.
    """
    if pdf:
        pdf_ready()
    started = clock()
    plan = open_plan(plan_file)
    expected = expected_of_plan(plan)
    home = _home(expected, wanted)
    shown = _pictures(pictures)
    with open_store(store_of(plan), must_exist=True) as store:
        if not store.readings_of(home.id):
            raise InputError(told("no reading is stored for {id}: take some in first (siteplan readings)", id=home.id))
        if shown:
            store.add_pictures(home.id, [(one.name, one.digest) for one in shown])
        if sign:
            mine = tuple(line for line in expected if line.id == home.id)
            store.sign(home.id, started.isoformat(timespec="minutes"), expected_digest(mine))
        installation = _installation(store, home.id, expected)
        listed = store.pictures_of(home.id)
    findings = judge_addresses(plan, on_date=plan.date or started.date(), only=home.id)
    proof = Proof(findings, findings.rows[0], installation, shown, listed)
    name = _report(installation)
    page = proof_page.page(proof)
    files: dict[str, str | bytes] = {name: page, name.replace(".html", ".csv"): proof_csv(installation)}
    if pdf:
        files[name.replace(".html", ".pdf")] = pdf_of(page, findings)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    deliver_beside(findings, folder, files, started=started, clock=clock)
    lines = [
        told(
            "{compared} of {expected} expected carriers have a reading",
            compared=len(installation.compared),
            expected=len(installation.expected),
        )
    ]
    if installation.changed_after_signing:
        lines.append(told("Changed after signing: the readings or pictures are not those that were signed."))
    return folder / name, tuple(lines)


def make_review(plan_file: Path, *, names: bool, out: Path | None, clock: Callable[[], datetime]) -> tuple[Path, Review]:
    """Write review.html and review.csv over all installations; return the page and what it shows.

    names  show installers' names; else "installer 1", "installer 2", ...

    Raises InputError: no run before, no reading stored.
    """
    started = clock()
    plan = open_plan(plan_file)
    review = review_of(plan, names=names)
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    there = {name for name in listed_files(folder) if name.startswith("proof/")}
    reports = {one.id: _report(one) for one in review.done if _report(one) in there}
    files = {"review.html": review_page.page(review, plan, reports), "review.csv": review_csv(review)}
    deliver_beside(None, folder, files, started=started, clock=clock)
    return folder / "review.html", review


def review_of(plan: Plan, *, names: bool) -> Review:
    """Return all installations of a plan: those booked without readings, and those with."""
    expected = expected_of_plan(plan)
    homes: dict[str, Expected] = {}
    for line in expected:
        homes.setdefault(line.id, line)
    with open_store(store_of(plan), must_exist=True) as store:
        done = [_installation(store, id, expected) for id in store.ids() if id in homes]
    have = {one.id for one in done}
    missing = tuple(Installation(id, home.row, home.name, home.job == State.BOOK, (), ()) for id, home in homes.items() if id not in have)
    return Review(
        tuple(sorted(done, key=lambda one: one.row)), tuple(sorted(missing, key=lambda one: one.row)), names, plan.readings.weak_db
    )


def _report(one: Installation) -> str:
    return f"proof/{numbered(one.row, one.name or one.id)}.html"


def _home(expected: tuple[Expected, ...], wanted: str) -> Expected:
    for line in expected:
        if line.id == wanted or str(line.row) == wanted:
            return line
    some = ", ".join(dict.fromkeys(line.id for line in expected[:40]))
    raise InputError(told("the last run expected nothing at {wanted!r}; it did at {some}", wanted=wanted, some=some[:200]))


def _installation(store: Store, id: str, expected: tuple[Expected, ...]) -> Installation:
    mine = tuple(line for line in expected if line.id == id)
    newest, older = installation_of(id, store.readings_of(id), mine)
    newest = counted(newest, mine)
    signature = store.signature_of(id)
    digest = store.digest_of(id)
    return Installation(
        id=id, row=mine[0].row, name=mine[0].name, booked=mine[0].job == State.BOOK, area=mine[0].area, expected=required(mine, newest),
        compared=newest, older=older, findings=meaning(newest), signed_at=signature[0] if signature else "",
        changed_after_signing=bool(signature) and signature[1] != digest, digest=digest,
        expected_changed=bool(signature and signature[2]) and signature[2] != expected_digest(mine),
    )  # fmt: skip


def _pictures(folder: Path | None) -> tuple[Picture, ...]:
    if folder is None:
        return ()
    if not folder.is_dir():
        raise InputError(told("{folder} is no folder of pictures", folder=folder))
    made = []
    for file in sorted(one for one in folder.iterdir() if one.is_file() and not one.name.startswith(".")):
        raw = file.read_bytes()
        kind = next((mime for start, mime in _PICTURES if raw.startswith(start)), "")
        if not kind:
            raise InputError(
                told("{name} is no PNG or JPEG picture; take it out of {name_2} or save it as one", name=file.name, name_2=folder.name)
            )
        if len(raw) > LARGEST_PICTURE_BYTES:
            raise InputError(
                told(
                    "{name} has {raw:.1f} MB; up to {largest_picture_bytes:.0f} MB is taken: make it smaller",
                    name=file.name,
                    raw=len(raw) / 1e6,
                    largest_picture_bytes=LARGEST_PICTURE_BYTES / 1e6,
                )
            )
        made.append(Picture(file.name, hashlib.sha256(raw).hexdigest(), f"data:{kind};base64,{base64.b64encode(raw).decode()}"))
    if not made:
        raise InputError(told("{folder} holds no picture", folder=folder))
    return tuple(made)
