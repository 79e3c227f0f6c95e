"""The spreads themselves, fitted to weigh-ins where there are many.

Marginal likelihood of a linear Gaussian model: y is normal with mean 0 and covariance X D X' + R (Gelman et
al., Bayesian Data Analysis, chapters 5 and 14), here by way of the precision of the terms (Woodbury), so that
the work grows with the weigh-ins and not with their cube. What is fitted are multipliers of the spreads as
told; each is bounded, and known beforehand to within a factor of two (a normal prior of its logarithm), for
two printers that happen to be alike are no proof that all are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.learning.gaussian import Term, Vector
from planner.learning.spreads import FILAMENT, PRINTER, RECIPE, SPOOL
from planner.model.learned import Spreads

FIT_FROM = 30  # weigh-ins; of fewer the spreads as told are better known
BOUND = 4.0  # a spread is fitted to between a quarter and four times what is told
KNOWN_WITHIN = math.log(2.0)  # assumption
FINE = 0.01  # steps of logarithms that end the search
LEAST_GAIN = 1e-9
LATEST = 2000  # weigh-ins that are fitted to, the last ones
KINDS = (FILAMENT, SPOOL, PRINTER, RECIPE)


@dataclass(frozen=True, slots=True)
class Seen:
    """A weigh-in for the fit: its value, its terms, the variance of its pieces' rests and of its scale."""

    value: float
    weights: Mapping[Term, float]
    rest_variance: float
    scale_variance: float


def fitted(seen: Sequence[Seen], priors: Mapping[Term, float], spreads: Spreads) -> Spreads:
    """The spreads that make the weigh-ins likeliest.

    Parameters
    ----------
    priors : standard deviation of every term by the spreads as told
    spreads : as told
    """
    logs = _lowest(_Ground(seen[-LATEST:], priors).loss, len(KINDS) + 1)
    times = [round(math.exp(float(one)), 3) for one in logs]
    by_kind = dict(zip(KINDS, times, strict=False))
    return replace(
        spreads,
        spool=min(0.5, spreads.spool * by_kind[SPOOL]),
        printer=min(0.5, spreads.printer * by_kind[PRINTER]),
        recipe=min(0.5, spreads.recipe * by_kind[RECIPE]),
        times_filament=spreads.times_filament * by_kind[FILAMENT],
        times_rest=spreads.times_rest * times[-1],
    )


def _lowest(loss: Callable[[Vector], float], count: int) -> Vector:
    """Pattern search (Hooke and Jeeves, 1961) within the bounds: steps in each direction, halved at a dip."""
    limit, step = math.log(BOUND), KNOWN_WITHIN
    best: Vector = np.zeros(count)
    value = loss(best)
    while step > FINE:
        moved = False
        for n in range(count):
            for way in (step, -step):
                trial = best.copy()
                trial[n] = min(limit, max(-limit, trial[n] + way))
                there = loss(trial)
                if there < value - LEAST_GAIN:
                    best, value, moved = trial, there, True
                    break
        step = step if moved else step / 2.0
    return best


class _Ground:
    """Matrices that stay the same through the fit."""

    def __init__(self, seen: Sequence[Seen], priors: Mapping[Term, float]) -> None:
        terms = list(dict.fromkeys(term for one in seen for term in one.weights))
        place = {term: n for n, term in enumerate(terms)}
        self.kind = np.array([KINDS.index(term[0]) for term in terms], dtype=int)
        self.prior: Vector = np.array([priors[term] for term in terms])
        self.value: Vector = np.array([one.value for one in seen])
        self.rest: Vector = np.array([one.rest_variance for one in seen])
        self.scale: Vector = np.array([one.scale_variance for one in seen])
        self.design: Vector = np.zeros((len(seen), len(terms)))
        for n, one in enumerate(seen):
            for term, weight in one.weights.items():
                self.design[n, place[term]] += weight

    def loss(self, logs: Vector) -> float:
        """Minus the logarithm of the marginal likelihood and of the prior, without constants."""
        noise = self.rest * math.exp(2.0 * float(logs[-1])) + self.scale
        spread = self.prior**2 * np.exp(2.0 * logs[self.kind])
        lighter = self.design / noise[:, None]
        precision = self.design.T @ lighter + np.diag(1.0 / spread)
        pull = lighter.T @ self.value
        root = np.linalg.cholesky(precision)
        part = np.linalg.solve(root, pull)
        log_det = float(np.log(noise).sum() + np.log(spread).sum() + 2.0 * np.log(np.diag(root)).sum())
        square = float((self.value**2 / noise).sum() - part @ part)
        return 0.5 * (log_det + square + float(logs @ logs) / KNOWN_WITHIN**2)
