"""Air under surfaces that look down too flat, column by column on a grid."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit(cache=True, nogil=True, inline="always")
def _heights(tri: Floats, low: Floats, t: int, cell: float, nx: int, ny: int, box: Any) -> Any:
    """Range of columns whose middle may lie under facet ``t``; False where there is none."""
    x0, x1 = np.inf, -np.inf
    y0, y1 = np.inf, -np.inf
    for k in range(3):
        x, y = tri[t, k, 0] - low[0], tri[t, k, 1] - low[1]
        x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
    box[0] = max(0, int(np.ceil(x0 / cell - 0.5)))
    box[1] = min(nx, int(np.ceil(x1 / cell - 0.5)))
    box[2] = max(0, int(np.ceil(y0 / cell - 0.5)))
    box[3] = min(ny, int(np.ceil(y1 / cell - 0.5)))
    return box[1] > box[0] and box[3] > box[2]


@njit(cache=True, nogil=True)
def columns(
    tri: Floats,
    low: Floats,
    mids: Floats,
    cell: float,
    nx: int,
    ny: int,
    flat_cos: float,
    bed: float,
    rim: int,
) -> Any:
    """Area of the air that needs support in every layer, (n, 2): all of it, and its top ``rim`` layers.

    A column of air counts from a surface that looks down and is flatter than ``flat_cos`` (cosine
    of its angle from horizontal), higher than ``bed``, down to the next material or the bed.
    """
    n, m = mids.shape[0], tri.shape[0]
    box = np.empty(4, np.int64)
    first = np.zeros(nx * ny + 1, np.int64)
    heights = np.empty(0)
    kinds = np.empty(0, np.int8)
    for turn in range(2):
        for t in range(m):
            if not _heights(tri, low, t, cell, nx, ny, box):
                continue
            ax, ay, az = tri[t, 0, 0] - low[0], tri[t, 0, 1] - low[1], tri[t, 0, 2] - low[2]
            ux, uy, uz = tri[t, 1, 0] - low[0] - ax, tri[t, 1, 1] - low[1] - ay, tri[t, 1, 2] - low[2] - az
            vx, vy, vz = tri[t, 2, 0] - low[0] - ax, tri[t, 2, 1] - low[1] - ay, tri[t, 2, 2] - low[2] - az
            twice = ux * vy - uy * vx
            if twice == 0.0:
                continue
            sx, sy = uy * vz - uz * vy, uz * vx - ux * vz
            kind = 1
            if twice < 0.0:
                kind = -2 if -twice > flat_cos * np.sqrt(sx * sx + sy * sy + twice * twice) else -1
            for i in range(box[0], box[1]):
                for j in range(box[2], box[3]):
                    px, py = (i + 0.5) * cell - ax, (j + 0.5) * cell - ay
                    a = (px * vy - py * vx) / twice
                    b = (ux * py - uy * px) / twice
                    if a < 0.0 or b < 0.0 or a + b > 1.0:
                        continue
                    c = i * ny + j
                    if turn == 0:
                        first[c + 1] += 1
                        continue
                    z = az + a * uz + b * vz
                    k = first[c]
                    first[c] = k + 1
                    heights[k] = z
                    kinds[k] = kind
        if turn == 0:
            for c in range(nx * ny):
                first[c + 1] += first[c]
            heights = np.empty(first[nx * ny])
            kinds = np.empty(first[nx * ny], np.int8)
    change = np.zeros((n + 1, 2))
    begin = 0
    for c in range(nx * ny):
        end = first[c]  # filling moved every start to the next one
        for k in range(begin + 1, end):
            z, kind, s = heights[k], kinds[k], k
            while s > begin and heights[s - 1] > z:
                heights[s], kinds[s] = heights[s - 1], kinds[s - 1]
                s -= 1
            heights[s], kinds[s] = z, kind
        floor, inside = 0.0, 0
        for k in range(begin, end):
            if kinds[k] > 0:
                inside = max(0, inside - 1)
                floor = heights[k]
                continue
            if inside == 0 and kinds[k] == -2 and heights[k] > bed:
                low_layer = np.searchsorted(mids, floor)
                high_layer = np.searchsorted(mids, heights[k])
                if high_layer > low_layer:
                    change[low_layer, 0] += 1.0
                    change[high_layer, 0] -= 1.0
                    change[max(low_layer, high_layer - rim), 1] += 1.0
                    change[high_layer, 1] -= 1.0
            inside += 1
        begin = end
    areas = np.zeros((n, 2))
    for column in range(2):
        running = 0.0
        for i in range(n):
            running += change[i, column]
            areas[i, column] = running * cell * cell
    return areas
