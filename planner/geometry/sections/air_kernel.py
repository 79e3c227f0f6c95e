"""Air under the surfaces of a mesh, column by column on a grid: where it hangs open, and down to where."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

_ONE_WAY = 1.4142135623730951  # from a cell to one that touches its corner
_KNIGHT = 2.23606797749979  # two cells along and one across


@compiled(nogil=True, inline="always")
def _cells(tri: Floats, low: Floats, t: int, cell: float, nx: int, ny: int, box: Any) -> Any:
    """Range of cells whose middle may lie under facet ``t``; False where there is none."""
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


@compiled(nogil=True)
def spans(tri: Floats, low: Floats, cell: float, nx: int, ny: int, flat_cos: float, bed: float) -> Any:
    """Air below a surface, cell by cell, lowest first.

    ``low`` is the corner of the grid, its height that of the ground. A ceiling is flat when it looks
    down flatter than ``flat_cos`` (cosine of its angle from horizontal) and lies above ``bed``.

    Returns
    -------
    starts (nx * ny + 1,) of each cell's spans; floor and ceiling of each (s,) mm; flat (s,) of its
    ceiling. The first floor of a cell is zero where it is the ground, the last ceiling infinite.
    """
    m, cells = tri.shape[0], nx * ny
    box = np.empty(4, np.int64)
    first = np.zeros(cells + 1, np.int64)
    heights = np.empty(0)
    kinds = np.empty(0, np.int8)
    for turn in range(2):
        for t in range(m):
            if not _cells(tri, low, t, cell, nx, ny, box):
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
                    k = first[c]
                    first[c] = k + 1
                    heights[k] = az + a * uz + b * vz
                    kinds[k] = kind
        if turn == 0:
            for c in range(cells):
                first[c + 1] += first[c]
            heights = np.empty(first[cells])
            kinds = np.empty(first[cells], np.int8)
    starts = np.zeros(cells + 1, np.int64)
    most = heights.shape[0] + cells
    floor, ceiling, flat = np.empty(most), np.empty(most), np.empty(most, np.bool_)
    begin, count = 0, 0
    for c in range(cells):
        end = first[c]  # filling moved every start to the next one
        for k in range(begin + 1, end):
            z, kind, s = heights[k], kinds[k], k
            while s > begin and heights[s - 1] > z:
                heights[s], kinds[s] = heights[s - 1], kinds[s - 1]
                s -= 1
            heights[s], kinds[s] = z, kind
        below, inside = 0.0, 0
        for k in range(begin, end):
            if kinds[k] > 0:
                inside = max(0, inside - 1)
                below = heights[k]
                continue
            if inside == 0 and heights[k] > below:
                floor[count], ceiling[count] = below, heights[k]
                flat[count] = kinds[k] == -2 and heights[k] > bed
                count += 1
            inside += 1
        begin = end
        floor[count], ceiling[count], flat[count] = below, np.inf, False
        count += 1
        starts[c + 1] = count
    return starts, floor[:count].copy(), ceiling[:count].copy(), flat[:count].copy()


@compiled(nogil=True)
def held(
    starts: Any,
    floor: Floats,
    ceiling: Floats,
    flat: Any,
    mids: Floats,
    cell: float,
    gap: float,
    rim: float,
    from_bed: bool,
) -> Any:
    """Area of the columns under flat ceilings in every layer, (n, 2): all of it, and its topmost ``rim`` mm.

    A column ends ``gap`` below its ceiling and begins ``gap`` above its floor, unless that is the
    ground. Also the area of flat ceilings that get none because they are not above the bed.
    """
    n = mids.shape[0]
    change = np.zeros((n + 1, 2))
    left = 0.0
    for c in range(starts.shape[0] - 1):
        for s in range(starts[c], starts[c + 1]):
            if not flat[s]:
                continue
            if from_bed and floor[s] > 0.0:
                left += cell * cell
                continue
            low = np.searchsorted(mids, floor[s] + gap if floor[s] > 0.0 else 0.0)
            top = np.searchsorted(mids, ceiling[s] - gap)
            if top > low:
                change[low, 0] += 1.0
                change[top, 0] -= 1.0
                at = np.searchsorted(mids, ceiling[s] - gap - rim)
                change[max(low, at), 1] += 1.0
                change[top, 1] -= 1.0
    areas = np.zeros((n, 2))
    for k in range(2):
        running = 0.0
        for i in range(n):
            running += change[i, k]
            areas[i, k] = running * cell * cell
    return areas, left


@compiled(nogil=True)
def _spread(reach: Floats, open_: Any, nx: int, ny: int, cell: float) -> None:
    """Let what reaches further than a cell flow to the open cells around it: two sweeps of a chamfer."""
    for sweep in range(2):
        way = 1 if sweep == 0 else -1
        for p in range(nx):
            i = p if sweep == 0 else nx - 1 - p
            for q in range(ny):
                j = q if sweep == 0 else ny - 1 - q
                c = i * ny + j
                if not open_[c]:
                    continue
                best = reach[c]
                for k in range(8):
                    if k == 0:
                        di, dj, far = 0, -1, 1.0
                    elif k == 1:
                        di, dj, far = -1, 0, 1.0
                    elif k == 2:
                        di, dj, far = -1, -1, _ONE_WAY
                    elif k == 3:
                        di, dj, far = -1, 1, _ONE_WAY
                    elif k == 4:
                        di, dj, far = -1, -2, _KNIGHT
                    elif k == 5:
                        di, dj, far = -1, 2, _KNIGHT
                    elif k == 6:
                        di, dj, far = -2, -1, _KNIGHT
                    else:
                        di, dj, far = -2, 1, _KNIGHT
                    a, b = i + way * di, j + way * dj
                    if 0 <= a < nx and 0 <= b < ny:
                        best = max(best, reach[a * ny + b] - far * cell)
                reach[c] = best


@compiled(nogil=True)
def slices(
    starts: Any,
    floor: Floats,
    ceiling: Floats,
    flat: Any,
    nx: int,
    ny: int,
    levels: Floats,
    cell: float,
    gap: float,
    rim: float,
    from_bed: bool,
    widening: float,
    late: float,
) -> Any:
    """The columns at some heights (rising), (k, nx * ny): 0 none, 1 column, 2 within ``rim`` of its top.

    Columns widen downwards by ``widening`` mm a mm, as far as air lets them,
    from ``late`` mm under their top on. Other words as in `held`.
    """
    cells, k = nx * ny, levels.shape[0]
    found = np.zeros((k, cells), np.uint8)
    reach = np.full(cells, -1.0)
    before = np.full(cells, -1, np.int64)
    open_ = np.zeros(cells, np.bool_)
    above = levels[k - 1] if k else 0.0
    for q in range(k - 1, -1, -1):
        z = levels[q]
        for c in range(cells):
            own = -1
            for s in range(starts[c], starts[c + 1]):
                if floor[s] < z < ceiling[s]:
                    own = s
            open_[c] = own >= 0 and not (from_bed and floor[own] > 0.0)
            if not open_[c] or before[c] != own:
                reach[c] = -1.0
            elif reach[c] >= 0.0:
                reach[c] += (above - z) * widening
            before[c] = own
            if open_[c] and flat[own] and z < ceiling[own] - gap:
                below = max(0.0, ceiling[own] - gap - late - z)
                reach[c] = max(reach[c], below * widening + 0.5 * cell)
                found[q, c] = 2 if z >= ceiling[own] - gap - rim else 1
        if widening > 0.0:
            _spread(reach, open_, nx, ny, cell)
        for c in range(cells):
            if not open_[c]:
                continue
            if reach[c] >= 0.0 and found[q, c] == 0:
                found[q, c] = 1
            if floor[before[c]] > 0.0 and z < floor[before[c]] + gap:
                found[q, c] = 0
        above = z
    return found
