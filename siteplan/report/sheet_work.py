"""What the hands do on a sheet, antenna by antenna: stand, height, aim, read. And the cautions that belong to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import AddressFinding, Findings, LinkLine, SatelliteView
from siteplan.records.places import Spot
from siteplan.records.readings import PORT
from siteplan.records.verdict import State
from siteplan.report.html import esc, number, place_words
from siteplan.report.sheet_readings import attributes, box
from siteplan.words import compass, compass_short, degrees, height, sentence
from siteplan.words.formats import listing
from siteplan.words.language import say
from siteplan.words.pages import text

HEADINGS = {"satellite": "sheet_dish", "terrestrial": "sheet_aerial", "mobile": "sheet_mobile"}
_HIGH_MAST_M = 4.0  # a pole longer than this above what it stands on is called high (common practice, no source)
_UP = ("roof", "chimney")


def dish(findings: Findings, row: AddressFinding) -> str | None:
    """Return the block for the dish, None where there is none to put up."""
    found = row.satellite
    if found is None or found.spot is None or row.verdicts["satellite"].state in (State.NOT_FEASIBLE, State.NOT_JUDGED):
        return None
    views = [view for view in found.views if view.look.elevation_deg > 0 and not _faces_away(view)]
    if not views:
        return None
    unproven = [view.satellite.name for view in views if not math.isfinite(view.dish_m)]
    size = text("dish_any", names=listing(unproven)) if unproven else text("dish_size", size=max(view.dish_m for view in views))
    lines = [
        ("stand", _stand(found.spot)),
        ("height", _height(found.spot, "height_dish", size)),
        ("aim", _dish_aim(views)),
        ("read", _dish_readings(row, views)),
    ]
    return _work("satellite", lines)


def _faces_away(view: SatelliteView) -> bool:
    """Return whether no wall lets the dish turn there: nobody is told to aim at it."""
    return any(reason.code == "sat_wall_faces_away" for reason in view.reasons)


def cautions(row: AddressFinding) -> list[str]:
    """Return the names of the cautions this sheet needs, roofs first where one is climbed."""
    spots = [part.spot for part in (row.satellite, row.terrestrial, row.mobile) if part is not None and part.spot is not None]
    names = ["beware_roof"] if any(spot.kind in _UP for spot in spots) else []
    names += ["beware_ladder", "beware_power", "beware_lightning"]
    if row.satellite is not None and row.satellite.spot is not None:
        names.append("beware_dish")
    return [*names, "beware_mains"]


# ---- pieces ----------------------------------------------------------------------------------------------------------------

BOX = '<span class="box"></span>'


def _work(service: str, lines: Sequence[tuple[str, str]], heading: str = "") -> str:
    items = "".join(entry(esc(text(name)), body) for name, body in lines if body)
    return f'<section class="work for-{service}"><h3>{esc(text(heading or HEADINGS[service]))}</h3><dl>{items}</dl></section>'


def entry(name: str, body: str) -> str:
    """Return one entry of a block; an entry that is for the screen alone leaves no name on paper."""
    css = ' class="screen-only"' if body.startswith('<div class="screen-only">') and body.count("</div>") == 1 else ""
    return f"<div{css}><dt>{name}</dt><dd>{body}</dd></div>"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    names = [esc(text(name)) for name in head]
    top = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = "".join(
        "<tr>" + "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, row, strict=True)) + "</tr>"
        for row in rows
    )
    return f'<table class="number"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'


def _big(words: str) -> str:
    return f'<b class="figure">{words}</b>'


def _bearing(bearing_deg: float) -> str:
    return f"{_big(degrees(bearing_deg))}\u00a0{compass_short(bearing_deg)}"


def _stand(spot: Spot) -> str:
    name = f"stand_{spot.kind}"
    if spot.kind == "wall":
        words = text("stand_wall", compass=compass(spot.facade_deg)) if math.isfinite(spot.facade_deg) else text("stand_wall_any")
    else:
        words = text(name)
    notes = "".join(f'<p class="small">{esc(sentence(note))}</p>' for note in spot.notes)
    caution = f'<p class="caution small">{esc(text("caution_roof"))}</p>' if spot.kind in _UP else ""
    where = place_words(lat_deg=spot.lat_deg, lon_deg=spot.lon_deg)
    return f'<p>{esc(words[0].upper() + words[1:])} <span class="soft small number">{esc(where)}</span></p>{notes}{caution}'


def _height(spot: Spot, name: str, more: str = "") -> str:
    return _pole(spot, text(name, height=height(spot.height_agl_m)), more)


def _pole(spot: Spot, says: str, more: str = "") -> str:
    # ground and roof are known: a pole that rises far above both is a mast
    above = min(spot.height_agl_m, spot.centre_amsl_m - spot.roof_amsl_m) if math.isfinite(spot.roof_amsl_m) else spot.height_agl_m
    words = f"<p>{_emphasised(says, height(spot.height_agl_m))}"
    sea = text("height_sea", height=height(spot.centre_amsl_m))
    words += f' <span class="soft small number">{esc(sea)}</span></p>' + (f"<p>{esc(more)}</p>" if more else "")
    words += f'<p class="caution small">{esc(text("caution_mast" if above > _HIGH_MAST_M else "caution_pole"))}</p>'
    return words


def _emphasised(words: str, figure: str) -> str:
    return esc(words).replace(esc(figure), _big(esc(figure)), 1)


def _dish_aim(views: Sequence[SatelliteView]) -> str:
    rows = [
        [
            esc(view.satellite.name), _bearing(view.look.azimuth_deg), _big(degrees(view.look.magnetic_azimuth_deg)),
            _big(degrees(view.look.elevation_deg)), _lnb(view),
        ]
        for view in views
    ]  # fmt: skip
    table = _table(("col_satellite", "col_true", "col_compass", "col_elevation", "col_lnb"), rows)
    first = next((view for view in views if not _circular(view)), None)
    if first is None or round(abs(first.look.skew_deg)) == 0:
        return table
    how = text("lnb_how", turns=_turn(first.look.skew_deg))
    name = f"{first.satellite.name}: " if len(views) > 1 else ""
    return table + f'<p class="small">{esc(name + how[0].lower() + how[1:] if name else how)}</p>'


def _circular(view: SatelliteView) -> bool:
    ways = {t.polarisation.upper() for t in view.satellite.transponders}
    return bool(ways) and ways <= {"L", "R"}


def _turn(skew_deg: float) -> str:
    turn = round(abs(skew_deg))
    if turn == 0:
        return text("lnb_none")
    if turn == 90:
        return text("lnb_either")
    return text("lnb_clockwise" if skew_deg > 0 else "lnb_anticlockwise", turn=turn)


def _lnb(view: SatelliteView) -> str:
    if _circular(view):
        return esc(text("lnb_circular"))
    turn = _turn(view.look.skew_deg)
    offset = view.satellite.polarisation_offset_deg
    if round(abs(offset)) == 0:
        return _big(esc(turn))
    return esc(text("lnb_offset", turn=turn, more=_turn(offset)))


def _expected(cn_db: float) -> str:
    # below 0 dB, behind what blocks, no meter shows a carrier
    return esc(text("nothing_yet")) if cn_db < 0 else _big(number(cn_db, 0, "dB"))


def chips(lines: Sequence[tuple[str, str, str, str]], css: str = "", heading: str = "") -> str:
    """Return readings to take, side by side: what, what to expect, a box to write in, and what its list entry says of itself; all HTML."""
    items = f'<li class="group">{esc(heading)}</li>' if heading else ""
    items += "".join(f'<li{said}><span>{what}</span> <span class="put">{expect} {box}</span></li>' for what, expect, box, said in lines)
    return f'<ul class="chips number {css}">{items}</ul>'


def at_port(row: AddressFinding, source: str, carrier: str, value: str) -> tuple[str, str]:
    """Return (box, what its entry says of itself) of a reading at the antenna: saved where it was foretold there, else paper alone."""
    one = next((one for one in row.expected if (one.outlet, one.source, one.carrier) == (PORT, source, carrier)), None)
    return (box(value, f"{source} {carrier}"), attributes(one)) if one is not None else (BOX, "")


def _dish_readings(row: AddressFinding, views: Sequence[SatelliteView]) -> str:
    """The carriers to look for first, with what a meter should show: two a satellite where its card lists all, else four."""
    shown: list[tuple[SatelliteView, LinkLine]] = []
    for view in views:
        sizes = {line.dish_m for line in view.links}
        size = view.dish_m if view.dish_m in sizes else min(sizes, default=math.nan)
        lines = [line for line in view.links if line.dish_m == size]
        first = [one.at.transponder.name for one in view.tuning.first] if view.tuning is not None else []
        chosen = sorted((line for line in lines if line.transponder.name in first), key=lambda line: first.index(line.transponder.name))
        shown += [(view, line) for line in (chosen[:2] or lines[:4])]
    if not shown:
        return ""
    sizes = {line.dish_m for _, line in shown}
    rows = []
    for view, line in shown:
        t = line.transponder
        carrier = f"<b>{esc(view.satellite.name)}</b> {esc(carrier_words(t.frequency_mhz, t.polarisation))}"
        rate = f'<span class="soft">{esc(text("kilobaud", rate=t.symbol_rate_kbaud))}</span>'
        rows.append((f"{carrier} {rate}", _expected(line.cn_db), *at_port(row, view.satellite.name, t.name, "cn_db")))
    left_out = listing(list(dict.fromkeys(say(name) for _, line in shown for name in line.left_out)))
    # which dish goes with which satellite stands in its own table where they differ
    name = "ratio_sizes" if len(sizes) > 1 else "ratio_at" if left_out != listing([]) else "ratio_plain"
    note = text(name, size=max(sizes), left_out=left_out)
    return chips(rows) + f'<p class="small soft">{esc(note)}</p>'


def carrier_words(frequency_mhz: float, polarisation: str) -> str:
    """Return "11223 MHz H", unbroken."""
    return text("carrier_at", frequency_mhz=frequency_mhz, polarisation=polarisation.upper()).replace(" ", "\u00a0")


# pieces that the blocks of other files use
big, bearing, stand, pole = _big, _bearing, _stand, _pole
