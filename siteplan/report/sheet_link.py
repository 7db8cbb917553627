"""How well each satellite will work: what to expect of each carrier with the dish named, what rain leaves, and the weakest one's budget."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings, LinkLine, SatelliteView
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, State
from siteplan.report.html import esc, own
from siteplan.words import sentence
from siteplan.words.formats import listing
from siteplan.words.link import decibels, line_label, line_source, line_value, note, outage, said
from siteplan.words.weather import outage_code

SHOWN = 12  # carriers that a table lists
_NOT_PRINTED = ("left_out", "threshold", "dish_margin")


def block(findings: Findings, row: AddressFinding) -> str:
    """Return what to expect of each satellite at one address, "" where no dish goes up or nothing is known that it sends."""
    found = row.satellite
    if found is None or row.verdicts["satellite"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return ""
    views = [view for view in found.views if view.links and any(line.terms for line in view.links) and view.state is not State.NOT_FEASIBLE]
    if not views:
        return ""
    cards = "".join(_card(view, findings.plan) for view in views)
    lead = f"{said('lead')} {sentence(Reason('weather_propagation_only'))}"
    return f'<section class="link"><h2>{esc(said("heading"))}</h2><p>{esc(lead)}</p><div class="pairs">{cards}</div></section>'


def _card(view: SatelliteView, plan: Plan) -> str:
    dish_m = view.links[0].dish_m
    weakest = _weakest(view)
    parts = [f'<section class="work"><h3>{own(said("card", satellite=view.satellite.name, dish_m=dish_m))}</h3>']
    parts.append(f"<p>{own(_answer(view, weakest, plan))}</p>")
    if weakest is not None and math.isfinite(weakest.hours_per_year):
        gone = sentence(Reason(outage_code(weakest.bound), {"hours_per_year": weakest.hours_per_year}))
        month = sentence(Reason("weather_worst_month", {"hours_worst_month": weakest.hours_worst_month}))
        parts.append(f"<p>{own(said('worst', name=weakest.transponder.name, outage=gone, month=month))}</p>")
    notes = dict.fromkeys(note(code) for line in view.links for code in line.notes)
    parts += [f'<p class="small caution">{esc(words)}</p>' for words in notes]
    parts.append(_table(view.links, plan))
    if weakest is not None:
        parts.append(_budget(weakest))
    return "".join([*parts, "</section>"])


def _weakest(view: SatelliteView) -> LinkLine | None:
    """Return the wanted carrier that has least to spare, None where no wanted one's strength is known."""
    named = next((dish.weakest for dish in view.dishes if dish.dish_m == view.links[0].dish_m), "")
    known = [line for line in view.links if line.wanted and math.isfinite(line.margin_db)]
    return next((line for line in known if line.transponder.name == named), min(known, key=lambda line: line.margin_db, default=None))


def _answer(view: SatelliteView, weakest: LinkLine | None, plan: Plan) -> str:
    if weakest is None or not view.dishes:
        return said("unknown", satellite=view.satellite.name)
    limits = plan.limits
    held = next((dish for dish in view.dishes if dish.holds), None)
    wanted = {"reserve_db": limits.clear_sky_margin_db, "wanted_pct": limits.availability_pct}
    if held is not None:
        return said("holds", dish_m=held.dish_m, weakest=held.weakest, **wanted)
    nearest = max(view.dishes, key=lambda dish: dish.spare_db)
    return said("holds_none", dish_m=nearest.dish_m, weakest=nearest.weakest, **wanted)


def _table(lines: Sequence[LinkLine], plan: Plan) -> str:
    ordered = sorted(lines, key=lambda line: (not line.wanted, not math.isfinite(line.margin_db), line.transponder.frequency_mhz))
    lacking = any(not math.isfinite(line.margin_db) for line in ordered[:SHOWN])
    names = [said("col_carrier"), said("col_expect"), said("col_clear"), said("col_rain", pct=100.0 - plan.limits.availability_pct)]
    names += [said("col_out"), *([said("col_needs")] if lacking else [])]
    rows = []
    for line in ordered[:SHOWN]:
        cells = [_carrier(line), esc(decibels(line.cni_db)), esc(decibels(line.margin_db)), esc(decibels(line.weather_margin_db))]
        cells += [esc(outage(line.hours_per_year, line.bound)), *([esc(_needs(line))] if lacking else [])]
        tds = "".join(f'<td data-name="{esc(name)}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True))
        rows.append(f"<tr>{tds}</tr>")
    head = "".join(f'<th scope="col">{esc(name)}</th>' for name in names)
    caption = f"<caption>{esc(said('table'))}</caption>"
    body = f'<table class="number">{caption}<thead><tr>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table>'
    more = len(ordered) - SHOWN
    return body + (f'<p class="small soft">{esc(said("more", count=more))}</p>' if more > 0 else "")


def _carrier(line: LinkLine) -> str:
    t = line.transponder
    shown = own(said("carrier", name=t.name, frequency_mhz=t.frequency_mhz, polarisation=t.polarisation).replace(" ", "\u00a0"))
    return shown if line.wanted else f'{shown}<br><span class="small soft">{esc(said("not_wanted"))}</span>'


def _needs(line: LinkLine) -> str:
    """Return the EIRP that would do with each dish, "" where the carrier's own is known."""
    if math.isfinite(line.margin_db):
        return ""
    return listing([said("need", dish_m=dish_m, eirp_dbw=eirp) for dish_m, eirp in line.needs_by_dish])


def _budget(line: LinkLine) -> str:
    rows = []
    for one in line.terms:
        if one.code not in _NOT_PRINTED:
            value = esc(line_value(one.value, one.unit))
            source = own(line_source(one.source))
            rows.append(f'<tr><th scope="row">{esc(line_label(one.code))}</th><td>{value}</td><td class="from">{source}</td></tr>')
    names = "".join(f'<th scope="col">{esc(said(name))}</th>' for name in ("col_line", "col_value", "col_source"))
    table = f"<table><thead><tr>{names}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    return f'<details class="budget"><summary>{own(said("budget", name=line.transponder.name))}</summary>{table}</details>'
