"""Failures per hour: a Gamma prior that the built-in value stands for, and Poisson counts.

Source: Gelman et al., Bayesian Data Analysis, chapter 2: the posterior mean is (a + failures) / (b + hours).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.model.learned import FailureRate

PRIOR_FAILURES = 1.0  # the prior weighs as much as one failure seen; assumption


def failure_rate(printer: str, failures: int, hours: float, prior_per_hour: float) -> FailureRate:
    """The rate of a printer; with a prior of nothing it stays nothing until there is a failure."""
    if prior_per_hour <= 0.0:
        rate = failures / hours if hours > 0.0 else 0.0
    else:
        rate = (PRIOR_FAILURES + failures) / (PRIOR_FAILURES / prior_per_hour + hours)
    return FailureRate(printer, min(1.0, rate), failures, hours)


def failure_rates(
    runs: Sequence[tuple[str, float, bool]], prior_per_hour: float
) -> tuple[tuple[FailureRate, ...], FailureRate]:
    """Rates by printer, and that of all of them together.

    Parameters
    ----------
    runs : printer, hours that it ran, and whether it failed
    """
    failures: dict[str, int] = {}
    hours: dict[str, float] = {}
    for printer, lasted, failed in runs:
        failures[printer] = failures.get(printer, 0) + failed
        hours[printer] = hours.get(printer, 0.0) + lasted
    each = tuple(failure_rate(p, failures[p], hours[p], prior_per_hour) for p in sorted(hours))
    return each, failure_rate("", _sum(failures), sum(hours.values()), prior_per_hour)


def _sum(counted: Mapping[str, int]) -> int:
    return sum(counted.values())
