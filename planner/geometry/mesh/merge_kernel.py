"""Compiled loops that give equal corners one number."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Bits = NDArray[np.uint64]
Indices = NDArray[np.int32]


@compiled()
def merge_equal(bits: Bits) -> tuple[Indices, Indices]:
    """First corner of each distinct vertex, and the vertex of each corner.

    ``bits`` is (n, 3), the float64 coordinates seen as integers (no minus zero among them).
    Open addressing; the order of the vertices is that in which they are met.
    """
    n = bits.shape[0]
    size = 16
    while size < n + n // 2:
        size *= 2
    mask = np.uint64(size - 1)
    table = np.full(size, -1, dtype=np.int32)
    first = np.empty(n, dtype=np.int32)
    vertex = np.empty(n, dtype=np.int32)
    count = 0
    for i in range(n):
        h = bits[i, 0] * np.uint64(0x9E3779B97F4A7C15)
        h = (h ^ (h >> np.uint64(29))) + bits[i, 1]
        h *= np.uint64(0xBF58476D1CE4E5B9)
        h = (h ^ (h >> np.uint64(32))) + bits[i, 2]
        h *= np.uint64(0x94D049BB133111EB)
        slot = (h ^ (h >> np.uint64(31))) & mask
        while True:
            known = table[slot]
            if known < 0:
                table[slot] = count
                first[count] = i
                vertex[i] = count
                count += 1
                break
            j = first[known]
            if bits[j, 0] == bits[i, 0] and bits[j, 1] == bits[i, 1] and bits[j, 2] == bits[i, 2]:
                vertex[i] = known
                break
            slot = (slot + np.uint64(1)) & mask
    return first[:count].copy(), vertex


@compiled()
def weld_close(points: NDArray[np.float64], order: NDArray[np.int64], reach: float) -> NDArray[np.int64]:
    """For each of ``points`` (n, 3) the lowest-numbered point it is welded to.

    Two points are welded when they are at most ``reach`` apart, or through others that are.
    ``order`` sorts the points along x, so that only near ones are compared.
    """
    n = points.shape[0]
    parent = np.arange(n)
    for p in range(n):
        i = order[p]
        for q in range(p + 1, n):
            j = order[q]
            dx = points[j, 0] - points[i, 0]
            if dx > reach:
                break
            dy = points[j, 1] - points[i, 1]
            dz = points[j, 2] - points[i, 2]
            if dx * dx + dy * dy + dz * dz > reach * reach:
                continue
            a, b = i, j
            while parent[a] != a:
                parent[a] = parent[parent[a]]
                a = parent[a]
            while parent[b] != b:
                parent[b] = parent[parent[b]]
                b = parent[b]
            if a < b:
                parent[b] = a
            elif b < a:
                parent[a] = b
    for i in range(n):
        a = i
        while parent[a] != a:
            a = parent[a]
        parent[i] = a
    return parent
