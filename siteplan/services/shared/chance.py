"""Verdict arithmetic that every service shares: probabilities, and which reason wins."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from statistics import NormalDist

import numpy as np

from siteplan.records.plan import LimitsTable
from siteplan.records.verdict import SERVICES, WORST_FIRST, State, Verdict

# Places that stand for a round two-dimensional Gaussian of 1 m sigma: the centre and four rings of twelve, each turned by half a step
# against the last. The bounds share out the Rayleigh distribution F(r) = 1 - exp(-r^2/2); each ring lies at the root mean square of its
# share, so that the spread comes out right. The outer rings are what tells a clearing beside a wood, or a wall only the tail reaches;
# twelve to a ring, because with eight a house between two places was missed too often (tests/benchmarks/bench_proof.py).
_BOUNDS = np.array([0.0, 0.35, 1.0, 1.6, 2.2, 40.0])
_AROUND = 12
_SHARES = np.diff(-np.exp(-0.5 * _BOUNDS**2))
_RADII = np.sqrt(np.diff(-(_BOUNDS**2 + 2.0) * np.exp(-0.5 * _BOUNDS**2)) / _SHARES)[1:].tolist()
_TURNS = [(r, (k + 0.5 * (n % 2)) * 2.0 * math.pi / _AROUND) for n, r in enumerate(_RADII) for k in range(_AROUND)]
POSITION_POINTS = np.array([(0.0, 0.0), *((r * math.sin(turn), r * math.cos(turn)) for r, turn in _TURNS)])
POSITION_WEIGHTS = np.concatenate([_SHARES[:1], np.repeat(_SHARES[1:] / _AROUND, _AROUND)])


def normal_cdf(z: np.ndarray | float) -> np.ndarray:
    """Return the standard normal distribution function; NaN stays NaN.

    z   any shape, in sigmas. Source: Abramowitz and Stegun (1964), 26.2.29, by the error function.
    """
    with np.errstate(invalid="ignore"):
        return np.vectorize(lambda v: 0.5 * (1.0 + math.erf(v / math.sqrt(2.0))) if v == v else math.nan, otypes=[float])(z)


def sigmas_of(chance: float) -> float:
    """Return how many sigmas a probability lies from even odds, at most 4; NaN stays NaN."""
    if math.isnan(chance):
        return math.nan
    return abs(NormalDist().inv_cdf(min(max(chance, 3.2e-5), 1.0 - 3.2e-5)))


def state_from_chance(works: float, possible: float, limits: LimitsTable) -> State:
    """Return the state that two probabilities prove: `works` that it does, `possible` that it could at the best height and dish."""
    if works >= limits.book_probability:
        return State.BOOK
    if possible <= limits.not_feasible_probability:
        return State.NOT_FEASIBLE
    return State.SURVEY_FIRST


def worst(states: Iterable[State]) -> State:
    """Return the state that wins where several count; not judged where there is none."""
    found = list(states)
    return next((state for state in WORST_FIRST if state in found), State.NOT_JUDGED)


def job_state(verdicts: Mapping[str, Verdict], wanted: tuple[str, ...]) -> State:
    """Return the whole job's state: worst over the services ordered; where none is named, the best that can be sold.

    A job without an order is only a question "what works here": it is worth booking for any service that works.
    """
    if wanted:
        return worst(verdicts[service].state for service in SERVICES if service in wanted)
    judged = [verdict.state for verdict in verdicts.values() if verdict.state != State.NOT_JUDGED]
    order = (State.BOOK, State.SURVEY_FIRST, State.NOT_FEASIBLE)
    return next((state for state in order if state in judged), State.NOT_JUDGED)
