"""Insets of rings as regions: raw parallel curves, read by their winding number on scan lines.

A ring moved sideways by ``depth`` crosses itself wherever the room ends: in slits, thin walls, tight
corners. Where the moved rings wind round a point at least once, the point lies deeper than
``depth``; everywhere else it does not (the winding number of a convolution counts the pieces of the
outside that a disc of that radius meets). No crossing has to be found or repaired.

Source of the counting argument: L. Guibas, L. Ramshaw, J. Stolfi, "A kinetic framework for
computational geometry", FOCS 1983 (convolutions of tracings).

Areas come from the moved rings by the shoelace formula, which is exact where nothing crosses; the
scan lines only supply what crossing adds. They run askew to the axes so that the straight sides of
drawn parts are never parallel to them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

ASKEW_COS = 0.8506508083520399  # cos and sin of 31.717 degrees: half the golden angle's tangent
ASKEW_SIN = 0.5257311121191336
_MITRE_TURN = -0.25882  # cosine of the turn up to which an outside corner keeps its tip (105 degrees)


@compiled(nogil=True, error_model="numpy")
def offset(points: Floats, starts: Any, first: int, last: int, depth: float, out: Floats) -> int:
    """Segments of the rings moved inward by ``depth``, turned askew; their number.

    ``out`` (cap, 6): u0 v0 u1 v1, length along the ring, length before the move; cap at least
    twice the points of the rings plus four a ring. Rings too small to hold anything deeper are
    left out.
    """
    corner, size = corners(points, starts, first, last)
    return shifted(points, starts, first, last, corner, size, depth, out)


@compiled(nogil=True, error_model="numpy")
def corners(points: Floats, starts: Any, first: int, last: int) -> tuple[Floats, Floats]:
    """What rings need to be moved by any depth, so that several depths reckon it once.

    Of every corner, from the first one of ring ``first`` on: direction (2) and length of the side that begins
    there, turn, tangent of half the turn (NaN where the sides run back along each other), cosine, and the
    tangent of a quarter of a turn outward that is too sharp for a tip. Of every ring: area, length, the
    shorter side of its box.
    """
    base = starts[first]
    corner, size = np.empty((starts[last] - base, 7)), np.empty((last - first, 3))
    for r in range(first, last):
        a, b = starts[r], starts[r + 1]
        area, length = 0.0, 0.0
        lox = loy = np.inf
        hix = hiy = -np.inf
        for i in range(a, b):
            j = i + 1 if i + 1 < b else a
            x, y, x2, y2 = points[i, 0], points[i, 1], points[j, 0], points[j, 1]
            area += 0.5 * (
                (x - points[a, 0]) * (y2 - points[a, 1]) - (x2 - points[a, 0]) * (y - points[a, 1])
            )
            vx, vy = x2 - x, y2 - y
            after = np.sqrt(vx * vx + vy * vy)
            length += after
            if after > 0.0:
                vx, vy = vx / after, vy / after
            corner[i - base, 0], corner[i - base, 1], corner[i - base, 2] = vx, vy, after
            lox, hix, loy, hiy = min(lox, x), max(hix, x), min(loy, y), max(hiy, y)
        size[r - first, 0], size[r - first, 1] = area, length
        size[r - first, 2] = min(hix - lox, hiy - loy)
        before = b - 1 - base
        for i in range(a - base, b - base):
            ux, uy, vx, vy = corner[before, 0], corner[before, 1], corner[i, 0], corner[i, 1]
            turn, same = ux * vy - uy * vx, ux * vx + uy * vy
            corner[i, 3], corner[i, 5], corner[i, 6] = turn, same, 0.0
            corner[i, 4] = turn / (1.0 + same) if same > -0.999999 else np.nan
            if turn <= 0.0 and same < _MITRE_TURN:
                corner[i, 6] = np.tan(0.25 * np.arccos(max(-1.0, min(1.0, same))))
            before = i
    return corner, size


@compiled(nogil=True, error_model="numpy")
def shifted(
    points: Floats,
    starts: Any,
    first: int,
    last: int,
    corner: Floats,
    size: Floats,
    depth: float,
    out: Floats,
) -> int:
    """`offset` by what `corners` tells of the rings."""
    count, base = 0, starts[first]
    for r in range(first, last):
        a, b = starts[r], starts[r + 1]
        if b == a:
            continue
        area, length, least = size[r - first, 0], size[r - first, 1], size[r - first, 2]
        small = least < 2.0 * depth or length < 2.0 * np.pi * depth or area < np.pi * depth * depth
        if area > 0.0 and depth > 0.0 and small:
            continue
        c = b - 1 - base
        lastu = lastv = firstu = firstv = 0.0
        for i in range(a, b):
            d = i - base
            x, y = points[i, 0], points[i, 1]
            ux, uy, vx, vy = corner[c, 0], corner[c, 1], corner[d, 0], corner[d, 1]
            turn, half = corner[d, 3], corner[d, 4]
            # corner points: entry e (end of the segment before) and exit f (start of the next)
            mitre = not np.isnan(half)
            if mitre:  # the tangent is positive where material is convex
                mitre = (
                    depth * half <= 0.5 * min(corner[c, 2], corner[d, 2])
                    if half > 0.0
                    else corner[d, 5] >= _MITRE_TURN
                )
            nux, nuy, nvx, nvy = -uy, ux, -vy, vx
            if mitre:
                ex = fx = x + depth * (nux - half * ux)
                ey = fy = y + depth * (nuy - half * uy)
            elif turn > 0.0:
                ex, ey = x + depth * nux, y + depth * nuy
                fx, fy = x + depth * nvx, y + depth * nvy
            else:  # an outside corner too sharp for its tip: cut it square to its middle
                quarter = corner[d, 6]
                ex, ey = x + depth * (nux + quarter * ux), y + depth * (nuy + quarter * uy)
                fx, fy = x + depth * (nvx - quarter * vx), y + depth * (nvy - quarter * vy)
            eu, ev = ASKEW_COS * ex + ASKEW_SIN * ey, ASKEW_COS * ey - ASKEW_SIN * ex
            if i == a:
                firstu, firstv = eu, ev
            else:
                count = _side(out, count, lastu, lastv, eu, ev, ux, uy, corner[c, 2])
            if not mitre:
                fu, fv = ASKEW_COS * fx + ASKEW_SIN * fy, ASKEW_COS * fy - ASKEW_SIN * fx
                out[count, 0], out[count, 1], out[count, 2], out[count, 3] = eu, ev, fu, fv
                out[count, 4] = np.sqrt((fu - eu) ** 2 + (fv - ev) ** 2) if turn <= 0.0 else -1.0
                out[count, 5] = 0.0
                count += 1
                eu, ev = fu, fv
            lastu, lastv = eu, ev
            c = d
        count = _side(out, count, lastu, lastv, firstu, firstv, corner[c, 0], corner[c, 1], corner[c, 2])
    return count


@compiled(nogil=True, error_model="numpy", inline="always")
def _side(
    out: Floats, count: int, u: float, v: float, eu: float, ev: float, ux: float, uy: float, before: float
) -> int:
    """One moved side, and how far it goes along the side that it comes from."""
    out[count, 0], out[count, 1], out[count, 2], out[count, 3] = u, v, eu, ev
    along = (eu - u) * (ASKEW_COS * ux + ASKEW_SIN * uy)
    along += (ev - v) * (ASKEW_COS * uy - ASKEW_SIN * ux)
    out[count, 4], out[count, 5] = along, before
    return count + 1


@compiled(nogil=True, error_model="numpy")
def plain(points: Floats, starts: Any, first: int, last: int, out: Floats) -> tuple[int, float, float]:
    """The rings themselves, turned askew into ``out``; number of segments, signed area, length."""
    count, area, length = 0, 0.0, 0.0
    for r in range(first, last):
        a, b = starts[r], starts[r + 1]
        if b == a:
            continue
        ox, oy = points[a, 0], points[a, 1]
        px, py = points[b - 1, 0], points[b - 1, 1]
        pu, pv = ASKEW_COS * px + ASKEW_SIN * py, ASKEW_COS * py - ASKEW_SIN * px
        for i in range(a, b):
            x, y = points[i, 0], points[i, 1]
            u, v = ASKEW_COS * x + ASKEW_SIN * y, ASKEW_COS * y - ASKEW_SIN * x
            area += 0.5 * ((px - ox) * (y - oy) - (x - ox) * (py - oy))
            along = np.sqrt((x - px) ** 2 + (y - py) ** 2)
            length += along
            out[count, 0], out[count, 1], out[count, 2], out[count, 3] = pu, pv, u, v
            out[count, 4], out[count, 5] = along, along
            count += 1
            px, py, pu, pv = x, y, u, v
    return count, area, length


@compiled(nogil=True, error_model="numpy")
def turned(seg: Floats, first: int, last: int, out: Floats) -> int:
    """Plain segments (s, 4) turned askew into ``out``; their number."""
    count = 0
    for s in range(first, last):
        x0, y0, x1, y1 = seg[s, 0], seg[s, 1], seg[s, 2], seg[s, 3]
        out[count, 0] = ASKEW_COS * x0 + ASKEW_SIN * y0
        out[count, 1] = ASKEW_COS * y0 - ASKEW_SIN * x0
        out[count, 2] = ASKEW_COS * x1 + ASKEW_SIN * y1
        out[count, 3] = ASKEW_COS * y1 - ASKEW_SIN * x1
        count += 1
    return count


@compiled(nogil=True, error_model="numpy")
def _sort(where: Floats, tag: Any, first: int, last: int) -> None:
    """Sort one line by place: by insertion, over wide steps first where it is long (Shell's method)."""
    step = 1
    while 9 * step < last - first:
        step = 3 * step + 1
    while step > 0:
        for i in range(first + step, last):
            u, mark, k = where[i], tag[i], i
            while k >= first + step and where[k - step] > u:
                where[k], tag[k] = where[k - step], tag[k - step]
                k -= step
            where[k], tag[k] = u, mark
        step //= 3


@compiled(nogil=True, error_model="numpy")
def scan(out: Floats, count: int, low: float, gap: float, rows: int, row: Any) -> Any:
    """Crossings of the segments with scan lines, sorted along each line.

    ``row`` (rows + 1,) is filled with the first crossing of each line. Returns where each crossing
    lies (c,) and its segment as number + 1, positive where the material begins.
    """
    per = 1.0 / gap
    for j in range(rows + 1):
        row[j] = 0
    for s in range(count):
        v0, v1 = out[s, 1], out[s, 3]
        if v0 > v1:
            v0, v1 = v1, v0
        j0 = int(np.ceil((v0 - low) * per))
        j1 = int(np.ceil((v1 - low) * per))
        j0, j1 = max(j0, 0), min(j1, rows)
        if j1 > j0:
            row[j0] += 1
            row[j1] -= 1
    running, begin = 0, 0
    for j in range(rows):
        running += row[j]
        row[j] = begin
        begin += running
    row[rows] = begin
    where = np.empty(begin)
    tag = np.empty(begin, np.int32)
    fill = row[:rows].copy()
    for s in range(count):
        u0, v0, u1, v1 = out[s, 0], out[s, 1], out[s, 2], out[s, 3]
        mark = s + 1
        if v0 > v1:
            u0, v0, u1, v1 = u1, v1, u0, v0
        else:
            mark = -mark
        j0 = int(np.ceil((v0 - low) * per))
        j1 = int(np.ceil((v1 - low) * per))
        j0, j1 = max(j0, 0), min(j1, rows)
        if j1 <= j0:
            continue
        slope = (u1 - u0) / (v1 - v0)
        for j in range(j0, j1):
            u = u0 + (low + j * gap - v0) * slope
            k = fill[j]
            fill[j] = k + 1
            where[k] = u
            tag[k] = mark
    for j in range(rows):
        _sort(where, tag, row[j], row[j + 1])
    return where, tag


@compiled(nogil=True, error_model="numpy")
def read(out: Floats, count: int, gap: float, rows: int, row: Any, where: Any, tag: Any, seen: Any) -> Any:
    """What the scan lines say of a moved ring.

    Returns the area with winding of at least one; the area that winds backward; the area that winds
    more than once; and the length of the moved ring that bounds the first of these. ``seen``
    (cap, 2) is filled with how often each segment is crossed, and how often as that boundary.
    """
    for s in range(count):
        seen[s, 0] = 0
        seen[s, 1] = 0
    plus, minus, more = 0.0, 0.0, 0.0
    for j in range(rows):
        wind = 0
        for k in range(row[j], row[j + 1]):
            mark = tag[k]
            s = mark - 1 if mark > 0 else -mark - 1
            old = wind
            wind += 1 if mark > 0 else -1
            seen[s, 0] += 1
            if (old <= 0) != (wind <= 0):
                seen[s, 1] += 1
            if wind != 0:
                wide = (where[k + 1] - where[k]) if k + 1 < row[j + 1] else 0.0
                if wind > 0:
                    plus += wide
                    more += wide * (wind - 1)
                else:
                    minus -= wide * wind
    plain, kept, sure, asked = 0.0, 0.0, 0.0, 0.0
    for s in range(count):
        along = out[s, 4]
        if along <= 0.0:
            continue
        if seen[s, 0] > 0:
            share = along * seen[s, 1] / seen[s, 0]
            kept += share
            sure += share
            asked += along
        else:
            plain += along
    if asked > 0.0:
        kept += plain * sure / asked
    return plus * gap, minus * gap, more * gap, kept


@compiled(nogil=True, error_model="numpy")
def shoelace(out: Floats, count: int) -> tuple[float, float]:
    """Signed area of the moved rings and their whole length."""
    area, length = 0.0, 0.0
    if count == 0:
        return 0.0, 0.0
    ou, ov = out[0, 0], out[0, 1]
    for s in range(count):
        u0, v0, u1, v1 = out[s, 0] - ou, out[s, 1] - ov, out[s, 2] - ou, out[s, 3] - ov
        area += 0.5 * (u0 * v1 - u1 * v0)
        length += out[s, 4] if out[s, 4] > 0.0 else 0.0
    return area, length


@compiled(nogil=True, error_model="numpy", inline="always")
def settled(signed: float, plus: float, minus: float, more: float) -> float:
    """Area of a moved ring: the shoelace plus what crossing hides, or the scan where that is surer."""
    if plus <= 0.0:
        return 0.0
    if minus + more < plus:
        return max(0.0, signed + minus - more)
    return plus
