"""What is decided for one address and service, and why. Sentences are built from these in siteplan.words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

SERVICES = ("satellite", "terrestrial", "mobile")


class State(StrEnum):
    """The four states; the order of `WORST_FIRST` decides where several reasons meet."""

    BOOK = "book"
    SURVEY_FIRST = "survey first"
    NOT_FEASIBLE = "not feasible"
    NOT_JUDGED = "not judged"


WORST_FIRST = (State.NOT_FEASIBLE, State.NOT_JUDGED, State.SURVEY_FIRST, State.BOOK)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why: a code that siteplan.words has a sentence for, and the values that go into it (numbers, text; units in the keys)."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HowSure:
    """How far to trust a verdict: "high", "fair" or "low", because of these."""

    level: str
    because: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """One service at one address. `reasons` is never empty; the first is the one that decided.

    probability   that the service works from this spot with this kit; NaN where not judged
    ask           the question to ask by phone that could settle it, if there is one
    """

    service: str
    state: State
    reasons: tuple[Reason, ...]
    how_sure: HowSure = HowSure("low")
    probability: float = float("nan")
    ask: Reason | None = None
