"""The tuning cards of a sheet: for each satellite what to tune first, what confirms it, what it may be taken for, and the spectrum."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings, SatelliteView
from siteplan.records.lnb import Lnb
from siteplan.records.tuning import FalseFriend, Neighbour, Tuning, TuningLine
from siteplan.records.verdict import State
from siteplan.report import spectrum_plot
from siteplan.report.html import esc, own, spoken_date
from siteplan.words import sentence
from siteplan.words.formats import listing
from siteplan.words.language import figures
from siteplan.words.tuning import said, sub_band

OTHERS = 8  # carriers beyond those to tune first that a card lists


def block(findings: Findings, row: AddressFinding) -> str:
    """Return the tuning cards of one address, "" where no dish goes up."""
    found = row.satellite
    if found is None or row.verdicts["satellite"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return ""
    views = [view for view in found.views if view.tuning is not None and view.state is not State.NOT_FEASIBLE]
    if not any(view.tuning.lines for view in views):  # type: ignore[union-attr]
        return ""
    cards = "".join(_card(view, view.tuning, f"spec{number}") for number, view in enumerate(views))  # type: ignore[arg-type]
    note = f'<p class="small soft">{esc(said("spectrum_caption"))}</p>'
    return f'<section class="tuning"><h2>{esc(said("heading"))}</h2><p>{esc(said("lead"))}</p>{cards}{note}</section>'


def _card(view: SatelliteView, tuning: Tuning, key: str) -> str:
    name = view.satellite.name
    facts = [said("lnb", lnb=str(tuning.lnb))] if tuning.lnb is not None else []
    if tuning.position:
        facts.append(said("position", position=tuning.position, positions=tuning.positions))
    parts = [f'<section class="work card"><h3>{own(said("card", satellite=name))}</h3>']
    parts += [f"<p>{esc(' '.join(facts))}</p>" if facts else ""]
    parts += [f'<p class="small caution">{esc(sentence(note))}</p>' for note in tuning.notes[:3]]
    if not tuning.lines:
        return "".join([*parts, f"<p>{esc(said('nothing'))}</p></section>"])
    parts += [_spectrum(name, tuning, key), "<div>"]  # before the tables: on paper they flow around it
    first = tuning.first
    others = sorted((line for line in tuning.lines if not line.first), key=_strongest)
    parts.append(_table(first, "first", tuning.lnb) if first else f"<p>{esc(said('no_first'))}</p>")
    if others:
        parts.append(_table(others[:OTHERS], "others", tuning.lnb))
    if len(others) > OTHERS:
        parts.append(f'<p class="small soft">{esc(said("more", count=len(others) - OTHERS))}</p>')
    parts += [f'<p class="small caution">{esc(words)}</p>' for words in _disturbed([*first, *others])]
    parts += [_aside(view, tuning), "</div></section>"]
    return "".join(parts)


def _aside(view: SatelliteView, tuning: Tuning) -> str:
    """Return what no hand needs, folded: the neighbours that were compared, and how the satellite wanders."""
    inside = f'<p class="small">{esc(_around(tuning.neighbours))}</p>{_orbit(view)}'
    return f'<details class="again"><summary>{esc(said("aside"))}</summary>{inside}</details>'


def _orbit(view: SatelliteView) -> str:
    day = view.satellite.day
    if day is None:
        return ""
    epoch = spoken_date(day.epoch.date().isoformat())
    words = said("stands", lon_deg=day.lon_deg, north=day.lat_across_deg, east=day.lon_across_deg, epoch=epoch)
    return f'<p class="small soft">{esc(words)} {esc(said("wanders", box_deg=view.box_deg, beam_deg=view.beam_deg))}</p>'


def _strongest(line: TuningLine) -> tuple[float, float]:
    return (-line.level_db if math.isfinite(line.level_db) else math.inf, line.at.transponder.frequency_mhz)


def _table(lines: Sequence[TuningLine], caption: str, lnb: Lnb | None) -> str:
    names = [esc(said(name)) for name in ("col_carrier", "col_set", "col_rate", "col_proof")]
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    rows = []
    for line in lines:
        cells = (_carrier(line), _setting(line, lnb), _rate(line), _proof(line))
        rows.append("".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True)))
        more = [_friend(friend) for friend in line.friends[:3]]
        if more:
            rows[-1] += f'</tr><tr class="aside"><td colspan="4" class="small"><span>{"<br>".join(map(esc, more))}</span></td>'
    body = "".join(f"<tr>{row}</tr>" for row in rows)
    return f'<table class="number"><caption>{esc(said(caption))}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _carrier(line: TuningLine) -> str:
    t = line.at.transponder
    words = said("carrier", name=t.name, frequency_mhz=t.frequency_mhz, polarisation=t.polarisation)
    shown = own(words.replace(" ", "\u00a0"))
    return f"<b>{shown}</b>" if line.first else shown


def _setting(line: TuningLine, lnb: Lnb | None) -> str:
    at = line.at
    which = sub_band(at.sub_band)
    if at.tone is None:
        name = "user_band" if lnb is not None and lnb.outputs == "single-cable" else "fixed"
        return esc(said(name, if_mhz=at.if_mhz, sub_band=which))
    supply = said("supply_on" if at.tone else "supply_off", volt=at.supply_v)
    words = [said("if", if_mhz=at.if_mhz, sub_band=which), supply, *([said("inverted")] if at.inverted else [])]
    return "<br>".join(map(esc, words))


def _rate(line: TuningLine) -> str:
    t, nbsp, unbroken = line.at.transponder, "\u00a0", "\u2011"
    stream = said("stream", stream_id=t.stream_id) if t.stream_id is not None else ""
    mode = said("mode", system=t.system, modulation=t.modulation, code_rate=t.code_rate) + stream
    mode = mode.replace(" ", nbsp).replace("-", unbroken)
    return f'{esc(said("rate", rate=t.symbol_rate_kbaud))}<br><span class="small soft">{esc(mode)}</span>'


def _proof(line: TuningLine) -> str:
    t = line.at.transponder
    ids = (("network_id", t.network_id), ("original_network_id", t.original_network_id), ("transport_stream_id", t.transport_stream_id))
    shown = [(name, value) for name, value in ids if value is not None]
    if t.original_network_id == t.network_id:
        shown = [pair for pair in shown if pair[0] != "original_network_id"]
    words = [said(name, **{name: value}) for name, value in shown] + [said("programmes", programme=name) for name in t.programmes[:2]]
    if not words:
        return esc(said("unconfirmed"))
    more = f'<br><span class="small soft">{esc(said("encrypted"))}</span>' if t.encrypted else ""
    return own(", ".join(words)) + more


def _friend(friend: FalseFriend) -> str:
    off = said("off_none") if abs(friend.off_mhz) < 0.5 else said("off", off_mhz=friend.off_mhz).replace("-", "\u2212")
    what = [said(f"told_{name}") for name in friend.told_by]
    told = said("told" if len(what) > 1 else "told_one", what=what) if what else said("told_nothing")
    t = friend.transponder
    values = {"transponder": t.name, "frequency_mhz": t.frequency_mhz, "polarisation": t.polarisation}
    return said("friend", satellite=friend.satellite, off=off, told=told, **values)


def _disturbed(lines: Sequence[TuningLine]) -> list[str]:
    """Return one caution for each set of ground bands that carriers fall on, the carriers named together."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for line in lines:
        if line.at.disturbed:
            groups.setdefault(line.at.disturbed, []).append(line.at.transponder.name)
    return [said("disturbed", names=names, bands=[said(f"band_{name}") for name in bands]) for bands, names in groups.items()]


def _around(neighbours: Sequence[Neighbour]) -> str:
    if not neighbours:
        return said("alone")
    return said("neighbours", names=[_neighbour(one) for one in neighbours[:6]])


def _neighbour(one: Neighbour) -> str:
    aside = said("right" if one.aside_deg >= 0 else "left", value=abs(one.aside_deg))
    level = abs(one.higher_deg) < 0.05
    higher = said("level") if level else said("higher" if one.higher_deg > 0 else "lower", value=abs(one.higher_deg))
    name = "carriers_none" if not one.carriers else "alike_some" if one.alike else "alike_none"
    return said("neighbour", name=one.name, aside=aside, higher=higher, alike=said(name, alike=one.alike, carriers=one.carriers))


def _spectrum(satellite: str, tuning: Tuning, key: str) -> str:
    drawing = spectrum_plot.chart(tuning, satellite=satellite, key=key, slim=None)
    assumed = sorted({figures(f"{line.at.roll_off:g}") for line in tuning.lines if line.at.roll_off_assumed})
    caption = [said("spectrum_assumed", roll_off=listing(assumed))] if assumed else []
    if any(not math.isfinite(line.level_db) for line in tuning.lines):
        caption.append(said("spectrum_unknown"))
    words = f"<figcaption>{esc(' '.join(caption))}</figcaption>" if caption else ""
    return f'<figure class="spectrum">{drawing}{words}</figure>'
