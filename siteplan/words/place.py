"""What the map page says of one place on an area map, and of the area maps themselves."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

WORDS: dict[str, str] = {
    # --- at one place: {value} is put in by the page, {name} is a class's own words ----------------------------------------
    "say_class": "here: {name}",
    "say_count": "here: {name} of {count} seen",
    "say_programmes": "here: {name} programmes to promise",
    "say_mount": "mount height {value} {unit}",
    "say_dish": "here: a {value} {unit} dish",
    "say_over": "here: {value} {unit}, {spare} dB over what is wanted",
    "say_under": "here: {value} {unit}, {spare} dB under what is wanted",
    "say_spare": "here: {spare} dB to spare",
    "say_short": "here: {spare} dB short",
    "say_value": "here: {value} {unit}",
    "say_none_mount": "no height that the plan allows helps here",
    "say_none_dish": "no dish of the kit holds it here, or something stands before it",
    "say_unknown": "here: nobody knows",
    "say_outside": "outside the mapped area",
    # --- the page ---------------------------------------------------------------------------------------------------------
    "title": "{name}: maps of the area",
    "group_rows": "At the addresses",
    "group_area": "Everywhere in the area",
    "panel": "This place",
    "hint": "Choose a place on the map, with a click, a tap or, where the map has the keyboard, with Enter: what is known there is said here.",
    "marks": "Marks: {words}",
    "off": "Scripts are off, so the maps are not drawn. The same maps lie beside this page as files whose names begin with area-, for a "
    "geographic information system.",
    "missing": "This browser is too old to unpack the maps of the area. The same maps lie beside this page as files whose names begin with area-.",
    "scale": "From {least} {unit} (dark) to {most} {unit} (light).",
    "scale_line": "Line: {words}.",
    "none_helps": "none helps",
    "outlines": "Outlined: the plan’s buildings.",
    "tiles": "Streets: {owner}.",
    "facts": "Maps of the area",
}


def place_text(code: str, **values: object) -> str:
    """Return one text about a place or the area maps, its values put in. Raises KeyError for a code there is no text for."""
    return _FORMATTER.format(WORDS[code], **values) if values else say(WORDS[code])
