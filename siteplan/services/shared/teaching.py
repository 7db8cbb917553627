"""What readings teach about later predictions nearby: a bias, and a residual that varies over the land, each only where it proves itself.

A correction is tried out of sample, block of land by block of land, never row by row: neighbours share their error, and a random split
would let a point vouch for itself. One that does not beat what is simpler switches itself off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

LEAST_READINGS, LEAST_BLOCKS = 8, 3
BETTER = 0.95  # out of sample the error must fall by a twentieth at least
SURE = 3.0  # a bias must be so many times its own error, or one set of noise in seven of ten readings would look like one
LEAST_FOR_LAND, MOST_FOR_LAND = 20, 800  # readings for a residual that varies over the land; its work grows with their cube
BLOCK_M = 500.0  # side of a block of land that is left out as a whole: about the correlation length of shadowing outside towns
FOLDS = 5
# Prior of the residual: location variability 5.5 dB (ITU-R P.1812-7, section 4.8: UHF), correlation length some hundred metres (common
# practice, no source), noise of a meter and its reading 2 dB (common practice, no source).
PRIOR_SIGMA_DB, PRIOR_LENGTH_M, PRIOR_NOISE_DB = 5.5, 400.0, 2.0
REACH_M = 2000.0  # a bias says nothing farther from its readings than this
_Z80 = 1.2815515655446004  # half width of an 80 % interval in sigmas


@dataclass(frozen=True, slots=True)
class Trial:
    """One way of correcting, tried out of sample: RMSE in dB, and how many of the readings lay in their 80 % interval."""

    name: str
    rmse_db: float
    inside: int
    count: int

    @property
    def honest(self) -> bool:
        """Return whether as many lay inside as the count allows (95 % of a binomial with p = 0.8)."""
        low, high = binomial_band(self.count, 0.8)
        return low <= self.inside <= high


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a set of readings teaches. used: "none", "bias" or "spatial"; why: a code of siteplan.words where nothing is used."""

    used: str
    why: str
    bias_db: float
    sigma_db: float
    trials: tuple[Trial, ...]
    east_m: tuple[float, ...]
    north_m: tuple[float, ...]
    residual_db: tuple[float, ...]


def learn(east_m: Sequence[float], north_m: Sequence[float], residual_db: Sequence[float], *, block_m: float = BLOCK_M) -> Lesson:
    """Return what residuals (reading less prediction) teach.

    east_m, north_m  places in metres on any flat grid; residual_db, dB

    None of the corrections is used with fewer than 8 readings or 3 blocks of land, nor where it does not beat the simpler one out of
    sample. The spatial one needs scikit-learn (extra "teach") and is left out without it.
    """
    x = np.column_stack([np.asarray(east_m, float), np.asarray(north_m, float)]) if len(residual_db) else np.empty((0, 2))
    y = np.asarray(residual_db, float)
    held = tuple(map(float, x[:, 0])), tuple(map(float, x[:, 1])), tuple(map(float, y))
    folds = blocks(x, block_m)
    bias, sigma = (float(y.mean()), float(y.std(ddof=1))) if len(y) > 1 else (math.nan, math.nan)
    if len(y) < LEAST_READINGS or len(set(folds)) < LEAST_BLOCKS:
        return Lesson("none", "learn_too_few", bias, sigma, (), *held)
    ways = {"none": _none, "bias": _mean} | ({"spatial": _spatial} if LEAST_FOR_LAND <= len(y) <= MOST_FOR_LAND and _have_library() else {})
    trials = {name: _try(name, way, x, y, folds) for name, way in ways.items()}
    used, why = "none", "learn_no_better"
    if trials["bias"].rmse_db < BETTER * trials["none"].rmse_db:
        sure = abs(bias) >= SURE * _error_of_mean(x, y, block_m)
        used, why = ("bias", "") if sure else ("none", "learn_unsure")
    best = min(trials["none"].rmse_db, trials["bias"].rmse_db)
    if "spatial" in trials and trials["spatial"].rmse_db < BETTER * best and trials["spatial"].honest:
        used, why = "spatial", ""
    return Lesson(used, why, bias, sigma, tuple(trials.values()), *held)


def _error_of_mean(x: np.ndarray, y: np.ndarray, block_m: float) -> float:
    """Return the error of a mean (1 sigma): by single readings or by blocks of land, whichever is greater: neighbours are one witness."""
    cells = [tuple(cell) for cell in np.floor((x - x.min(axis=0)) / block_m).astype(int)]
    means = np.array([y[[one == cell for one in cells]].mean() for cell in sorted(set(cells))])
    return max(float(y.std(ddof=1)) / math.sqrt(len(y)), float(means.std(ddof=1)) / math.sqrt(len(means)))


def correction(lesson: Lesson, east_m: float, north_m: float) -> tuple[float, float, int]:
    """Return (correction in dB, its 1 sigma, readings within reach) at a place; (0, NaN, count) where nothing is used or near."""
    if not lesson.residual_db:
        return 0.0, math.nan, 0
    away = np.hypot(np.asarray(lesson.east_m) - east_m, np.asarray(lesson.north_m) - north_m)
    near = int((away <= REACH_M).sum())
    if lesson.used == "none" or near == 0:
        return 0.0, math.nan, near
    if lesson.used == "bias":
        return lesson.bias_db, lesson.sigma_db, near
    x = np.column_stack([lesson.east_m, lesson.north_m])
    mean, sigma = _spatial(x, np.asarray(lesson.residual_db), np.array([[east_m, north_m]]))
    return float(mean[0]), float(sigma[0]), near


def blocks(x: np.ndarray, block_m: float) -> list[int]:
    """Return the fold of each point: square blocks of land, whole blocks together, neighbours in the same fold as far as it goes."""
    if not len(x):
        return []
    cells = [tuple(cell) for cell in np.floor((x - x.min(axis=0)) / block_m).astype(int)]
    order = {cell: place for place, cell in enumerate(sorted(set(cells)))}
    folds = min(FOLDS, len(order))
    return [order[cell] * folds // len(order) for cell in cells]


def binomial_band(count: int, share: float) -> tuple[int, int]:
    """Return the least and most hits that 95 % of a binomial allows (2.5 % left on each side)."""
    below, low, high = 0.0, 0, count
    for hits in range(count + 1):
        chance = math.comb(count, hits) * share**hits * (1.0 - share) ** (count - hits)
        if below <= 0.025:
            low = hits
        below += chance
        if below >= 0.975:
            high = hits
            break
    return low, high


def _try(name: str, way: object, x: np.ndarray, y: np.ndarray, folds: list[int]) -> Trial:
    errors, inside = [], 0
    for fold in sorted(set(folds)):
        out = np.array([one == fold for one in folds])
        mean, sigma = way(x[~out], y[~out], x[out])  # type: ignore[operator]
        errors += list(y[out] - mean)
        inside += int((np.abs(y[out] - mean) <= _Z80 * sigma).sum())
    return Trial(name, float(np.sqrt(np.mean(np.square(errors)))), inside, len(y))


def _none(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(len(at)), np.full(len(at), _sigma80(np.abs(y)))


def _mean(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    middle = float(y.mean())
    return np.full(len(at), middle), np.full(len(at), _sigma80(np.abs(y - middle)) * math.sqrt(1.0 + 1.0 / len(y)))


def _sigma80(apart_db: np.ndarray) -> float:
    """Return the sigma whose 80 % interval holds four fifths of the distances: a few outliers must not widen it for all.

    Split conformal quantile, ceil(0.8 (n + 1)) of n (Lei et al., J. Am. Stat. Assoc. 113, 2018, p. 1094).
    """
    place = min(math.ceil(0.8 * (len(apart_db) + 1)), len(apart_db))
    return float(np.sort(apart_db)[place - 1]) / _Z80


def _have_library() -> bool:
    from importlib.util import find_spec

    return find_spec("sklearn") is not None


def _spatial(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Gaussian process over the residual about its mean (Rasmussen and Williams 2006, algorithm 2.1), by scikit-learn.

    Matern 3/2 for the land, white noise for meter and moment; start values are the prior's, lengths bounded to what shadowing can have.
    """
    import warnings

    from sklearn.exceptions import ConvergenceWarning
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

    kernel = ConstantKernel(PRIOR_SIGMA_DB**2, (1.0, 20.0**2)) * Matern(PRIOR_LENGTH_M, (50.0, 5000.0), nu=1.5) + WhiteKernel(
        PRIOR_NOISE_DB**2, (0.25, 15.0**2)
    )
    middle = float(y.mean())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # a value at its bound is an answer, not a fault
        process = GaussianProcessRegressor(kernel=kernel, alpha=1e-9, normalize_y=False, optimizer=_fit, random_state=0).fit(x, y - middle)
        mean, sigma = process.predict(at, return_std=True)
    # each reading foretold by the others (Rasmussen and Williams 2006, eq. 5.12): the scale that its interval must have
    inverse = np.linalg.inv(process.L_ @ process.L_.T)
    apart = np.abs(process.alpha_ / np.diag(inverse)) * np.sqrt(np.diag(inverse))
    return mean + middle, sigma * _sigma80(apart)


def _fit(objective: object, start: np.ndarray, bounds: np.ndarray) -> tuple[np.ndarray, float]:
    """Return the best kernel values from one start in at most 25 steps: a flat likelihood is not worth more."""
    from scipy.optimize import minimize

    found = minimize(objective, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 25})
    return found.x, found.fun
