"""Observations one after the other: what each was expected to be by those before it."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from planner.learning.gaussian import Observation, Posterior, Term, Vector


class InTurn:
    """What is known of every term after some observations; after all it is what ``posterior`` says.

    A row at a time: with s = x' cov x + r^2 the mean moves by cov x (y - x' mean) / s and the covariance
    loses cov x x' cov / s. Source: Gelman et al., Bayesian Data Analysis, chapter 14; the same normal
    conditioning.
    """

    def __init__(self, priors: Mapping[Term, float]) -> None:
        self.priors = dict(priors)
        self._place = {term: n for n, term in enumerate(priors)}
        self.mean: Vector = np.zeros(len(priors))
        self.covariance: Vector = np.diag([spread**2 for spread in priors.values()])

    def row(self, weights: Mapping[Term, float]) -> Vector:
        """So much of each term; terms without a prior are left out."""
        row = np.zeros(len(self._place))
        for term, weight in weights.items():
            if term in self._place:
                row[self._place[term]] += weight
        return row

    def foretold(self, one: Observation) -> tuple[float, float]:
        """What an observation is expected to be, and its standard deviation with its own rest."""
        row = self.row(one.weights)
        return float(row @ self.mean), math.sqrt(float(row @ self.covariance @ row) + one.rest**2)

    def see(self, one: Observation) -> None:
        """Learn from an observation."""
        row = self.row(one.weights)
        gain = self.covariance @ row
        variance = float(row @ gain) + one.rest**2
        self.mean = self.mean + gain * ((one.value - float(row @ self.mean)) / variance)
        self.covariance = self.covariance - np.outer(gain, gain) / variance

    def known(self) -> Posterior:
        """All of it as a posterior."""
        return Posterior(tuple(self._place), self.mean, self.covariance, self.priors)
