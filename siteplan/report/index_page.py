"""The front page of a run: how many of what, what to settle next, what was understood, and whom each file is for."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from urllib.parse import quote

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.verdict import SERVICES, State
from siteplan.report.html import asset, esc, own, place_name, plan_date, plan_name, sheet_link, state_key, state_label
from siteplan.report.html import page as whole_page
from siteplan.report.sheet_page import layer_line
from siteplan.words import sentence, sentences
from siteplan.words.formats import grouped
from siteplan.words.pages import TEXTS, text

SHOWN_NEXT, SHOWN_ROWS, SHOWN_REJECTS, SHOWN_SHEETS = 8, 12, 40, 500
_ORDER = (
    "list.html", "map.html", "verdicts.xlsx", "verdicts.csv", "rejects.csv", "verdicts.gpkg", "verdicts.geojson", "methods.html",
    "run.json",
)  # fmt: skip


def page(findings: Findings, files: Mapping[str, int] | Iterable[str] = ()) -> str:
    """Return the front page as a whole page.

    files  what this run writes beside it: names relative to the page, with sizes in bytes where they are known; only these are linked
    """
    sizes = dict(files) if isinstance(files, Mapping) else dict.fromkeys(files)
    name = plan_name(findings)
    body = "\n".join(
        [
            _head(findings, name, sizes),
            "<main>",
            _counts(findings, "list.html" in sizes),
            f'<div class="two"><div>{_next(findings, sizes)}</div><div>{_unjudged(findings)}{_understood(findings)}</div></div>',
            _files(sizes, findings),
            "</main>",
        ]
    )
    return whole_page(text("front_title", name=name), body, styles=(asset("page.css"), asset("front.css")))


def _head(findings: Findings, name: str, sizes: Mapping[str, int | None]) -> str:
    rows, date = len(findings.rows), plan_date(findings)
    lead = text(
        "front_lead_one" if rows == 1 else "front_lead",
        rows=grouped(rows),
        file=findings.addresses.file.replace("\\", "/").rsplit("/", 1)[-1],
    )
    parts = [lead, text("for_date", date=date) if date else text("undated")]
    doors = [(file, text(code)) for file, code in (("list.html", "front_list_open"), ("map.html", "front_map_open")) if file in sizes]
    links = " ".join(f'<a class="button" href="{file}">{esc(words)}</a>' for file, words in doors)
    button = f"<p>{links}</p>" if links else ""
    return f'<header><div><h1>{own(name)}</h1><p class="soft">{" · ".join(own(part) for part in parts)}</p></div>{button}</header>'


def _counts(findings: Findings, with_list: bool) -> str:
    """The job's four counts in large figures, each a way into the list, and a table of all services; lines add up to the rows read."""
    job = Counter(row.job for row in findings.rows)
    tiles = ""
    for state in State:
        tile = f'{state_label(state)}<b class="count number">{grouped(job[state])}</b>'
        tiles += f'<li><a href="list.html#s={state_key(state)}">{tile}</a></li>' if with_list else f"<li>{tile}</li>"
    head = "".join(f'<th scope="col">{state_label(state)}</th>' for state in State)
    lines = []
    for service in SERVICES:
        count = Counter(row.verdicts[service].state for row in findings.rows)
        cells = "".join(f"<td>{grouped(count[state])}</td>" for state in State)
        cells += f'<td class="soft">{grouped(len(findings.rows))}</td>'
        lines.append(f'<tr><th scope="row">{esc(text(f"service_{service}"))}</th>{cells}</tr>')
    return (
        f'<section class="counts"><h2>{esc(text("service_job"))}</h2><ul class="tiles">{tiles}</ul>'
        f'<div class="scroll" tabindex="0" role="region" aria-label="{esc(text("front_counts"))}"><table class="number">'
        f'<thead><tr><th scope="col">{esc(text("front_asked"))}</th>{head}<th scope="col">{esc(text("front_rows"))}</th></tr></thead>'
        f"<tbody>{''.join(lines)}</tbody></table></div></section>"
    )


# ---- what to settle next ---------------------------------------------------------------------------------------------------


def _chance(row: AddressFinding) -> float:
    """Return the best chance among services to be settled first: what a look or a call is likeliest to turn into a booking."""
    chances = [v.probability for v in row.verdicts.values() if v.state is State.SURVEY_FIRST and math.isfinite(v.probability)]
    return max(chances, default=-1.0)


def _next(findings: Findings, sizes: Mapping[str, int | None]) -> str:
    waiting = [row for row in findings.rows if row.job is State.SURVEY_FIRST]
    heading = f"<h2>{esc(text('front_next'))}</h2>"
    if not waiting:
        return f'<section>{heading}<p class="soft">{esc(text("front_next_none"))}</p></section>'
    lead = text("front_next_lead_one" if len(waiting) == 1 else "front_next_lead", count=grouped(len(waiting)))
    shared, waiting = _shared_questions(findings, waiting, sizes)
    waiting.sort(key=lambda row: (-_chance(row), row.row.row))
    items = list(shared)
    for row in waiting[:SHOWN_NEXT]:
        called = _called(findings, row, sizes, place_name(row))
        lines = []
        for service in SERVICES:
            verdict = row.verdicts[service]
            if verdict.state is State.SURVEY_FIRST:
                words = esc(sentence(verdict.reasons[0]))
                lines.append(f'<p class="about"><span class="soft small">{esc(text(f"service_{service}"))}</span><br>{words}</p>')
                if verdict.ask is not None:
                    lines.append(f'<p class="ask">{esc(text("front_ask", question=sentence(verdict.ask)))}</p>')
        items.append(
            f'<li><p><strong>{called}</strong> <span class="soft small">{esc(text("row", row=row.row.row))}</span></p>{"".join(lines)}</li>'
        )
    more = len(waiting) - SHOWN_NEXT
    where = "front_more_list" if "list.html" in sizes else "front_more"
    rest = f'<p class="soft">{esc(text(where, count=grouped(more)))}</p>' if more > 0 else ""
    return f'<section>{heading}<p class="soft">{esc(lead)}</p><ol class="next">{"".join(items)}</ol>{rest}</section>'


def _called(findings: Findings, row: AddressFinding, sizes: Mapping[str, int | None], words: str) -> str:
    """Return a row's name or number, as a link where this run wrote its sheet."""
    link = sheet_link(findings, row)
    return f'<a href="{esc(quote(link))}">{own(words)}</a>' if link and link in sizes else own(words)


def _shared_questions(
    findings: Findings, waiting: list[AddressFinding], sizes: Mapping[str, int | None]
) -> tuple[list[str], list[AddressFinding]]:
    """Return (a line for each question that several rows wait for, the rows that wait for something else too)."""
    asked: dict[str, list[AddressFinding]] = {}
    for row in waiting:
        for question in dict.fromkeys(_questions(row)):
            asked.setdefault(question, []).append(row)
    several = [(words, rows) for words, rows in asked.items() if words and len(rows) > 1]
    several.sort(key=lambda group: (-len(group[1]), group[1][0].row.row))
    lines = []
    for words, rows in several[:SHOWN_NEXT]:
        some = ", ".join(_called(findings, row, sizes, str(row.row.row)) for row in rows[:SHOWN_ROWS])
        more = len(rows) - SHOWN_ROWS
        some = esc(text("rows_many", rows="{rows}")).replace("{rows}", some)
        some = esc(text("rows_more", rows="{rows}", count=grouped(more))).replace("{rows}", some) if more > 0 else some
        lines.append(
            f'<li><p><strong>{esc(text("front_shared", count=grouped(len(rows))))}</strong> <span class="soft small">{some}</span></p>'
            f'<p class="ask">{esc(text("front_ask", question=words))}</p></li>'
        )
    told = {words for words, _ in several[:SHOWN_NEXT]}
    return lines, [row for row in waiting if not set(_questions(row)) <= told]


def _questions(row: AddressFinding) -> list[str]:
    """Return the question of each service to be settled first, "" where a look alone can settle it."""
    verdicts = [row.verdicts[service] for service in SERVICES]
    return [sentence(v.ask) if v.ask is not None else "" for v in verdicts if v.state is State.SURVEY_FIRST]


def _unjudged(findings: Findings) -> str:
    """Rows not judged as a whole, gathered by reason, with their row numbers."""
    why: dict[str, list[int]] = {}
    for row in findings.rows:
        if row.job is State.NOT_JUDGED:
            reasons = dict.fromkeys(sentences(row.verdicts[service].reasons) for service in SERVICES)
            why.setdefault(" ".join(reasons), []).append(row.row.row)
    heading = f"<h2>{esc(text('front_unjudged'))}</h2>"
    if not why:
        return f'<section>{heading}<p class="soft">{esc(text("front_unjudged_none"))}</p></section>'
    items = []
    for reason, rows in list(why.items())[:SHOWN_REJECTS]:
        items.append(f'<li>{esc(reason)} <span class="soft small">{esc(_row_list(rows))}</span></li>')
    return f'<section>{heading}<ul class="plain">{"".join(items)}</ul></section>'


def _row_list(rows: list[int]) -> str:
    words = ", ".join(str(row) for row in rows[:SHOWN_ROWS])
    if len(rows) > SHOWN_ROWS:
        words = text("rows_more", rows=words, count=grouped(len(rows) - SHOWN_ROWS))
    return text("rows_one" if len(rows) == 1 else "rows_many", rows=words)


# ---- what was understood -----------------------------------------------------------------------------------------------------


def _understood(findings: Findings) -> str:
    notes = [sentence(note) for note in (*findings.addresses.notes, *findings.notes)]
    notes = list(dict.fromkeys(notes)) or [text("front_understood_none")]
    ground = [layer_line(layer) for layer in findings.terrain] or [text("front_terrain_none")]
    parts = [
        f"<section><h2>{esc(text('front_understood'))}</h2>{_plain(notes)}</section>",
        f"<section><h2>{esc(text('front_terrain'))}</h2>{_plain(ground)}</section>",
    ]
    if findings.rejects:
        lines = [
            text(
                "front_reject" if reject.field else "front_reject_plain",
                file=reject.file,
                row=reject.row,
                field=reject.field,
                reason=reject.reason,
            )
            + (f" ({reject.value[:60]})" if reject.value else "")
            for reject in findings.rejects[:SHOWN_REJECTS]
        ]
        more = len(findings.rejects) - SHOWN_REJECTS
        if more > 0:
            lines.append(text("rows_more", rows="…", count=grouped(more)))
        parts.append(f"<section><h2>{esc(text('front_rejects'))}</h2>{_plain(lines)}</section>")
    return "".join(parts)


def _plain(lines: Iterable[str]) -> str:
    return '<ul class="plain">' + "".join(f"<li>{own(line)}</li>" for line in lines) + "</ul>"


# ---- files -------------------------------------------------------------------------------------------------------------------


def _files(sizes: Mapping[str, int | None], findings: Findings) -> str:
    """A line for each file saying whom it is for; sheets and profiles are one line each, with a list that opens."""
    top = sorted(
        (n for n in sizes if "/" not in n and n != "index.html"), key=lambda n: (_ORDER.index(n) if n in _ORDER else len(_ORDER), n)
    )
    lines = []
    for name in top:
        what = text(f"file_{name}") if f"file_{name}" in TEXTS else text("file_other")
        lines.append(f"<dt>{_link(name, name)} {_size(sizes[name])}</dt><dd>{esc(what)}</dd>")
    sheets = [name for name in sizes if name.startswith("sheets/")]
    profiles = [name for name in sizes if name.startswith("profiles/")]
    if sheets:
        called = {sheet_link(findings, row): (place_name(row), row.row.row) for row in findings.rows if sheet_link(findings, row)}
        links = []
        for name in sorted(sheets)[:SHOWN_SHEETS]:
            who, row = called.get(name, (name, 0))
            links.append(f"<li>{_link(name, who)} <span class='soft small'>{esc(text('row', row=row)) if row else ''}</span></li>")
        more = len(sheets) - SHOWN_SHEETS
        if more > 0:
            links.append(f"<li>{esc(text('rows_more', rows='…', count=grouped(more)))}</li>")
        count = text("front_sheets_one" if len(sheets) == 1 else "front_sheets", count=grouped(len(sheets)))
        opened = f'<details><summary>{esc(count)}</summary><ul class="links">{"".join(links)}</ul></details>'
        lines.append(f"<dt>sheets/</dt><dd>{esc(text('file_sheets'))}{opened}</dd>")
    if profiles:
        count = text("front_profiles_one" if len(profiles) == 1 else "front_profiles", count=grouped(len(profiles)))
        lines.append(f"<dt>profiles/</dt><dd>{esc(text('file_profiles'))} {esc(count)}.</dd>")
    if not lines:
        return ""
    return f'<section class="files"><h2>{esc(text("front_files"))}</h2><dl>{"".join(lines)}</dl></section>'


def _link(name: str, words: str) -> str:
    return f'<a href="{esc(quote(name))}">{own(words)}</a>'


def _size(size: int | None) -> str:
    if not size:
        return ""
    words = text("bytes_mb", size=size / 1e6) if size >= 1_000_000 else text("bytes_kb", size=max(1.0, size / 1e3))
    return f'<span class="soft small">{esc(words)}</span>'
