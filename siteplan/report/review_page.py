"""The supervisor's review: what is missing first, then what fails, what passes weakly, the rest; and groups that are off together."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from statistics import median

from siteplan.records.plan import Plan
from siteplan.records.proof import Review
from siteplan.records.readings import Installation
from siteplan.report.html import asset, esc, own
from siteplan.report.html import page as whole_page
from siteplan.report.proof_page import weakest_of
from siteplan.words import sentence, sentences
from siteplan.words.formats import number
from siteplan.words.language import figures
from siteplan.words.proof import text

_COLUMNS = ("col_job", "col_read", "col_weakest", "col_says", "review_report")
FOLDED = 60  # longer lists are folded: they are looked through, not read
_ONE = {  # the heading for one alone
    "review_missing": "review_missing_one", "review_fails": "review_fails_one", "review_weak": "review_weak_one",
    "review_open": "review_open_one", "review_rest": "review_rest_one",
}  # fmt: skip
_GROUPS = ("review_by_installer", "review_by_kit", "review_by_area", "review_by_month")
_GROUP_COLUMNS = ("col_jobs", "col_read", "col_level_off", "col_cn_off", "col_rsrp_off", "col_sinr_off")


def sorted_out(review: Review) -> tuple[list[Installation], list[Installation], list[Installation], list[Installation]]:
    """Return installations that fail, that pass weakly, that pass, and that prove nothing yet; the weakest first."""
    fails, weak, good, nothing = [], [], [], []
    for one in review.done:
        weakest = weakest_of(one)
        if any(compared.passes is False for compared in one.compared):
            fails.append(one)
        elif weakest is None or not any(compared.passes for compared in one.compared):
            nothing.append(one)
        elif weakest.margin_db < review.weak_db or any(reason.code == "read_level_edge" for c in one.compared for reason in c.reasons):
            weak.append(one)
        else:
            good.append(one)
    for group in (fails, weak, good):
        group.sort(key=lambda one: (getattr(weakest_of(one), "margin_db", -math.inf), one.row))
    return fails, weak, good, nothing


def page(review: Review, plan: Plan, reports: Mapping[str, str] | None = None) -> str:
    """Return the review as a whole page. reports: id -> the installation's report, where one lies beside this page."""
    name = plan.name or plan.file.stem
    fails, weak, good, nothing = sorted_out(review)
    reports = reports or {}
    booked = sum(one.booked for one in review.missing)
    missing = _counted("review_missing", booked) if booked else text("review_missing_none")
    body = [
        f"<header><h1>{own(text('review_title', name=name))}</h1></header><main>",
        _section(missing, _missing(review), lead=True),
        _section(_counted("review_fails", len(fails)), _jobs(fails, review, reports), lead=True),
        _section(_counted("review_weak", len(weak), weak_db=review.weak_db), _jobs(weak, review, reports)),
        _section(_counted("review_open", len(nothing)), _jobs(nothing, review, reports)) if nothing else "",
        _section(_counted("review_rest", len(good)), _jobs(good, review, reports)),
        _groups(review),
        _taught(review),
        "</main>",
    ]
    return whole_page(text("review_title", name=name), "\n".join(body), styles=(asset("page.css"), asset("sheet.css"), asset("proof.css")))


def _counted(name: str, count: int, **values: object) -> str:
    return text(_ONE[name], **values) if count == 1 else text(name, count=count, **values)


def _name(one: Installation, review: Review) -> str:
    return own(one.id if review.redacted else one.name or one.id)


def _section(heading: str, inner: str, *, lead: bool = False) -> str:
    return f'<section class="work{" lead-section" if lead else ""}"><h2>{esc(heading)}</h2>{inner}</section>'


def _missing(review: Review) -> str:
    booked, others = [one for one in review.missing if one.booked], [one for one in review.missing if not one.booked]
    parts = []
    if booked:
        ids = ["" if review.redacted else own(one.id) for one in booked]
        rows = "".join(f'<li>{_name(one, review)} <span class="soft">{id}</span></li>' for one, id in zip(booked, ids, strict=True))
        inner = f'<ul class="plain">{rows}</ul>'
        folded = f'<details class="printed"><summary>{esc(text("review_missing_list"))}</summary>{inner}</details>'
        parts.append(inner if len(booked) <= 10 else folded)
    if others:
        parts.append(f'<p class="small soft">{esc(text("review_missing_other", count=len(others)))}</p>')
    if review.gone:
        ids = [*review.gone[:20], *(["…"] if len(review.gone) > 20 else [])]
        parts.append(f'<p class="small soft">{esc(text("review_gone", count=len(review.gone), ids=ids))}</p>')
    if review.redacted:
        parts.append(f'<p class="small soft">{esc(text("review_redacted"))}</p>')
    return "".join(parts)


def _jobs(jobs: Sequence[Installation], review: Review, reports: Mapping[str, str]) -> str:
    if not jobs:
        return f"<p>{esc(text('review_none'))}</p>"
    inner = _table(_COLUMNS, [_job(one, review, reports) for one in jobs])
    return inner if len(jobs) <= FOLDED else f"<details><summary>{esc(text('review_missing_list'))}</summary>{inner}</details>"


def _job(one: Installation, review: Review, reports: Mapping[str, str]) -> list[str]:
    weakest = weakest_of(one)
    passed = sum(compared.passes is True for compared in one.compared)
    marks = (one.changed_after_signing, "review_changed"), (bool(one.files_changed), "review_files_changed")
    marks = (*marks, (one.expected_changed, "review_expected_changed"))
    changed = "".join(f" <strong>{esc(text(name))}</strong>" for there, name in marks if there)
    file = reports.get(one.id)
    report = f'<a href="{esc(file)}">{esc(text("review_report"))}</a>' if file else f"<code>{esc(text('review_make', id=one.id))}</code>"
    failing = [compared for compared in one.compared if compared.passes is False]
    said = sentences(one.findings) or "; ".join(f"{compared.expected.carrier}: {sentences(compared.reasons)}" for compared in failing[:3])
    return [
        f"{_name(one, review)}{changed}",
        esc(text("review_carriers", passed=passed, count=len(one.expected))),
        own(f"{weakest.expected.carrier}, {number(weakest.margin_db, 1)} dB") if weakest else "–",
        esc(said) or "–",
        report,
    ]


def _groups(review: Review) -> str:
    parts = [f'<h2>{esc(text("review_groups"))}</h2><p class="small soft">{esc(text("review_groups_note"))}</p>']
    if not review.names:
        parts.append(f'<p class="small">{esc(text("review_names_hidden"))}</p>')
    numbers: dict[str, int] = {}

    def who(one: Installation) -> str:
        name = next((compared.reading.installer for compared in one.compared if compared.reading.installer), "")
        if not name or review.names:
            return name
        return text("review_installer", number=numbers.setdefault(name, len(numbers) + 1))

    keys: dict[str, Callable[[Installation], str]] = {
        "review_by_installer": who,
        "review_by_kit": lambda one: next((compared.reading.kit for compared in one.compared if compared.reading.kit), ""),
        "review_by_area": lambda one: one.area,
        "review_by_month": lambda one: max((compared.reading.taken_at[:7] for compared in one.compared), default=""),
    }
    for heading in _GROUPS:
        groups: dict[str, list[Installation]] = {}
        for one in review.done:
            groups.setdefault(keys[heading](one) or text("review_unknown"), []).append(one)
        if groups:
            parts.append(_table((heading, *_GROUP_COLUMNS), [_group(name, group) for name, group in sorted(groups.items())]))
    return f'<section class="work">{"".join(parts)}</section>'


def _taught(review: Review) -> str:
    if not review.taught:
        return ""
    items = "".join(f"<li>{esc(sentence(reason))}</li>" for reason in review.taught)
    return f'<section><h2>{esc(text("review_taught"))}</h2><ul class="plain taught">{items}</ul></section>'


def _group(name: str, jobs: Sequence[Installation]) -> list[str]:
    compared = [one for job in jobs for one in job.compared]
    carriers = [one for one in compared if one.expected.service != "mobile"]
    cells = [one for one in compared if one.expected.service == "mobile"]  # a device is no meter, and its predictions err otherwise
    offs = [
        _off([value for one in kind if math.isfinite(value := getattr(one, name))])
        for kind in (carriers, cells)
        for name in ("level_off_db", "cn_off_db")
    ]
    passed = sum(one.passes is True for one in compared)
    held = sum(not any(one.passes is False for one in job.compared) and any(one.passes for one in job.compared) for job in jobs)
    counts = [esc(text("review_carriers", passed=some, count=of)) for some, of in ((held, len(jobs)), (passed, len(compared)))]
    return [own(name), *counts, *offs]


def _off(values: Sequence[float]) -> str:
    return figures(f"{median(values):+.1f} dB").replace("-", "\u2212") if values else "–"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    names = [esc(text(name)) for name in head]
    top = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = "".join(
        "<tr>" + "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, row, strict=True)) + "</tr>"
        for row in rows
    )
    return f'<table class="number"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'
