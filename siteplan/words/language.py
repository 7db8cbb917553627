"""The language and the units that people read: English and metres unless a plan says otherwise. Texts are translated by their English wording.

Catalogues are gettext files, words/languages/<code>.po: the English template is the msgid, places for values included. Numbers take the
language's own decimal mark; a text without a translation stays English.
"""

from __future__ import annotations

import string
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from siteplan.errors import tell_by

LANGUAGES = ("en", "de", "fr")
UNITS = ("metres", "feet")
FOOT_M = 0.3048  # international foot, exact
INCH_M = 0.0254  # exact
MILE_M = 1609.344  # exact


@dataclass(frozen=True)
class Speech:
    """What is spoken now. mark: decimal mark; group: between thousands."""

    language: str = "en"
    units: str = "metres"
    mark: str = "."
    group: str = ","


_MARKS = {"en": (".", ","), "de": (",", "."), "fr": (",", "\u202f")}
_now = Speech()


def speak(language: str = "en", units: str = "metres") -> None:
    """Choose language and units for all that follows in this process. Raises KeyError for a language there is no catalogue of."""
    global _now
    mark, group = _MARKS[language]
    _now = Speech(language, units, mark, group)
    tell_by(None if language == "en" else _tell)


def spoken() -> Speech:
    """Return what is spoken now."""
    return _now


def say(template: str) -> str:
    """Return a template in the language spoken now, its places for values untouched; the English one where there is no translation."""
    return template if _now.language == "en" else catalogue(_now.language).get(template, template)


def figures(digits: str) -> str:
    """Return digits as the language writes them: "1,234.5" -> "1.234,5" in German."""
    if _now.mark == ".":
        return digits
    return digits.replace(",", "\0").replace(".", _now.mark).replace("\0", _now.group)


class NumberFormatter(string.Formatter):
    """str.format with the language's own decimal mark in every number that has a format."""

    def format_field(self, value: object, format_spec: str) -> str:
        """Apply Python's format; numbers get the language's marks."""
        made = super().format_field(value, format_spec)
        return figures(made) if format_spec and isinstance(value, (int, float)) and not isinstance(value, bool) else made


_NUMBERS = NumberFormatter()


def _tell(template: str, values: Mapping[str, object]) -> str:
    """Word what the floors below tell (siteplan.errors.told); a value that is itself a text of ours is translated too."""
    if not values:
        return say(template)
    ours = catalogue(_now.language)
    said = {key: ours.get(one, one) if isinstance(one, str) and " " in one else one for key, one in values.items()}
    return _NUMBERS.vformat(say(template), (), said)


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Return English template -> translation of one language, those that are translated. Needs babel, which is read only here."""
    from io import BytesIO

    from babel.messages.pofile import read_po

    raw = resources.files("siteplan.words").joinpath("languages", f"{language}.po").read_bytes()
    return {str(one.id): str(one.string) for one in read_po(BytesIO(raw)) if one.id and one.string and not one.fuzzy}
