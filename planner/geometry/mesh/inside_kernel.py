"""Compiled tests between closed bodies: what a vertical line meets, and whether surfaces cross."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]


@compiled()
def line_crossings(triangles: Floats, x: float, y: float) -> tuple[Floats, NDArray[np.int8]]:
    """Heights at which the vertical line through (x, y) meets the facets, and +1 up, -1 down.

    An edge counts for one of its two facets only: each edge is weighed from its lower corner in
    (x, y) order, so that both facets reach the same verdict (geometry).
    """
    heights = np.empty(len(triangles), dtype=np.float64)
    signs = np.empty(len(triangles), dtype=np.int8)
    count = 0
    for f in range(len(triangles)):
        low = min(triangles[f, 0, 0], triangles[f, 1, 0], triangles[f, 2, 0])
        high = max(triangles[f, 0, 0], triangles[f, 1, 0], triangles[f, 2, 0])
        if x < low or x >= high:
            continue
        winding = 0
        for k in range(3):
            ax, ay = triangles[f, k, 0], triangles[f, k, 1]
            bx, by = triangles[f, (k + 1) % 3, 0], triangles[f, (k + 1) % 3, 1]
            if ax <= x < bx:
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    winding += 1
            elif bx <= x < ax and (ax - bx) * (y - by) - (ay - by) * (x - bx) > 0:
                winding -= 1
        if winding == 0:
            continue
        ux = triangles[f, 1, 0] - triangles[f, 0, 0]
        uy = triangles[f, 1, 1] - triangles[f, 0, 1]
        uz = triangles[f, 1, 2] - triangles[f, 0, 2]
        vx = triangles[f, 2, 0] - triangles[f, 0, 0]
        vy = triangles[f, 2, 1] - triangles[f, 0, 1]
        vz = triangles[f, 2, 2] - triangles[f, 0, 2]
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        if nz == 0.0:
            continue
        rise = (nx * (x - triangles[f, 0, 0]) + ny * (y - triangles[f, 0, 1])) / nz
        heights[count] = triangles[f, 0, 2] - rise
        signs[count] = 1 if nz > 0 else -1
        count += 1
    return heights[:count].copy(), signs[:count].copy()


@compiled()
def fill_cells(
    triangles: Floats, low: Floats, size: float, shape: NDArray[np.int64], most: int
) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Sort facets into the cells of a grid by their bounding boxes.

    Gives the start of each cell's list and the lists, or empty arrays when they would hold more
    than ``most`` entries.
    """
    cells = shape[0] * shape[1] * shape[2]
    start = np.zeros(cells + 1, dtype=np.int64)
    lists = np.empty(0, dtype=np.int32)
    for step in range(2):
        for t in range(len(triangles)):
            i0, i1, j0, j1, k0, k1 = _reach(triangles[t], low, size, shape)
            for i in range(i0, i1 + 1):
                for j in range(j0, j1 + 1):
                    for k in range(k0, k1 + 1):
                        cell = (i * shape[1] + j) * shape[2] + k
                        if step == 0:
                            start[cell + 1] += 1
                        else:
                            lists[start[cell]] = t
                            start[cell] += 1
        if step == 0:
            start = np.cumsum(start)
            if start[cells] > most:
                return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int32)
            lists = np.empty(start[cells], dtype=np.int32)
    # Filling moved each start to its end, which is the next cell's start.
    for cell in range(len(start) - 1, 0, -1):
        start[cell] = start[cell - 1]
    start[0] = 0
    return start, lists


@compiled()
def surfaces_cross(
    edges: Floats,
    triangles: Floats,
    start: NDArray[np.int64],
    lists: NDArray[np.int32],
    low: Floats,
    size: float,
    shape: NDArray[np.int64],
    depth: float,
    budget: int,
) -> tuple[bool, int]:
    """Whether an edge pierces a facet with both its ends more than ``depth`` off the facet's plane.

    ``edges`` (e, 2, 3) against ``triangles`` (m, 3, 3) sorted into cells. Gives the verdict and the
    comparisons left of ``budget``; at nought left the verdict is worth nothing.
    """
    for e in range(len(edges)):
        # A closed surface has each edge once in either direction; one of them is enough.
        if edges[e, 0, 0] > edges[e, 1, 0]:
            continue
        i0, i1, j0, j1, k0, k1 = _reach(edges[e], low, size, shape)
        for i in range(i0, i1 + 1):
            for j in range(j0, j1 + 1):
                for k in range(k0, k1 + 1):
                    cell = (i * shape[1] + j) * shape[2] + k
                    for slot in range(start[cell], start[cell + 1]):
                        budget -= 1
                        if budget <= 0:
                            return False, 0
                        if _pierces(edges[e, 0], edges[e, 1], triangles[lists[slot]], depth):
                            return True, budget
    return False, budget


@compiled()
def _reach(
    points: Floats, low: Floats, size: float, shape: NDArray[np.int64]
) -> tuple[int, int, int, int, int, int]:
    """First and last cell along each axis that the bounding box of ``points`` touches."""
    found = np.empty(6, dtype=np.int64)
    for axis in range(3):
        least = points[0, axis]
        most = points[0, axis]
        for p in range(1, len(points)):
            least = min(least, points[p, axis])
            most = max(most, points[p, axis])
        top = shape[axis] - 1
        found[2 * axis] = min(max(int(np.floor((least - low[axis]) / size)), 0), top)
        found[2 * axis + 1] = min(max(int(np.floor((most - low[axis]) / size)), 0), top)
    return found[0], found[1], found[2], found[3], found[4], found[5]


@compiled()
def _pierces(p: Floats, q: Floats, t: Floats, depth: float) -> bool:
    for k in range(3):
        if max(p[k], q[k]) < min(t[0, k], t[1, k], t[2, k]):
            return False
        if min(p[k], q[k]) > max(t[0, k], t[1, k], t[2, k]):
            return False
    ux, uy, uz = t[1, 0] - t[0, 0], t[1, 1] - t[0, 1], t[1, 2] - t[0, 2]
    vx, vy, vz = t[2, 0] - t[0, 0], t[2, 1] - t[0, 1], t[2, 2] - t[0, 2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    length = np.sqrt(nx * nx + ny * ny + nz * nz)
    if length == 0.0:
        return False
    over = (nx * (p[0] - t[0, 0]) + ny * (p[1] - t[0, 1]) + nz * (p[2] - t[0, 2])) / length
    under = (nx * (q[0] - t[0, 0]) + ny * (q[1] - t[0, 1]) + nz * (q[2] - t[0, 2])) / length
    if min(abs(over), abs(under)) <= depth or over * under > 0:
        return False
    share = over / (over - under)
    hx = p[0] + share * (q[0] - p[0])
    hy = p[1] + share * (q[1] - p[1])
    hz = p[2] + share * (q[2] - p[2])
    for k in range(3):
        a, b = t[k], t[(k + 1) % 3]
        ex, ey, ez = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        wx, wy, wz = hx - a[0], hy - a[1], hz - a[2]
        inside = nx * (ey * wz - ez * wy) + ny * (ez * wx - ex * wz) + nz * (ex * wy - ey * wx)
        edge = np.sqrt(ex * ex + ey * ey + ez * ez)
        if inside <= depth * length * edge:
            return False
    return True
