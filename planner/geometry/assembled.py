"""Whether the meshes of a folder are drawn where they sit in the finished thing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh import TriangleMesh
from planner.geometry.overlap import OVERLAP_DEPTH, Surface, relation

LEAST_MESHES = 4  # fewer say too little
NEAR_MM = 1.5  # glue gaps and hinge lines are narrower
LONGER = 1.5  # the whole is at least this many times as long as its longest part, along some axis
_MOST_PAIRS = 2000
_BUDGET = 100_000_000  # comparisons of an edge with a facet


def tile_common_space(meshes: Sequence[TriangleMesh]) -> bool:
    """Whether the meshes fill one space side by side: touching, spread out, and never overlapping.

    Conservative: parts that all stand on one height may be laid out for a bed, parts that share
    space were drawn one by one, and a lone part far from the others belongs to no assembly; each of
    them makes the answer no. So does a comparison that would take too long.
    """
    if len(meshes) < LEAST_MESHES:
        return False
    low = np.array([mesh.bounds[0] for mesh in meshes])
    high = np.array([mesh.bounds[1] for mesh in meshes])
    if np.ptp(low[:, 2]) <= NEAR_MM:
        return False
    if ((high.max(axis=0) - low.min(axis=0)) < LONGER * (high - low).max(axis=0)).all():
        return False
    return _connected(low, high) and not _any_overlap(meshes, low, high)


def _connected(low: NDArray[np.float64], high: NDArray[np.float64]) -> bool:
    """Whether a walk from box to near box reaches all of them."""
    reach = (low[:, None] - high[None]).max(axis=2)
    near = np.maximum(reach, reach.T) <= NEAR_MM
    reached = {0}
    waiting = [0]
    while waiting:
        fresh = set(np.flatnonzero(near[waiting.pop()]).tolist()) - reached
        reached |= fresh
        waiting += sorted(fresh)
    return len(reached) == len(low)


def _any_overlap(meshes: Sequence[TriangleMesh], low: NDArray[np.float64], high: NDArray[np.float64]) -> bool:
    shared = np.minimum(high[:, None], high[None]) - np.maximum(low[:, None], low[None])
    depth = shared.min(axis=2)
    pairs = np.argwhere(np.triu(depth > OVERLAP_DEPTH, k=1))
    if len(pairs) > _MOST_PAIRS:
        return True
    pairs = pairs[np.argsort(-depth[pairs[:, 0], pairs[:, 1]], kind="stable")]
    surfaces = {int(at): Surface.of(meshes[at].triangles) for at in np.unique(pairs)}
    budget = _BUDGET
    for first, second in pairs.tolist():
        found, budget = relation(surfaces[first], surfaces[second], budget)
        if found != "apart" or budget <= 0:
            return True
    return False
