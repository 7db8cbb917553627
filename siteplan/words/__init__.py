"""Every sentence shown to people, built from a code and values; one place to translate."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from siteplan.records.verdict import Reason, State
from siteplan.words.formats import SentenceFormatter, capital, compass, compass_short, decibels, degrees, distance, height, orbit, per_cent
from siteplan.words.language import say

__all__ = [
    "compass", "compass_short", "decibels", "degrees", "distance", "height", "how_sure", "kind_word", "orbit", "per_cent", "sentence",
    "sentences", "service_word", "state_word",
]  # fmt: skip

_FORMATTER = SentenceFormatter()
_SERVICE = {"satellite": "satellite", "terrestrial": "terrestrial TV", "mobile": "mobile internet"}
_KIND = {"ground": "ground", "building": "a building", "growth": "growth", "object": "a tree or building", "unknown": "something", "own roof": "its own roof"}


@cache
def _all_sentences() -> dict[str, str]:
    """Return the SENTENCES of every module of this floor, so that a new subject needs no line here."""
    table: dict[str, str] = {}
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        table.update(getattr(importlib.import_module(f"{__name__}.{name}"), "SENTENCES", {}))
    return table


def sentence(reason: Reason) -> str:
    """Return the sentence of a reason, its values put in with their units."""
    template = _all_sentences().get(reason.code)
    values = dict(reason.values)
    if "kind" in values:
        values.setdefault("kind_cap", capital(kind_word(str(values["kind"]))))
        values["kind"] = kind_word(str(values["kind"])) if values["kind"] in _KIND else values["kind"]
    if template is None:
        return reason.code.replace("_", " ") + ": " + ", ".join(f"{key} {value}" for key, value in sorted(values.items()))
    those, said = values.pop("those", None), _FORMATTER.format(template, **values)
    return _FORMATTER.format(OF, those=those, said=said) if those else said


OF = "{those:list}: {said}"  # a sentence that holds for some satellites or transmitters alone


def sentences(reasons: tuple[Reason, ...]) -> str:
    """Return several reasons as one text, the deciding one first."""
    return " ".join(sentence(reason) for reason in reasons)


def state_word(state: State | str) -> str:
    """Return the word for a state, as every page and file shows it."""
    return say(str(state))


def service_word(service: str) -> str:
    """Return what people call a service."""
    return say(_SERVICE[service])


def kind_word(kind: str) -> str:
    """Return what stands there, as a person would say it."""
    return say(_KIND.get(kind, kind))


def how_sure(level: str, because: tuple[Reason, ...]) -> str:
    """Return "fair, because trees are unknown; flown 2019, 7 years before this plan's date"."""
    why = "; ".join(sentence(reason) for reason in because)
    return say("{level}, because {why}").format(level=say(level), why=why) if why else say(level)


def extra_words() -> tuple[str, ...]:
    """Return what this module says itself, for the catalogues."""
    return (OF, *_SERVICE.values(), *_KIND.values(), *(str(state) for state in State), "{level}, because {why}", "high", "fair", "low")
