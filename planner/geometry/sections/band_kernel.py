"""Bands along the outline of every joined section: what lies within some depths, and what runs there."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.geometry.planar.inset_kernel import (
    ASKEW_COS,
    ASKEW_SIN,
    corners,
    plain,
    read,
    scan,
    settled,
    shifted,
    shoelace,
)

Floats = NDArray[np.float64]

# Columns of the table of bands, one row a section.
INNER, INNER_LENGTH, PATH, HOPS, THIN, THIN_LENGTH, THIN_X, THIN_Y, DOUBLED, CORE, CORE_LENGTH = range(11)
HOP_WAY, HOP_REACH = 11, 12
CORE_LOST = 13  # outline of the core that narrow places took
BAND_COLUMNS = 14

_CLEAN = 2e-4  # share of the area that may wind backward before the ring counts as crossing itself
_THIN_RUN = 2.0  # mm of outline on both sides together that may be lost to tight corners alone
_ONE_BEAD = 0.1  # two beads whose centre lines would lie closer than twice this share of a pitch are one
_MOST_SPOTS = 32  # places of single beads in a section between which the way is reckoned
_CORE_COARSE = 12  # and those that tell whether anything of the core was lost
LEAST_GAP_MM, LINES_OVER = 0.05, 100.0  # scan lines: distance at least, number over a body
_COARSE = 4  # scan lines are this many times wider apart where only doubling is looked for


@compiled(nogil=True, error_model="numpy")
def _rows(points: Floats, starts: Any, first: int, last: int, gap: float) -> tuple[float, int]:
    """Lowest scan line and the number of lines that cover the rings and a little more."""
    low, high = np.inf, -np.inf
    for i in range(starts[first], starts[last]):
        v = ASKEW_COS * points[i, 1] - ASKEW_SIN * points[i, 0]
        low, high = min(low, v), max(high, v)
    begin = (np.floor(low / gap) + 0.381966) * gap  # whole steps: the same lines for every section
    return begin, max(1, int((high - begin) / gap) + 2)


@compiled(nogil=True, error_model="numpy")
def body_mm(points: Floats, starts: Any, first: int, last: int) -> float:
    """How wide the bodies of a section are: the diagonals of its outer rings, the mean by their areas."""
    whole, wide = 0.0, 0.0
    for ring in range(first, last):
        area, a = 0.0, starts[ring + 1] - 1
        lox = loy = np.inf
        hix = hiy = -np.inf
        for b in range(starts[ring], starts[ring + 1]):
            x, y = points[b, 0], points[b, 1]
            area += 0.5 * (points[a, 0] * y - points[a, 1] * x)
            lox, hix, loy, hiy = min(lox, x), max(hix, x), min(loy, y), max(hiy, y)
            a = b
        if area > 0.0:
            whole += area
            wide += area * np.sqrt((hix - lox) ** 2 + (hiy - loy) ** 2)
    return wide / whole if whole > 0.0 else 0.0


@compiled(nogil=True, error_model="numpy")
def _halved(gap: float, wide: float) -> float:
    """The distance of scan lines, halved until some two hundred cross a body of that width."""
    while gap > LEAST_GAP_MM and gap > 1.5 * wide / LINES_OVER:
        gap *= 0.5
    return max(gap, LEAST_GAP_MM)


@compiled(nogil=True, error_model="numpy")
def bands(
    points: Floats,
    starts: Any,
    plane: Any,
    counts: Any,
    rim: float,
    pitch: float,
    narrow: float,
    apart: float,
) -> Floats:
    """Area and path of parallel bands in every section.

    ``counts`` (k,) bands of width ``pitch``, the first ``rim`` inside the outline. A band's centre line
    runs in its middle. Where the section is narrower than twice ``narrow`` no band runs at all. What the
    bands leave free is the inner region; where that is narrower than a band, one more band fills it. Half a
    band further in lies the core, where the centre lines of more beads can be. Scan lines lie ``apart``, and
    closer where the bodies of a section are small. Where opposite bands would lie on each other, one runs
    along the middle of what the bands outside it leave, if that is at least as wide as twice ``narrow``; what
    is narrower makes its neighbours wider, not longer.
    """
    k = plane.shape[0] - 1
    table = np.zeros((k, BAND_COLUMNS))
    most = 0
    for q in range(k):
        most = max(most, starts[plane[q + 1]] - starts[plane[q]] + 2 * (plane[q + 1] - plane[q]))
    out = np.empty((2 * most + 8, 6))
    seen = np.empty((2 * most + 8, 2), np.int32)
    row = np.empty(1, np.int64)
    spots = np.empty((_MOST_SPOTS, 2))
    for q in range(k):
        first, last = plane[q], plane[q + 1]
        if last == first:
            continue
        gap = _halved(apart, body_mm(points, starts, first, last))
        low, rows = _rows(points, starts, first, last, gap)
        if row.shape[0] < rows + 1:
            row = np.empty(2 * rows + 1, np.int64)
        count, area, around = plain(points, starts, first, last, out)
        wide = gap * _COARSE
        where, tag = scan(out, count, low, wide, rows // _COARSE + 1, row)
        table[q, DOUBLED] = read(out, count, wide, rows // _COARSE + 1, row, where, tag, seen)[2]
        n, ready = counts[q], corners(points, starts, first, last)
        if n == 0:
            table[q, INNER], table[q, INNER_LENGTH] = area, around
            band = (0.0, 0.5 * pitch, area)
            core = _core(points, starts, first, last, ready, band, (gap, low, area), rows, out, row, seen)
            table[q, CORE], table[q, CORE_LENGTH], table[q, CORE_LOST] = core[0], core[1], core[2]
            continue
        depth = rim + n * pitch
        count = shifted(points, starts, first, last, *ready, depth, out)
        signed, moved = shoelace(out, count)
        where, tag = scan(out, count, low, gap, rows, row)
        plus, minus, more, kept = read(out, count, gap, rows, row, where, tag, seen)
        inner = settled(signed, plus, minus, more)
        clean = inner > 0.0 and minus <= _CLEAN * area
        left = moved if clean else kept
        gone = 0.0 if clean else moved - kept
        more_path = 0.0
        if inner > 0.0:
            band = (depth, 0.5 * pitch, inner)
            core = _core(points, starts, first, last, ready, band, (gap, low, area), rows, out, row, seen)
            table[q, CORE], table[q, CORE_LENGTH], table[q, CORE_LOST] = core[0], core[1], core[2]
            strip = 0.5 * pitch * core[2] - core[3] + (0.0 if clean else minus)  # of which a band fills all
            if core[0] <= 0.0:
                strip, more_path = inner, 0.5 * left if inner >= narrow * left else 0.0
                inner, left = 0.0, 0.0
            elif core[2] > gone and strip > 0.0:
                beyond = 0.0  # corners, those of every body, are no strips
                if core[0] > 0.0:
                    beyond = 0.5 * pitch * core[1] + pitch * pitch * max(
                        1, _turns(points, starts, first, last)
                    )
                strip = max(0.0, min(strip, inner - core[0] - beyond))
                lost = min(core[2] - gone, left)
                more_path = 0.5 * lost if strip >= narrow * lost else 0.0
                inner, left = inner - strip, left - lost
        table[q, INNER], table[q, INNER_LENGTH] = inner, left
        if clean:
            shrink = (around - moved) / depth
            for b in range(n):
                table[q, PATH] += max(0.0, around - shrink * (rim + (b + 0.5) * pitch))
            table[q, PATH] += more_path
            continue
        path, lost, middles, gone_before, spotted = 0.0, 0.0, 0.0, 0.0, 0
        for b in range(n):
            centre = rim + (b + 0.5) * pitch
            moved = shoelace(out, shifted(points, starts, first, last, *ready, centre, out))[1]
            count = shifted(points, starts, first, last, *ready, centre + _ONE_BEAD * pitch, out)
            deeper = shoelace(out, count)[1]
            where, tag = scan(out, count, low, gap, rows, row)
            plus, minus, more, kept = read(out, count, gap, rows, row, where, tag, seen)
            lost_here = deeper - kept
            if lost_here - gone_before > min(_THIN_RUN, 0.5 * around):
                spotted = _spots(out, count, seen, 3.0 * pitch, spots, spotted)
            kept *= moved / deeper if deeper > 0.0 else 0.0
            if b == 0:
                if moved == 0.0:
                    moved = around
                lost = max(0.0, moved - kept)
            elif lost_here - gone_before > min(_THIN_RUN, 0.5 * around):
                count = shifted(points, starts, first, last, *ready, b * pitch + narrow, out)
                deeper = shoelace(out, count)[1]
                where, tag = scan(out, count, low, gap, rows, row)
                too_thin = deeper - read(out, count, gap, rows, row, where, tag, seen)[3]
                middles += 0.5 * max(0.0, lost_here - max(too_thin, gone_before))
            gone_before = max(gone_before, lost_here)
            if plus <= 0.0:
                break
            path += kept
        unprinted = 0.0
        if lost > min(_THIN_RUN, 0.5 * around):
            count = shifted(points, starts, first, last, *ready, narrow, out)
            where, tag = scan(out, count, low, gap, rows, row)
            plus, minus, more, kept = read(out, count, gap, rows, row, where, tag, seen)
            moved = shoelace(out, count)[1]
            gone = max(0.0, moved - kept) if count > 0 else around
            if gone > min(_THIN_RUN, 0.5 * around):
                unprinted = gone
                thin = max(0.0, narrow * gone - minus) if count > 0 else area
                table[q, THIN] = min(thin, area)
                table[q, THIN_LENGTH] = gone
                _worst(out, count, seen, points, starts, first, table, q)
        single = 0.5 * max(0.0, lost - unprinted)
        table[q, PATH] = path + single + middles + more_path
        if spotted > 0:
            hops = _tour(_far(points, starts[first], starts[last], spots), spots, spotted)
            table[q, HOP_REACH], table[q, HOPS], table[q, HOP_WAY] = hops
    return table


@compiled(nogil=True, error_model="numpy")
def _core(
    points: Floats,
    starts: Any,
    first: int,
    last: int,
    ready: tuple[Floats, Floats],
    band: tuple[float, float, float],
    lines: tuple[float, float, float],
    rows: int,
    out: Floats,
    row: Any,
    seen: Any,
) -> tuple[float, float, float, float]:
    """Area and outline of the section moved in; outline lost in narrow places, area backward.

    ``band`` is how deep what the bands leave free lies, how much further in the core lies, and the area of
    what they leave free. ``lines`` are distance and first of the scan lines and the area of the section.
    Coarse lines tell whether anything was lost; infinitely much is where no ring is left. Few scan lines
    meet a small core, and areas are then surer than lengths: between the two outlines lies their distance
    times their mean length, and they differ by 2 pi times that distance for every ring (Source: Steiner's
    formula for parallel bodies; where something narrow is lost it gives too much, so it is a limit only).
    """
    gap, low, area = lines
    depth = band[0] + band[1]
    count = shifted(points, starts, first, last, *ready, depth, out)
    signed, moved = shoelace(out, count)
    if count == 0 or moved * moved < 4.0 * np.pi * signed or moved <= 0.0:  # a ring that turned over
        return 0.0, 0.0, np.inf, 0.0
    wide = gap * _CORE_COARSE
    where, tag = scan(out, count, low, wide, rows // _CORE_COARSE + 1, row)
    minus = read(out, count, wide, rows // _CORE_COARSE + 1, row, where, tag, seen)[1]
    bent = np.pi * band[1] * _turns(points, starts, first, last)
    if signed > 0.0 and minus <= _CLEAN * area:
        around = min(moved, (band[2] - signed) / band[1] - bent)
        return signed, max(around, np.sqrt(4.0 * np.pi * signed)), 0.0, 0.0
    where, tag = scan(out, count, low, gap, rows, row)
    plus, minus, more, kept = read(out, count, gap, rows, row, where, tag, seen)
    left = settled(signed, plus, minus, more)
    around = max(min(kept, moved, (band[2] - left) / band[1] - bent), np.sqrt(4.0 * np.pi * left))
    return left, around, max(0.0, moved - kept), minus


@compiled(nogil=True, error_model="numpy")
def _spots(out: Floats, count: int, seen: Any, apart: float, spots: Floats, found: int) -> int:
    """Middles of the stretches of moved rings that are lost, unless all of a ring is; their number.

    One bead runs along such a place. Both sides of a narrow strip are lost: what is no more than ``apart``
    from a known place is that one.
    """
    begin = 0
    while begin < count:
        end = begin + 1
        while end < count and out[end, 0] == out[end - 1, 2] and out[end, 1] == out[end - 1, 3]:
            end += 1
        start = begin
        while start < end and _lost(out, seen, start):
            start += 1
        along = u = v = 0.0
        for step in range(end - begin if start < end else 0):
            s = start + step if start + step < end else begin + start + step - end
            if _lost(out, seen, s):
                along += out[s, 5]
                u += 0.5 * out[s, 5] * (out[s, 0] + out[s, 2])
                v += 0.5 * out[s, 5] * (out[s, 1] + out[s, 3])
            if along > 0.0 and (step == end - begin - 1 or (seen[s, 0] > 0 and not _lost(out, seen, s))):
                found = _placed(u / along, v / along, apart, spots, found)
                along = u = v = 0.0
        begin = end
    return found


@compiled(nogil=True, error_model="numpy")
def _lost(out: Floats, seen: Any, s: int) -> bool:
    """Whether most of a segment bounds nothing."""
    return bool(out[s, 5] > 0.0 and 2 * seen[s, 1] < seen[s, 0])


@compiled(nogil=True, error_model="numpy")
def _placed(u: float, v: float, apart: float, spots: Floats, found: int) -> int:
    if found == spots.shape[0]:
        return found
    for k in range(found):
        if (spots[k, 0] - u) ** 2 + (spots[k, 1] - v) ** 2 < apart * apart:
            return found
    spots[found, 0], spots[found, 1] = u, v
    return found + 1


@compiled(nogil=True, error_model="numpy")
def _far(points: Floats, first: int, last: int, spots: Floats) -> Floats:
    """The corner farthest from the first of some places, turned askew."""
    best, at = -1.0, np.zeros(2)
    for i in range(first, last):
        u = ASKEW_COS * points[i, 0] + ASKEW_SIN * points[i, 1]
        v = ASKEW_COS * points[i, 1] - ASKEW_SIN * points[i, 0]
        far = (spots[0, 0] - u) ** 2 + (spots[0, 1] - v) ** 2
        if far > best:
            best = far
            at[0], at[1] = u, v
    return at


@compiled(nogil=True, error_model="numpy")
def _tour(begin: Floats, spots: Floats, found: int) -> tuple[float, int, float]:
    """Way to the first place, hops from place to place and their way, the nearest next.

    Source: nearest-neighbour tour. Places are left in disorder.
    """
    u, v, reach, way = begin[0], begin[1], 0.0, 0.0
    for left in range(found, 0, -1):
        near, best = 0, np.inf
        for k in range(left):
            far = (spots[k, 0] - u) ** 2 + (spots[k, 1] - v) ** 2
            if far < best:
                near, best = k, far
        u, v = spots[near, 0], spots[near, 1]
        spots[near, 0], spots[near, 1] = spots[left - 1, 0], spots[left - 1, 1]
        if left == found:
            reach = np.sqrt(best)
        else:
            way += np.sqrt(best)
    return reach, found - 1, way


@compiled(nogil=True, error_model="numpy")
def _turns(points: Floats, starts: Any, first: int, last: int) -> int:
    """Outer rings less openings."""
    turns = 0
    for ring in range(first, last):
        twice, a = 0.0, starts[ring + 1] - 1
        for b in range(starts[ring], starts[ring + 1]):
            twice += points[a, 0] * points[b, 1] - points[b, 0] * points[a, 1]
            a = b
        turns += 1 if twice > 0.0 else -1
    return turns


@compiled(nogil=True, error_model="numpy")
def _worst(
    out: Floats, count: int, seen: Any, points: Floats, starts: Any, first: int, table: Floats, q: int
) -> None:
    """Middle of the segment that loses most of its length, turned back to the axes."""
    best = -1.0
    a = starts[first]
    table[q, THIN_X], table[q, THIN_Y] = points[a, 0], points[a, 1]
    for s in range(count):
        if out[s, 4] <= 0.0 or seen[s, 0] == 0:
            continue
        gone = out[s, 4] * (1.0 - seen[s, 1] / seen[s, 0])
        if gone > best:
            best = gone
            u, v = 0.5 * (out[s, 0] + out[s, 2]), 0.5 * (out[s, 1] + out[s, 3])
            table[q, THIN_X] = ASKEW_COS * u - ASKEW_SIN * v
            table[q, THIN_Y] = ASKEW_SIN * u + ASKEW_COS * v
