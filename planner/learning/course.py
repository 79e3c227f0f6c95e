"""How the mass of an airframe became known, from weigh-in to weigh-in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.learning.gaussian import Term, Vector
from planner.learning.grams import factor, observation
from planner.learning.in_turn import InTurn
from planner.learning.spreads import FILAMENT
from planner.model.filament import Filament
from planner.model.learned import Judged, Spreads
from planner.model.outlook import CourseStep, FactorThen, Outlook
from planner.weights.spread import Z_HIGH, low_and_high


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the airframe: its grams by the tables, its terms, and its rest.

    ``scale`` are its grams by the scale and their relative standard deviation, where it was weighed.
    """

    name: str
    tables_g: float
    row: Mapping[Term, float]
    rest: float
    scale: tuple[float, float] | None = None


class Expected:
    """The mass of an airframe by what is known of the terms, and by the pieces that were weighed.

    Parameters
    ----------
    others : grams of all that is not printed, and their standard deviation
    """

    def __init__(self, pieces: Sequence[Piece], others: tuple[float, float], terms: InTurn) -> None:
        self._others = others
        self._place = {one.name: n for n, one in enumerate(pieces)}
        self._rows: Vector = np.array([terms.row(one.row) for one in pieces]).reshape(
            len(pieces), len(terms.priors)
        )
        self._tables: Vector = np.array([one.tables_g for one in pieces])
        self._rest: Vector = np.array([one.rest for one in pieces])
        scale = [one.scale or (0.0, 0.0) for one in pieces]
        self._scale: Vector = np.array([one[0] for one in scale])
        self._spread: Vector = np.array([one[1] for one in scale])
        self._can = np.array([one.scale is not None for one in pieces], dtype=bool)
        self._weighed = np.zeros(len(pieces), dtype=bool)

    def weigh(self, names: Sequence[str]) -> None:
        """From now on these pieces weigh what the scale says."""
        for name in names:
            if name in self._place:
                self._weighed[self._place[name]] = self._can[self._place[name]]

    def mass(self, known: InTurn) -> tuple[float, float]:
        """Expected grams and their standard deviation, to first order."""
        grams = np.where(self._weighed, self._scale, self._tables * np.exp(self._rows @ known.mean))
        open_g = np.where(self._weighed, 0.0, grams)
        shared = open_g @ self._rows
        alone = grams * np.where(self._weighed, self._spread, self._rest)
        variance = float(shared @ known.covariance @ shared) + float(alone @ alone) + self._others[1] ** 2
        return self._others[0] + float(grams.sum()), math.sqrt(max(0.0, variance))


def course(
    pieces: Sequence[Piece],
    others: tuple[float, float],
    judged: Sequence[Judged],
    airframe: str,
    filaments: Mapping[str, Filament],
    spreads: Spreads,
    known: InTurn,
) -> Outlook:
    """Steps from before the first weigh-in of an airframe to after its last, and whether ranges held.

    Parameters
    ----------
    judged : weigh-ins of all airframes, in the order in which they were written; those that are not believed
        teach nothing and count neither as inside nor as outside
    known : every term with its prior, and nothing seen; it has seen all of them afterwards
    """
    expected = Expected(pieces, others, known)
    own = [one for one in judged if one.weigh_in.airframe == airframe]
    names = sorted({p.filament for one in own if one.believed for p in one.weigh_in.pieces})
    steps: list[CourseStep] = []
    found = Outlook()
    for one in judged:
        mine = one.weigh_in.airframe == airframe
        if mine and not steps:
            steps.append(_step(expected, known, names))
        if one.believed:
            seen = observation(one.weigh_in, filaments, spreads)
            value, sigma = known.foretold(seen)
            if mine and abs(seen.value - value) <= Z_HIGH * sigma:
                found = replace(found, inside=found.inside + 1)
            elif mine:
                found = replace(found, outside=found.outside | {one.weigh_in.name})
            found = replace(found, foretold=found.foretold + mine)
            known.see(seen)
        if mine:
            expected.weigh([piece.piece for piece in one.weigh_in.pieces])
            steps.append(replace(_step(expected, known, names), after=one.weigh_in.name, at=one.weigh_in.at))
    return replace(found, course=tuple(steps))


def _step(expected: Expected, known: InTurn, filaments: Sequence[str]) -> CourseStep:
    mass, sigma = expected.mass(known)
    terms = [factor(known.known(), (FILAMENT, name), 0) for name in filaments]
    then = tuple(FactorThen(one.name, one.factor, one.low, one.high) for one in terms)
    return CourseStep("", None, mass, *low_and_high(mass, sigma), then)
