"""Open chains of cut segments closed: by reach, by turning flipped ones round, by the shortest gaps."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

MOST_PAIRS = 200  # open chains beyond this are closed on themselves instead of paired
_SAME = 1e-2  # mm: corners of flipped facets that lie closer are one corner
_NEARLY = 0.15  # share of its length that the hole in a ring may have for the ring to be closed over it
BRIDGE = 7  # points put into a wide gap that both ends bend towards
_WIDE = 0.5  # mm: narrower gaps are closed straight
_SLANT = 0.4  # cosine of the slant against the gap up to which the ends are taken for parts of one curve


@compiled(nogil=True)
def near(seg: Floats, lo: int, hi: int, following: Any, preceding: Any, reach: float) -> int:
    """Join open ends to the nearest open start within ``reach``; the number of ends left open."""
    count = 0
    for s in range(lo, hi):
        if preceding[s] < 0:
            count += 1
    size = 4
    while size < 2 * count:
        size *= 2
    mask = size - 1
    heads = np.full(size, -1, np.int64)
    chain = np.full(count, -1, np.int64)
    start = np.empty(count, np.int64)
    k = 0
    for s in range(lo, hi):
        if preceding[s] < 0:
            cell = _cell(int(np.floor(seg[s, 0] / reach)), int(np.floor(seg[s, 1] / reach)), mask)
            start[k] = s
            chain[k] = heads[cell]
            heads[cell] = k
            k += 1
    left = 0
    for s in range(lo, hi):
        if following[s] >= 0:
            continue
        x, y = seg[s, 2], seg[s, 3]
        cx, cy = int(np.floor(x / reach)), int(np.floor(y / reach))
        best, pick = reach * reach, -1
        for i in range(cx - 1, cx + 2):
            for j in range(cy - 1, cy + 2):
                k = heads[_cell(i, j, mask)]
                while k >= 0:
                    other = start[k]
                    if preceding[other] < 0 and other != s:
                        gap = (seg[other, 0] - x) ** 2 + (seg[other, 1] - y) ** 2
                        if gap < best:
                            best, pick = gap, other
                    k = chain[k]
        if pick >= 0:
            following[s] = pick
            preceding[pick] = s
        else:
            left += 1
    return left


@compiled(nogil=True, inline="always")
def _cell(i: int, j: int, mask: int) -> int:
    value = i * 73856093 ^ j * 19349663
    value ^= value >> 15
    return value & mask


@compiled(nogil=True)
def _turn_round(seg: Floats, following: Any, preceding: Any, head: int) -> None:
    """Reverse an open chain in place."""
    s, before = head, -1
    while s >= 0:
        after = following[s]
        x, y = seg[s, 0], seg[s, 1]
        seg[s, 0], seg[s, 1] = seg[s, 2], seg[s, 3]
        seg[s, 2], seg[s, 3] = x, y
        following[s] = before
        preceding[s] = after
        before, s = s, after


@compiled(nogil=True)
def _right_way(
    seg: Floats, count: int, heads: Any, tails: Any, sizes: Any, following: Any, preceding: Any
) -> None:
    """Turn round the chains that run against both of their neighbours (flipped facets)."""
    for c in range(count):
        before, behind = -1, -1
        for d in range(count):
            if d == c:
                continue
            t, h = tails[d], heads[d]
            if abs(seg[t, 2] - seg[tails[c], 2]) + abs(seg[t, 3] - seg[tails[c], 3]) < _SAME:
                before = d
            if abs(seg[h, 0] - seg[heads[c], 0]) + abs(seg[h, 1] - seg[heads[c], 1]) < _SAME:
                behind = d
        if before < 0 or behind < 0:
            continue
        others = sizes[before] + (sizes[behind] if behind != before else 0)
        if sizes[c] < others:
            _turn_round(seg, following, preceding, heads[c])
            heads[c], tails[c] = tails[c], heads[c]


@compiled(nogil=True)
def stitch(seg: Floats, lo: int, hi: int, following: Any, preceding: Any, left: int) -> None:
    """Join open chains, shortest gap first."""
    heads = np.empty(left, np.int64)
    tails = np.empty(left, np.int64)
    sizes = np.zeros(left, np.int64)
    lengths = np.zeros(left)
    count = 0
    for s in range(lo, hi):
        if preceding[s] < 0:
            e = s
            while True:
                sizes[count] += 1
                lengths[count] += np.sqrt((seg[e, 2] - seg[e, 0]) ** 2 + (seg[e, 3] - seg[e, 1]) ** 2)
                if following[e] < 0:
                    break
                e = following[e]
            heads[count] = s
            tails[count] = e
            count += 1
    if count > MOST_PAIRS:
        for c in range(count):
            following[tails[c]] = heads[c]
            preceding[heads[c]] = tails[c]
        return
    _right_way(seg, count, heads, tails, sizes, following, preceding)
    own = np.empty(count)
    for c in range(count):
        h, t = heads[c], tails[c]
        own[c] = np.sqrt((seg[h, 0] - seg[t, 2]) ** 2 + (seg[h, 1] - seg[t, 3]) ** 2)
    near = np.full(count, -1, np.int64)
    gaps = np.full(count, -1.0)
    done = 0
    for c in range(count):  # two rings each with one wide hole: not each other's, but their own ends
        if own[c] > _NEARLY * lengths[c]:
            continue
        gaps[c], near[c] = _nearest(seg, count, heads, tails, preceding, c)
        d = near[c]
        if d == c or own[d] <= _NEARLY * lengths[d]:
            following[tails[c]] = heads[c]
            preceding[heads[c]] = tails[c]
            done += 1
    while done < count:
        best, pick = np.inf, -1
        for c in range(count):
            if following[tails[c]] >= 0:
                continue
            if near[c] < 0 or preceding[heads[near[c]]] >= 0:
                gaps[c], near[c] = _nearest(seg, count, heads, tails, preceding, c)
            if gaps[c] < best:
                best, pick = gaps[c], c
        following[tails[pick]] = heads[near[pick]]
        preceding[heads[near[pick]]] = tails[pick]
        done += 1


@compiled(nogil=True)
def _nearest(seg: Floats, count: int, heads: Any, tails: Any, preceding: Any, c: int) -> tuple[float, int]:
    """Square of the gap from the end of chain ``c`` to the nearest open start, and whose it is."""
    best, pick = np.inf, c
    x, y = seg[tails[c], 2], seg[tails[c], 3]
    for d in range(count):
        if preceding[heads[d]] < 0:
            gap = (seg[heads[d], 0] - x) ** 2 + (seg[heads[d], 1] - y) ** 2
            if gap < best:
                best, pick = gap, d
    return best, pick


@compiled(nogil=True)
def bridge(seg: Floats, end: int, start: int, ring: Floats, m: int) -> int:
    """Points of a curve over a wide gap, written to ``ring`` from ``m``; the new number of points.

    Where both ends bend the same way, the gap is taken for part of a round outline and closed by
    the cubic curve that comes nearest to an arc (handles of 4/3 tan(turn/4) radii; geometry);
    otherwise it is closed straight.
    """
    x0, y0, x1, y1 = seg[end, 2], seg[end, 3], seg[start, 0], seg[start, 1]
    gx, gy = x1 - x0, y1 - y0
    gap = np.sqrt(gx * gx + gy * gy)
    if gap < _WIDE:
        return m
    ux, uy = x0 - seg[end, 0], y0 - seg[end, 1]
    vx, vy = seg[start, 2] - x1, seg[start, 3] - y1
    lu, lv = np.sqrt(ux * ux + uy * uy), np.sqrt(vx * vx + vy * vy)
    if lu < 1e-3 or lv < 1e-3:
        return m
    ux, uy, vx, vy = ux / lu, uy / lu, vx / lv, vy / lv
    before, behind = (ux * gy - uy * gx) / gap, (gx * vy - gy * vx) / gap
    if before * behind <= 0.0 or (ux * gx + uy * gy) < _SLANT * gap or (vx * gx + vy * gy) < _SLANT * gap:
        return m
    half = 0.5 * (np.arcsin(min(1.0, abs(before))) + np.arcsin(min(1.0, abs(behind))))
    if half < 1e-3:
        return m
    handle = 4.0 / 3.0 * np.tan(0.5 * half) * gap / (2.0 * np.sin(half))
    ax, ay, bx, by = x0 + handle * ux, y0 + handle * uy, x1 - handle * vx, y1 - handle * vy
    for k in range(1, BRIDGE + 1):
        t = k / (BRIDGE + 1.0)
        r = 1.0 - t
        p, q, s, w = r * r * r, 3.0 * r * r * t, 3.0 * r * t * t, t * t * t
        ring[m, 0] = p * x0 + q * ax + s * bx + w * x1
        ring[m, 1] = p * y0 + q * ay + s * by + w * y1
        m += 1
    return m
