"""The area map for dispatcher and planner: one file, one question at a time, nothing asked from anywhere."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from html import escape

from siteplan.records.findings import Findings
from siteplan.records.plan import tile_host
from siteplan.records.verdict import SERVICES, State
from siteplan.report import map_door
from siteplan.report.html import asset, doors, esc, mark, own, place_name, plan_date, plan_name, script_json, state_key
from siteplan.report.html import page as whole_page
from siteplan.report.map_data import map_data, questions
from siteplan.report.map_overlays import overlay_key, overlay_legend
from siteplan.words import sentences, state_word
from siteplan.words.formats import grouped
from siteplan.words.pages import text
from siteplan.words.place import place_text

SENTENCES_UP_TO = 1500  # rows; longer lists show states alone where scripts are off


def page(findings: Findings, files: Iterable[str] = ()) -> str:
    """Return the map as a whole page; with scripts off it shows all rows as a table. Without rows it is the page of the area's maps.

    files: what this run writes beside it; only these are linked.
    """
    name = plan_name(findings)
    off = f'<div class="off"><p>{esc(place_text("off"))}</p></div>' if _area_alone(findings) else _table(findings)
    body = "\n".join([_head(findings, name, doors(files, "map.html")), _stage(findings), f"<noscript>{off}</noscript>"])
    return whole_page(
        place_text("title", name=name) if _area_alone(findings) else text("map_title", name=name),
        body,
        styles=(map_door.leaflet_style(), asset("page.css"), asset("map.css")),
        scripts=(map_door.leaflet_script(), asset("map_values.js") + asset("map.js")),
        data=script_json(map_data(findings)),
        pictures_from=tile_host(findings.plan.map.tile_url),
    )


def _area_alone(findings: Findings) -> bool:
    return bool(findings.overlays) and not findings.rows


def _options(findings: Findings) -> str:
    """The questions to choose from: of the addresses, then of the whole area."""
    rows = "".join(f'<option value="{esc(key)}">{esc(words)}</option>' for key, words, _ in questions(findings))
    area = "".join(f'<option value="{esc(overlay_key(one))}">{esc(one.question)}</option>' for one in findings.overlays)
    if not area:
        return rows
    if not findings.rows:
        return area
    groups = (("group_rows", rows), ("group_area", area))
    return "".join(f'<optgroup label="{esc(place_text(name))}">{options}</optgroup>' for name, options in groups)


def _head(findings: Findings, name: str, others: str) -> str:
    date, alone = plan_date(findings), _area_alone(findings)
    facts = [place_text("facts") if alone else text("map_rows", rows=grouped(len(findings.rows)))]
    facts += [text("for_date", date=date)] if date else []
    options, hidden = _options(findings), " hidden" if alone else ""
    count = Counter(row.job for row in findings.rows)
    buttons = "".join(
        f'<button type="button" class="filter" data-state="{state_key(state)}" aria-pressed="true">{mark(state)}'
        f'<b class="number">{grouped(count[state])}</b> <span>{esc(state_word(state))}</span></button>'
        for state in State
    )
    return (
        f'<header><div class="title"><h1>{own(name)}</h1><p class="soft small">{" · ".join(esc(fact) for fact in facts)}</p>{others}</div>'
        f'<label class="question"><span class="small soft">{esc(text("map_question"))}</span>'
        f'<select id="question">{options}</select></label>'
        f'<div class="find"{hidden}><label for="find" class="small soft">{esc(text("map_find"))}</label>'
        f'<input id="find" type="search" autocomplete="off" spellcheck="false" placeholder="{esc(text("map_find_hint"))}"></div>'
        f'<div class="filters"{hidden} role="group" aria-label="{esc(text("map_filters"))}">{buttons}</div></header>'
    )


def _stage(findings: Findings) -> str:
    tools = "".join(
        f'<button type="button" id="{key}" class="sign" aria-label="{esc(words)}">{sign}</button>'
        for key, sign, words in (("closer", "+", text("map_zoom_in")), ("farther", "\u2212", text("map_zoom_out")))
    )
    tools += f'<button type="button" id="whole">{esc(text("map_whole"))}</button>'
    tools += f'<button type="button" id="measure" aria-pressed="false">{esc(text("map_measure"))}</button>'
    legends = "".join(
        f'<p data-question="{esc(key)}"{"" if key == "job" else " hidden"}><b class="asked">{esc(asked)}</b> {_legend(key)}</p>'
        for key, asked, _ in questions(findings)
    )
    area = "".join(
        f'<p data-question="{esc(overlay_key(one))}" hidden><b class="asked">{esc(one.question)}</b> {overlay_legend(one)}</p>'
        for one in findings.overlays
    )
    legends = area + legends
    tiles = findings.plan.map if tile_host(findings.plan.map.tile_url) else None
    made = text("map_made" if tiles is None else "map_made_tiles", version=map_door.leaflet_version())
    made += f" {place_text('tiles', owner=tiles.tile_attribution)}" if tiles else ""
    land = text("map_land") if findings.backdrops else text("map_land_none")
    land += f" {place_text('outlines')}" if findings.outlines else ""
    return (
        f'<main><div class="land"><div id="map" role="region" aria-label="{esc(text("map_area"))}"></div><div class="tools">{tools}</div>'
        '<div class="north" aria-hidden="true"><svg viewBox="0 0 20 30" focusable="false"><path d="M10 1l6 16-6-4-6 4z"/></svg>'
        f'<span>{esc(text("north_letter"))}</span></div><p id="here" class="number small" aria-live="off"></p></div>'
        f'<aside id="panel" tabindex="-1" aria-label="{esc(text("map_address"))}"></aside>'
        f'<div class="legend small">{legends}<p class="soft">{esc(land)} {esc(made)}</p></div></main>'
    )


def _legend(key: str) -> str:
    words = escape(text(f"map_l_{key.split('-')[0]}", book="{book}", survey="{survey}", none="{none}", unjudged="{unjudged}"))
    for state in State:
        words = words.replace("{" + state_key(state) + "}", f'{mark(state)}<span class="unseen">{esc(state_word(state))}:</span>')
    return words


def _table(findings: Findings) -> str:
    """All rows for readers without scripts; long lists without sentences, to keep the page light."""
    full = len(findings.rows) <= SENTENCES_UP_TO
    head = [text("map_question_row"), text("map_name"), text("service_job"), *(text(f"service_{service}") for service in SERVICES)]
    lines = []
    for row in findings.rows:
        cells = [str(row.row.row), own(place_name(row)), esc(state_word(row.job))]
        for service in SERVICES:
            verdict = row.verdicts[service]
            cells.append(esc(state_word(verdict.state)) + (f": {esc(sentences(verdict.reasons))}" if full else ""))
        lines.append("<tr><td>" + "<td>".join(cells))
    top = "".join(f"<th>{esc(name)}" for name in head)
    return f'<div class="off"><p>{esc(text("map_off"))}</p><table><thead><tr>{top}</thead><tbody>{"".join(lines)}</tbody></table></div>'
