"""The sheet's block for mobile internet: where to aim, what to expect, the four ways to a device, and what to bring."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings, MobileFinding, SectorLine, WayLine
from siteplan.records.readings import PORT, Expected
from siteplan.records.verdict import State
from siteplan.report import sheet_work
from siteplan.report.html import esc, number
from siteplan.report.sheet_readings import attributes, box
from siteplan.words import decibels, degrees, distance, height, sentence
from siteplan.words.mobile import text, way_word

SHOWN = 6
COAX_EATS_DB = 3.0  # less than this is not worth a sentence (common practice, no source)
OUTDOORS = ("outdoor unit", "roof antenna")
DOUBTS = {"strength": "doubtful_strength", "ratio": "doubtful_ratio", "way back": "doubtful_back"}
NAMES = {"LTE": "name_LTE", "NR": "name_NR", "UMTS": "name_UMTS", "GSM": "name_GSM"}


def block(findings: Findings, row: AddressFinding) -> str | None:
    """Return the block of one address, None where there is nothing to put up or to plug in."""
    found = row.mobile
    if found is None or not found.lines or found.spot is None or row.verdicts["mobile"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return None
    lines = [("aim", _aim(row, found, _leading(found)))]
    chosen = found.enough or found.lines[0].way
    if not found.lines[0].ways or chosen in OUTDOORS:  # a device indoors needs neither spot nor pole
        pole = sheet_work.pole(found.spot, text("height_mobile", height=height(found.spot.height_agl_m)))
        lines = [("stand", sheet_work.stand(found.spot)), ("height", pole), *lines]
    parts = [(text(name), body) for name, body in lines]
    if found.kit:
        items = "".join(f"<li>{esc(sentence(item))}</li>" for item in found.kit)
        parts.append((text("bring"), f'<ul class="bring">{items}</ul>'))
    return _section(text("heading"), parts)


def more(findings: Findings, row: AddressFinding) -> str:
    """Return the four ways to a device and the other cells, for after the hands' work; "" where nothing goes up."""
    if block(findings, row) is None:
        return ""
    found = row.mobile
    rest = tuple(line for line in found.lines[:SHOWN] if line not in _leading(found))  # type: ignore[union-attr]
    parts = []
    if found.lines[0].ways:  # type: ignore[union-attr]
        parts.append((text("ways"), f'<div class="screen-only">{_ways(findings, found.lines[0])}</div>'))  # type: ignore[union-attr]
    names = [text(name) for name in AIM_COLUMNS[:5]]
    notes = _notes(found)  # type: ignore[arg-type]
    if rest or notes:
        cells = _table(names, [_aim_row(line)[:5] for line in rest]) if rest else ""
        table = f'<div class="screen-only">{cells}</div>' if cells else ""
        parts.append((text("others"), table + "".join(f'<p class="small soft">{esc(note)}</p>' for note in notes)))
    return _section(text("heading_more"), parts) if parts else ""


def _section(heading: str, parts: list[tuple[str, str]]) -> str:
    body = "".join(sheet_work.entry(esc(name), inside) for name, inside in parts)
    return f'<section class="work for-mobile"><h3>{esc(heading)}</h3><dl>{body}</dl></section>'


def _leading(found: MobileFinding) -> tuple[SectorLine, ...]:
    """Return the best cell of each operator, three at most."""
    best: dict[str, SectorLine] = {}
    for line in found.lines:
        best.setdefault(line.sector.operator, line)
    return tuple(best.values())[:3]


# ---- where to aim ----------------------------------------------------------------------------------------------------


AIM_COLUMNS = ("col_operator", "col_site", "col_aim", "col_distance", "col_strength", "col_noise", "col_measured")


def _aim(row: AddressFinding, found: MobileFinding, counted: tuple[SectorLine, ...]) -> str:
    names = [text(name) for name in AIM_COLUMNS]
    notes = [text("signal_at", sigma=found.lines[0].sigma_db)]
    error = max((line.bearing_error_deg for line in counted), default=0.0)
    if error > 0.0:
        notes.append(text("listed_note", error=error))
    notes += dict.fromkeys(sentence(warning) for line in counted for warning in line.warnings)
    expected = [_foretold(row, line) for line in counted]
    rows = [[*_aim_row(line), _boxes(one)] for line, one in zip(counted, expected, strict=True)]
    said = [attributes(one) if one is not None else "" for one in expected]
    return _table(names, rows, said) + "".join(f'<p class="small soft">{esc(note)}</p>' for note in notes)


def _notes(found: MobileFinding) -> list[str]:
    """Return what to know of the other cells: the next best of the first operator, what is heard and not sold, warnings."""
    notes, best = [], found.lines[0]
    if best.second_site and math.isfinite(best.gap_db):
        code = "next_same" if best.second_site == best.sector.site else "next_gap"
        notes.append(text(code, operator=best.sector.operator, band=best.sector.band, site=best.second_site, gap=best.gap_db))
    for line in found.unsold:
        notes.append(text("not_counted", operator=line.sector.operator, technology=line.sector.technology, band=line.sector.band))
    leading = _leading(found)
    said = {sentence(warning) for line in leading for warning in line.warnings}
    others = (sentence(warning) for line in found.lines[:SHOWN] if line not in leading for warning in line.warnings)
    return notes + [words for words in dict.fromkeys(others) if words not in said]


def _aim_row(line: SectorLine) -> list[str]:
    aim = sheet_work.bearing(line.bearing_deg)
    if math.isfinite(line.magnetic_bearing_deg):
        aim += f", {sheet_work.big(degrees(line.magnetic_bearing_deg))}"
    return [
        esc(f"{line.sector.operator}, {line.sector.band}"), esc(line.sector.site), aim, esc(distance(line.distance_m)),
        sheet_work.big(number(line.rsrp_dbm, 0, "dBm")), esc(decibels(line.sinr_db)),
    ]  # fmt: skip


def _foretold(row: AddressFinding, line: SectorLine) -> Expected | None:
    """Return what is expected of a cell where the device is plugged in."""
    mine = (one for one in row.expected if one.service == "mobile" and one.outlet != PORT)
    return next((one for one in mine if (one.source, one.line, one.rf_mhz) == _key(line)), None)


def _key(line: SectorLine) -> tuple[str, str, float]:
    return line.sector.operator, line.sector.band, line.sector.frequency_mhz


def _boxes(one: Expected | None) -> str:
    if one is None:
        return sheet_work.BOX
    pairs = (box(value, unit) + f"\u00a0{unit}" for value, unit in (("rsrp_dbm", "dBm"), ("sinr_db", "dB")))
    return " ".join(f'<span class="joined">{pair}</span>' for pair in pairs)


# ---- the four ways ---------------------------------------------------------------------------------------------------


def _ways(findings: Findings, line: SectorLine) -> str:
    names = [text(name) for name in ("col_way", "col_takes", "col_strength", "col_over", "col_answer")]
    wanted = line.rsrp_dbm - line.margin_db
    rows = [_way_row(findings, way, wanted) for way in line.ways]
    kit = findings.plan.kit
    sector = line.sector
    note = text(
        "ways_note", operator=sector.operator, band=sector.band, site=sector.site, name=text(NAMES[sector.technology]),
        sigma=line.sigma_db, strength=number(wanted, 0, "dBm"), ratio=line.wanted_ratio_db,
    )  # fmt: skip
    notes = [note]
    by_way = {way.way: way for way in line.ways}
    unit, roof = by_way.get("outdoor unit"), by_way.get("roof antenna")
    if unit and roof and roof.sold and unit.rsrp_dbm - roof.rsrp_dbm >= COAX_EATS_DB and kit.mobile_feeder_loss_db is None:
        notes.append(
            text("coax_note", length_m=kit.mobile_cable_m, cable=kit.mobile_cable, loss=roof.cable_loss_db, gain=roof.gain_dbi)
        )
    return _table(names, rows) + "".join(f'<p class="small soft">{esc(one)}</p>' for one in notes)


def _way_row(findings: Findings, way: WayLine, wanted_dbm: float) -> list[str]:
    takes = way.entry_loss_db + way.cable_loss_db
    return [
        esc(way_word(way.way)), esc(decibels(takes) if takes > 0.0 else text("takes_nothing")),
        sheet_work.big(number(way.rsrp_dbm, 0, "dBm")), esc(decibels(way.sinr_db)), esc(_answer(findings, way, wanted_dbm)),
    ]  # fmt: skip


def _answer(findings: Findings, way: WayLine, wanted_dbm: float) -> str:
    limits = findings.plan.limits
    if not way.sold:
        return text("not_sold")
    if not way.fits:
        return text("not_covered")
    if way.probability >= limits.book_probability:
        return text("enough")
    if way.possible <= limits.not_feasible_probability:
        return text("hopeless")
    if way.weakest == "strength" and way.rsrp_dbm >= wanted_dbm:
        return text("doubtful")
    return text(DOUBTS[way.weakest])


def _table(names: list[str], rows: list[list[str]], said: Sequence[str] = ()) -> str:
    head = "".join(f'<th scope="col">{esc(name)}</th>' for name in names)
    body = "".join(
        f"<tr{said[place] if said else ''}>"
        + "".join(f'<td data-name="{esc(name)}"><span>{cell}</span></td>' for name, cell in zip(names, row, strict=True))
        + "</tr>"
        for place, row in enumerate(rows)
    )
    return f'<table class="number"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
