"""The TV aerial's block of a sheet: where it stands, how it aims, what it gives, which aerial, amplifier and filter, what to read."""

from __future__ import annotations

import math

from siteplan.records.findings import AddressFinding, Aim, Findings, MultiplexLine
from siteplan.records.tv import AerialChoice, Disturbance
from siteplan.records.verdict import State
from siteplan.report import sheet_work as work
from siteplan.report.html import esc, number
from siteplan.words import degrees, distance
from siteplan.words.formats import listing
from siteplan.words.language import say
from siteplan.words.pages import text
from siteplan.words.terrestrial import tv_text

# Shown: disturbances that raise what a multiplex needs by this much, at most so many.
_WORTH_DB, _MOST = 1.0, 4


def block(findings: Findings, row: AddressFinding) -> str | None:
    """Return the block for the TV aerial, None where there is none to put up."""
    found = row.terrestrial
    if found is None or not found.aims or found.spot is None or row.verdicts["terrestrial"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return None
    best, choice = found.aims[0], found.choice
    open_aim = found.aims[1] if choice is not None and choice.open_with and len(found.aims) > 1 else None
    lines = [
        ("stand", work._stand(found.spot)),
        ("height", work._height(found.spot, "height_aerial")),
        ("aim", _aims([best, open_aim] if open_aim is not None else [best], choice)),
        ("put_up", _put_up(choice)),
        ("read", _readings(row, best, open_aim)),
    ]
    return work._work("terrestrial", lines)


def more(findings: Findings, row: AddressFinding) -> str:
    """Return what the TV aerial gives, channel by channel, for after the hands' work; "" where none goes up."""
    if block(findings, row) is None:
        return ""
    found = row.terrestrial
    best, choice = found.aims[0], found.choice  # type: ignore[union-attr]
    open_aim = found.aims[1] if choice is not None and choice.open_with and len(found.aims) > 1 else None  # type: ignore[union-attr]
    lines = [
        ("gives_here", _gives(best)),
        ("col_spare", f'<div class="screen-only">{_reserves(best, open_aim)}</div>'),
        ("disturbs", _disturbers(best)),
        ("plan_b", _others(found.aims, choice, open_aim)),  # type: ignore[union-attr]
    ]
    return work._work("terrestrial", lines, "sheet_aerial_more")


def _para(words: str, css: str = "") -> str:
    return f'<p class="{css}">{esc(words)}</p>' if css else f"<p>{esc(words)}</p>"


def _aims(aims: list[Aim], choice: AerialChoice | None) -> str:
    head = ("col_sender", "col_true", "col_compass", "col_distance", "col_elements")
    cells = [
        [
            esc(aim.transmitter.name), work._bearing(aim.bearing_deg), work._big(degrees(aim.magnetic_bearing_deg)),
            esc(distance(aim.distance_m)), esc(_elements(aim)),
        ]
        for aim in aims
    ]  # fmt: skip
    out = work._table(head, cells)
    if len(aims) > 1 and choice is not None:
        values = {"apart": abs(choice.difference_db), "sigma": choice.difference_sigma_db}
        out += _para(tv_text("open", first=aims[0].transmitter.name, second=aims[1].transmitter.name, **values), "caution")
    return out


def _elements(aim: Aim) -> str:
    ways = {line.multiplex.polarisation for line in aim.lines}
    if len(ways) > 1 and aim.plane:
        ways = {aim.plane}
    return listing([text(f"elements_{way}") if way in ("h", "v") else tv_text(f"elements_{way}") for way in sorted(ways)]) if ways else ""


def _put_up(choice: AerialChoice | None) -> str:
    if choice is None:
        return ""
    name = "group" if choice.group else "group_none"
    both = tv_text("group_open") if choice.open_with else ""
    out = [_para(tv_text(name, group=say(choice.group), low=choice.from_mhz, high=choice.to_mhz) + both)]
    if choice.slant:
        out.append(_para(tv_text("slant")))
    levels = {"weakest": choice.weakest_dbuv, "strongest": choice.strongest_dbuv, "helps": choice.helps_db, "off": choice.attenuator_db}
    alike = choice.amplifier == "none" and round(choice.weakest_dbuv) == round(choice.strongest_dbuv)
    out.append(_para(tv_text("amplifier_none_one" if alike else f"amplifier_{choice.amplifier}", **levels)))
    mobile = choice.mobile
    if mobile is not None:
        if math.isfinite(mobile.level_dbuv):
            values = {"site": mobile.site, "operator": mobile.operator, "level": mobile.level_dbuv, "mhz": mobile.frequency_mhz}
            words = tv_text(f"mobile_{mobile.advice}", after=mobile.after_amplifier_dbuv, **values)
            out.append(_para(words, "" if mobile.advice == "none" else "caution"))
        if mobile.uplink:
            out.append(_para(tv_text("uplink", level=mobile.uplink_dbuv), "caution"))
    return "".join(out)


def _gives(aim: Aim) -> str:
    sure = list(aim.programmes_sure)
    perhaps = [name for name in _all(aim) if name not in sure]
    out = _para(tv_text("gives", names=sure) if sure else tv_text("gives_none"))
    return out + (_para(tv_text("gives_perhaps", names=perhaps), "small soft") if perhaps else "")


def _all(aim: Aim) -> list[str]:
    return list(dict.fromkeys(name for line in aim.lines for name in (line.multiplex.programmes or (line.multiplex.name,))))


def _readings(row: AddressFinding, best: Aim, other: Aim | None) -> str:
    groups = []
    for aim in (best, other) if other is not None else (best,):
        lines = [
            (
                f"<b>{esc(_name(line))}</b>", work._big(number(line.level_dbuv, 0, "dBµV")),
                *work.at_port(row, aim.transmitter.name, line.multiplex.name, "level_dbuv"),
            )
            for line in aim.lines
        ]  # fmt: skip
        groups.append(work.chips(lines, "short", aim.transmitter.name if other is not None else ""))
    sigma = max((line.sigma_db for line in best.lines), default=math.nan)
    return "".join(groups) + (_para(text("level_at", sigma=sigma), "small soft") if math.isfinite(sigma) else "")


def _name(line: MultiplexLine) -> str:
    return line.multiplex.name + (f" · {line.multiplex.channel}" if line.multiplex.channel is not None else "")


def _reserves(best: Aim, other: Aim | None) -> str:
    rows = []
    for aim in (best, other) if other is not None else (best,):
        for line in aim.lines:
            cn = number(line.cn_db, 0, "dB") if math.isfinite(line.cn_db) else ""
            rows.append([esc(_name(line)), cn, esc(_spare(line))])
    return work._table(("col_channel", "col_cn", "col_spare"), rows)


def _spare(line: MultiplexLine) -> str:
    if not math.isfinite(line.margin_db):
        return ""
    margin = tv_text("margin" if line.margin_db >= 0 else "margin_short", margin=abs(line.margin_db))
    # said where it differs in whole per cent
    if math.isfinite(line.probability_99) and line.probability - line.probability_99 >= 0.01:
        return f"{margin}, {tv_text('chance_99', chance=line.probability, always=line.probability_99)}"
    return f"{margin}, {tv_text('chance', chance=line.probability)}"


def _disturbers(aim: Aim) -> str:
    shown: list[tuple[float, MultiplexLine, Disturbance]] = []
    for line in aim.lines:
        raises = line.needed_median_dbuv_per_m - line.minimum_median_dbuv_per_m
        if line.disturbances and raises >= _WORTH_DB:
            shown.append((raises, line, line.disturbances[0]))
    shown.sort(key=lambda one: -one[0])
    out = []
    for raises, line, one in shown[:_MOST]:
        relation = tv_text(f"relation_{one.relation}")
        where = {"bearing_deg": one.bearing_deg, "distance_m": one.distance_m}
        values = {"name": one.transmitter, "relation": relation, "multiplex": line.multiplex.name, "raises": raises}
        out.append(_para(tv_text("disturbed", **values, **where)))
    return "".join(out)


def _others(aims: tuple[Aim, ...], choice: AerialChoice | None, open_aim: Aim | None) -> str:
    out = []
    place = 2 if open_aim is not None else 1
    if len(aims) > place:
        other = aims[place]
        spare = ""
        if math.isfinite(other.margin_db):
            spare = tv_text("second_spare" if other.margin_db >= 0 else "second_short", margin=abs(other.margin_db))
        where = {"bearing_deg": other.bearing_deg, "magnetic_deg": other.magnetic_bearing_deg, "distance_m": other.distance_m}
        out.append(_para(tv_text("second_choice", name=other.transmitter.name, spare=spare, **where)))
    if choice is not None and choice.second:
        name = "second_aerial" if choice.filter_fits else "second_aerial_unfit"
        out.append(_para(tv_text(name, name=choice.second, adds=list(choice.adds))))
    return "".join(out)
