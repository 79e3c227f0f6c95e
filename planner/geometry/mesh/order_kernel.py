"""The order of points by the bytes of their numbers, as the corners of a mesh are told."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Words = NDArray[np.uint64]
Order = NDArray[np.intp]

_SHORT = 12  # points that are put in order one by one


@compiled(nogil=True)
def _before(words: Words, one: int, other: int) -> bool:
    """Whether a point comes before another one whose first number is the same."""
    if words[one, 1] != words[other, 1]:
        return bool(words[one, 1] < words[other, 1])
    return bool(words[one, 2] < words[other, 2])


@compiled(nogil=True)
def _merge(words: Words, runs: Order, into: Order, low: int, middle: int, high: int) -> None:
    """Two runs that follow one another as one."""
    left, right = low, middle
    for at in range(low, high):
        if left < middle and (right >= high or not _before(words, runs[right], runs[left])):
            into[at] = runs[left]
            left += 1
        else:
            into[at] = runs[right]
            right += 1


@compiled(nogil=True)
def _put_in_order(words: Words, order: Order, spare: Order, begin: int, end: int) -> None:
    """The points from ``begin`` to ``end``, by their second and third numbers."""
    for low in range(begin, end, _SHORT):
        for at in range(low + 1, min(low + _SHORT, end)):
            point, place = order[at], at
            while place > low and _before(words, point, order[place - 1]):
                order[place] = order[place - 1]
                place -= 1
            order[place] = point
    wide = _SHORT
    while wide < end - begin:
        for low in range(begin, end, 2 * wide):
            _merge(words, order, spare, low, min(low + wide, end), min(low + 2 * wide, end))
        for at in range(begin, end):
            order[at] = spare[at]
        wide *= 2


@compiled(nogil=True)
def settle_equal(words: Words, order: Order, spare: Order) -> None:
    """Put in order, in place, those runs of ``order`` whose first number is the same.

    Source: merge sort from below, its first runs by insertion (Knuth, The Art of Computer Programming 3,
    5.2.4 and 5.2.1).
    """
    begin = 0
    for at in range(1, order.shape[0] + 1):
        if at == order.shape[0] or words[order[at], 0] != words[order[begin], 0]:
            if at - begin > 1:
                _put_in_order(words, order, spare, begin, at)
            begin = at


def order_of_bytes(points: NDArray[np.float64]) -> Order:
    """The order of points (n, 3), no two the same, by the bytes of their numbers in memory, (n,)."""
    words = np.ascontiguousarray(points).view(np.uint8).view(">u8").astype(np.uint64)
    order = np.argsort(words[:, 0])
    settle_equal(words, order, np.empty_like(order))
    return order
