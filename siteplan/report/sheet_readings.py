"""The sheet's readings at the antenna itself and of the mobile cells, with boxes beside, and the bar that saves what was typed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.parts import TERRESTRIAL
from siteplan.records.readings import PORT, Expected
from siteplan.report.html import esc, own
from siteplan.words.formats import number
from siteplan.words.outlets import cn_words, text
from siteplan.words.readings import limits_word, place

_CARRIER = ("col_carrier_name", "col_on_cable", "col_level", "col_cn", "col_margin", "col_read_level", "col_read_cn")
_CELL = ("col_cell", "col_where", "col_strength", "col_ratio", "col_read_strength", "col_read_ratio", "col_read_rsrq", "col_read_pci")
_NAMES_SHOWN = 2  # cells; the others fold


def block(findings: Findings, row: AddressFinding) -> str:
    """Return the section of one address; "" where nothing is to be measured."""
    ports = [one for one in row.expected if one.outlet == PORT and one.service != "mobile"]
    cells = [one for one in row.expected if one.service == "mobile"]
    if not row.expected:
        return ""
    parts = []
    if ports or cells:
        parts.append(f"<h2>{esc(text('ports_heading'))}</h2>")
    if ports:
        parts.append(_ports(ports))
    if cells:
        parts.append(_cells(cells))
    return f'<section class="work outlets ports">{"".join(parts)}</section>' if parts else ""


def _ports(ports: Sequence[Expected]) -> str:
    """The weakest carrier of each line of each antenna; the others folded, and not on paper."""
    kept: dict[tuple[str, str], Expected] = {}
    for one in ports:
        key = (one.source, one.line)
        if key not in kept or one.cn_db - one.threshold_db < kept[key].cn_db - kept[key].threshold_db:
            kept[key] = one
    first = list(kept.values())
    rest = [one for one in ports if one not in first]
    table = _table(text("ports_lead"), _CARRIER, [(one, _carrier(one)) for one in first])
    return f'{table}<p class="small soft">{esc(text("ports_note"))}</p>' + _folded(
        "ports_rest", len(rest), _table("", _CARRIER, [(one, _carrier(one)) for one in rest])
    )


def _cells(cells: Sequence[Expected]) -> str:
    """The first cells, where the verdict rests; the others folded, and not on paper."""
    names = list(dict.fromkeys((one.source, one.carrier) for one in cells))
    by_hand = sorted(cells, key=lambda one: (names.index((one.source, one.carrier)), one.outlet != PORT))  # at the antenna first
    first = [one for one in by_hand if (one.source, one.carrier) in names[:_NAMES_SHOWN]]
    rest = [one for one in by_hand if one not in first]
    behind = next((one for one in cells if one.outlet != PORT), cells[0])
    note = text("cells_note", profile=limits_word(behind.profile), wanted=number(behind.min_dbm, 0), ratio=number(behind.threshold_db, 0))
    if any(one.outlet == PORT for one in cells):
        note += " " + text("cells_leads")
    table = _table(text("cells_lead"), _CELL, [(one, _cell(one)) for one in first])
    folded = _folded("cells_rest", len(names) - _NAMES_SHOWN, _table("", _CELL, [(one, _cell(one)) for one in rest]))
    return f'{table}<p class="small soft">{esc(note)}</p>{folded}'


def _folded(summary: str, count: int, table: str) -> str:
    return f"<details><summary>{esc(text(summary, count=count))}</summary>{table}</details>" if count > 0 else ""


def _carrier(one: Expected) -> list[str]:
    return [
        own(one.carrier if one.line == TERRESTRIAL else f"{one.source}, {one.carrier} ({one.line})"),
        f"{one.if_mhz:.0f}\u00a0MHz",
        f"{one.level_dbuv:.0f}\u00a0±\u00a0{2 * one.level_sigma_db:.0f}\u00a0dBµV",
        cn_words(one.cn_db, max(one.cn_sigma_db, 2.0)),
        f"{one.cn_db - one.threshold_db:.0f}\u00a0dB",
        box("level_dbuv", text("col_read_level")),
        box("cn_db", text("col_read_cn")),
    ]


def _cell(one: Expected) -> list[str]:
    """One cell at one place; at the antenna a box for each of its two leads, whose better one is the cell's strength."""
    known = [text("cell_channel", channel=one.channel)] if one.channel else []
    known += [text("cell_pci", pci=one.pci)] if one.pci else []
    told = f'<br><span class="small soft">{esc(", ".join(known))}</span>' if known else ""
    ratio = f"{number(one.cn_db, 0)}\u00a0±\u00a0{2 * one.cn_sigma_db:.0f}\u00a0dB" if math.isfinite(one.cn_db) else "–"
    if math.isfinite(one.rsrq_db):
        ratio += f'<br><span class="small soft">{esc(text("cell_rsrq", rsrq=number(one.rsrq_db, 0)))}</span>'
    leads = [("rsrp_a_dbm", "box_lead_a"), ("rsrp_b_dbm", "box_lead_b")] if one.outlet == PORT else []
    strength = "".join(f'<span class="joined">{esc(text(name))} {box(value, text(name))}</span> ' for value, name in leads)
    return [
        own(f"{one.source}, {one.carrier}") + told,
        esc(place(one.outlet)),
        f"{number(one.rsrp_dbm, 0)}\u00a0±\u00a0{2 * one.level_sigma_db:.0f}\u00a0dBm",
        ratio,
        strength or box("rsrp_dbm", text("col_read_strength")),
        box("sinr_db", text("col_read_ratio")),
        box("rsrq_db", text("col_read_rsrq")),
        box("pci", text("col_read_pci")),
    ]


def _table(lead: str, columns: Sequence[str], rows: Sequence[tuple[Expected, list[str]]], css: str = "number") -> str:
    names = [esc(text(name)) for name in columns]
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = "".join(
        f"<tr{attributes(one)}>"
        + "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True))
        + "</tr>"
        for one, cells in rows
    )
    said = f"<caption>{esc(lead)}</caption>" if lead else ""
    return f'<table class="number">{said}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def attributes(one: Expected) -> str:
    """Return what a row of boxes must say of itself so that its readings can be saved."""
    return f' data-outlet="{esc(one.outlet)}" data-source="{esc(one.source)}" data-carrier="{esc(one.carrier)}"'


def box(value: str, name: str) -> str:
    """Return one box to write in; a script makes it a field."""
    return f'<span class="box" data-value="{value}" data-name="{esc(name)}"></span>'


def save(row: AddressFinding) -> str:
    """Return the bar that a script fills the boxes from; hidden where none runs."""
    address = row.row.address
    if address is None or not row.expected:
        return ""
    file = f"readings-{row.row.row:04d}.csv"
    said = f'data-saved="{esc(text("outlets_saved", file=file))}" data-none="{esc(text("outlets_nothing_to_save"))}"'
    button = f'<button type="button" class="button">{esc(text("outlets_save"))}</button> <span role="status" class="small"></span>'
    how = f'<p class="small soft">{esc(text("outlets_save_how"))}</p>'
    return f'<div class="save" hidden data-id="{esc(address.id)}" data-file="{file}" {said}><p>{button}</p>{how}</div>'
