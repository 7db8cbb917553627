"""The expected spectrum of one satellite behind the LNB: a strip for each sub-band, a block for each carrier, a line for the reading."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.tuning import Tuning, TuningLine
from siteplan.report.drawing import LETTER, SLIM, WIDE, Frame, Labels, nice_step, svg
from siteplan.report.html import esc
from siteplan.words.formats import listing
from siteplan.words.tuning import said, sub_band

_ORDER = ("VL", "HL", "VH", "HH", "RL", "LL", "RH", "LH", "V", "H", "R", "L")
_GROUND = ((1452.0, 1492.0), (1805.0, 1880.0), (1880.0, 1900.0), (2110.0, 2150.0))  # as radio.lnb.GROUND_BANDS; a test holds them together
_READ_PX, _PLOT_PX, _ROW_PX, _HEAD_PX, _FOOT_PX = 46.0, 50.0, 108.0, 34.0, 30.0
_FLOOR_DB = -12.0


def chart(tuning: Tuning, *, satellite: str, key: str, slim: bool | None) -> str:
    """Return one drawing: a strip for each sub-band in use, in the order of a multiswitch's inputs, over one axis of MHz on the cable."""
    bands = sorted({line.at.sub_band for line in tuning.lines}, key=lambda code: _ORDER.index(code) if code in _ORDER else len(_ORDER))
    ends = _ends(tuning.lines)
    floor_db = min((_FLOOR_DB, *(line.level_db - 3.0 for line in tuning.lines if math.isfinite(line.level_db))))
    across, high = (WIDE if slim is False else SLIM), _ROW_PX * len(bands) + _FOOT_PX
    parts, what = [], []
    for place, band in enumerate(bands):
        lines = [line for line in _once(tuning.lines) if line.at.sub_band == band]
        top = place * _ROW_PX + _HEAD_PX
        frame = Frame(34.0, top, across - 8.0, top + _PLOT_PX, *ends, floor_db, 0.0)
        parts += _strip(frame, lines, band, last=band == bands[-1], slim=slim is not False)
        what.append(f"{sub_band(band)}: {listing([_words(line) for line in lines])}")
    title = said("spectrum_title", satellite=satellite, what="; ".join(what))
    return svg(across, high, parts, title=title, key=key, slim=slim)


def _once(lines: Sequence[TuningLine]) -> list[TuningLine]:
    """Return one line for each carrier: streams of one carrier are one block; the first to tune where there is one."""
    seen: dict[tuple[float, str], TuningLine] = {}
    for line in lines:
        place = (line.at.transponder.frequency_mhz, line.at.transponder.polarisation)
        if place not in seen or (line.first and not seen[place].first):
            seen[place] = line
    return sorted(seen.values(), key=lambda line: line.at.if_mhz)


def _ends(lines: Sequence[TuningLine]) -> tuple[float, float]:
    low, high = min(line.at.low_mhz for line in lines), max(line.at.high_mhz for line in lines)
    return (950.0, 2150.0) if low >= 930.0 and high <= 2175.0 else (low - 20.0, high + 20.0)


def _strip(frame: Frame, lines: Sequence[TuningLine], band: str, *, last: bool, slim: bool) -> list[str]:
    name = sub_band(band)
    parts = [_stripe(frame, *stripe) for stripe in _GROUND if stripe[0] < frame.x1 and stripe[1] > frame.x0]
    parts += _axes(frame, 4 if slim else 12, last=last)
    parts.append(f'<text x="{frame.left:.0f}" y="{frame.top - 20:.1f}" class="strong">{esc(name[0].upper() + name[1:])}</text>')
    labels = Labels(Frame(frame.left, 0, frame.right, frame.bottom, frame.x0, frame.x1, frame.y0, frame.y1))
    labels.taken.append((frame.left, frame.top - 31.0, frame.left + LETTER * 1.06 * len(name) + 8.0, frame.top - 17.0))
    parts += [_block(frame, line) for line in lines]
    parts += [_label(frame, labels, line) for line in sorted(lines, key=lambda line: line.first or 9)]
    return parts + _readings(frame, lines)


def _words(line: TuningLine) -> str:
    level = said("level_db", level=line.level_db).replace("-", "\u2212") if math.isfinite(line.level_db) else said("level_unknown")
    return said("spectrum_block", name=line.at.transponder.name, if_mhz=line.at.if_mhz, width=line.at.occupied_mhz, level=level)


def _stripe(frame: Frame, low: float, high: float) -> str:
    x0, x1 = frame.x(max(low, frame.x0)), frame.x(min(high, frame.x1))
    return f'<rect class="ground-band" x="{x0:.1f}" y="{frame.top:.1f}" width="{x1 - x0:.1f}" height="{frame.bottom - frame.top:.1f}"/>'


def _axes(frame: Frame, most: int, *, last: bool) -> list[str]:
    parts = []
    for level in range(0, int(frame.y0) - 1, -6):
        sign = f"\u2212{-level}" if level else "0"
        parts.append(f'<path class="grid" d="M{frame.left} {frame.y(level):.1f}H{frame.right}"/>')
        parts.append(f'<text x="{frame.left - 5:.1f}" y="{frame.y(level) + 4:.1f}" class="tick-word end">{sign}</text>')
    parts.append(f'<path class="axis" d="M{frame.left} {frame.top}V{frame.bottom}H{frame.right}"/>')
    step = nice_step(frame.x1 - frame.x0, most)
    at = math.ceil(frame.x0 / step) * step
    foot = frame.bottom + _ROW_PX - _PLOT_PX - _HEAD_PX + 14.0
    while at <= frame.x1 + 1e-9:
        x = frame.x(at)
        parts.append(f'<path class="axis" d="M{x:.1f} {frame.bottom:.1f}v4"/>')
        if last:
            parts.append(f'<text x="{x:.1f}" y="{foot:.1f}" class="tick-word middle">{at:.0f}</text>')
        at += step
    if last:
        parts.append(f'<text x="{frame.right:.1f}" y="{foot + 14:.1f}" class="soft end">{esc(said("axis_if"))}</text>')
        parts.append(f'<text x="0" y="{foot + 14:.1f}" class="soft">{esc(said("axis_db"))}</text>')
    return parts


def _block(frame: Frame, line: TuningLine) -> str:
    known = math.isfinite(line.level_db)
    x0, x1 = frame.x(line.at.low_mhz), frame.x(line.at.high_mhz)
    top = frame.y(line.level_db if known else 0.5 * frame.y0)
    css = "carrier" + (" first" if line.first else "") + ("" if known else " unknown")
    return f'<rect class="{css}" x="{x0:.1f}" y="{top:.1f}" width="{x1 - x0:.1f}" height="{frame.bottom - top:.1f}"/>'


def _label(frame: Frame, labels: Labels, line: TuningLine) -> str:
    """Return a carrier's name over its block where there is room; those to tune first come first."""
    top = frame.y(line.level_db if math.isfinite(line.level_db) else 0.5 * frame.y0)
    name = ("\u2605 " if line.first else "") + line.at.transponder.name[:14]
    x, wide = frame.x(line.at.if_mhz), LETTER * len(name)
    room = (x - wide / 2, top - 15.0, x + wide / 2, top - 1.0)
    crowded = any(room[0] < b[2] and b[0] < room[2] and room[1] < b[3] and b[1] < room[3] for b in labels.taken)
    if crowded and not line.first:
        return ""
    return labels.put(x, top - 4.0, name, css="halo" + (" strong" if line.first else ""), step=-13.0)


def _readings(frame: Frame, lines: Sequence[TuningLine]) -> list[str]:
    """Return an empty line under each block for the reading, as many as fit side by side, those to tune first before the others."""
    taken: list[float] = []
    for line in sorted(lines, key=lambda line: line.first or 9):
        x = min(max(frame.x(line.at.if_mhz), frame.left + _READ_PX / 2), frame.right - _READ_PX / 2)
        if all(abs(x - other) >= _READ_PX + 6.0 for other in taken):
            taken.append(x)
    y = frame.bottom + 22.0
    parts = [f'<path class="write" d="M{x - _READ_PX / 2:.1f} {y:.1f}h{_READ_PX}"/>' for x in sorted(taken)]
    return [*parts, f'<text x="0" y="{y:.1f}" class="soft">{esc(said("read"))}</text>']
