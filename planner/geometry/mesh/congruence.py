"""Whether two meshes are one shape, turned, shifted or mirrored.

Invariants first (corners, facets, how far the corners lie from their middle), then alignment: two corners
of the one that have few likenesses in the other give the motions to try, and a motion holds when every
corner lands on a corner. Meshes must be drawn with the same facets, as copies of one drawing are.
Source: geometry.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh

Points = NDArray[np.float64]

LEAST_MM = 0.002  # corners written with few digits are that far off
SHARE = 2e-5  # of the size, as 32-bit floats and six digits are
REACH = 25.0  # how much further a corner may land than the invariants may differ: an anchor may be near
MOST_MOTIONS = 3000  # tried before two meshes count as different
FIRST_CORNERS = 24
_FIELD = 1 << 20  # cells each way


@dataclass(frozen=True, eq=False, slots=True)
class Congruence:
    """The motion that lays one mesh on another: ``corners @ turn.T + shift``; ``turn`` may mirror."""

    turn: Points
    shift: Points
    mirrored: bool


def congruence(one: TriangleMesh, other: TriangleMesh) -> Congruence | None:
    """How ``one`` comes to lie on ``other``, unmirrored where that is possible; None where it does not."""
    a, b = one.indexed[0], other.indexed[0]
    if len(one) != len(other) or len(a) != len(b) or len(a) < 4:
        return None
    middles = a.mean(axis=0), b.mean(axis=0)
    a, b = a - middles[0], b - middles[1]
    far_a, far_b = np.linalg.norm(a, axis=1), np.linalg.norm(b, axis=1)
    near = max(LEAST_MM, SHARE * float(far_a.max()))
    if np.abs(np.sort(far_a) - np.sort(far_b)).max() > 2.0 * near:
        return None
    cells = _Cells(b, REACH * near)
    mirror: Points | None = None
    for tried, (turn, mirrored) in enumerate(_motions(a, b, far_a, far_b, near)):
        if tried > MOST_MOTIONS:
            break
        if mirrored and mirror is not None:
            continue
        if not (cells.hold(a[:FIRST_CORNERS] @ turn.T) and cells.hold(a @ turn.T)):
            continue
        if not mirrored:
            return Congruence(turn, middles[1] - middles[0] @ turn.T, False)
        mirror = turn
    return None if mirror is None else Congruence(mirror, middles[1] - middles[0] @ mirror.T, True)


def _motions(
    a: Points, b: Points, far_a: Points, far_b: Points, near: float
) -> Iterator[tuple[Points, bool]]:
    """Turns that lay two anchors of the one on corners of the other as far apart, each also mirrored."""
    sorted_b = np.sort(far_b)
    alike = np.searchsorted(sorted_b, far_a + 2.0 * near, "right")
    alike -= np.searchsorted(sorted_b, far_a - 2.0 * near, "left")
    first = _rarest(alike, far_a > 0.3 * far_a.max())
    off = np.linalg.norm(np.cross(a, a[first]), axis=1)
    second = _rarest(alike, off > 0.3 * off.max())
    if off[second] == 0.0:
        return
    apart = float(np.linalg.norm(a[first] - a[second]))
    here = _frame(a[first], a[second])
    seconds = np.flatnonzero(np.abs(far_b - far_a[second]) <= 2.0 * near)
    for start in b[np.abs(far_b - far_a[first]) <= 2.0 * near]:
        gaps = np.linalg.norm(b[seconds] - start, axis=1)
        for end in b[seconds[np.abs(gaps - apart) <= 4.0 * near]]:
            there = _frame(start, end)
            yield there @ here.T, False
            there[:, 2] = -there[:, 2]
            yield there @ here.T, True


def _rarest(alike: NDArray[np.int64], allowed: NDArray[np.bool_]) -> int:
    """The corner with the fewest likenesses among those allowed."""
    return int(np.where(allowed, alike, np.iinfo(np.int64).max).argmin())


def _frame(first: Points, second: Points) -> Points:
    """Three directions at right angles, as columns, from two corners seen from the middle."""
    along = first / np.linalg.norm(first)
    aside = second - (second @ along) * along
    aside /= np.linalg.norm(aside)
    return np.column_stack([along, aside, np.cross(along, aside)])


class _Cells:
    """Corners in cells, to ask whether each of many points lies near one of them."""

    def __init__(self, corners: Points, cell: float) -> None:
        self._cell = cell
        self._low = corners.min(axis=0) - 2.0 * cell
        self._filled = np.unique(self._key(corners))

    def hold(self, points: Points) -> bool:
        """Whether each point lies within half a cell, along every axis, of a cell with a corner."""
        found = np.zeros(len(points), dtype=bool)
        for step in np.ndindex(2, 2, 2):
            moved = points + (np.array(step) - 0.5) * self._cell
            found |= np.isin(self._key(moved), self._filled)
        return bool(found.all())

    def _key(self, points: Points) -> NDArray[np.int64]:
        cells = np.clip(np.floor((points - self._low) / self._cell), 0, _FIELD - 1).astype(np.int64)
        keys: NDArray[np.int64] = (cells[:, 0] * _FIELD + cells[:, 1]) * _FIELD + cells[:, 2]
        return keys
