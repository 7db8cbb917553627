"""The methods page of a run: by which methods its figures were worked, how far each can be trusted, and where every number comes from."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from siteplan.records.findings import Findings
from siteplan.records.methods import MethodNote, SourceNote
from siteplan.report.html import asset, esc, number, own, plan_date, plan_name
from siteplan.report.html import page as whole_page
from siteplan.words.language import say
from siteplan.words.methods import HEADINGS, METHODS, alike, entries, text


def page(findings: Findings, methods: Sequence[MethodNote], sources: Sequence[SourceNote]) -> str:
    """Return the methods page as a whole page: this run's methods first, then all, then every source behind a line that opens."""
    name = plan_name(findings)
    body = "\n".join(
        [
            _head(findings, name),
            "<main>",
            _used(findings, methods),
            *(_method(group) for group in alike(methods)),
            f"<section><p>{esc(text('left_out'))}</p></section>",
            _sources(sources),
            "</main>",
        ]
    )
    return whole_page(f"{text('page_title')} · {name}", body, styles=(asset("page.css"), asset("methods.css")))


def _head(findings: Findings, name: str) -> str:
    date = plan_date(findings)
    parts = [own(name), *([esc(text("page_date", date=date))] if date else [])]
    back = f'<a href="index.html">{esc(text("page_back"))}</a>'
    return (
        f'<header><h1>{esc(text("page_title"))}</h1><p class="soft">{" · ".join((*parts, back))}</p>'
        f'<p class="soft">{esc(text("page_lead"))}</p></header>'
    )


def _used(findings: Findings, methods: Sequence[MethodNote]) -> str:
    labels = {note.name: note.label for note in methods}
    chosen = findings.plan.propagation
    lines = [
        text("page_used_tv", label=say(labels[chosen.method_tv])),
        text("page_used_mobile", label=say(labels[chosen.method_mobile])),
        text("page_used_clutter", kind=chosen.unknown_clutter) if chosen.unknown_clutter else text("page_used_no_clutter"),
    ]
    items = "".join(f"<li>{esc(line)}</li>" for line in lines)
    return f'<section><h2>{esc(text("page_used"))}</h2><ul class="plain">{items}</ul></section>'


def _method(group: tuple[MethodNote, ...]) -> str:
    titles = "<br>".join(f"{esc(say(note.label))} <code>{esc(note.name)}</code>" for note in group)
    lines = []
    for code, texts in entries(group[0]):
        if code == "measured":
            lines.append(f"<dt>{esc(say(HEADINGS[code]))}</dt><dd>{_measured(group[0].name)}</dd>")
            continue
        said = esc(texts[0]) if len(texts) == 1 else '<ul class="plain">' + "".join(f"<li>{esc(part)}</li>" for part in texts) + "</ul>"
        lines.append(f"<dt>{esc(say(HEADINGS[code]))}</dt><dd>{said}</dd>")
    return f"<section><h2>{titles}</h2><dl>{''.join(lines)}</dl></section>"


def _measured(name: str) -> str:
    """Prediction less measurement as a table: how many, mean, spread, root mean square."""
    columns = ("page_against", "page_count", "page_bias", "page_sigma", "page_rmse")
    head = "".join(f'<th scope="col">{esc(text(code))}</th>' for code in columns)
    rows = ""
    for found in METHODS[name].measured:
        cells = (str(found.count), *(number(value, 1) for value in (found.bias_db, found.sigma_db, found.rmse_db)))
        rows += f'<tr><th scope="row">{esc(say(found.what))}</th>{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'
    return (
        f'<p>{esc(text("page_measured"))}</p><div class="scroll" tabindex="0" role="region" aria-label="{esc(say(HEADINGS["measured"]))}">'
        f'<table class="number"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'
    )


def _sources(sources: Sequence[SourceNote]) -> str:
    parts = []
    for file, group in groupby(sources, key=lambda note: note.file):
        lines = []
        for note in group:
            checked = f' <span class="soft small">{esc(", ".join(note.checked))}</span>' if note.checked else ""
            lines.append(f"<dt><code>{esc(note.name or text('module'))}</code></dt><dd>{esc(note.source)}{checked}</dd>")
        parts.append(f"<details><summary>{esc(file)}</summary><dl>{''.join(lines)}</dl></details>")
    lead = text("page_sources_lead", count=len(sources))
    return f'<section><h2>{esc(text("page_sources"))}</h2><p class="soft">{esc(lead)}</p>{"".join(parts)}</section>'
