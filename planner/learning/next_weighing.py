"""Which piece to weigh next: the one that narrows the range of the mass most.

With mass M = sum m_i (x_i' t + e_i) and a weighing y = x_j' t + e_j + s of one of its pieces, all normal, M
is known after it with the variance Var(M) - Cov(M, y)^2 / Var(y), whatever the scale will show. Source: the
conditional normal distribution (Gelman et al., Bayesian Data Analysis, appendix A).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planner.learning.gaussian import Term
from planner.learning.in_turn import InTurn


@dataclass(frozen=True, slots=True)
class OpenPiece:
    """A piece that was not weighed: expected grams, its terms, its rest; ``there``: it could be weighed."""

    name: str
    grams: float
    row: Mapping[Term, float]
    rest: float
    there: bool


def narrowing(
    pieces: Sequence[OpenPiece], known: InTurn, others_g: float, resolution_g: float
) -> list[tuple[str, float]]:
    """Pieces that could be weighed, and what is left of the spread of the mass then, the least first.

    Parameters
    ----------
    others_g : standard deviation of all that is not among ``pieces``
    resolution_g : step of the scale

    Returns
    -------
    left : by piece the standard deviation of the mass after its weighing, over that before
    """
    if not pieces:
        return []
    rows = np.array([known.row(one.row) for one in pieces])
    grams = np.array([one.grams for one in pieces])
    rests = np.array([one.rest for one in pieces])
    shared = known.covariance @ (grams @ rows)
    before = float((grams @ rows) @ shared) + float(((grams * rests) ** 2).sum()) + others_g**2
    found = []
    for n, one in enumerate(pieces):
        if not one.there or one.grams <= 0.0:
            continue
        scale = resolution_g / (math.sqrt(12.0) * one.grams)
        together = float(rows[n] @ shared) + one.grams * one.rest**2
        alone = float(rows[n] @ known.covariance @ rows[n]) + one.rest**2 + scale**2
        left = max(0.0, before - together**2 / alone) if alone > 0.0 else before
        found.append((one.name, math.sqrt(left / before) if before > 0.0 else 1.0))
    return sorted(found, key=lambda told: (told[1], told[0]))
