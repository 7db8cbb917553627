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
from siteplan.words import sentences
from siteplan.words.formats import number
from siteplan.words.language import figures
from siteplan.words.proof import text

_COLUMNS = ("col_job", "col_read", "col_weakest", "col_says", "review_report")
_GROUPS = ("review_by_installer", "review_by_kit", "review_by_area", "review_by_month")
_GROUP_COLUMNS = ("col_jobs", "col_read", "col_level_off", "col_cn_off")


def sorted_out(review: Review) -> tuple[list[Installation], list[Installation], list[Installation], list[Installation]]:
    """Return installations that fail, that pass weakly, that pass, and that prove nothing yet; the weakest first."""
    fails, weak, good, nothing = [], [], [], []
    for one in review.done:
        weakest = weakest_of(one)
        if any(compared.passes is False for compared in one.compared):
            fails.append(one)
        elif weakest is None or not any(compared.passes for compared in one.compared):
            nothing.append(one)
        elif weakest.margin_db < review.weak_db:
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
    missing = text("review_missing", count=booked) if booked else text("review_missing_none")
    body = [
        f"<header><h1>{own(text('review_title', name=name))}</h1></header><main>",
        _section(missing, _missing(review), lead=True),
        _section(text("review_fails", count=len(fails)), _jobs(fails, reports), lead=True),
        _section(text("review_weak", count=len(weak), weak_db=review.weak_db), _jobs(weak, reports)),
        _section(text("review_open", count=len(nothing)), _jobs(nothing, reports)) if nothing else "",
        _section(text("review_rest", count=len(good)), _jobs(good, reports)),
        _groups(review),
        "</main>",
    ]
    return whole_page(text("review_title", name=name), "\n".join(body), styles=(asset("page.css"), asset("sheet.css"), asset("proof.css")))


def _section(heading: str, inner: str, *, lead: bool = False) -> str:
    return f'<section class="work{" lead-section" if lead else ""}"><h2>{esc(heading)}</h2>{inner}</section>'


def _missing(review: Review) -> str:
    booked, others = [one for one in review.missing if one.booked], [one for one in review.missing if not one.booked]
    parts = []
    if booked:
        rows = "".join(f'<li>{own(one.name or one.id)} <span class="soft">{own(one.id)}</span></li>' for one in booked)
        inner = f'<ul class="plain">{rows}</ul>'
        parts.append(inner if len(booked) <= 10 else f"<details><summary>{esc(text('review_missing_list'))}</summary>{inner}</details>")
    if others:
        parts.append(f'<p class="small soft">{esc(text("review_missing_other", count=len(others)))}</p>')
    return "".join(parts)


def _jobs(jobs: Sequence[Installation], reports: Mapping[str, str]) -> str:
    if not jobs:
        return f"<p>{esc(text('review_none'))}</p>"
    return _table(_COLUMNS, [_job(one, reports) for one in jobs])


def _job(one: Installation, reports: Mapping[str, str]) -> list[str]:
    weakest = weakest_of(one)
    passed = sum(compared.passes is True for compared in one.compared)
    changed = f" <strong>{esc(text('review_changed'))}</strong>" if one.changed_after_signing else ""
    file = reports.get(one.id)
    report = f'<a href="{esc(file)}">{esc(text("review_report"))}</a>' if file else f"<code>{esc(text('review_make', id=one.id))}</code>"
    failing = [compared for compared in one.compared if compared.passes is False]
    said = sentences(one.findings) or "; ".join(f"{compared.expected.carrier}: {sentences(compared.reasons)}" for compared in failing[:3])
    return [
        f"{own(one.name or one.id)}{changed}",
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


def _group(name: str, jobs: Sequence[Installation]) -> list[str]:
    compared = [one for job in jobs for one in job.compared]
    levels = [one.level_off_db for one in compared if math.isfinite(one.level_off_db)]
    noises = [one.cn_off_db for one in compared if math.isfinite(one.cn_off_db)]
    passed = sum(one.passes is True for one in compared)
    return [own(name), str(len(jobs)), esc(text("review_carriers", passed=passed, count=len(compared))), _off(levels), _off(noises)]


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
