"""Outline and parts of a region that is known by its stretches on scan lines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]


@compiled(nogil=True, error_model="numpy")
def _root(parent: Any, k: int) -> int:
    """The part that a stretch belongs to."""
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@compiled(nogil=True, error_model="numpy")
def traced(rows: int, begin: Any, a: Floats, b: Floats, gap: float, least: float) -> tuple[float, int]:
    """Length of the outline and number of parts larger than ``least``.

    Stretches ``a`` to ``b`` of line ``j`` are those from ``begin[j]`` up to ``begin[j + 1]``, rising; lines
    lie ``gap`` apart. Stretches of neighbouring lines that overlap belong together: between them the outline
    runs straight from end to end, and where something begins, ends, parts or meets, along the line.

    Source: geometry. Limits: what is lower than ``gap`` between two lines is not seen.
    """
    total = begin[rows]
    parent, size = np.arange(total), np.empty(total)
    for k in range(total):
        size[k] = (b[k] - a[k]) * gap
    length = 0.0
    for j in range(rows + 1):
        i, end = begin[max(j - 1, 0)], begin[j]  # stretches of the line before
        k, last = begin[j], begin[min(j + 1, rows)]  # and of this one
        while i < end or k < last:
            if k >= last or (i < end and b[i] <= a[k]):
                length += b[i] - a[i]
                i += 1
                continue
            if i >= end or b[k] <= a[i]:
                length += b[k] - a[k]
                k += 1
                continue
            length += np.hypot(gap, a[k] - a[i])
            while True:  # all that hangs together with these two, from left to right
                one, other = _root(parent, i), _root(parent, k)
                if one != other:
                    parent[other] = one
                    size[one] += size[other]
                if b[i] < b[k] and i + 1 < end and a[i + 1] < b[k]:
                    length += a[i + 1] - b[i]
                    i += 1
                elif b[k] <= b[i] and k + 1 < last and a[k + 1] < b[i]:
                    length += a[k + 1] - b[k]
                    k += 1
                else:
                    break
            length += np.hypot(gap, b[k] - b[i])
            i, k = i + 1, k + 1
    parts = 0
    for k in range(total):
        if parent[k] == k and size[k] > least:
            parts += 1
    return length, parts
