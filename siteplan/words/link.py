"""The words of how well a satellite will work: what to expect of each carrier, what rain leaves, and its budget line by line. For installers."""

from __future__ import annotations

import math

from siteplan.words import explain, weather
from siteplan.words.formats import SentenceFormatter, hours
from siteplan.words.language import figures, say

_FORMATTER = SentenceFormatter()

WORDS = ("rain", "interference")  # what a sum in clear sky leaves out

TEXTS: dict[str, str] = {
    "unit_year": "% of the average year",
    "unit_month": "% of the worst month",
    "heading": "How well it will work",
    "lead": "What to expect in clear sky, and what rain leaves.",
    "card": "{satellite} with the {dish_m:dish} dish",
    "holds": "The {dish_m:dish} dish is the smallest of the kit that holds {reserve_db:.0f} dB of reserve in clear sky and a picture for {wanted_pct:.4g} % of "
    "the year on every wanted carrier. The weakest is {weakest}.",
    "holds_none": "No dish of the kit holds {reserve_db:.0f} dB of reserve in clear sky and a picture for {wanted_pct:.4g} % of the year on every wanted "
    "carrier. The {dish_m:dish} dish comes nearest; the weakest carrier is {weakest}.",
    "unknown": "How strongly {satellite} is sent here is not known: no reserve can be told. The last column says what each dish would need.",
    "worst": "{name}: {outage} {month}",
    "table": "Expect, by carrier",
    "col_carrier": "Carrier",
    "col_expect": "C/N to expect",
    "col_clear": "Reserve in clear sky",
    "col_rain": "Reserve in the worst {pct:.3g} % of the year",
    "col_out": "Without picture in a year",
    "col_needs": "Needs at least",
    "carrier": "{name}: {frequency_mhz:g} MHz {polarisation}",
    "not_wanted": "not counted for the dish",
    "db": "{value:.1f} dB",
    "unknown_db": "unknown",
    "under": "under {time}",
    "over": "over {time}",
    "about": "about {time}",
    "need": "{dish_m:dish}: {eirp_dbw:.0f} dBW",
    "more": "and {count} more in the plan’s table",
    "budget": "Link budget of {name}, line by line",
    "col_line": "Line",
    "col_value": "Value",
    "col_source": "From",
    "none": "none",
    "note_weather_unknown": "How much rain takes can’t be said here, so nothing is promised of it.",
    "note_neighbour_unknown": "A neighbouring satellite sends on the same frequencies, and nobody says how strongly: it is not in the sum.",
    "note_outside_footprint": "The footprint of the plan does not reach this place.",
    "note_beam_unknown": "The table names a beam that no footprint of the plan draws.",
}  # fmt: skip


def said(name: str, /, **values: object) -> str:
    """Return one text, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])


def note(code: str) -> str:
    """Return the sentence for a note of a link (records.links.LinkLine.notes)."""
    key = f"note_{code}"
    return say(TEXTS[key]) if key in TEXTS else weather.stretched(code)


def decibels(value: float) -> str:
    """Return decibels to a tenth, "unknown" for what is not a number; a minus that a screen reader says."""
    return said("db", value=value).replace("-", "\u2212") if math.isfinite(value) else said("unknown_db")


def outage(hours_per_year: float, bound: str) -> str:
    """Return the time without picture: "about four hours"; bound "under" or "over" where only that is known."""
    return said(bound or "about", time=hours(hours_per_year)) if math.isfinite(hours_per_year) else said("unknown_db")


def line_label(code: str) -> str:
    """Return what a line of a budget is called: as siteplan explain calls it."""
    return explain.label(code)


def line_source(source: str) -> str:
    """Return where a line of a budget comes from, in the language spoken where it is a text of ours."""
    return say(source)


def line_value(value: float | str, unit: str) -> str:
    """Return the value of a budget's line to a hundredth, so that its terms add up; "none" where there is none."""
    if isinstance(value, str):
        return value or said("none")
    if not math.isfinite(value):
        return said("unknown_db")
    number = f"{value:.4g}" if unit.startswith("%") else f"{round(value, 2) + 0.0:.2f}"
    return f"{figures(number)} {say(unit)}".replace("-", "\u2212").strip()
