"""The plan's key kit.lnb: an LNB in a few trade words, or a table with its oscillators, into records. Complaints say what is allowed."""

from __future__ import annotations

import math
import re

from siteplan.errors import told, wording
from siteplan.records.lnb import CIRCULAR, LINEAR, OUTPUTS, Lnb, Oscillator

# trade word -> (oscillators, usual polarisation). Ku-band oscillators and the 11.7 GHz switch, 11.25 GHz for 12.2-12.7 GHz and 5.15 GHz
# above C band: ../shared/standards/lnb_if_plan.csv (EN 50494);
# 10.4 GHz wideband: common practice, no source.
KINDS: dict[str, tuple[tuple[Oscillator, ...], str]] = {
    "universal": ((Oscillator(9750.0, 10_700.0, 11_700.0), Oscillator(10_600.0, 11_700.0, 12_750.0, True)), LINEAR),
    "wideband": ((Oscillator(10_400.0, 10_700.0, 12_750.0),), LINEAR),
    "12 ghz": ((Oscillator(11_250.0, 12_200.0, 12_700.0),), CIRCULAR),
    "c band": ((Oscillator(5150.0, 3400.0, 4200.0),), LINEAR),
}
WORDS_ALLOWED = wording(
    'words such as "universal single", "universal circular twin", "universal quattro", "wideband pair", "12 GHz single", "C band single"; '
    "or a table with polarisation, oscillators_mhz, bands_mhz and outputs"
)
_OUTPUT_WORDS = {"pair": "wideband pair", "single-cable": "single-cable", "singlecable": "single-cable", **{name: name for name in OUTPUTS}}
_TABLE_KEYS = ("name", "polarisation", "oscillators_mhz", "bands_mhz", "outputs")
_IF_LOWEST_MHZ, _IF_HIGHEST_MHZ = 200.0, 3500.0  # what satellite receivers and cables are made for, with room (common practice, no source)


def lnb_of(value: object) -> Lnb:
    """Return the LNB that one value of the plan names. Raises ValueError(message, allowed) where it names none."""
    if isinstance(value, str):
        return _from_words(value)
    if isinstance(value, dict):
        return _from_table(value)
    raise ValueError(told("this is no LNB"), WORDS_ALLOWED)


def lnb_fault(lnb: Lnb, feeds: str) -> str:
    """Return why an LNB can't stand before a receiver, or a multiswitch; "" where it can."""
    if feeds == "receiver" and lnb.outputs == "quattro":
        return told(
            "{name}: a quattro gives four fixed sub-bands and answers to no receiver; a receiver on it gets a quarter of all. "
            'Take a quad, or put a multiswitch behind it and write lnb_feeds = "multiswitch"',
            name=lnb.name,
        )
    if feeds == "multiswitch" and lnb.outputs not in ("quattro", "wideband pair"):
        return told(
            "{name}: a multiswitch wants fixed sub-bands, and the outputs of a {outputs} are switched by receivers; take a "
            "quattro or a wideband pair",
            name=lnb.name,
            outputs=lnb.outputs,
        )
    return ""


def _from_words(text: str) -> Lnb:
    plain = re.sub(r"single[\s_-]*cable", "single-cable", " ".join(text.lower().replace("c-band", "c band").split()))
    kind = next((name for name in KINDS if plain.startswith(name)), None)
    if kind is None:
        raise ValueError(told("this LNB is not known"), WORDS_ALLOWED)
    oscillators, polarisation = KINDS[kind]
    outputs = "wideband pair" if kind == "wideband" else "single"
    for word in plain.removeprefix(kind).split():
        if word in (LINEAR, CIRCULAR):
            polarisation = word
        elif word in _OUTPUT_WORDS:
            outputs = _OUTPUT_WORDS[word]
        else:
            raise ValueError(
                told("{word!r} says nothing about an LNB", word=word), told("linear, circular, {outputs}", outputs=", ".join(OUTPUTS))
            )
    lnb = Lnb(" ".join(text.split()), polarisation, oscillators, outputs)
    _outputs_fit(lnb)
    return lnb


def _outputs_fit(lnb: Lnb) -> None:
    if lnb.outputs == "quattro" and len(lnb.oscillators) != 2:
        raise ValueError(
            told("a quattro has four sub-bands, so it needs two oscillators"), told("universal quattro, or a table with two oscillators")
        )
    if lnb.outputs == "wideband pair" and len(lnb.oscillators) != 1:
        raise ValueError(told("a wideband pair has one oscillator"), told("wideband pair, or a table with one oscillator"))


def _from_table(table: dict[str, object]) -> Lnb:
    for key in table:
        if key not in _TABLE_KEYS:
            raise ValueError(told("unknown key {key} of an LNB", key=key), ", ".join(_TABLE_KEYS))
    polarisation = table.get("polarisation", LINEAR)
    if polarisation not in (LINEAR, CIRCULAR):
        raise ValueError(told("polarisation {polarisation!r} of an LNB is not known", polarisation=polarisation), f"{LINEAR}, {CIRCULAR}")
    outputs = table.get("outputs", "single")
    if outputs not in OUTPUTS:
        raise ValueError(told("outputs {outputs!r} of an LNB are not known", outputs=outputs), ", ".join(OUTPUTS))
    oscillators = _oscillators(table)
    shown = " and ".join(f"{one.mhz:g}" for one in oscillators)
    name = str(table.get("name") or f"{polarisation} {shown} MHz {outputs}")
    lnb = Lnb(name, str(polarisation), oscillators, str(outputs))
    _outputs_fit(lnb)
    return lnb


def _oscillators(table: dict[str, object]) -> tuple[Oscillator, ...]:
    mhz, bands = _numbers(table.get("oscillators_mhz")), table.get("bands_mhz")
    if not 1 <= len(mhz) <= 2:
        raise ValueError(told("oscillators_mhz of an LNB is one number or two, the lower band's first"), told("such as [9750, 10600]"))
    bands = [bands] if isinstance(bands, list) and bands and not isinstance(bands[0], list) else bands
    pairs = [_numbers(band) for band in bands] if isinstance(bands, list) else []
    if len(pairs) != len(mhz) or any(len(pair) != 2 or not pair[0] < pair[1] for pair in pairs):
        raise ValueError(
            told("bands_mhz of an LNB gives first and last MHz for each oscillator"), told("such as [[10700, 11700], [11700, 12750]]")
        )
    found = []
    for number, (one, (first, last)) in enumerate(zip(mhz, pairs, strict=True)):
        ends = sorted((abs(first - one), abs(last - one)))
        if first < one < last or ends[0] < _IF_LOWEST_MHZ or ends[1] > _IF_HIGHEST_MHZ:
            raise ValueError(
                told(
                    "an oscillator at {one:g} MHz would bring {first:g} to {last:g} MHz down to {ends:g} to {ends_2:g} MHz",
                    one=one,
                    first=first,
                    last=last,
                    ends=ends[0],
                    ends_2=ends[1],
                ),
                told(
                    "{if_lowest_mhz:g} to {if_highest_mhz:g} MHz on the cable", if_lowest_mhz=_IF_LOWEST_MHZ, if_highest_mhz=_IF_HIGHEST_MHZ
                ),
            )
        found.append(Oscillator(one, first, last, number == 1))
    if len(pairs) == 2 and pairs[0][1] > pairs[1][0]:
        raise ValueError(
            told("the two bands of an LNB overlap, or the upper one stands first"), told("such as [[10700, 11700], [11700, 12750]]")
        )
    return tuple(found)


def _numbers(value: object) -> list[float]:
    items = value if isinstance(value, list) else [value]
    good = all(isinstance(item, (int, float)) and not isinstance(item, bool) and math.isfinite(item) for item in items)
    return [float(item) for item in items] if good else []
