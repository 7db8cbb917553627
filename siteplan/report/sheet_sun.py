"""Aim without a compass: the sun at each satellite's bearing, the days it stands behind it, landmarks; and one dish for several."""

from __future__ import annotations

import math
from datetime import datetime

from siteplan.records.dish import DishFinding, Feed
from siteplan.records.findings import AddressFinding, Findings, SatelliteFinding
from siteplan.records.sun import Landmark, SunAid, SunCrossing, SunFinding, SunOutage
from siteplan.records.verdict import State
from siteplan.report.html import esc, own, spoken_date
from siteplan.words import kind_word
from siteplan.words.language import figures
from siteplan.words.sun import said


def block(findings: Findings, row: AddressFinding) -> str:
    """Return the block of the sun and the block of one dish for several, "" where no dish goes up."""
    found = row.satellite
    if found is None or found.sun is None or row.verdicts["satellite"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return ""
    dish_m = max((view.dish_m for view in found.views if math.isfinite(view.dish_m)), default=min(findings.plan.kit.dishes_m))
    north = found.spot is None or found.spot.lat_deg >= 0.0
    return _sun(found.sun, dish_m) + (_dish(found.dish, findings, north=north) if found.dish is not None else "")


def path_words(found: SatelliteFinding) -> str:
    """Return what the sun's path on the skyline is, for its caption."""
    return said("sun_path", zone=_zone(found.sun)) if found.sun is not None else ""


def _zone(sun: SunFinding) -> str:
    return said("local", zone=sun.timezone) if sun.timezone else said("utc")


def _when(one: SunCrossing | SunOutage) -> datetime:
    return one.local or one.utc


def _clock(when: datetime) -> str:
    return f"{when:%H:%M}"


def _day(when: datetime) -> str:
    return spoken_date(when.date().isoformat()).rsplit(" ", 1)[0]


def _sun(sun: SunFinding, dish_m: float) -> str:
    parts = [f"<h2>{esc(said('heading'))}</h2><p>{esc(said('lead'))}</p>"]
    marks = [said("marks_line", satellite=aid.satellite, marks="; ".join(map(_mark, aid.landmarks))) for aid in sun.aids if aid.landmarks]
    if marks:
        parts.append(f"<h3>{esc(said('marks'))}</h3><ul>" + "".join(f"<li>{own(line)}</li>" for line in marks) + "</ul>")
    seen = [aid for aid in sun.aids if aid.crossings]
    if seen:
        parts.append(_table(sun, seen))
        lower = [one.elevation_deg < aid.elevation_deg for aid in seen for one in aid.crossings]
        names = [*(["clear_lower"] if any(lower) else []), *(["clear_higher"] if not all(lower) else [])]
        parts += [f'<p class="small">{esc(said(name))}</p>' for name in names]
    parts += [f"<p>{own(said('seldom', satellite=aid.satellite))}</p>" for aid in sun.aids if not aid.crossings]
    hidden = [aid for aid in sun.aids if aid.outages]
    if hidden:
        minutes = max(one.minutes for aid in hidden for one in aid.outages)
        parts.append(f"<h3>{esc(said('behind_heading'))}</h3><p>{esc(said('behind', minutes=minutes, dish=dish_m))}</p>")
        runs = [(aid.satellite, "; ".join(_season(season, _zone(sun)) for season in _seasons(aid.outages))) for aid in hidden]
        items = "".join(f"<li>{own(said('behind_line', satellite=name, days=days))}</li>" for name, days in runs)
        parts.append(f"<ul>{items}</ul>")
    return f'<section class="sun">{"".join(parts)}</section>'


def _table(sun: SunFinding, seen: list[SunAid]) -> str:
    days: dict[object, dict[str, SunCrossing]] = {}
    for aid in seen:
        for one in aid.crossings:
            days.setdefault(_when(one).date(), {}).setdefault(aid.satellite, one)
    head = f'<th scope="col">{esc(said("col_day"))}</th>' + "".join(f'<th scope="col">{own(aid.satellite)}</th>' for aid in seen)
    rows = []
    for day in sorted(days):  # type: ignore[type-var]
        cells = "".join(f"<td>{esc(_cell(days[day].get(aid.satellite), aid))}</td>" for aid in seen)
        rows.append(f'<tr><th scope="row">{esc(spoken_date(str(day)).rsplit(" ", 1)[0])}</th>{cells}</tr>')
    caption = esc(said("caption", zone=_zone(sun)))
    return f'<table class="number small"><caption>{caption}</caption><thead><tr>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table>'


def _cell(one: SunCrossing | None, aid: SunAid) -> str:
    if one is None:
        return said("cell_none")
    off = round(one.elevation_deg - aid.elevation_deg, 1) + 0.0
    return said("cell", time=_clock(_when(one)), difference=figures(f"{off:+.1f}°").replace("-", "\u2212"))


def _seasons(outages: tuple[SunOutage, ...]) -> list[list[SunOutage]]:
    """Return the outages in runs of days that follow each other."""
    runs: list[list[SunOutage]] = []
    for one in outages:
        if runs and (one.utc - runs[-1][-1].utc).days <= 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _season(days: list[SunOutage], zone: str) -> str:
    best = min(days, key=lambda one: one.separation_deg)
    first, last = _when(days[0]), _when(days[-1])
    if len(days) == 1:
        return said("behind_day", from_day=_day(first), time=_clock(first), zone=zone)
    return said("behind_days", from_day=_day(first), to_day=_day(last), time=_clock(_when(best)), zone=zone, best_day=_day(_when(best)))


def _mark(mark: Landmark) -> str:
    side = said("side_right" if mark.aside_deg >= 0.0 else "side_left")
    values = {"distance_m": mark.distance_m, "bearing": mark.bearing_deg, "kind": kind_word(mark.kind)}
    return said(f"mark_{mark.what}", aside=abs(mark.aside_deg), side=side, **values)


# ---- one dish for several satellites -----------------------------------------------------------------------------------------


def _dish(dish: DishFinding, findings: Findings, *, north: bool) -> str:
    lines = []
    for group in dish.shared:
        aim = group.feeds[0].satellite
        lines.append(said("shared", dish=group.dish_m, aim=aim) + " " + "; ".join(_feed(feed) for feed in group.feeds[1:]) + ".")
    if dish.alone and len(dish.tilts) > 1:
        lines.append(said("alone", names=dish.alone, spread=findings.plan.kit.feed_spread_deg))
    if dish.motor is not None:
        pole = said("north" if north else "south")
        words = "; ".join(_turn(line.satellite, line.motor_deg, line.view) for line in dish.motor.lines)
        lines.append(said("motor", axis=dish.motor.axis_elevation_deg, bend=dish.motor.declination_deg, pole=pole) + f" {words}.")
    known = [(name, tilt) for name, tilt in dish.tilts if math.isfinite(tilt)]
    if known:
        lines.append(said("tilt", steps=", ".join(said("tilt_step", satellite=name, tilt=tilt) for name, tilt in known)))
    else:
        lines.append(said("tilt_unknown"))
    items = "".join(f"<li>{own(line)}</li>" for line in lines)
    return f'<section class="sun"><h2>{esc(said("dish_heading"))}</h2><ul>{items}</ul></section>'


def _feed(feed: Feed) -> str:
    aside = said("aside_right" if feed.aside_deg >= 0.0 else "aside_left", value=abs(feed.aside_deg))
    higher = said("higher" if feed.higher_deg >= 0.0 else "lower", value=abs(feed.higher_deg))
    return said("feed", satellite=feed.satellite, apart=feed.apart_deg, aside=aside, higher=higher, loss=feed.loss_db)


def _turn(satellite: str, motor_deg: float, view: str) -> str:
    seen = said(f"view_{view}")
    if abs(motor_deg) < 0.05:
        return said("motor_middle", satellite=satellite, view=seen)
    return said("motor_line", satellite=satellite, turn=abs(motor_deg), side=said("east" if motor_deg > 0.0 else "west"), view=seen)
