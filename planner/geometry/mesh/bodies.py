"""How the surfaces of one mesh lie to each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.overlap import Surface, relation

Floats = NDArray[np.float64]

MOST_COMPARED = 400  # closed surfaces in one mesh that are still compared pair by pair
_FEW_SURFACES = 40  # up to here open surfaces are compared too
_BUDGET = 300_000_000  # comparisons of an edge with a facet in one mesh


@dataclass(frozen=True, eq=False, slots=True)
class Nesting:
    """Which surfaces lie inside which.

    Parameters
    ----------
    holders : for each surface the surfaces that it lies wholly inside
    crossing : pairs of closed surfaces that share space, neither inside the other
    complete : False when there were too many surfaces or facets to compare them all
    """

    holders: tuple[tuple[int, ...], ...]
    crossing: tuple[tuple[int, int], ...]
    complete: bool


def find_nesting(triangles: Floats, shell: NDArray[np.int64], closed: NDArray[np.bool_]) -> Nesting:
    """Compare the surfaces of a mesh whose bounding boxes meet, each with each."""
    count = len(closed)
    holders: list[list[int]] = [[] for _ in range(count)]
    # An open surface may still be a cavity with a gap; it is compared where there are few.
    able = np.arange(count) if count <= _FEW_SURFACES else np.flatnonzero(closed)
    if len(able) < 2:
        return Nesting(((),) * count, (), True)
    if len(able) > MOST_COMPARED:
        return Nesting(((),) * count, (), False)
    order = np.argsort(shell, kind="stable")
    ends = np.searchsorted(shell[order], np.arange(count + 1))
    surfaces = [(int(s), Surface.of(triangles[order[ends[s] : ends[s + 1]]])) for s in able]
    crossing: list[tuple[int, int]] = []
    budget = _BUDGET
    for k, m in _meeting([surface for _, surface in surfaces]):
        (s, first), (t, second) = surfaces[k], surfaces[m]
        if budget <= 0:
            break
        found, budget = relation(first, second, budget)
        if found == "overlap" and closed[s] and closed[t]:
            crossing.append((s, t))
        elif found == "first inside":
            holders[s].append(t)
        elif found == "second inside":
            holders[t].append(s)
    return Nesting(tuple(tuple(held) for held in holders), tuple(crossing), budget > 0)


def _meeting(surfaces: list[Surface]) -> list[tuple[int, int]]:
    """Pairs whose bounding boxes meet, each once, in order."""
    low = np.array([surface.low for surface in surfaces])
    high = np.array([surface.high for surface in surfaces])
    meet = (low[:, None, :] < high[None, :, :]).all(axis=2)
    first, second = np.nonzero(np.triu(meet & meet.T, k=1))
    return list(zip(first.tolist(), second.tolist(), strict=True))
