"""Maps of an area inside the map page: each question's cells as a small picture of codes, and its sentence and scale as legend.

The page's script colours the codes and says what a code means under the pointer, so that what is seen and what is said never differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from siteplan.records.findings import Overlay
from siteplan.report.html import esc
from siteplan.report.png import data_uri, grey_png
from siteplan.words.language import FOOT_M, INCH_M, figures, say, spoken
from siteplan.words.place import place_text

MOST_CODE, NONE_CODE, UNKNOWN_CODE = 250, 254, 255
PREFIX = "area-"
# cividis (Nuñez, Anderton and Renslow 2018), every sixteenth of the scale
CIVIDIS = (
    "00224e", "002e6a", "1a386f", "32436d", "434e6c", "535a6d", "61656f", "6f7073", "7d7c78", "8c8878", "9b9476", "aba072", "bcae6c",
    "cdbb63", "dec958", "f0d846", "fee838",
)  # fmt: skip
_NICE = (1.0, 2.0, 5.0, 10.0)
_COMMON = 0.02  # the scale's ends: beyond them lie two in a hundred cells at either end


def overlay_key(overlay: Overlay) -> str:
    """Return the short name that page, script and the page's own address know a question by."""
    return PREFIX + overlay.name


def kind_of(overlay: Overlay) -> str:
    """Return how a question is drawn: "seen" (dots), "count" (steps of a scale), "names" (patterns) or "quantity" (a scale)."""
    if overlay.values.dtype.kind == "f":
        return "quantity"
    if any(key for _, key, _ in overlay.classes):
        return "seen"
    return "count" if overlay.classes and all(words.isdigit() for _, _, words in overlay.classes) else "names"


def rows_question(overlay: Overlay, questions: Sequence[str]) -> int:
    """Return which question of the addresses goes with a map of the area: the marks on it answer that one."""
    head, _, tail = overlay.name.partition("-")
    service = "terrestrial" if head == "tv" or tail == "terrestrial" else "mobile" if "mobile" in (head, tail) else "satellite"
    wanted = f"satellite-{tail}" if head in ("sees", "rain") else service
    return questions.index(wanted if wanted in questions else "satellite")


def overlay_data(overlays: Sequence[Overlay], questions: Sequence[str]) -> list[dict[str, object]]:
    """Return what the page's script is given of each question, ready for JSON."""
    nobody_knows = _nobody_knows(overlays)
    return [_one(_in_units(overlay), rows_question(overlay, questions), nobody_knows) for overlay in overlays]


def _in_units(overlay: Overlay) -> Overlay:
    """Return a map of heights in the units that people read."""
    if spoken().units != "feet" or not _can_be_none(overlay):
        return overlay
    if overlay.name != "mount-height":
        return replace(overlay, values=overlay.values / np.float32(INCH_M), threshold=overlay.threshold / INCH_M, unit="in")
    return replace(overlay, values=overlay.values / np.float32(FOOT_M), threshold=overlay.threshold / FOOT_M, unit="ft")


def _one(overlay: Overlay, about: int, nobody_knows: np.ndarray | None) -> dict[str, object]:
    kind = kind_of(overlay)
    made: dict[str, object] = {
        "key": overlay_key(overlay),
        "kind": kind,
        "about": about,
        "bounds": [[overlay.south_deg, overlay.west_deg], [overlay.north_deg, overlay.east_deg]],
        "say": _say(overlay, kind),
    }
    if kind != "quantity":
        made["classes"] = [[code, key, say(words) if key else words] for code, key, words in overlay.classes]
        return made | {"picture": data_uri(grey_png(overlay.values, smooth=False))}
    codes, start, step = quantised(overlay.values)
    if _can_be_none(overlay) and nobody_knows is not None and nobody_knows.shape == codes.shape:
        codes = np.where((codes == UNKNOWN_CODE) & ~nobody_knows, NONE_CODE, codes).astype(np.uint8)
    made |= {"from": start, "step": step, "scale": list(scale_of(overlay)), "decimals": int(overlay.unit in ("m", "ft"))}
    if math.isfinite(overlay.threshold):
        made |= {"threshold": round(overlay.threshold, 3), "threshold_words": overlay.threshold_words}
    return made | {"picture": data_uri(grey_png(codes, smooth=True))}


def _can_be_none(overlay: Overlay) -> bool:
    """Return whether a cell without a value can mean that nothing helps there: heights and dishes."""
    return overlay.name == "mount-height" or overlay.name.startswith("dish-")


def _nobody_knows(overlays: Sequence[Overlay]) -> np.ndarray | None:
    """Return where the view of some satellite is unknown: there no height is known either, elsewhere none helps."""
    unknown = None
    for overlay in overlays:
        if kind_of(overlay) == "seen":
            codes = [code for code, key, _ in overlay.classes if key == "unknown"]
            here = np.isin(overlay.values, [*codes, UNKNOWN_CODE])
            unknown = here if unknown is None else unknown | here
    return unknown


def quantised(values: np.ndarray) -> tuple[np.ndarray, float, float]:
    """Return (codes, value of code 0, step): 255 where unknown. Tenths are kept whole where the range allows."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(values.shape, UNKNOWN_CODE, np.uint8), 0.0, 0.1
    least, most = float(values[known].min()), float(values[known].max())
    start = math.floor(least * 10.0) / 10.0
    step = max(1, math.ceil((most - start) / MOST_CODE * 10.0 - 1e-6)) / 10.0
    codes = np.full(values.shape, UNKNOWN_CODE, np.uint8)
    codes[known] = np.clip(np.rint((values[known] - start) / step), 0, MOST_CODE).astype(np.uint8)
    return codes, round(start, 1), round(step, 1)


def scale_of(overlay: Overlay) -> tuple[float, float]:
    """Return the scale's ends: round numbers that hold nearly all cells, and the value that decides."""
    known = overlay.values[np.isfinite(overlay.values)]
    if not known.size:
        return 0.0, 1.0
    least, most = (float(v) for v in np.quantile(known, (_COMMON, 1.0 - _COMMON)))
    if math.isfinite(overlay.threshold):
        least, most = min(least, overlay.threshold), max(most, overlay.threshold)
    raw = max(most - least, 1e-3) / 8.0
    ten = 10.0 ** math.floor(math.log10(raw))
    step = next(ten * nice for nice in _NICE if ten * nice >= raw * 0.999)
    low, high = math.floor(least / step + 1e-9) * step, math.ceil(most / step - 1e-9) * step
    return round(low, 3), round(high if high > low else low + step, 3)


def _say(overlay: Overlay, kind: str) -> dict[str, str]:
    """Return the sentences for one place: where {name}, {value} or {spare} stands, the script puts in what the cell holds."""
    gaps = {"name": "{name}", "value": "{value}", "spare": "{spare}", "unit": overlay.unit}
    unknown = place_text("say_unknown")
    if kind == "count":
        code = "say_count" if overlay.name == "sees-how-many" else "say_programmes" if overlay.name == "tv-programmes" else "say_class"
        return {"known": place_text(code, name="{name}", count=_most(overlay)), "unknown": unknown}
    if kind != "quantity":
        return {"known": place_text("say_class", name="{name}"), "unknown": unknown}
    if _can_be_none(overlay):
        what = "mount" if overlay.name == "mount-height" else "dish"
        return {"known": place_text(f"say_{what}", **gaps), "unknown": unknown, "none": place_text(f"say_none_{what}")}
    if not math.isfinite(overlay.threshold):
        return {"known": place_text("say_value", **gaps), "unknown": unknown}
    over, under = ("say_spare", "say_short") if overlay.unit == "dB" else ("say_over", "say_under")
    return {"known": place_text(over, **gaps), "under": place_text(under, **gaps), "unknown": unknown}


# ---- legend ------------------------------------------------------------------------------------------------------------------


def overlay_legend(overlay: Overlay) -> str:
    """Return the legend of one question as markup: its sentence, then the marks of its classes or its scale."""
    overlay, kind = _in_units(overlay), kind_of(overlay)
    body = f"<span>{esc(overlay.legend)}</span>"
    if kind == "quantity":
        return f'{body}{_scale(overlay)}<span class="keys">{_unknown_key()}</span>'
    keys = []
    for place, (code, key, words) in enumerate(overlay.classes):
        if kind == "seen" and key == "unknown":
            continue
        tint = _tint(code / _most(overlay)) if kind == "count" else _swatch(place)
        style = f'class="swatch {key}"' if kind == "seen" else f'class="swatch" style="{tint}"'
        keys.append(f'<span class="key"><i {style} aria-hidden="true"></i>{esc(say(words) if key else words)}</span>')
    return f'{body}<span class="keys">{"".join(keys)}{_unknown_key()}</span>'


def _unknown_key() -> str:
    return f'<span class="key"><i class="swatch unknown" aria-hidden="true"></i>{esc(place_text("say_unknown").partition(": ")[2])}</span>'


def _scale(overlay: Overlay) -> str:
    low, high = scale_of(overlay)
    colours = ", ".join(f"#{colour}" for colour in CIVIDIS)
    words = place_text("scale", least=_plain(low), most=_plain(high), unit=overlay.unit)
    line = at = ""
    if math.isfinite(overlay.threshold):
        share = 100.0 * (overlay.threshold - low) / (high - low)
        side = f"left:{share:.1f}%" if share <= 50 else f"right:{100 - share:.1f}%"
        line = f'<i style="left:{share:.1f}%"></i>'
        at = f'<span class="at {"from" if share <= 50 else "to"}" style="{side}">{esc(overlay.threshold_words)}</span>'
        words += " " + place_text("scale_line", words=overlay.threshold_words)
    none = ""
    if _can_be_none(overlay):
        key = f'<i class="swatch blocked" aria-hidden="true"></i>{esc(place_text("none_helps"))}'
        none = f'<span class="keys"><span class="key">{key}</span></span>'
    bar = f'<span class="bar" aria-hidden="true" style="background:linear-gradient(90deg, {colours})">{line}</span>'
    ends = [f"<span>{_plain(value)} {esc(overlay.unit)}</span>" for value in (low, high)]
    figures = f'<span class="ends number" aria-hidden="true">{ends[0]}{at}{ends[1]}</span>'
    return f'<span class="scale"><span class="unseen">{esc(words)}</span>{bar}{figures}</span>{none}'


def _plain(value: float) -> str:
    return figures(f"{value + 0.0:g}").replace("-", "\u2212")


NAME_TONES = ("#9fd3f0", "#e7dd6b", "#dcb0cb", "#86c9b2", "#e3a87c")  # lighter kin of the Okabe-Ito tones that no state has
NAME_LINES = ("", "\\", "|", "-", "+", "x")
_TURNS = {"\\": (45,), "|": (90,), "-": (0,), "+": (90, 0), "x": (45, -45)}


def _stripes(lines: str) -> str:
    tone = "rgb(29 35 39 / .6)"
    return ", ".join(f"repeating-linear-gradient({turn}deg, {tone} 0 1.5px, transparent 1.5px 7px)" for turn in _TURNS[lines])


def _most(overlay: Overlay) -> int:
    return max((code for code, _, _ in overlay.classes), default=1) or 1


def _tint(share: float) -> str:
    return f"background:#{CIVIDIS[round(16 * share)]}"


def _swatch(place: int) -> str:
    tone, lines = NAME_TONES[place % len(NAME_TONES)], NAME_LINES[place % len(NAME_LINES)]
    return f"background:{_stripes(lines)}, {tone}" if lines else f"background:{tone}"
