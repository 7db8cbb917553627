"""The dispatcher's list: every row in the list's own order, the answer first, then why, then what to ask. One file, no network."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.verdict import SERVICES, State
from siteplan.report.html import asset, doors, esc, mark, own, place_name, plan_date, plan_name, script_json, sheet_link, state_key
from siteplan.report.html import page as whole_page
from siteplan.report.map_data import PLAIN_ID, Sentences
from siteplan.words import sentence, sentences, state_word
from siteplan.words.formats import grouped
from siteplan.words.list import WORDS, list_text
from siteplan.words.pages import text

PLAIN_UP_TO = 1000  # rows that stand in the page a second time, for readers without scripts
MOST_GROUPS = 400  # a column with more different values than this puts nothing together
_STATES = tuple(State)


def page(findings: Findings, files: Iterable[str] = ()) -> str:
    """Return the list as a whole page. files: what this run writes beside it, names relative to the page; only these are linked."""
    name, names = plan_name(findings), frozenset(files)
    long = len(findings.rows) > PLAIN_UP_TO
    off = f"<p>{esc(list_text('off_long', rows=grouped(len(findings.rows))))}</p>" if long else _plain_table(findings)
    rows = f'<div id="rows" role="region" aria-label="{esc(list_text("list"))}"></div>'
    body = "\n".join(
        [
            _head(findings, name, doors(names, "list.html")),
            f'<main><p id="shown" class="soft" role="status"></p>{rows}</main>',
            f'<noscript><div class="off">{off}</div></noscript>',
        ]
    )
    return whole_page(
        list_text("title", name=name),
        body,
        styles=(asset("page.css"), asset("list.css")),
        scripts=(asset("list.js"),),
        data=script_json(list_data(findings, names)),
    )


def _head(findings: Findings, name: str, others: str) -> str:
    date = plan_date(findings)
    facts = [text("map_rows", rows=grouped(len(findings.rows)))] + ([text("for_date", date=date)] if date else [])
    services = "".join(f'<option value="{key}">{esc(text(f"service_{key}"))}</option>' for key in ("job", *SERVICES))
    sorts = "".join(f'<option value="{key}">{esc(list_text(f"sort_{key}"))}</option>' for key in ("list", "survey", "book", "name"))
    groups = "".join(f'<option value="{place}">{esc(column)}</option>' for place, column in group_columns(findings))
    groups = f'<option value="">{esc(list_text("group_none"))}</option>{groups}'
    count = Counter(row.job for row in findings.rows)
    buttons = "".join(
        f'<button type="button" class="filter" data-state="{state_key(state)}" aria-pressed="true">{mark(state)}'
        f'<b class="number">{grouped(count[state])}</b> <span>{esc(state_word(state))}</span></button>'
        for state in _STATES
    )
    chosen = "".join(
        f'<label class="choice"><span class="small soft">{esc(list_text(key))}</span><select id="{key}">{options}</select></label>'
        for key, options in (("service", services), ("sort", sorts), ("group", groups))
    )
    find = f'<input id="find" type="search" autocomplete="off" spellcheck="false" placeholder="{esc(list_text("find_hint"))}">'
    acts = "".join(f'<button type="button" id="{key}">{esc(list_text(key))}</button>' for key in ("copy", "save"))
    return (
        f'<header><div class="title"><h1>{own(name)}</h1><p class="soft small">{" · ".join(esc(fact) for fact in facts)}</p>{others}</div>'
        f'<div class="filters" role="group" aria-label="{esc(list_text("filters"))}">{buttons}</div>'
        f'<div class="choices"><label class="choice find"><span class="small soft">{esc(list_text("find"))}</span>'
        f"{find}</label>{chosen}</div>"
        f'<div class="acts">{acts}<span id="done" class="small soft" role="status"></span></div></header>'
    )


def group_columns(findings: Findings) -> list[tuple[int, str]]:
    """Return (place, name) of each column of the user's whose values repeat, as a day's or an area's do: rows can stand together by it."""
    found = []
    for place, column in enumerate(findings.addresses.columns):
        values = [row.row.cells.get(column, "") for row in findings.rows]
        different = len(set(values))
        if 1 < different <= min(MOST_GROUPS, len(values) // 2):
            found.append((place, column))
    return found


def list_data(findings: Findings, names: frozenset[str]) -> dict[str, object]:
    """Return all that the list's script needs, ready for JSON; sentences are kept once each, as patterns."""
    table = Sentences()
    columns = findings.addresses.columns
    texts = {name: list_text(name) for name in WORDS} | {"no_sheet": text("map_no_sheet")}
    return {
        "rows": [_row(findings, row, columns, table, names) for row in findings.rows],
        "patterns": list(table.patterns),
        "columns": list(columns),
        "states": [state_key(state) for state in _STATES],
        "state_words": [state_word(state) for state in _STATES],
        "services": [text(f"service_{key}") for key in SERVICES],
        "map": "map.html" if "map.html" in names else "",
        "file": "list.csv",
        "command": f"siteplan sheet {findings.plan.file.name} ",
        "texts": texts,
    }


def _row(findings: Findings, row: AddressFinding, columns: Sequence[str], table: Sentences, names: frozenset[str]) -> list[object]:
    """Return one row as a list; the script names its places."""
    verdicts = [row.verdicts[service] for service in SERVICES]
    whys = [table.put(sentences(verdict.reasons)) for verdict in verdicts]
    asks = [table.put(sentence(verdict.ask)) if verdict.ask is not None else "" for verdict in verdicts]
    chances = [round(100 * v.probability) if v.probability == v.probability else -1 for v in verdicts]
    sheet = sheet_link(findings, row)
    packed: list[object] = [
        row.row.row,
        place_name(row),
        "".join(str(_STATES.index(state)) for state in (row.job, *(verdict.state for verdict in verdicts))),
        whys[:1] if len(set(whys)) == 1 else whys,
        asks if any(asks) else 0,
        chances if max(chances) >= 0 else 0,
        [row.row.cells.get(column, "") for column in columns],
        sheet if sheet in names else "",
        row.row.address.id if row.row.address and PLAIN_ID.fullmatch(row.row.address.id) else "",
        1 if row.row.address else 0,
    ]
    while packed and packed[-1] in (0, "", None):
        packed.pop()
    return packed


def _plain_table(findings: Findings) -> str:
    head = [text("map_question_row"), text("map_name"), text("service_job"), *(text(f"service_{service}") for service in SERVICES)]
    lines = []
    for row in findings.rows:
        cells = [str(row.row.row), own(place_name(row)), esc(state_word(row.job))]
        for service in SERVICES:
            verdict = row.verdicts[service]
            ask = f" {list_text('ask', question=sentence(verdict.ask))}" if verdict.ask is not None else ""
            cells.append(esc(f"{state_word(verdict.state)}: {sentences(verdict.reasons)}{ask}"))
        lines.append("<tr><td>" + "<td>".join(cells))
    top = "".join(f"<th>{esc(name)}" for name in head)
    return f"<p>{esc(list_text('off'))}</p><table><thead><tr>{top}</thead><tbody>{''.join(lines)}</tbody></table>"
