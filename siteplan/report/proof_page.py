"""The report of one installation: what was measured beside what was expected, pass or fail, pictures, signatures. Prints to A4."""

from __future__ import annotations

import math

from siteplan.records.proof import Proof
from siteplan.records.readings import MOST_CN_DB, Compared, Expected, Installation, Reading
from siteplan.report import plots
from siteplan.report.html import asset, css_string, esc, own, plan_date, plan_name
from siteplan.report.html import page as whole_page
from siteplan.words import sentence, sentences
from siteplan.words.formats import listing, number
from siteplan.words.items import quantity_of
from siteplan.words.outlets import cn_most
from siteplan.words.proof import text
from siteplan.words.readings import limits_word, place

_UNREAD = Reading("", 0, "", "", "", "")
_CELL_COLUMNS = (
    "col_cell", "col_strength", "col_strength_expected", "col_strength_wanted", "col_ratio", "col_ratio_expected", "col_margin",
    "col_passes",
)  # fmt: skip
_COLUMNS = (
    "col_carrier_name", "col_level", "col_level_expected", "col_window", "col_cn", "col_cn_expected", "col_margin", "col_passes",
)  # fmt: skip


def page(proof: Proof) -> str:
    """Return the report as a whole page: one file, readable with scripts off."""
    done = proof.installation
    name = done.name or done.id
    title = text("proof_title", name=name)
    parts = [
        f'<header><h1>{own(title)}</h1><p class="where soft">{_where(proof)}</p></header><main>',
        _answer(done),
        _means(done),
        _readings(done),
        _kit(proof),
        _skyline(proof, name),
        _pictures(proof),
        _signatures(done),
        _cautions(),
        "</main>",
    ]
    top = css_string(title)
    print_css = f"@page {{ @top-left {{ content: {top}; }} }}"
    styles = (asset("page.css"), asset("sheet.css"), asset("proof.css"), print_css)
    return whole_page(title, "\n".join(part for part in parts if part), styles=styles, light_only=True)


def _where(proof: Proof) -> str:
    done = proof.installation
    pieces = [text("proof_lead", row=done.row, id=done.id), plan_name(proof.findings), plan_date(proof.findings)]
    return " · ".join(own(piece) for piece in pieces if piece)


def answer_of(done: Installation) -> str:
    """Return the answer in one sentence: all pass, some do not, or nothing is proved."""
    count, failed = len(done.compared), sum(one.passes is False for one in done.compared)
    passed = sum(one.passes is True for one in done.compared)
    if failed:
        return text("proof_fail", failed=failed, count=count)
    if not passed:
        return text("proof_none")
    if passed < len(done.expected):
        return text("proof_pass_part", passed=passed, count=count, unread=len(done.expected) - count, expected=len(done.expected))
    return text("proof_pass", count=count)


def weakest_of(done: Installation) -> Compared | None:
    """Return the carrier with the least to spare, None where no carrier-to-noise was read."""
    known = [one for one in done.compared if math.isfinite(one.margin_db) and one.passes is not None]
    return min(known, key=lambda one: one.margin_db, default=None)


def _answer(done: Installation) -> str:
    lines = [f'<p class="lead"><strong>{esc(answer_of(done))}</strong></p>']
    dead = [one.expected.carrier for one in done.compared if not one.reading.locked]
    if dead:
        lines.append(f"<p>{esc(text('proof_dead', carriers=listing(dead)))}</p>")
    weakest = weakest_of(done)
    if weakest is not None:
        one = weakest.expected
        said = text("proof_weakest", carrier=one.carrier, source=one.source, outlet=place(one.outlet), margin_db=weakest.margin_db)
        lines.append(f"<p>{esc(said)}</p>")
    if done.expected:
        lines.append(f'<p class="small soft">{esc(_limits(done))}</p>')
    days = sorted({one.reading.taken_at[:10] for one in done.compared if one.reading.taken_at})
    who = sorted({one.reading.installer for one in done.compared if one.reading.installer})
    meters = sorted({one.reading.meter for one in done.compared if one.reading.meter})
    said = [text("proof_when", when=listing(days)) if days else text("proof_when_unknown")]
    said += [text("proof_who", who=listing(who))] if who else []
    said += [text("proof_meter", meter=listing(meters))] if meters else []
    lines.append(f'<p class="small">{esc(" ".join(said))}</p>')
    if done.expected_changed:
        lines.append(f'<p class="caution">{esc(text("proof_expected_changed", when=signed_when(done)))}</p>')
    if done.files_changed:
        lines.append(f'<p class="caution">{esc(text("proof_files_changed", files=listing(done.files_changed)))}</p>')
    if done.changed_after_signing:
        lines.append(f'<p class="caution"><strong>{esc(text("proof_changed", when=signed_when(done)))}</strong></p>')
    elif not done.expected_changed:
        signed = text("proof_signed", when=signed_when(done)) if done.signed_at else text("proof_unsigned")
        lines.append(f'<p class="small">{esc(signed)}</p>')
    return f'<section class="answer">{"".join(lines)}</section>'


def signed_when(done: Installation) -> str:
    """Return when it was signed as people write it."""
    return done.signed_at.replace("T", " ").replace("+00:00", " UTC")


def _limits(done: Installation) -> str:
    names = list(dict.fromkeys(one.profile for one in done.expected if one.service != "mobile"))
    said = [text("proof_profile", profile=listing(names))] if names else []
    cells = list(dict.fromkeys(limits_word(one.profile) for one in done.expected if one.service == "mobile"))
    return " ".join(said + ([text("proof_profile_cells", profile=listing(cells))] if cells else []))


def _means(done: Installation) -> str:
    if not done.findings:
        return ""
    items = "".join(f"<li>{esc(sentence(reason))}</li>" for reason in done.findings)
    return f'<section><h2>{esc(text("proof_means"))}</h2><ul class="plain">{items}</ul></section>'


def _readings(done: Installation) -> str:
    groups: dict[tuple[str, str], list[Compared | Expected]] = {}
    read = {_key(one.expected): one for one in done.compared}
    for line in done.expected:  # all that is wanted, whether anyone read it or not
        groups.setdefault((line.source, line.outlet), []).append(read.get(_key(line), line))
    wanted = {_key(line) for line in done.expected}
    for one in done.compared:
        if _key(one.expected) not in wanted:
            groups.setdefault((one.expected.source, one.expected.outlet), []).append(one)
    parts = [f'<section class="work"><h2>{esc(text("proof_readings"))}</h2>']
    for (source, outlet), group in groups.items():
        names = [esc(text(name)) for name in (_CELL_COLUMNS if _line(group[0]).service == "mobile" else _COLUMNS)]
        head = "".join(f'<th scope="col">{name}</th>' for name in names)
        rows = "".join(_row(one, names) for one in group)
        again = f'<tr class="again"><th colspan="{len(names)}">{own(text("proof_caption", source=source, outlet=place(outlet)))}</th></tr>'
        caption = f"<caption>{own(text('proof_caption', source=source, outlet=place(outlet)))}</caption>"
        parts.append(f'<table class="number pair">{caption}<thead>{again}<tr>{head}</tr></thead><tbody>{rows}</tbody></table>')
    if done.older:
        parts.append(f'<p class="small soft">{esc(text("proof_older", count=len(done.older)))}</p>')
    return "".join([*parts, "</section>"])


def _line(one: Compared | Expected) -> Expected:
    return one.expected if isinstance(one, Compared) else one


def _key(one: Expected) -> tuple[str, str, str]:
    return one.source, one.outlet, one.carrier


def _row(one: Compared | Expected, names: list[str]) -> str:
    expected = _line(one)
    if isinstance(one, Expected):
        one = Compared(_UNREAD, expected, math.nan, math.nan, math.nan, None)
    noise = one.ratio_db
    pci = one.reading.pci
    served = f'<br><span class="small soft">{own(text("proof_pci", pci=pci))}</span>' if pci else ""
    passes = {True: text("yes"), False: text("no"), None: text("open")}[one.passes] if one.reading is not _UNREAD else text("unread")
    errors = (("proof_ber_pre", one.reading.pre_ber), ("proof_ber_post", one.reading.post_ber))
    said = [sentence(reason) for reason in (*one.reasons, *one.reading.notes)]
    said += [text(name, ber=_power(value)) for name, value in errors if math.isfinite(value)]
    notes = "; ".join(said)
    if expected.service == "mobile":
        figures = [_figure(one.reading.rsrp_dbm, 0), _figure(expected.rsrp_dbm, 0), _figure(expected.min_dbm, 0)]
    else:
        figures = [_figure(one.reading.level_dbuv, 0), _figure(expected.level_dbuv, 0), _window(expected)]
    cells = [
        own(expected.carrier) + served,
        *figures,
        _figure(noise, 1),
        _expected_cn(expected.cn_db),
        _figure(one.margin_db, 1),
        f"<strong>{esc(passes)}</strong>" + (f'<br><span class="small soft">{esc(notes)}</span>' if notes else ""),
    ]
    body = "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True))
    return f"<tr>{body}</tr>"


def _power(value: float) -> str:
    """Return 2e-5, without the noughts that computers put in."""
    digits, _, exponent = f"{value:.0e}".partition("e")
    return f"{digits}e{int(exponent)}" if value else "0"


def _window(expected: Expected) -> str:
    if not (math.isfinite(expected.min_dbuv) and math.isfinite(expected.max_dbuv)):
        return "–"
    return f"{expected.min_dbuv:.0f}–{expected.max_dbuv:.0f}"


def _expected_cn(cn_db: float) -> str:
    return esc(cn_most()) if cn_db > MOST_CN_DB else _figure(cn_db, 1)


def _figure(value: float, decimals: int) -> str:
    return number(value, decimals) if math.isfinite(value) else "–"


def _kit(proof: Proof) -> str:
    said = list(dict.fromkeys(one.reading.kit for one in proof.installation.compared if one.reading.kit))
    planned = proof.row.outlets.kit if proof.row.outlets else ()
    items = said or [quantity_of(line.quantity, line.unit, line.part) for line in planned]
    if not items:
        return ""
    return f"<section><h2>{esc(text('proof_kit'))}</h2><p>{' · '.join(own(item) for item in items)}</p></section>"


def _skyline(proof: Proof, name: str) -> str:
    found = proof.row.satellite
    if found is None or found.skyline is None:
        return ""
    title = text("proof_skyline_title", name=name) + ". " + sentences(proof.row.verdicts["satellite"].reasons)
    drawing = plots.skyline(found, proof.findings.plan.limits, key="sky", title=title)
    slim = plots.skyline(found, proof.findings.plan.limits, key="sky-slim", title=title, slim=True) if drawing else ""
    return f'<figure class="sky"><h2>{esc(text("proof_skyline"))}</h2>{drawing}{slim}</figure>' if drawing else ""


def _pictures(proof: Proof) -> str:
    if not proof.pictures and not proof.listed:
        return ""
    shown = "".join(
        f'<figure><img alt="{esc(one.name)}" src="{esc(one.data_url)}"><figcaption>{own(one.name)}</figcaption></figure>'
        for one in proof.pictures
    )
    listed = "".join(f"<li>{own(text('proof_picture_listed', name=name, digest=digest))}</li>" for name, digest in proof.listed)
    heading = f"<h2>{esc(text('proof_pictures'))}</h2>"
    return f'<section class="pictures">{heading}<div class="shown">{shown}</div><ul class="plain small soft">{listed}</ul></section>'


def _signatures(done: Installation) -> str:
    lines = "".join(
        f'<div class="sign"><span></span><p class="small">{esc(text(name))}</p></div>'
        for name in ("proof_sign_installer", "proof_sign_customer")
    )
    hashed = f'<p class="small soft">{esc(text("proof_hash", digest=done.digest))}</p>'
    return f'<section class="signatures"><h2>{esc(text("proof_sign"))}</h2><div>{lines}</div>{hashed}</section>'


def _cautions() -> str:
    items = "".join(f"<li>{esc(text(name))}</li>" for name in ("proof_caution_mains", "proof_caution_roof", "proof_caution_rain"))
    return f'<aside class="beware"><h2>{esc(text("proof_cautions"))}</h2><ul>{items}</ul></aside>'
