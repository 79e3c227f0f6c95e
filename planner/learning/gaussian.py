"""The posterior of a linear model with normal terms and normal noise, in closed form.

Source: Gelman et al., Bayesian Data Analysis, chapter 14 (any text on ridge regression). With design X,
prior variances D and noise R: cov = (X' R^-1 X + D^-1)^-1, mean = cov X' R^-1 y. Assumes: prior means 0,
independent.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Term = tuple[str, ...]
Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Observation:
    """A measured value: how much of each term is in it, and the standard deviation of its rest."""

    value: float
    weights: Mapping[Term, float]
    rest: float


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is known of every term. A term that nobody has observed keeps its prior, and errs alone."""

    terms: tuple[Term, ...]
    mean: Vector
    covariance: Vector
    priors: Mapping[Term, float]

    def expected(self, weights: Mapping[Term, float]) -> float:
        """The expected sum of so much of each term."""
        return float(self._row(weights) @ self.mean)

    def deviation(self, weights: Mapping[Term, float]) -> float:
        """The standard deviation of that sum."""
        row = self._row(weights)
        return math.sqrt(max(0.0, float(row @ self.covariance @ row)))

    def loads(self, weights: Mapping[Term, float]) -> Vector:
        """The sum as independent standard normals: what two sums share is the product of their loads."""
        return self.root.T @ self._row(weights)

    @cached_property
    def root(self) -> Vector:
        """A square root of the covariance."""
        return np.asarray(np.linalg.cholesky(self.covariance), dtype=np.float64)

    def _row(self, weights: Mapping[Term, float]) -> Vector:
        return np.array([weights.get(term, 0.0) for term in self.terms])


def posterior(observations: Sequence[Observation], priors: Mapping[Term, float]) -> Posterior:
    """The posterior of every term that has a prior.

    Parameters
    ----------
    priors : standard deviation of each term, above 0; every term of an observation is among them
    """
    terms = tuple(priors)
    place = {term: n for n, term in enumerate(terms)}
    precision = np.diag([priors[term] ** -2.0 for term in terms]) if terms else np.zeros((0, 0))
    pull = np.zeros(len(terms))
    for one in observations:
        at = [place[term] for term in one.weights]
        row = np.array(list(one.weights.values()))
        precision[np.ix_(at, at)] += np.outer(row, row) / one.rest**2
        pull[at] += row * one.value / one.rest**2
    covariance: Vector = np.linalg.inv(precision).astype(np.float64) if terms else precision
    symmetric: Vector = (covariance + covariance.T) / 2.0
    return Posterior(terms, symmetric @ pull, symmetric, dict(priors))


def standing_off(observations: Sequence[Observation], priors: Mapping[Term, float]) -> Vector:
    """How many standard deviations each observation lies off what all others expect of it.

    Leaving one out is undone in closed form: with leverage h = x' cov x / r^2 of the full posterior the
    residual without it is e / (1 - h), and its variance r^2 / (1 - h). Source: the same, on cross-validation.
    """
    full = posterior(observations, priors)
    off = []
    for one in observations:
        leverage = min(1.0 - 1e-12, full.deviation(one.weights) ** 2 / one.rest**2)
        residual = one.value - full.expected(one.weights)
        off.append(residual / (1.0 - leverage) / (one.rest / (1.0 - leverage) ** 0.5))
    return np.array(off)


def without(full: Posterior, one: Observation) -> float:
    """What all others let expect of an observation that is in the posterior: y - e / (1 - h), as above."""
    leverage = min(1.0 - 1e-12, full.deviation(one.weights) ** 2 / one.rest**2)
    return one.value - (one.value - full.expected(one.weights)) / (1.0 - leverage)
