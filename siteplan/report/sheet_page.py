"""The sheet of one address, for the installer: the answer, then what to do in the order of the hands, then why. Prints to A4."""

from __future__ import annotations

import math

from siteplan.records.findings import AddressFinding, Aim, Findings, SatelliteFinding, SectorLine
from siteplan.records.verdict import SERVICES, State
from siteplan.report import (
    above_plot,
    plots,
    round_plot,
    sheet_link,
    sheet_mobile,
    sheet_outlets,
    sheet_readings,
    sheet_spot,
    sheet_sun,
    sheet_tuning,
    sheet_tv,
    sheet_work,
    spot_code,
)
from siteplan.report.drawing import what_blocks
from siteplan.report.html import asset, css_string, esc, mark, own, place_name, place_words, plan_date, plan_name, spoken_date, state_key
from siteplan.report.html import page as whole_page
from siteplan.words import distance, height, how_sure, sentence, sentences, state_word
from siteplan.words.formats import listing
from siteplan.words.pages import text


def page(findings: Findings, row: AddressFinding) -> str:
    """Return the sheet of one address as a whole page: one file, readable with scripts off, light by default.

    findings  the run, for its plan, terrain and versions
    row       one of its rows; a row that could not be placed gives a sheet that says why
    """
    name = place_name(row)
    title = text("sheet_title", name=name, row=row.row.row)
    head_line = css_string(f"{name} · {text('row', row=row.row.row)}")
    print_css = f"@page {{ @top-left {{ content: {head_line}; }} }}"
    body = "\n".join(
        part
        for part in (
            _head(findings, row, name),
            "<main>",
            _answer(row),
            _do(findings, row, name),
            _near(findings, row, name),
            sheet_sun.block(findings, row),
            sheet_tuning.block(findings, row),
            sheet_link.block(findings, row),
            _more(findings, row),
            _paths(findings, row),
            sheet_readings.block(findings, row),
            sheet_outlets.block(findings, row),
            sheet_readings.save(row),
            _sources(findings, row),
            "</main>",
        )
        if part
    )
    scripts = (asset("sheet.js"),) if 'class="save"' in body else ()
    return whole_page(title, body, styles=(asset("page.css"), asset("sheet.css"), print_css), scripts=scripts, light_only=True)


def _head(findings: Findings, row: AddressFinding, name: str) -> str:
    cells = [cell for cell in dict.fromkeys(row.row.cells.values()) if cell.strip() and cell != name and any(c.isalpha() for c in cell)]
    date = plan_date(findings)
    where = [text("row", row=row.row.row), plan_name(findings), text("for_date", date=date) if date else text("undated")]
    line = " · ".join(f"<span>{own(part)}</span>" for part in where)
    given = f'<p class="given small">{" · ".join(own(cell[:120]) for cell in cells[:4])}</p>' if cells else ""
    words = f'<div><h1>{own(name)}</h1><p class="where soft">{line}</p>{given}</div>'
    return f'<header class="sheet-head">{words}{spot_code.block(row)}</header>'


def _answer(row: AddressFinding) -> str:
    parts = [f'<section class="answer" aria-label="{esc(text("sheet_answer"))}">']
    for service in SERVICES:
        verdict = row.verdicts[service]
        sure = ""
        if verdict.state is not State.NOT_JUDGED:
            sure = (
                f'<p class="sure small soft">{esc(text("how_sure", words=how_sure(verdict.how_sure.level, verdict.how_sure.because)))}</p>'
            )
        head = f'<strong>{esc(state_word(verdict.state))}</strong> <span class="service">{esc(text(f"service_{service}"))}</span>'
        parts.append(
            f'<div class="verdict is-{state_key(verdict.state)}">{mark(verdict.state)}<div><p class="head">{head}</p>'
            f"<p>{esc(sentences(verdict.reasons))}</p>{sure}</div></div>"
        )
    return "".join([*parts, "</section>"])


def _do(findings: Findings, row: AddressFinding, name: str) -> str:
    """What to do, a block for each antenna that goes up, with the cautions beside."""
    works = _works(findings, row)
    if not works:
        return ""  # nothing goes up: the answer above says why
    blocks = []
    for service in SERVICES:
        verdict = row.verdicts[service]
        if service in works:
            blocks.append(works[service])
        elif verdict.state is not State.NOT_JUDGED:
            why = text("sheet_nothing", why=sentence(verdict.reasons[0]))
            heading = f"<h3>{esc(text(sheet_work.HEADINGS[service]))}</h3>"
            blocks.append(f'<section class="work for-{service}">{heading}<p>{esc(why)}</p></section>')
    two = " two" if {"satellite", "terrestrial"} <= {*works} else ""  # side by side on paper
    cautions = "".join(f"<li>{esc(text(name))}</li>" for name in sheet_work.cautions(row))
    return (
        f'<div class="do"><section class="works{two}"><h2>{esc(text("sheet_do"))}</h2>{"".join(blocks)}</section>'
        f'<aside class="beware" aria-labelledby="beware"><h2 id="beware">{esc(text("beware"))}</h2>'
        f"<p><strong>{esc(text('beware_first'))}</strong></p><ul>{cautions}</ul></aside></div>"
    )


def _works(findings: Findings, row: AddressFinding) -> dict[str, str]:
    """Return the block of each antenna that goes up, by service."""
    found = {"satellite": sheet_work.dish(findings, row), "terrestrial": sheet_tv.block(findings, row)}
    found["mobile"] = sheet_mobile.block(findings, row)
    return {service: block for service, block in found.items() if block is not None}


def _more(findings: Findings, row: AddressFinding) -> str:
    """What the hands no longer need: TV channel by channel, the other cells of mobile internet."""
    parts = sheet_tv.more(findings, row) + sheet_mobile.more(findings, row)
    note = f'<p class="print-only small soft">{esc(text("on_screen"))}</p>'
    return f'<div class="more">{parts}</div>{note}' if parts else ""


# ---- pictures ------------------------------------------------------------------------------------------------------------


def _both(draw: object, key: str, title: str, **how: object) -> str:
    """Return the drawing for paper and desk and the one for a phone; styles show one of them."""
    wide = draw(key=key, title=title, **how)  # type: ignore[operator]
    return wide + draw(key=f"{key}-slim", title=title, slim=True, **how) if wide else ""  # type: ignore[operator]


def _figure(drawing: str, heading: str, caption: str, more: str = "", css: str = "", level: int = 2) -> str:
    if not drawing:
        return ""
    return f'<figure class="{css}"><h{level}>{esc(heading)}</h{level}>{drawing}<figcaption>{esc(caption)}</figcaption>{more}</figure>'


def _near(findings: Findings, row: AddressFinding, name: str) -> str:
    """The skyline, and beside it the place from above; the skyline once more looking up, folded."""
    parts = _skyline(findings, row, name) + sheet_spot.block(findings, row, name) + _above(row, name)
    found = row.satellite
    if found is not None and found.skyline is not None:
        drawing = round_plot.round_skyline(found, key="round", title=text("round_title", name=name, what=_looks(found)))
        if drawing:
            parts += (
                f'<details class="round"><summary>{esc(text("round"))}</summary><figure>{drawing}'
                f"<figcaption>{esc(text('round_caption'))}</figcaption></figure></details>"
            )
    return f'<div class="around">{parts}</div>' if parts else ""


def _looks(found: SatelliteFinding) -> str:
    return " ".join(
        text("skyline_view", satellite=view.satellite.name, azimuth=view.look.azimuth_deg, elevation=view.look.elevation_deg)
        for view in found.views
    )


def _skyline(findings: Findings, row: AddressFinding, name: str) -> str:
    found = row.satellite
    if found is None or found.skyline is None:
        return ""
    limits = findings.plan.limits
    what = _looks(found)
    drawing = _both(
        lambda **how: plots.skyline(found, limits, **how),
        "sky",
        text("skyline_title", name=name, what=what + " " + sentences(row.verdicts["satellite"].reasons)),
    )
    caption = [text("skyline_caption", height=height(found.spot.height_agl_m if found.spot else math.nan))]
    if 'class="growth"' in drawing:
        caption.append(text("skyline_growth", years=limits.growth_years, rate=limits.growth_m_per_year))
    if 'class="sun"' in drawing:
        caption.append(sheet_sun.path_words(found))
    if "-h)" in drawing:
        caption.append(text("skyline_unknown"))
    stretches = listing([text("stretch", from_deg=a, to_deg=b) for a, b in found.visible_arc])
    arc = text("visible_arc", stretches=stretches) if found.visible_arc else text("visible_arc_none")
    return _figure(drawing, text("skyline"), " ".join(caption), f'<p class="small">{esc(arc)}</p>', "sky")


def _above(row: AddressFinding, name: str) -> str:
    if row.satellite is not None and row.satellite.spots is not None:
        return ""  # the plot to scale stands for it
    ways, views = [], ()
    facade = math.nan
    if row.satellite is not None:
        views = row.satellite.views
        ways = [above_plot.Direction(v.satellite.name, v.look.azimuth_deg, dish=True) for v in views if v.look.elevation_deg > 0]
        facade = row.satellite.spot.facade_deg if row.satellite.spot else math.nan
    if row.terrestrial is not None and row.terrestrial.aims:
        ways.append(above_plot.Direction(row.terrestrial.aims[0].transmitter.name, row.terrestrial.aims[0].bearing_deg))
    if row.mobile is not None and row.mobile.lines:
        ways.append(above_plot.Direction(row.mobile.lines[0].sector.site, row.mobile.lines[0].bearing_deg))
    if not ways:
        return ""
    what = ", ".join(text("above_way", name=way.name, bearing=way.bearing_deg) for way in ways)
    drawing = above_plot.from_above(ways, views, facade_deg=facade, key="above", title=text("above_title", name=name, what=what))
    caption = text("above_caption")
    if 'class="wedge"' in drawing:
        things = [
            text("above_thing", satellite=v.satellite.name, what=what_blocks(seen.kind, seen.distance_m, seen.obstacle_agl_m))
            for v in views
            if (seen := v.clearance) is not None and seen.state in ("partly", "blocked")
        ]
        caption = " ".join([text("above_caption_wedge"), *things])
    return _figure(drawing, text("above"), caption, css="above")


def _paths(findings: Findings, row: AddressFinding) -> str:
    parts = []
    for place, aim in enumerate(row.terrestrial.aims[:2] if row.terrestrial else ()):
        if aim.profile is not None and aim.lines:
            weakest = min(aim.lines, key=lambda line: line.margin_db)
            parts.append(
                _path(
                    findings,
                    aim,
                    aim.transmitter.name,
                    weakest.multiplex.frequency_mhz,
                    f"tv{place}",
                    text("path_tv", name=aim.transmitter.name),
                )
            )
    for line in row.mobile.lines[:1] if row.mobile else ():
        if line.profile is not None:
            parts.append(
                _path(findings, line, line.sector.site, line.sector.frequency_mhz, "mob", text("path_mobile", name=line.sector.site))
            )
    if not parts:
        return ""
    caption = f'<p class="small soft">{esc(text("path_caption"))}</p>'
    return f'<section class="paths"><h2>{esc(text("paths"))}</h2>{caption}<div class="pairs">{"".join(parts)}</div></section>'


def _path(findings: Findings, way: Aim | SectorLine, sender: str, frequency_mhz: float, key: str, heading: str) -> str:
    what = text("path_open")
    if math.isfinite(way.ray_blocked_m) and math.isfinite(way.diffraction_db):
        what = text("path_costs", distance_m=way.ray_blocked_m, loss_db=way.diffraction_db)
    drawing = plots.path(
        way.profile, findings.plan.limits, sender=sender, tx_height_agl_m=way.tx_height_agl_m, rx_height_agl_m=way.rx_height_agl_m,
        frequency_mhz=frequency_mhz, blocked_m=way.ray_blocked_m, diffraction_db=way.diffraction_db, key=key,
        title=text("path_title", name=sender, distance=distance(way.distance_m), what=what),
    )  # fmt: skip
    again = ""
    if way.path_command:
        again = (
            f'<details class="again"><summary>{esc(text("path_again"))}</summary>'
            f'<p class="command"><code>{esc(way.path_command)}</code></p></details>'
        )
    return _figure(drawing, heading, what, again, "path", level=3)


# ---- where the numbers come from -----------------------------------------------------------------------------------------


def _sources(findings: Findings, row: AddressFinding) -> str:
    lines = []
    address = row.row.address
    if address is not None:
        ground = height(row.ground_amsl_m)
        error = distance(address.position_error_m)
        lines.append(text("source_place", place=place_words(lat_deg=address.lat_deg, lon_deg=address.lon_deg), ground=ground, error=error))
    if row.satellite is not None and row.satellite.views:
        lines.append(text("source_look"))
        if math.isfinite(row.declination_deg):
            side = text("side_east" if row.declination_deg >= 0 else "side_west")
            lines.append(text("source_compass", declination=abs(row.declination_deg), side=side))
        lines += [text("source_air"), text("source_edge")]
        if any(view.links for view in row.satellite.views):
            lines.append(text("source_link", loss=findings.plan.kit.implementation_loss_db))
    if (row.terrestrial and row.terrestrial.aims) or (row.mobile and row.mobile.lines):
        lines.append(text("source_path"))
    if findings.terrain:
        lines.append(text("source_ground", layers="; ".join(layer_line(layer) for layer in findings.terrain)))
    versions = findings.made_with.get("versions")
    version = versions.get("siteplan", "") if isinstance(versions, dict) else ""
    date = plan_date(findings) or text("undated")
    lines.append(text("source_made", version=version, date=date).replace("  ", " "))
    items = "".join(f"<li>{esc(line)}</li>" for line in lines)
    return f'<section class="sources"><h2>{esc(text("sources"))}</h2><ul class="small">{items}</ul></section>'


def layer_line(layer: object) -> str:
    """Return one terrain layer in words, from the mapping that `check` prints."""
    facts: dict = dict(layer)  # type: ignore[call-overload]
    name = str(facts.get("name") or facts.get("ground") or "")
    if "cell_m" not in facts:
        return text("layer_plain", name=name)
    buildings, trees = bool(facts.get("knows_buildings")), bool(facts.get("knows_trees"))
    known = "layer_both" if buildings and trees else "layer_buildings" if buildings else "layer_trees" if trees else "layer_neither"
    flown = text("layer_flown", date=spoken_date(str(facts["flown_on"]))) if facts.get("flown_on") else text("layer_undated")
    return text("layer_line", name=name, cell_m=float(facts["cell_m"]), known=text(known), flown=flown)
