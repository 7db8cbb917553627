"""The sheet's block from antenna to outlet: what each carrier should read there, what to change where it fails, and the kit."""

from __future__ import annotations

import math

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.parts import Change, KitLine, OutletFinding, OutletReading, OutletState
from siteplan.report.html import esc, own
from siteplan.report.sheet_readings import box
from siteplan.words import sentence, sentences
from siteplan.words.formats import listing
from siteplan.words.items import item_name, quantity_of
from siteplan.words.outlets import TEXTS, cn_words, text

_COLUMNS = (
    "col_carrier_name",
    "col_on_cable",
    "col_line",
    "col_level",
    "col_window",
    "col_cn",
    "col_margin",
    "col_passes",
    "col_read_level",
    "col_read_cn",
)


def block(findings: Findings, row: AddressFinding) -> str:
    """Return the section of one address; "" where nothing leads to an outlet."""
    found = row.outlets
    if found is None:
        return ""
    parts = [f'<section class="work outlets"><h2>{esc(text("outlets_heading"))}</h2>']
    if found.profile is not None and found.chain is not None:
        said = [text("outlets_system", system=found.chain.name, profile=found.profile.name), *_antennas(found)]
        parts.append(f"<p>{esc(' '.join(said))}</p>")
    if found.reasons:
        parts.append(f'<p class="caution">{esc(sentences(found.reasons))}</p>')
    groups = _alike(found.outlets)
    parts += [_group(group) for group in groups]
    if groups:
        parts.append(f'<p class="small soft">{esc(text("outlets_note"))}</p>')
    if found.learned:
        parts.append(f'<p class="small">{esc(sentences(found.learned))}</p>')
    if found.if_clear:
        parts.append(f'<p class="small">{esc(text("outlets_if_clear", satellites=listing(list(found.if_clear))))}</p>')
    parts += [_verdict(found), _kit(found), _bring(found), "</section>"]
    return "".join(parts)


def _antennas(found: OutletFinding) -> list[str]:
    """Return which dish serves what where several satellites come in, and what receivers of a single-cable system are set to."""
    said = []
    if sum(len(one.satellites) for one in found.dishes) > 1:
        dishes = [
            text("outlets_dish", dish_m=one.dish_m, satellites=" + ".join(name for name, _ in one.satellites))
            if math.isfinite(one.dish_m)
            else text("outlets_dish_unknown", satellites=" + ".join(name for name, _ in one.satellites))
            for one in found.dishes
        ]
        said.append(text("outlets_dishes", dishes=listing(dishes)))
    bands = [
        f"{item_name(state.outlet)} " + ", ".join(text("outlets_user_band", band=band, mhz=mhz) for band, mhz in state.user_bands)
        for state in found.outlets
        if state.user_bands
    ]
    if bands:
        said.append(text("outlets_user_bands", bands=listing(bands)))
    if len(found.positions) > 1:
        places = [text("outlets_position", satellite=name, position=place + 1) for name, place in found.positions]
        said.append(text("outlets_positions", positions=", ".join(places)))
    return said


def _alike(outlets: tuple[OutletState, ...]) -> list[tuple[OutletState, int]]:
    """Return the weakest outlet of each group that hangs on the same antennas, with how many there are."""
    groups: dict[tuple, list[OutletState]] = {}
    for state in outlets:
        groups.setdefault(tuple(sorted({reading.carrier.source for reading in state.readings})), []).append(state)
    return [(min(group, key=lambda state: (state.passes, _spare(state))), len(group)) for sources, group in groups.items() if sources]


def _spare(state: OutletState) -> float:
    spare = [min(one.margin_db, one.level_dbuv - one.min_dbuv, one.max_dbuv - one.level_dbuv) for one in state.readings]
    return min((-1e9 if math.isnan(value) else value for value in spare), default=0.0)


def _group(group: tuple[OutletState, int]) -> str:
    state, count = group
    names = [esc(text(name)) for name in _COLUMNS]
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    rows = "".join(_reading(reading, names) for reading in state.readings)
    caption = text("outlets_at", outlet=state.outlet) + (". " + text("outlets_same", count=count) if count > 1 else "")
    more = []
    if state.slopes or state.volts:
        slopes = listing([text("outlets_slope", band=band, slope=slope) for band, slope in state.slopes])
        volts = _volts(state)
        more.append(text("outlets_extra", slopes=slopes, volts=volts).strip())
    if state.nearest and not any(reason.code.startswith("outlet_isolation") for reason in state.reasons):
        more.append(text("outlets_apart", isolation=state.isolation_db, other=state.nearest))
    more += [sentence(reason) for reason in state.reasons]
    failing = list(dict.fromkeys(sentence(reason) for reading in state.readings for reason in reading.reasons))
    more += failing[:4]
    note = f'<p class="small">{esc(" ".join(more))}</p>' if more else ""
    return f'<table class="number"><caption>{esc(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{note}'


def _volts(state: OutletState) -> str:
    """Return volts and current at each LNB, those alike told together."""
    alike: dict[tuple[str, str], list[str]] = {}
    for source, volts, current in state.volts:
        alike.setdefault((f"{volts:.1f}", f"{current:.0f}"), []).append(source)
    return " ".join(
        text("outlets_volts", source=listing(names), volts=float(volts), current=float(current))
        for (volts, current), names in alike.items()
    )


def _reading(reading: OutletReading, names: list[str]) -> str:
    unknown = not math.isfinite(reading.level_dbuv)
    tolerance = max(reading.carrier.cn_sigma_db, 2.0)
    cells = [
        own(reading.carrier.name),
        f"{reading.frequency_mhz:.0f}\u00a0MHz",
        esc(reading.carrier.line),
        "–" if unknown else f"{reading.level_dbuv:.0f}\u00a0±\u00a0{2 * reading.level_sigma_db:.0f}\u00a0dBµV",
        f"{reading.min_dbuv:.0f}–{reading.max_dbuv:.0f}",
        "–" if unknown else cn_words(reading.cn_db, tolerance),
        "–" if unknown else f"{reading.margin_db:.0f}\u00a0dB",
        esc(text("yes" if reading.passes else "no")),
        box("level_dbuv", text("col_read_level")),
        box("cn_db", text("col_read_cn")),
    ]
    body = "".join(f'<td data-name="{name}"><span>{cell}</span></td>' for name, cell in zip(names, cells, strict=True))
    given = {"outlet": reading.outlet, "source": reading.carrier.source, "carrier": reading.carrier.name}
    data = "".join(f' data-{name}="{esc(value)}"' for name, value in given.items())
    return f"<tr{data}>{body}</tr>"


def _verdict(found: OutletFinding) -> str:
    if not found.outlets:
        return ""
    if not any(state.readings for state in found.outlets):
        return f"<p>{esc(text('outlets_none_known'))}</p>"
    if all(state.passes for state in found.outlets):
        return f"<p>{esc(text('outlets_all_pass'))}</p>"
    said = f"<strong>{esc(text('outlets_fail'))}</strong>"
    if found.past_help:
        said += " " + esc(text("outlets_past_help", carriers=listing(list(found.past_help))))
    if not found.changes:
        return f"<p>{said} {esc(text('outlets_no_change'))}</p>"
    items = "".join(f"<li>{esc(_change(change))}</li>" for change in found.changes)
    return f"<p>{said} {esc(text('outlets_change'))}</p><ol>{items}</ol>"


def _change(change: Change) -> str:
    said = [sentences(change.what), text("outlets_change_gives", low=change.lowest_dbuv, high=change.highest_dbuv, margin=change.margin_db)]
    return " ".join([*said, text("outlets_change_price", price=change.price)] if change.price > 0.0 else said)


def _bring(found: OutletFinding) -> str:
    if not found.access or not math.isfinite(found.minutes):
        return ""
    access = text(found.access) if found.access in TEXTS else found.access
    return f"<p>{esc(text('outlets_bring', access=access, hours=found.minutes / 60.0))}</p>"


def _kit(found: OutletFinding) -> str:
    if not found.kit:
        return ""
    lines = [_line(line) for line in found.kit]
    return f"<h3>{esc(text('outlets_kit_changed' if found.changes else 'outlets_kit'))}</h3><p>{esc(' · '.join(lines))}</p>"


def _line(line: KitLine) -> str:
    return quantity_of(line.quantity, line.unit, line.part)
