"""One compiled pass over raw triangles: exact measures of every horizontal section.

A vertex counts as above a plane when its height is at least that of the plane, so a triangle is cut
where ``lowest < z <= highest``: no plane runs through a vertex, and no vertex has to be merged.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

# Columns of the table of sums, one row a plane.
CROSS, LENGTH, MOMENT_X, MOMENT_Y, LINE_X, LINE_Y = range(6)
COLUMNS = 6
# Entries of the totals.
SURFACE, SIX_VOLUMES, OVERHANG, OVERHANG_X, OVERHANG_Y, OVERHANG_LOW = range(6)

_MIX_A: Any = np.int64(0x2545F4914F6CDD1D)
_MIX_B: Any = np.int64(0x1B873593CC9E2D51)
_MIX_C: Any = np.int64(0x5851F42D4C957F2D)


@compiled(nogil=True, error_model="numpy")
def _stir(value: Any) -> Any:
    value ^= value >> 32
    value *= _MIX_A
    value ^= value >> 29
    return value


@compiled(nogil=True, error_model="numpy")
def _corner(bits: Any, t: int, k: int) -> Any:
    """Hash of a vertex by its bits, minus zero taken as zero."""
    x, y, z = bits[t, k, 0], bits[t, k, 1], bits[t, k, 2]
    low = np.int64(-0x8000000000000000)
    x = np.int64(0) if x == low else x
    y = np.int64(0) if y == low else y
    z = np.int64(0) if z == low else z
    return _stir(x * _MIX_A + y * _MIX_B + z * _MIX_C)


@compiled(nogil=True, error_model="numpy")
def _first_above(mids: Floats, z: float, first: float, step: float) -> int:
    """Number of the lowest plane strictly above ``z``."""
    n = mids.shape[0]
    guess = int((z - first) / step)
    guess = 0 if guess < 0 else (n if guess > n else guess)
    while guess > 0 and mids[guess - 1] > z:
        guess -= 1
    while guess < n and mids[guess] <= z:
        guess += 1
    return guess


@compiled(nogil=True, error_model="numpy")
def sweep(
    tri: Floats,
    bits: Any,
    low: Floats,
    mids: Floats,
    step: float,
    run_floor: float,
    flat_cos: float,
    bed: float,
) -> Any:
    """Sums over all cut triangles, plane by plane.

    Returns sums (n, 6), checks (n,), counts (n,), spans (m, 2) of plane numbers that cut each
    triangle, runs (n + 1, 2) the largest sideways run per height of surfaces that look up and down
    between two planes, tilted (n + 1,) whether any facet between them is not upright, totals (6,)
    and the check of the whole mesh. A check is zero where every cut edge is used once in each
    direction.
    """
    n, m = mids.shape[0], tri.shape[0]
    sums = np.zeros((n, COLUMNS))
    checks = np.zeros(n, np.int64)
    counts = np.zeros(n, np.int64)
    spans = np.empty((m, 2), np.int32)
    runs = np.zeros((n + 1, 2))
    tilted = np.zeros(n + 1, np.bool_)
    totals = np.zeros(6)
    totals[OVERHANG_LOW] = np.inf
    whole = np.int64(0)
    first = mids[1] - step if n > 1 else mids[0]
    for t in range(m):
        ax, ay, az = tri[t, 0, 0] - low[0], tri[t, 0, 1] - low[1], tri[t, 0, 2] - low[2]
        bx, by, bz = tri[t, 1, 0] - low[0], tri[t, 1, 1] - low[1], tri[t, 1, 2] - low[2]
        cx, cy, cz = tri[t, 2, 0] - low[0], tri[t, 2, 1] - low[1], tri[t, 2, 2] - low[2]
        ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        flat2 = nx * nx + ny * ny
        double = np.sqrt(flat2 + nz * nz)
        totals[SURFACE] += 0.5 * double
        totals[SIX_VOLUMES] += ax * nx + ay * ny + az * nz
        ha, hb, hc = _corner(bits, t, 0), _corner(bits, t, 1), _corner(bits, t, 2)
        # changes its sign with the direction of an edge, so both sides of an edge cancel
        whole += ha * hb * (ha - hb) + hb * hc * (hb - hc) + hc * ha * (hc - ha)
        sign = 1.0
        if bz < az:
            ax, ay, az, bx, by, bz = bx, by, bz, ax, ay, az
            ha, hb = hb, ha
            sign = -sign
        if cz < bz:
            bx, by, bz, cx, cy, cz = cx, cy, cz, bx, by, bz
            hb, hc = hc, hb
            sign = -sign
            if bz < az:
                ax, ay, az, bx, by, bz = bx, by, bz, ax, ay, az
                ha, hb = hb, ha
                sign = -sign
        start = _first_above(mids, az, first, step)
        stop = start
        if stop < n and mids[stop] <= cz:
            stop = _first_above(mids, cz, first, step)
            if stop == start:
                stop = start
        spans[t, 0] = start
        spans[t, 1] = stop
        if double > 1e-12:
            if nz != 0.0:
                for g in range(start, stop + 1):
                    tilted[g] = True
            if nz * nz > run_floor * run_floor * flat2:
                run = 1e9 if flat2 <= 1e-18 * nz * nz else abs(nz) / np.sqrt(flat2)
                way = 0 if nz > 0.0 else 1
                for g in range(start, stop + 1):
                    if run > runs[g, way]:
                        runs[g, way] = run
            if nz < -flat_cos * double and cz > bed:
                share = -0.5 * nz
                totals[OVERHANG] += share
                totals[OVERHANG_X] += share * (ax + bx + cx) / 3.0
                totals[OVERHANG_Y] += share * (ay + by + cy) / 3.0
                if az < totals[OVERHANG_LOW]:
                    totals[OVERHANG_LOW] = az
        if stop == start:
            continue
        long_edge = ha * hc
        lower = ha * hb
        upper = hb * hc
        per_ac = 1.0 / (cz - az)
        dx, dy = (cx - ax) * per_ac, (cy - ay) * per_ac
        reach = (bz - az) * per_ac
        wide = np.sqrt((ax + reach * (cx - ax) - bx) ** 2 + (ay + reach * (cy - ay) - by) ** 2)
        for i in range(start, stop):
            z = mids[i]
            t1 = z - az
            xl, yl = ax + t1 * dx, ay + t1 * dy
            if z <= bz:
                part = t1 / (bz - az)
                xs, ys = ax + part * (bx - ax), ay + part * (by - ay)
                checks[i] += (long_edge - lower) if sign > 0.0 else (lower - long_edge)
            else:
                part = (cz - z) / (cz - bz)
                xs, ys = cx + part * (bx - cx), cy + part * (by - cy)
                checks[i] += (long_edge - upper) if sign > 0.0 else (upper - long_edge)
            length = part * wide
            cross = sign * (xl * ys - xs * yl)
            counts[i] += 1
            sums[i, CROSS] += cross
            sums[i, LENGTH] += length
            sums[i, MOMENT_X] += cross * (xl + xs)
            sums[i, MOMENT_Y] += cross * (yl + ys)
            sums[i, LINE_X] += length * (xl + xs)
            sums[i, LINE_Y] += length * (yl + ys)
    return sums, checks, counts, spans, runs, tilted, totals, whole


@compiled(nogil=True, error_model="numpy")
def _cut(px: float, py: float, pz: float, qx: float, qy: float, qz: float, z: float) -> tuple[float, float]:
    """Where the edge from the lower p to the higher q meets the plane; the same bits from both sides."""
    if z == qz:
        return qx, qy
    part = (z - pz) / (qz - pz)
    return px + part * (qx - px), py + part * (qy - py)


@compiled(nogil=True, error_model="numpy")
def gather(tri: Floats, low: Floats, mids: Floats, spans: Any, wanted: Any, starts: Any) -> Floats:
    """Cut segments of the wanted planes, (s, 4) x0 y0 x1 y1 with the material on their left.

    ``starts`` (k + 1,) tells where the segments of each wanted plane begin; from the counts of
    the sweep.
    """
    n, k = mids.shape[0], wanted.shape[0]
    after = np.empty(n + 1, np.int64)
    q = k
    for i in range(n, -1, -1):
        if q > 0 and wanted[q - 1] >= i:
            q -= 1
        after[i] = q
    fill = starts[:k].copy()
    out = np.empty((starts[k], 4))
    for t in range(tri.shape[0]):
        stop = spans[t, 1]
        q = after[spans[t, 0]]
        if q >= k or wanted[q] >= stop:
            continue
        a, b, c = 0, 1, 2
        even = True
        if tri[t, b, 2] - low[2] < tri[t, a, 2] - low[2]:
            a, b, even = b, a, not even
        if tri[t, c, 2] - low[2] < tri[t, b, 2] - low[2]:
            b, c, even = c, b, not even
            if tri[t, b, 2] - low[2] < tri[t, a, 2] - low[2]:
                a, b, even = b, a, not even
        ax, ay, az = tri[t, a, 0] - low[0], tri[t, a, 1] - low[1], tri[t, a, 2] - low[2]
        bx, by, bz = tri[t, b, 0] - low[0], tri[t, b, 1] - low[1], tri[t, b, 2] - low[2]
        cx, cy, cz = tri[t, c, 0] - low[0], tri[t, c, 1] - low[1], tri[t, c, 2] - low[2]
        while q < k and wanted[q] < stop:
            z = mids[wanted[q]]
            xl, yl = _cut(ax, ay, az, cx, cy, cz, z)
            if z <= bz:
                xs, ys = _cut(ax, ay, az, bx, by, bz, z)
            else:
                xs, ys = _cut(bx, by, bz, cx, cy, cz, z)
            s = fill[q]
            fill[q] = s + 1
            if even:
                out[s, 0], out[s, 1], out[s, 2], out[s, 3] = xl, yl, xs, ys
            else:
                out[s, 0], out[s, 1], out[s, 2], out[s, 3] = xs, ys, xl, yl
            q += 1
    return out
