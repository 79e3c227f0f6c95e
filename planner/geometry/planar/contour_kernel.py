"""Smooth outlines of patches of cells, by marching squares over a blurred grid.

Source: W. Lorensen, H. Cline, "Marching cubes", SIGGRAPH 1987, in the plane.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

_LEVEL = 0.5 - 1.0 / 64.0  # between the sixteenths that a blurred node can have: never met exactly


@compiled(nogil=True)
def _blurred(marks: Any, least: int, nx: int, ny: int, field: Floats) -> None:
    """Weights 1 2 1 both ways over the cells marked with at least ``least``; a rim of two zeros around."""
    for i in range(nx + 4):
        for j in range(ny + 4):
            field[i, j] = 0.0
    for i in range(nx):
        for j in range(ny):
            if marks[i * ny + j] >= least:
                for a in range(3):
                    for b in range(3):
                        field[i + 1 + a, j + 1 + b] += (2 - abs(a - 1)) * (2 - abs(b - 1)) / 16.0


@compiled(nogil=True, inline="always")
def _crossing(field: Floats, i: int, j: int, k: int, m: int, cell: float, low_x: float, low_y: float) -> Any:
    """Where the level lies between two nodes; the same to the bit whichever square asks."""
    f, g = field[i, j], field[k, m]
    share = (_LEVEL - f) / (g - f)
    x = low_x + cell * (i - 1.5 + share * (k - i))
    y = low_y + cell * (j - 1.5 + share * (m - j))
    return x, y


@compiled(nogil=True)
def outlines(marks: Any, least: int, nx: int, ny: int, cell: float, low_x: float, low_y: float) -> Any:
    """Sides of the outlines of every grid (k, nx * ny), what is marked on their left, and their starts.

    ``low_x, low_y`` is the corner of the grid.
    """
    k = marks.shape[0]
    starts = np.zeros(k + 1, np.int64)
    field = np.empty((nx + 4, ny + 4))
    seg = np.empty((1024, 4))
    count = 0
    ends = np.empty((4, 2))
    for q in range(k):
        _blurred(marks[q], least, nx, ny, field)
        for i in range(nx + 3):
            for j in range(ny + 3):
                a, b = field[i, j] > _LEVEL, field[i + 1, j] > _LEVEL
                c, d = field[i + 1, j + 1] > _LEVEL, field[i, j + 1] > _LEVEL
                if a == b and b == c and c == d:
                    continue
                if a != b:
                    ends[0, 0], ends[0, 1] = _crossing(field, i, j, i + 1, j, cell, low_x, low_y)
                if b != c:
                    ends[1, 0], ends[1, 1] = _crossing(field, i + 1, j, i + 1, j + 1, cell, low_x, low_y)
                if c != d:
                    ends[2, 0], ends[2, 1] = _crossing(field, i, j + 1, i + 1, j + 1, cell, low_x, low_y)
                if d != a:
                    ends[3, 0], ends[3, 1] = _crossing(field, i, j, i, j + 1, cell, low_x, low_y)
                if count + 2 > seg.shape[0]:
                    wider = np.empty((2 * seg.shape[0], 4))
                    for k in range(count):
                        for column in range(4):
                            wider[k, column] = seg[k, column]
                    seg = wider
                corners = (a, b, c, d)
                split = a == c and b == d
                for side in range(4):  # counter-clockwise: ab, bc, cd, da
                    if not corners[side] or corners[(side + 1) % 4]:
                        continue
                    # the outline comes in where marked turns to free, and leaves where free turns to marked
                    out = side
                    for step in range(1, 4):
                        other = (side + 4 - step) % 4 if split else (side + step) % 4
                        if corners[(other + 1) % 4] and not corners[other]:
                            out = other
                            break
                    seg[count, 0], seg[count, 1] = ends[side, 0], ends[side, 1]
                    seg[count, 2], seg[count, 3] = ends[out, 0], ends[out, 1]
                    count += 1
        starts[q + 1] = count
    return seg[:count].copy(), starts
