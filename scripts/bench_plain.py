"""Plain ways of doing what the program does, to time it against: standard library, numpy and shapely only."""

from __future__ import annotations

import heapq
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_WORD = re.compile(rb"([A-Z])(-?[0-9.]+)")
Ring = Sequence[tuple[float, float]]


def list_schedule(minutes: Sequence[int], machines: int, opens: int, day: int) -> int:
    """Last minute of jobs that are given out longest first and begin only in the first ``opens`` of a day.

    Source: Graham 1969, list scheduling by longest processing time.
    """
    free = [(0, machine) for machine in range(machines)]
    finish = 0
    for length in sorted(minutes, reverse=True):
        at, machine = heapq.heappop(free)
        if at % day >= opens:
            at += day - at % day
        heapq.heappush(free, (at + length, machine))
        finish = max(finish, at + length)
    return finish


def moves(data: bytes) -> tuple[float, float]:
    """Millimetres gone and laid by lines of words, one line after the other."""
    place = {b"X": 0.0, b"Y": 0.0, b"Z": 0.0}
    gone = laid = 0.0
    for line in data.split(b"\n"):
        words = dict(_WORD.findall(line))
        to = {axis: float(words.get(axis, was)) for axis, was in place.items()}
        gone += sum((to[axis] - was) ** 2 for axis, was in place.items()) ** 0.5
        laid += float(words.get(b"E", 0.0))
        place = to
    return gone, laid


def apart(rings: Sequence[Ring], places: NDArray[np.float64], clearance_mm: float) -> int:
    """How many of the places (x, y, turn in radians) keep the first ring that far from all others."""
    import shapely
    from shapely import affinity

    first, *rest = (shapely.Polygon(ring) for ring in rings)
    shapely.prepare(rest)
    good = 0
    for x, y, turn in places.tolist():
        there = affinity.translate(affinity.rotate(first, turn, origin=(0, 0), use_radians=True), x, y)
        good += all(not shapely.dwithin(there, other, clearance_mm) for other in rest)
    return good


def shared_edges(triangles: NDArray[np.float64]) -> int:
    """Edges that two facets go along in opposite directions, found by sorting corners and edges."""
    corners, at = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    faces = at.reshape(-1, 3).astype(np.int64)
    ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    there = np.sort(ends[:, 0] * len(corners) + ends[:, 1])
    back = np.sort(ends[:, 1] * len(corners) + ends[:, 0])
    return int(np.isin(there, back).sum())
