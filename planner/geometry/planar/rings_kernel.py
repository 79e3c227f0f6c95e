"""Cut segments of a plane joined to closed rings, and rings freed of points that add nothing.

Ends that are equal to the bit are joined first (a sound mesh needs no more). What is left open by
missing, flipped or jittered facets is turned where that closes it exactly, then joined to the
nearest open start.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.geometry.planar.stitch_kernel import BRIDGE, MOST_PAIRS, bridge, near, stitch

Floats = NDArray[np.float64]

# Columns of the table of joined planes, one row a plane.
RAW_AREA, RAW_LENGTH, KEPT_AREA, KEPT_LENGTH, GAPS, GAP_LENGTH, OUTERS, RINGS = range(8)
JOINED_COLUMNS = 8

_MIX = np.int64(0x2545F4914F6CDD1D)


@compiled(nogil=True, error_model="numpy")
def _slot(bits: Any, s: int, k: int, mask: int) -> Any:
    value = bits[s, k] * _MIX + bits[s, k + 1]
    value ^= value >> 31
    value *= _MIX
    value ^= value >> 27
    return value & mask


@compiled(nogil=True, error_model="numpy")
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


@compiled(nogil=True, error_model="numpy")
def _thin(ring: Floats, m: int, eps: float, out: Floats, at: int) -> int:
    """Copy a closed ring without the points that lie within ``eps`` of the line over them.

    It begins where the shape says and not where the ring happens to: what is left out is then the same
    however the facets were written.
    """
    end = 0
    for k in range(1, m):
        if ring[k, 0] > ring[end, 0] or (ring[k, 0] == ring[end, 0] and ring[k, 1] > ring[end, 1]):
            end = k
    far, span = end, -1.0
    for step in range(m):  # start at the point farthest from that end: surely a corner
        k = end + step
        if k >= m:
            k -= m
        d = (ring[k, 0] - ring[end, 0]) ** 2 + (ring[k, 1] - ring[end, 1]) ** 2
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


@compiled(nogil=True, error_model="numpy")
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
    ring = np.empty(((2 + BRIDGE) * widest + 4, 2))
    points = np.empty((2 * total + 4, 2))
    room = points.shape[0]
    ring_starts = np.empty(total + 1, np.int64)
    plane = np.zeros(k + 1, np.int64)
    sums = np.zeros((k, JOINED_COLUMNS))
    at, rings = 0, 0
    for q in range(k):
        lo, hi = starts[q], starts[q + 1]
        # room for the whole plane at once: an array that an inner loop may replace costs it a count
        # of its owners at every turn
        most = (6 + BRIDGE) * (hi - lo) + 4
        if at + most > room:
            room = 2 * (at + most)
            wider = np.empty((room, 2))
            for i in range(at):
                wider[i, 0], wider[i, 1] = points[i, 0], points[i, 1]
            points = wider
        left = _match(seg, bits, lo, hi, following, preceding, table)
        if left > 0:
            sums[q, GAPS] = left
            for reach in (1e-5, 1e-4, 1e-3, 1e-2):
                if left > 0:
                    left = near(seg, lo, hi, following, preceding, reach)
            for reach in (0.05, 0.2, 0.8, 3.0):
                if left > MOST_PAIRS:
                    left = near(seg, lo, hi, following, preceding, reach)
            if left > 0:
                stitch(seg, lo, hi, following, preceding, left)
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
                    sums[q, GAP_LENGTH] += np.sqrt(
                        (seg[after, 0] - seg[e, 2]) ** 2 + (seg[after, 1] - seg[e, 3]) ** 2
                    )
                    m = bridge(seg, e, after, ring, m + 1)
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


@compiled(nogil=True, error_model="numpy")
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
