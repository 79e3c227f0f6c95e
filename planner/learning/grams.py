"""What weigh-ins teach about filaments, spools, printers and recipes.

y = ln(measured / predicted) = filament + spool + printer + recipe + rest, every term normal with mean 0
before anything is weighed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.learning.fitting import FIT_FROM, Seen, fitted
from planner.learning.gaussian import Observation, Posterior, Term, posterior, standing_off, without
from planner.learning.outliers import believed
from planner.learning.spreads import FILAMENT, LEAST, PRINTER, RECIPE, SPOOL, prior, rest
from planner.model.filament import Filament
from planner.model.learned import Factor, Judged, Lesson, Spreads, WeighedPiece, WeighIn
from planner.weights.spread import Z_HIGH

NEXT_SPOOL = "the next spool"
AS_TOLD = Spreads()


@dataclass(frozen=True, eq=False)
class GramsLearned:
    """The posterior of all terms, what was believed, and the filaments that it was learned with."""

    known: Posterior
    judged: tuple[Judged, ...]
    filaments: Mapping[str, Filament]
    spreads: Spreads = Spreads()
    fitted_from: int = 0

    def lesson(self, filament: str, recipe: str, printers: Sequence[str], spool: str = "") -> Lesson:
        """What holds for a part that is not printed yet.

        Parameters
        ----------
        printers : those that may print it: where there are several, each as likely as the others
        spool : the one that it will come from, where that is known; else the next one, of which nothing is
        """
        weights = unprinted_row(filament, recipe, printers, spool)
        known = {term: weight for term, weight in weights.items() if term in self.known.priors}
        new = {term: weight for term, weight in weights.items() if term not in known}
        fresh = math.hypot(*(w * prior(t, self.filaments, self.spreads) for t, w in new.items()))
        loads = tuple(float(load) for load in self.known.loads(known))
        alone = math.hypot(fresh, rest(filament, self.filaments, self.spreads))
        return Lesson(math.exp(self.known.expected(known)), loads, alone, tuple(weights.items()))

    def factors(self) -> tuple[Factor, ...]:
        """Every term that was observed, the surest of each kind first by name."""
        counted: dict[Term, int] = {}
        for one in self.judged:
            if one.believed:
                for term in {term for piece in one.weigh_in.pieces for term in row_of(piece)}:
                    counted[term] = counted.get(term, 0) + 1
        return tuple(factor(self.known, term, counted[term]) for term in sorted(counted))


def factor(known: Posterior, term: Term, facts: int) -> Factor:
    """A term as a factor with its 10 and 90 % values."""
    mean, sigma = known.expected({term: 1.0}), known.deviation({term: 1.0})
    low, high = (math.exp(mean + z * sigma) for z in (-Z_HIGH, Z_HIGH))
    return Factor(term[0], " on ".join(term[1:]), math.exp(mean), low, high, facts)


def learned_grams(
    weigh_ins: Sequence[WeighIn],
    filaments: Iterable[Filament],
    more: Iterable[WeighedPiece] = (),
    spreads: Spreads = AS_TOLD,
    fitted_from: int | None = None,
) -> GramsLearned:
    """Learn from weigh-ins; those too far off all others are named and not believed.

    Parameters
    ----------
    more : pieces to be predicted later, whose terms then have a place beside those that were observed
    spreads : as told; where there are many weigh-ins they are fitted to these
    fitted_from : how many they were fitted to, where that was done before; 0: they stay as they are
    """
    named = {one.name: one for one in filaments}
    if fitted_from is None:
        spreads, fitted_from = _fitted(weigh_ins, named, spreads)
    observations = [observation(one, named, spreads) for one in weigh_ins]
    priors = {term: prior(term, named, spreads) for one in observations for term in one.weights}
    priors |= {term: prior(term, named, spreads) for piece in more for term in row_of(piece)}
    there = believed(observations, priors)
    kept = [one for one, good in zip(observations, there, strict=True) if good]
    known = posterior(kept, priors)
    judged = []
    for weigh_in, seen, good in zip(weigh_ins, observations, there, strict=True):
        expected = without(known, seen) if good else known.expected(seen.weights)
        off = float(standing_off([*kept, seen], priors)[-1]) if not good else 0.0
        judged.append(Judged(weigh_in, weigh_in.predicted_g * math.exp(expected), off, good))
    return GramsLearned(known, tuple(judged), named, spreads, fitted_from)


def _fitted(
    weigh_ins: Sequence[WeighIn], filaments: Mapping[str, Filament], spreads: Spreads
) -> tuple[Spreads, int]:
    """Spreads by the weigh-ins that are no gross slips: those that twice the spreads make believable."""
    if len(weigh_ins) < FIT_FROM:
        return spreads, 0
    wide = Spreads(
        min(0.5, 2.0 * spreads.spool),
        min(0.5, 2.0 * spreads.printer),
        min(0.5, 2.0 * spreads.recipe),
        2.0,
        2.0,
    )
    rows = [observation(one, filaments, wide) for one in weigh_ins]
    there = believed(rows, {t: prior(t, filaments, wide) for one in rows for t in one.weights})
    seen = []
    for weigh_in, row, good in zip(weigh_ins, rows, there, strict=True):
        if good:
            alone, scale = _rest_and_scale(weigh_in, filaments, spreads)
            seen.append(Seen(row.value, row.weights, max(LEAST**2, alone**2), scale**2))
    if len(seen) < FIT_FROM:
        return spreads, 0
    told = {term: prior(term, filaments, spreads) for one in seen for term in one.weights}
    return fitted(seen, told, spreads), len(seen)


def _rest_and_scale(
    weigh_in: WeighIn, filaments: Mapping[str, Filament], spreads: Spreads
) -> tuple[float, float]:
    """Relative standard deviations of the pieces' rests together, and of the scale."""
    whole = weigh_in.predicted_g
    alone = math.hypot(
        *(p.predicted_g / whole * rest(p.filament, filaments, spreads) for p in weigh_in.pieces)
    )
    return alone, weigh_in.resolution_g / (math.sqrt(12.0) * whole)


def observation(
    weigh_in: WeighIn, filaments: Mapping[str, Filament], spreads: Spreads = AS_TOLD
) -> Observation:
    """A weigh-in as a row of the model: of pieces weighed together the weights are their predicted shares."""
    weights: dict[Term, float] = {}
    for piece in weigh_in.pieces:
        share = piece.predicted_g / weigh_in.predicted_g
        for term, weight in row_of(piece).items():
            weights[term] = weights.get(term, 0.0) + share * weight
    alone, scale = _rest_and_scale(weigh_in, filaments, spreads)
    return Observation(
        math.log(weigh_in.grams / weigh_in.predicted_g), weights, max(LEAST, math.hypot(alone, scale))
    )


def row_of(piece: WeighedPiece) -> dict[Term, float]:
    """The terms of a piece."""
    told = (
        (FILAMENT, piece.filament),
        (SPOOL, piece.spool),
        (PRINTER, piece.printer),
        (RECIPE, piece.recipe),
    )
    return {term: 1.0 for term in told if term[1]}


def unprinted_row(filament: str, recipe: str, printers: Sequence[str], spool: str = "") -> dict[Term, float]:
    """The terms of a part that is not printed yet; where several may print it, a share of each."""
    weights = row_of(WeighedPiece("part", 1.0, filament, recipe, "", spool or next_spool(filament)))
    return weights | {(PRINTER, one): 1.0 / len(printers) for one in printers}


def next_spool(filament: str) -> str:
    """The name of a spool of which nothing is known yet, the same for all parts of a filament."""
    return f"{NEXT_SPOOL} of {filament}"
