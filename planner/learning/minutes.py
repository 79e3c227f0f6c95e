"""What timed runs teach: ln(measured / predicted) = printer + filament on it + rest, heat-up apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.learning.gaussian import Observation, Posterior, Term, posterior
from planner.learning.grams import factor
from planner.learning.outliers import believed
from planner.model.learned import Factor, TimedRun

PRINTER, ON_PRINTER = "minutes of printer", "minutes of"
PRINTER_SPREAD, ON_PRINTER_SPREAD, REST = 0.10, 0.05, 0.03  # standard deviations of ln, from memory
LEAST_MINUTES = 5.0  # of a run without its heat-up: of a shorter one the clock tells nothing


@dataclass(frozen=True, eq=False)
class MinutesLearned:
    """The posterior of all printers and filaments on them, and the runs that were not believed."""

    known: Posterior
    runs: tuple[TimedRun, ...]
    doubted: tuple[TimedRun, ...]

    def factor(self, printer: str, filament: str = "") -> float:
        """How many times as long as predicted it prints, in a filament or in whichever."""
        weights: dict[Term, float] = {(PRINTER, printer): 1.0}
        if filament:
            weights[ON_PRINTER, filament, printer] = 1.0
        return math.exp(self.known.expected(weights))

    def factors(self) -> tuple[Factor, ...]:
        """Printers, and filaments on them."""
        counted: dict[tuple[str, ...], int] = {}
        for one in self.runs:
            for term in ((PRINTER, one.printer), (ON_PRINTER, one.filament, one.printer)):
                counted[term] = counted.get(term, 0) + 1
        return tuple(factor(self.known, term, counted[term]) for term in sorted(counted))


def learned_minutes(runs: Sequence[TimedRun]) -> MinutesLearned:
    """Learn from runs; those that are too short to tell anything, or too far off all others, are left out."""
    long = [one for one in runs if min(one.measured, one.predicted) - one.heat_up >= LEAST_MINUTES]
    seen = [
        Observation(
            math.log((one.measured - one.heat_up) / (one.predicted - one.heat_up)),
            {(PRINTER, one.printer): 1.0, (ON_PRINTER, one.filament, one.printer): 1.0},
            REST,
        )
        for one in long
    ]
    priors = {
        t: PRINTER_SPREAD if t[0] == PRINTER else ON_PRINTER_SPREAD for one in seen for t in one.weights
    }
    there = believed(seen, priors)
    kept = [one for one, good in zip(seen, there, strict=True) if good]
    return MinutesLearned(
        posterior(kept, priors),
        tuple(run for run, good in zip(long, there, strict=True) if good),
        tuple(run for run, good in zip(long, there, strict=True) if not good),
    )
