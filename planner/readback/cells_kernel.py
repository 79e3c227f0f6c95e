"""Compiled work on cells: what is closed in, which cells hang together, what lies within an outline."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Mask = NDArray[np.bool_]


@compiled()
def filled(cells: Mask) -> Any:
    """Cells with all that they close in: what cannot be reached from the edge, side by side."""
    rows, columns = cells.shape
    outside = np.zeros((rows, columns), dtype=np.bool_)
    waiting = np.empty(rows * columns + 1, dtype=np.int64)
    count = 0
    for i in range(rows):
        for j in range(columns):
            edge = i == 0 or j == 0 or i == rows - 1 or j == columns - 1
            if edge and not cells[i, j]:
                outside[i, j] = True
                waiting[count] = i * columns + j
                count += 1
    while count > 0:
        count -= 1
        i, j = divmod(waiting[count], columns)
        for di, dj in ((-1, 0), (1, 0), (0, -1), (0, 1)):
            a, b = i + di, j + dj
            if 0 <= a < rows and 0 <= b < columns and not cells[a, b] and not outside[a, b]:
                outside[a, b] = True
                waiting[count] = a * columns + b
                count += 1
    return ~outside


@compiled()
def islands(cells: Mask) -> Any:
    """A number for every cell: 0 outside, else that of its island; corners touch."""
    rows, columns = cells.shape
    labels = np.zeros((rows, columns), dtype=np.int64)
    waiting = np.empty(rows * columns + 1, dtype=np.int64)
    label = 0
    for si in range(rows):
        for sj in range(columns):
            if not cells[si, sj] or labels[si, sj]:
                continue
            label += 1
            labels[si, sj] = label
            waiting[0] = si * columns + sj
            count = 1
            while count > 0:
                count -= 1
                i, j = divmod(waiting[count], columns)
                for a in range(max(0, i - 1), min(rows, i + 2)):
                    for b in range(max(0, j - 1), min(columns, j + 2)):
                        if cells[a, b] and labels[a, b] == 0:
                            labels[a, b] = label
                            waiting[count] = a * columns + b
                            count += 1
    return labels


@compiled()
def within(ring: NDArray[np.float64], rows: int, columns: int, low: float, cell: float) -> Any:
    """Cells whose middle lies within a ring (n, 2), by crossings along each row."""
    found = np.zeros((rows, columns), dtype=np.bool_)
    n = len(ring)
    for i in range(rows):
        y = low + (i + 0.5) * cell
        for k in range(n):
            x0, y0 = ring[k, 0], ring[k, 1]
            x1, y1 = ring[(k + 1) % n, 0], ring[(k + 1) % n, 1]
            if (y0 > y) == (y1 > y):
                continue
            x = x0 + (y - y0) / (y1 - y0) * (x1 - x0)
            first = max(0, int(np.ceil((x - low) / cell - 0.5)))
            for j in range(first, columns):
                found[i, j] = not found[i, j]
    return found
