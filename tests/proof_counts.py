"""Counting cases of degraded_land: how many verdicts of each kind, how many of them wrong, and how sure that share is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from degraded_land import Case

from siteplan.records.verdict import State


@dataclass(frozen=True)
class Tally:
    """How many verdicts of each kind, and how many of them the truth contradicts."""

    judged: int = 0
    book: int = 0
    wrong_book: int = 0
    not_feasible: int = 0
    wrong_not_feasible: int = 0
    survey: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(*(a + b for a, b in zip(self.parts(), other.parts(), strict=True)))

    def parts(self) -> tuple[int, ...]:
        """Return the counts in order."""
        return self.judged, self.book, self.wrong_book, self.not_feasible, self.wrong_not_feasible, self.survey


def tally(found: list[Case]) -> Tally:
    """Return the counts of some cases."""
    book = [case for case in found if case.state is State.BOOK]
    never = [case for case in found if case.state is State.NOT_FEASIBLE]
    survey = sum(case.state is State.SURVEY_FIRST for case in found)
    return Tally(len(found), len(book), sum(c.wrong for c in book), len(never), sum(c.wrong for c in never), survey)


def wilson(hits: int, of: int, z: float = 1.959964) -> tuple[float, float]:
    """Return the 95 % score interval of a share (Wilson 1927, eq. 4 without continuity correction); (0, 1) of nothing."""
    if not of:
        return 0.0, 1.0
    share = hits / of
    middle, half = share + z * z / (2 * of), z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return max(0.0, (middle - half) / (1 + z * z / of)), min(1.0, (middle + half) / (1 + z * z / of))
