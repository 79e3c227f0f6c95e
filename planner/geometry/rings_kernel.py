"""Cut segments of a plane joined to closed rings, and rings freed of points that add nothing.

Ends that are equal to the bit are joined first (a sound mesh needs no more). What is left open by
missing, flipped or jittered facets is turned where that closes it exactly, then joined to the
nearest open start.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Columns of the table of joined planes, one row a plane.
RAW_AREA, RAW_LENGTH, KEPT_AREA, KEPT_LENGTH, GAPS, GAP_LENGTH, OUTERS, RINGS = range(8)
JOINED_COLUMNS = 8

_MIX = np.int64(0x2545F4914F6CDD1D)
_MOST_PAIRS = 600  # open chains beyond this are closed on themselves instead of paired
_SAME = 1e-2  # mm: corners of flipped facets that lie closer are one corner
_NEARLY = 0.15  # share of its length that the hole in a ring may have for the ring to be closed over it


@njit(cache=True, nogil=True, inline="always")
def _slot(bits: Any, s: int, k: int, mask: int) -> int:
    value = bits[s, k] * _MIX + bits[s, k + 1]
    value ^= value >> 31
    value *= _MIX
    value ^= value >> 27
    return value & mask


@njit(cache=True, nogil=True)
def _match(seg: Floats, bits: Any, lo: int, hi: int, following: Any, preceding: Any, table: Any) -> int:
    """Join ends to starts that are equal to the bit; the number of segments left without follower."""
    m = hi - lo
    size = 4
    while size < 2 * m:
        size *= 2
    mask = size - 1
    for k in range(size):
        table[k] = -1
    for s in range(lo, hi):
        following[s] = -1
        preceding[s] = -1
        k = _slot(bits, s, 0, mask)
        while table[k] >= 0:
            k = (k + 1) & mask
        table[k] = s
    left = 0
    for s in range(lo, hi):
        k = _slot(bits, s, 2, mask)
        while table[k] != -1:
            other = table[k]
            if (
                preceding[other] < 0
                and seg[other, 0] == seg[s, 2]
                and seg[other, 1] == seg[s, 3]
                and (other != s or m == 1)
            ):
                following[s] = other
                preceding[other] = s
                break
            k = (k + 1) & mask
        if following[s] < 0:
            left += 1
    return left


@njit(cache=True, nogil=True)
def _near(seg: Floats, lo: int, hi: int, following: Any, preceding: Any, reach: float) -> int:
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


@njit(cache=True, nogil=True, inline="always")
def _cell(i: int, j: int, mask: int) -> int:
    value = i * 73856093 ^ j * 19349663
    value ^= value >> 15
    return value & mask


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def _stitch(seg: Floats, lo: int, hi: int, following: Any, preceding: Any, left: int) -> float:
    """Join open chains, shortest gap first; the total length of the gaps."""
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
    if count > _MOST_PAIRS:
        for c in range(count):
            following[tails[c]] = heads[c]
            preceding[heads[c]] = tails[c]
        return 0.0
    _right_way(seg, count, heads, tails, sizes, following, preceding)
    own = np.empty(count)
    for c in range(count):
        h, t = heads[c], tails[c]
        own[c] = np.sqrt((seg[h, 0] - seg[t, 2]) ** 2 + (seg[h, 1] - seg[t, 3]) ** 2)
    near = np.full(count, -1, np.int64)
    gaps = np.full(count, -1.0)
    done, total = 0, 0.0
    for c in range(count):  # two rings each with one wide hole: not each other's, but their own ends
        if own[c] > _NEARLY * lengths[c]:
            continue
        gaps[c], near[c] = _nearest(seg, count, heads, tails, preceding, c)
        d = near[c]
        if d == c or own[d] <= _NEARLY * lengths[d]:
            following[tails[c]] = heads[c]
            preceding[heads[c]] = tails[c]
            total += own[c]
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
        total += np.sqrt(best)
        done += 1
    return total


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def _thin(ring: Floats, m: int, eps: float, out: Floats, at: int) -> int:
    """Copy a closed ring without the points that lie within ``eps`` of the line over them."""
    far, span = 0, -1.0
    for k in range(m):  # start at the point farthest from the first: surely a corner
        d = (ring[k, 0] - ring[0, 0]) ** 2 + (ring[k, 1] - ring[0, 1]) ** 2
        if d > span:
            far, span = k, d
    ax, ay = ring[far, 0], ring[far, 1]
    out[at, 0], out[at, 1] = ax, ay
    kept = 1
    lx = ly = rx = ry = 0.0
    have = False
    px, py = ax, ay
    for step in range(1, m + 1):
        k = far + step
        if k >= m:
            k -= m
        x, y = ring[k, 0], ring[k, 1]
        dx, dy = x - ax, y - ay
        reach = np.sqrt(dx * dx + dy * dy)
        inside = True
        if have:
            inside = lx * dy - ly * dx <= 0.0 and rx * dy - ry * dx >= 0.0 and reach > 0.0
            ahead = (px - ax) * dx + (py - ay) * dy
            past = (px - ax) ** 2 + (py - ay) ** 2
            if inside and (ahead < 0.0 or reach * reach < past):
                inside = False
        if not inside:
            out[at + kept, 0], out[at + kept, 1] = px, py
            kept += 1
            ax, ay = px, py
            have = False
            dx, dy = x - ax, y - ay
            reach = np.sqrt(dx * dx + dy * dy)
        if reach > eps:  # narrow the cone of directions that keep every point within eps
            ex, ey = -dy * eps / reach, dx * eps / reach
            nlx, nly, nrx, nry = dx + ex, dy + ey, dx - ex, dy - ey
            if not have:
                lx, ly, rx, ry = nlx, nly, nrx, nry
                have = True
            else:
                if lx * nly - ly * nlx < 0.0:
                    lx, ly = nlx, nly
                if rx * nry - ry * nrx > 0.0:
                    rx, ry = nrx, nry
        px, py = x, y
    return kept


@njit(cache=True, nogil=True)
def join(seg: Floats, bits: Any, starts: Any, eps: float) -> Any:
    """Rings of every plane.

    Parameters
    ----------
    seg : (s, 4) segments, material on the left; flipped ones may be turned in place
    bits : the same array seen as integers
    starts : (k + 1,) where the segments of each plane begin

    Returns
    -------
    points (p, 2), ring starts (r + 1,), rings of plane q are ``plane[q]`` up to ``plane[q + 1]``,
    and the table of sums (k, 8)
    """
    k = starts.shape[0] - 1
    total = seg.shape[0]
    following = np.empty(total, np.int64)
    preceding = np.empty(total, np.int64)
    widest = 0
    for q in range(k):
        widest = max(widest, starts[q + 1] - starts[q])
    size = 4
    while size < 2 * widest:
        size *= 2
    table = np.empty(size, np.int64)
    ring = np.empty((2 * widest + 4, 2))
    points = np.empty((2 * total + 4, 2))
    ring_starts = np.empty(total + 1, np.int64)
    plane = np.zeros(k + 1, np.int64)
    sums = np.zeros((k, JOINED_COLUMNS))
    at, rings = 0, 0
    for q in range(k):
        lo, hi = starts[q], starts[q + 1]
        left = _match(seg, bits, lo, hi, following, preceding, table)
        if left > 0:
            sums[q, GAPS] = left
            for reach in (1e-5, 1e-4, 1e-3, 1e-2):
                if left > 0:
                    left = _near(seg, lo, hi, following, preceding, reach)
            for reach in (0.05, 0.2, 0.8):
                if left > _MOST_PAIRS:
                    left = _near(seg, lo, hi, following, preceding, reach)
            if left > 0:
                sums[q, GAP_LENGTH] = _stitch(seg, lo, hi, following, preceding, left)
        for s in range(lo, hi):
            if following[s] < 0:
                continue
            m, e = 0, s
            area, length = 0.0, 0.0
            ox, oy = seg[s, 0], seg[s, 1]
            while following[e] >= 0:
                if m == 0 or seg[e, 0] != ring[m - 1, 0] or seg[e, 1] != ring[m - 1, 1]:
                    ring[m, 0], ring[m, 1] = seg[e, 0], seg[e, 1]
                    m += 1
                after = following[e]
                if seg[after, 0] != seg[e, 2] or seg[after, 1] != seg[e, 3]:
                    ring[m, 0], ring[m, 1] = seg[e, 2], seg[e, 3]
                    m += 1
                following[e] = -1
                e = after
            for i in range(m):
                j = i + 1 if i + 1 < m else 0
                area += 0.5 * ((ring[i, 0] - ox) * (ring[j, 1] - oy) - (ring[j, 0] - ox) * (ring[i, 1] - oy))
                length += np.sqrt((ring[j, 0] - ring[i, 0]) ** 2 + (ring[j, 1] - ring[i, 1]) ** 2)
            sums[q, RAW_AREA] += area
            sums[q, RAW_LENGTH] += length
            if m < 3 or abs(area) < 1e-6:
                continue
            kept = _thin(ring, m, eps, points, at)
            if kept < 3:
                continue
            smaller, shorter = 0.0, 0.0
            for i in range(kept):
                j = i + 1 if i + 1 < kept else 0
                ax, ay, bx, by = points[at + i, 0], points[at + i, 1], points[at + j, 0], points[at + j, 1]
                smaller += 0.5 * ((ax - ox) * (by - oy) - (bx - ox) * (ay - oy))
                shorter += np.sqrt((bx - ax) ** 2 + (by - ay) ** 2)
            sums[q, KEPT_AREA] += smaller
            sums[q, KEPT_LENGTH] += shorter
            sums[q, RINGS] += 1.0
            if smaller > 0.0:
                sums[q, OUTERS] += 1.0
            ring_starts[rings] = at
            rings += 1
            at += kept
        plane[q + 1] = rings
    ring_starts[rings] = at
    return points[:at].copy(), ring_starts[: rings + 1].copy(), plane, sums


@njit(cache=True, nogil=True)
def thinned(points: Floats, starts: Any, eps: float) -> Any:
    """Closed rings without the points that lie within ``eps`` of the line over them."""
    out = np.empty((points.shape[0] + 4 * starts.shape[0], 2))
    kept_starts = np.empty(starts.shape[0], np.int64)
    at = 0
    for r in range(starts.shape[0] - 1):
        kept_starts[r] = at
        at += _thin(points[starts[r] : starts[r + 1]], starts[r + 1] - starts[r], eps, out, at)
    kept_starts[starts.shape[0] - 1] = at
    return out[:at].copy(), kept_starts
