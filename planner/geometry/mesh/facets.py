"""Facets that carry nothing: collapsed to a line, or there more than once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Faces = NDArray[np.int32]
_MOST_CANCELLED = 0.5  # over half of the facets in opposite pairs: the surface was written double-sided


@dataclass(frozen=True, eq=False, slots=True)
class Sifted:
    """Which facets stay, and how many went for which reason.

    ``twins`` counts facets that went because another with the same corners looks the other way:
    both go where two bodies lie face to face, one of each two where the whole surface is double.
    """

    keep: NDArray[np.bool_]
    collapsed: int
    repeated: int
    twins: int


def sift(faces: Faces) -> Sifted:
    """Mark the facets that have two equal corners or the same three corners as another."""
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    keep = (a != b) & (b != c) & (c != a)
    collapsed = int(len(faces) - np.count_nonzero(keep))
    suspects = _suspects(faces, keep)
    if len(suspects) == 0:
        return Sifted(keep, collapsed, 0, 0)
    group, sign = _groups(faces[suspects])
    up = np.bincount(group, weights=sign > 0)
    down = np.bincount(group, weights=sign < 0)
    opposed = np.minimum(up, down)
    double_sided = 2.0 * opposed.sum() > _MOST_CANCELLED * (len(faces) - collapsed)
    wanted_up = np.where(double_sided, up > 0, up > down)
    wanted_down = np.where(double_sided, (up == 0) & (down > 0), down > up)
    first_up, first_down = _firsts(group, sign > 0, len(up)), _firsts(group, sign < 0, len(up))
    stays = np.zeros(len(suspects), dtype=bool)
    stays[first_up[wanted_up]] = True
    stays[first_down[wanted_down]] = True
    keep[suspects[~stays]] = False
    gone = int(np.count_nonzero(~stays))
    twins = int(opposed.sum() if double_sided else 2 * opposed.sum())
    return Sifted(keep, collapsed, gone - min(twins, gone), min(twins, gone))


def _suspects(faces: Faces, keep: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Facets whose mixed key occurs more than once; few are false, none are missed."""
    ordered = np.sort(faces, axis=1).astype(np.uint64)
    key = ordered[:, 0] * np.uint64(0x9E3779B97F4A7C15)
    key = (key ^ (key >> np.uint64(29))) + ordered[:, 1] * np.uint64(0xBF58476D1CE4E5B9)
    key = (key ^ (key >> np.uint64(31))) + ordered[:, 2] * np.uint64(0x94D049BB133111EB)
    live = np.sort(key[keep])
    again = np.unique(live[1:][live[1:] == live[:-1]])
    if len(again) == 0:
        return np.empty(0, dtype=np.int64)
    return np.flatnonzero(keep & np.isin(key, again))


def _groups(faces: Faces) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Number of the corner set of each facet, and +1 or -1 for the way it turns."""
    ordered = np.sort(faces, axis=1)
    _, group = np.unique(ordered, axis=0, return_inverse=True)
    shift = np.argmin(faces, axis=1)
    following = faces[np.arange(len(faces)), (shift + 1) % 3]
    sign = np.where(following == ordered[:, 1], 1, -1).astype(np.int64)
    return group.reshape(-1).astype(np.int64), sign


def _firsts(group: NDArray[np.int64], mask: NDArray[np.bool_], count: int) -> NDArray[np.int64]:
    first = np.full(count, -1, dtype=np.int64)
    places = np.flatnonzero(mask)[::-1]
    first[group[places]] = places
    return first
