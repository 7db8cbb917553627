"""The sheet's readings at the antenna itself and of the mobile cells, with boxes beside, and the bar that saves what was typed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.readings import PORT, Expected
from siteplan.report.html import esc, own
from siteplan.words.formats import number
from siteplan.words.outlets import text
from siteplan.words.readings import place

_CARRIER = ("col_carrier_name", "col_on_cable", "col_level", "col_cn", "col_margin", "col_read_level", "col_read_cn")
_CELL = ("col_cell", "col_where", "col_strength", "col_ratio", "col_read_strength", "col_read_ratio")


def block(findings: Findings, row: AddressFinding) -> str:
    """Return the section of one address; "" where nothing is to be measured."""
    ports = [one for one in row.expected if one.outlet == PORT and one.service != "mobile"]
    cells = [one for one in row.expected if one.service == "mobile"]
    if not row.expected:
        return ""
    parts = []
    if ports or cells:
        parts.append(f"<h2>{esc(text('ports_heading'))}</h2>")
    for source in dict.fromkeys(one.source for one in ports):
        mine = [one for one in ports if one.source == source]
        lead = text("ports_dish" if mine[0].service == "satellite" else "ports_aerial", source=source)
        parts.append(_table(lead, _CARRIER, [(one, _carrier(one)) for one in mine]))
    if ports:
        parts.append(f'<p class="small soft">{esc(text("ports_note"))}</p>')
    if cells:
        parts.append(_table(text("cells_lead"), _CELL, [(one, _cell(one)) for one in cells]))
        worst = max((one.level_sigma_db for one in cells if math.isfinite(one.level_sigma_db)), default=math.nan)
        values = {"wanted": number(cells[0].min_dbm, 0), "ratio": number(cells[0].threshold_db, 0), "sigma": number(2.0 * worst, 0)}
        parts.append(f'<p class="small soft">{esc(text("cells_note", **values))}</p>')
    return f'<section class="work outlets ports">{"".join(parts)}{_save(row)}</section>'


def _carrier(one: Expected) -> list[str]:
    return [
        own(one.carrier),
        f"{one.if_mhz:.0f}\u00a0MHz",
        f"{one.level_dbuv:.0f}\u00a0±\u00a0{2 * one.level_sigma_db:.0f}\u00a0dBµV",
        f"{number(one.cn_db, 1)}\u00a0±\u00a0{max(one.cn_sigma_db, 2.0):.0f}\u00a0dB",
        f"{one.cn_db - one.threshold_db:.0f}\u00a0dB",
        box("level_dbuv", text("col_read_level")),
        box("cn_db", text("col_read_cn")),
    ]


def _cell(one: Expected) -> list[str]:
    return [
        own(f"{one.source}, {one.carrier}"),
        esc(place(one.outlet)),
        f"{number(one.rsrp_dbm, 0)}\u00a0dBm",
        f"{number(one.cn_db, 0)}\u00a0dB" if math.isfinite(one.cn_db) else "–",
        box("rsrp_dbm", text("col_read_strength")),
        box("sinr_db", text("col_read_ratio")),
    ]


def _table(lead: str, columns: Sequence[str], rows: Sequence[tuple[Expected, list[str]]]) -> str:
    names = [esc(text(name)) for name in columns]
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = "".join(
        f"<tr{attributes(one)}>"
        + "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True))
        + "</tr>"
        for one, cells in rows
    )
    return f'<p class="small">{esc(lead)}</p><table class="number"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def attributes(one: Expected) -> str:
    """Return what a row of boxes must say of itself so that its readings can be saved."""
    return f' data-outlet="{esc(one.outlet)}" data-source="{esc(one.source)}" data-carrier="{esc(one.carrier)}"'


def box(value: str, name: str) -> str:
    """Return one box to write in; a script makes it a field."""
    return f'<span class="box" data-value="{value}" data-name="{esc(name)}"></span>'


def _save(row: AddressFinding) -> str:
    """Return the bar that a script fills the boxes from; hidden where none runs."""
    address = row.row.address
    if address is None or not row.expected:
        return ""
    file = f"readings-{row.row.row:04d}.csv"
    said = f'data-saved="{esc(text("outlets_saved", file=file))}" data-none="{esc(text("outlets_nothing_to_save"))}"'
    button = f'<button type="button" class="button">{esc(text("outlets_save"))}</button> <span role="status" class="small"></span>'
    how = f'<p class="small soft">{esc(text("outlets_save_how"))}</p>'
    return f'<div class="save" hidden data-id="{esc(address.id)}" data-file="{file}" {said}><p>{button}</p>{how}</div>'
