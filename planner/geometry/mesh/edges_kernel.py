"""Compiled loops over the edges of indexed facets: who shares them, and a walk from facet to facet.

Half-edge ``3 f + k`` runs from corner k of facet f to the next corner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

OPEN = -1
CROWDED = -2  # shared by more than two facets
_FEW = 24  # a bucket up to this size is sorted by insertion


@compiled()
def pair_edges(faces: NDArray[np.int32], n_vertices: int) -> tuple[NDArray[np.int32], int, int]:
    """The half-edge on the other side of each, or OPEN or CROWDED; and how many edges are either.

    Buckets by the lower vertex, then orders each bucket by the higher one: linear in the facets.
    """
    m = faces.shape[0]
    start = np.zeros(n_vertices + 1, dtype=np.int64)
    for f in range(m):
        for k in range(3):
            a, b = faces[f, k], faces[f, (k + 1) % 3]
            start[min(a, b) + 1] += 1
    for v in range(n_vertices):
        start[v + 1] += start[v]
    fill = start[:-1].copy()
    half = np.empty(3 * m, dtype=np.int32)
    high = np.empty(3 * m, dtype=np.int32)
    for f in range(m):
        for k in range(3):
            a, b = faces[f, k], faces[f, (k + 1) % 3]
            slot = fill[min(a, b)]
            fill[min(a, b)] += 1
            half[slot] = 3 * f + k
            high[slot] = max(a, b)
    mate = np.empty(3 * m, dtype=np.int32)
    n_open = 0
    n_crowded = 0
    for v in range(n_vertices):
        low, end = start[v], start[v + 1]
        if end - low > _FEW:
            order = np.argsort(high[low:end], kind="mergesort")
            half[low:end] = half[low:end][order]
            high[low:end] = high[low:end][order]
        else:
            for i in range(low + 1, end):
                h, e = high[i], half[i]
                j = i - 1
                while j >= low and high[j] > h:
                    high[j + 1], half[j + 1] = high[j], half[j]
                    j -= 1
                high[j + 1], half[j + 1] = h, e
        i = low
        while i < end:
            j = i + 1
            while j < end and high[j] == high[i]:
                j += 1
            if j - i == 1:
                mate[half[i]] = OPEN
                n_open += 1
            elif j - i == 2:
                mate[half[i]] = half[i + 1]
                mate[half[i + 1]] = half[i]
            else:
                n_crowded += 1
                for k in range(i, j):
                    mate[half[k]] = CROWDED
            i = j
    return mate, n_open, n_crowded


@compiled()
def walk(
    faces: NDArray[np.int32], mate: NDArray[np.int32]
) -> tuple[NDArray[np.int32], NDArray[np.bool_], int, int]:
    """Patch of each facet, whether it must be turned to agree with its patch's first, patches, clashes.

    A clash is an edge whose two facets cannot agree: the surface has one side only.
    """
    m = faces.shape[0]
    patch = np.full(m, -1, dtype=np.int32)
    turned = np.zeros(m, dtype=np.bool_)
    stack = np.empty(m, dtype=np.int32)
    patches = 0
    clashes = 0
    for seed in range(m):
        if patch[seed] >= 0:
            continue
        patch[seed] = patches
        stack[0] = seed
        top = 1
        while top > 0:
            top -= 1
            f = stack[top]
            for k in range(3):
                other = mate[3 * f + k]
                if other < 0:
                    continue
                g = other // 3
                # Two facets agree when they run along their common edge in opposite directions.
                same = faces[g, other % 3] == faces[f, k]
                need = turned[f] != same
                if patch[g] < 0:
                    patch[g] = patches
                    turned[g] = need
                    stack[top] = g
                    top += 1
                elif turned[g] != need:
                    clashes += 1
        patches += 1
    return patch, turned, patches, clashes // 2
