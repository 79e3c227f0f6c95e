"""The connected surfaces of a mesh, each turned so that its facets agree with one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Faces = NDArray[np.int32]


@dataclass(frozen=True, eq=False, slots=True)
class Shells:
    """Connected surfaces.

    Parameters
    ----------
    faces : (m, 3) facets, agreeing with their neighbours
    shell : (m,) number of the connected surface that each facet belongs to
    closed : (n,) whether each surface has no open edge
    open_edges : edges with one facet only
    crowded_edges : edges shared by more than two facets
    turned : facets that were turned to agree with most of their surface
    one_sided : edges at which no turning helps
    mixed : (n,) share of the facets of each surface that were turned
    """

    faces: Faces
    shell: NDArray[np.int64]
    closed: NDArray[np.bool_]
    open_edges: int
    crowded_edges: int
    turned: int
    one_sided: int
    mixed: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.closed)


def find_shells(faces: Faces, n_vertices: int) -> Shells:
    """Walk from facet to facet across shared edges; the majority of a surface decides its way."""
    from planner.geometry.mesh.edges_kernel import CROWDED, OPEN, pair_edges, walk

    mate, n_open, n_crowded = pair_edges(faces, n_vertices)
    patch, flip, patches, clashes = walk(faces, mate)
    size = np.bincount(patch, minlength=patches)
    flips = np.bincount(patch, weights=flip, minlength=patches)
    flip = flip ^ (2 * flips > size)[patch]
    turned = int(np.count_nonzero(flip))
    if turned:
        faces = faces.copy()
        faces[flip] = faces[flip][:, ::-1]
        # Turning a facet renumbers its half-edges: corner order (0,1,2) becomes (2,1,0).
        mate = _renumbered(mate, flip)
    shell = patch.astype(np.int64)
    open_half = np.flatnonzero(mate == OPEN)
    crowded_half = np.flatnonzero(mate == CROWDED)
    if len(crowded_half):
        shell, torn = _join_at_crowded(faces, shell, crowded_half, patches)
    else:
        torn = np.empty(0, dtype=np.int64)
    closed = np.ones(int(shell.max()) + 1, dtype=bool)
    closed[shell[open_half // 3]] = False
    closed[torn] = False
    mixed = np.bincount(shell, weights=flip) / np.bincount(shell)
    return Shells(faces, shell, closed, int(n_open), int(n_crowded), turned, int(clashes), mixed)


def _renumbered(mate: NDArray[np.int32], flip: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Only OPEN and CROWDED marks are needed after turning: move them to their new half-edges."""
    marks = mate.reshape(-1, 3).copy()
    # Reversed corners (2, 1, 0): edges 2-1, 1-0, 0-2 are the old edges 1, 0, 2.
    marks[flip] = marks[flip][:, [1, 0, 2]]
    return marks.reshape(-1)


def _join_at_crowded(
    faces: Faces, shell: NDArray[np.int64], half: NDArray[np.int64], patches: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Join patches that only close together, and tell the shells that stay open there.

    A patch that runs along a crowded edge as often up as down closes by itself: two bodies that
    touch in an edge stay two.
    """
    facet, corner = half // 3, half % 3
    a, b = faces[facet, corner].astype(np.int64), faces[facet, (corner + 1) % 3].astype(np.int64)
    edge = (np.minimum(a, b) << 32) | np.maximum(a, b)
    sign = np.where(a < b, 1.0, -1.0)
    _, edge = np.unique(edge, return_inverse=True)
    edge = edge.reshape(-1)
    label = np.arange(patches)
    lonely = _unbalanced(edge, shell[facet], sign, patches)
    if lonely.any():
        _join(label, edge[lonely], shell[facet][lonely])
        _, label = np.unique(label, return_inverse=True)
        shell = label.reshape(-1)[shell].astype(np.int64)
    torn = _unbalanced(edge, shell[facet], sign, patches)
    return shell, np.unique(shell[facet][torn])


def _unbalanced(
    edge: NDArray[np.int64], shell: NDArray[np.int64], sign: NDArray[np.float64], patches: int
) -> NDArray[np.bool_]:
    _, pair = np.unique(edge * patches + shell, return_inverse=True)
    pair = pair.reshape(-1)
    uneven: NDArray[np.bool_] = np.bincount(pair, weights=sign)[pair] != 0
    return uneven


def _join(label: NDArray[np.int64], edge: NDArray[np.int64], patch: NDArray[np.int64]) -> None:
    """Give all patches that meet at an edge the least of their labels, in place."""
    while True:
        least = np.full(int(edge.max()) + 1, len(label), dtype=np.int64)
        np.minimum.at(least, edge, label[patch])
        before = label.copy()
        np.minimum.at(label, patch, least[edge])
        label[:] = label[label]
        if np.array_equal(before, label):
            return
