"""Where a region is not covered by all of the sections above and below it, on scan lines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.geometry.planar.inset_kernel import ASKEW_COS, ASKEW_SIN, offset, scan, turned
from planner.geometry.planar.stretch_kernel import traced

Floats = NDArray[np.float64]

# Columns of the table of covers, one row a region.
REGION, BARE, BARE_X, BARE_Y, EDGE, PARTS, HELD_EDGE, HELD_PARTS, BARE_EDGE = range(9)
COVER_COLUMNS = 9
TOUCHING = 1e-6  # mm; stretches closer than that have no bare one between them


@compiled(nogil=True, error_model="numpy")
def spans(rows: int, row: Any, where: Any, tag: Any, begin: Any, a: Floats, b: Floats, at: int) -> int:
    """Stretches of the scan lines with winding of at least one, appended from ``at``; the new end."""
    for j in range(rows):
        begin[j] = at
        wind = 0
        for k in range(row[j], row[j + 1]):
            old = wind
            wind += 1 if tag[k] > 0 else -1
            if old <= 0 and wind > 0:
                a[at] = where[k]
            elif old > 0 and wind <= 0:
                b[at] = where[k]
                if b[at] > a[at]:
                    at += 1
    begin[rows] = at
    return at


@compiled(nogil=True, error_model="numpy")
def room(starts: Any, plane: Any, seg_starts: Any) -> Floats:
    """Room for the turned segments of any section at hand, and of any region, offset."""
    most = 4
    for s in range(seg_starts.shape[0] - 1):
        most = max(most, seg_starts[s + 1] - seg_starts[s])
    for q in range(plane.shape[0] - 1):
        most = max(most, 2 * (starts[plane[q + 1]] - starts[plane[q]]) + 4 * (plane[q + 1] - plane[q]))
    return np.empty((most + 8, 6))


@compiled(nogil=True, error_model="numpy")
def held_spans(
    seg: Floats, seg_starts: Any, low: float, gap: float, rows: int, out: Floats, row: Any
) -> tuple[Any, Floats, Floats]:
    """Stretches of all sections at hand on the scan lines: where each line of each begins, and both ends."""
    held = seg_starts.shape[0] - 1
    begin = np.empty((held, rows + 1), np.int64)
    a, b, at = np.empty(4096), np.empty(4096), 0
    for s in range(held):
        count = turned(seg, seg_starts[s], seg_starts[s + 1], out)
        where, tag = scan(out, count, low, gap, rows, row)
        if at + where.shape[0] > a.shape[0]:
            size = 2 * (at + where.shape[0])
            wider_a, wider_b = np.empty(size), np.empty(size)
            for k in range(at):
                wider_a[k], wider_b[k] = a[k], b[k]
            a, b = wider_a, wider_b
        at = spans(rows, row, where, tag, begin[s], a, b, at)
    return begin, a, b


@compiled(nogil=True, error_model="numpy")
def _meet(spare: Floats, x: int, n: int, a: Floats, b: Floats, lo: int, hi: int) -> int:
    """Intersection of ``n`` rising stretches in rows x, x + 1 with others, into the other two rows."""
    y = 2 - x
    i, j, count = 0, lo, 0
    while i < n and j < hi:
        left = max(spare[x, i], a[j])
        right = min(spare[x + 1, i], b[j])
        if right > left:
            spare[y, count], spare[y + 1, count] = left, right
            count += 1
        if spare[x + 1, i] < b[j]:
            i += 1
        else:
            j += 1
    return count


@compiled(nogil=True, error_model="numpy")
def bare(
    points: Floats,
    starts: Any,
    plane: Any,
    depths: Floats,
    levels: Any,
    above: int,
    below: int,
    seg: Floats,
    seg_starts: Any,
    section: Any,
    low: float,
    gap: float,
    rows: int,
    least: float,
) -> Floats:
    """Part of each region that some section near it leaves bare.

    Parameters
    ----------
    points, starts, plane : rings of each region; the region is what lies deeper than ``depths``
    levels : (k,) layer number of each region
    above, below : how many layers up and down must hold material
    seg, seg_starts : segments of the sections at hand
    section : (n,) which of them belongs to a layer (the same for layers alike), -1 where none is
        at hand and none is needed
    low, gap, rows : the scan lines
    least : smaller parts of a region are not counted, mm2

    Returns
    -------
    (k, 9) area of the region, bare area of it and its first moments; outline and number of parts of the
    region and of what is not bare of it; outline of what is bare over that of the region (a line meets an
    outline as often as it is long; Source: geometry, Crofton's formula)
    """
    k = plane.shape[0] - 1
    out, row = room(starts, plane, seg_starts), np.empty(rows + 1, np.int64)
    begin, a, b = held_spans(seg, seg_starts, low, gap, rows, out, row)
    widest = 0
    for s in range(begin.shape[0]):
        widest = max(widest, _most(begin[s], rows))
    table = np.zeros((k, COVER_COLUMNS))
    mine, held_begin = np.empty(rows + 1, np.int64), np.empty(rows + 1, np.int64)
    for q in range(k):
        count = offset(points, starts, plane[q], plane[q + 1], depths[q], out)
        where, tag = scan(out, count, low, gap, rows, row)
        ia, ib = np.empty(where.shape[0] + 1), np.empty(where.shape[0] + 1)
        most = spans(rows, row, where, tag, mine, ia, ib, 0)
        table[q, EDGE], table[q, PARTS] = traced(rows, mine, ia, ib, gap, least)
        for step in range(-below, above + 1):
            other = min(max(levels[q] + step, 0), section.shape[0] - 1)
            most += begin[section[other], rows] - begin[section[other], 0] if section[other] >= 0 else 0
        ha, hb = np.empty(most + 1), np.empty(most + 1)
        # every meeting has fewer stretches than the two that meet
        spare = np.empty((4, _most(mine, rows) + (above + below) * widest + 1))
        _left_bare(
            mine, ia, ib, levels[q], above, below, section, begin, a, b, low, gap, rows, spare, table[q],
            held_begin, ha, hb,
        )  # fmt: skip
        table[q, HELD_EDGE], table[q, HELD_PARTS] = traced(rows, held_begin, ha, hb, gap, least)
    return table


@compiled(nogil=True, error_model="numpy")
def _most(begin: Any, rows: int) -> int:
    """The most stretches on one line."""
    most = 0
    for j in range(rows):
        most = max(most, begin[j + 1] - begin[j])
    return most


@compiled(nogil=True, error_model="numpy")
def _gaps(a: Floats, b: Floats, lo: int, hi: int, spare: Floats, x: int, n: int) -> int:
    """Bare stretches: what ``n`` rising stretches in rows x, x + 1 leave of others that hold them."""
    i, gaps = 0, 0
    for k in range(lo, hi):
        at = a[k]
        while i < n and spare[x, i] < b[k]:
            gaps += 1 if spare[x, i] > at + TOUCHING else 0
            at = spare[x + 1, i]
            i += 1
        gaps += 1 if b[k] > at + TOUCHING else 0
    return gaps


@compiled(nogil=True, error_model="numpy")
def _left_bare(
    mine: Any, ia: Floats, ib: Floats, level: int, above: int, below: int, section: Any, begin: Any,
    a: Floats, b: Floats, low: float, gap: float, rows: int, spare: Floats, entry: Floats,
    held_begin: Any, ha: Floats, hb: Floats,
) -> None:  # fmt: skip
    """One row of the table of covers: stretches of a region against those of the sections near it.

    What is left of them goes to ``ha``, ``hb``, from ``held_begin`` on in every line.
    """
    area, rest, mu, mv, ru, rv = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    edges, bare_edges = 0, 0
    n, done = section.shape[0], section[level]  # the region lies inside its own section
    at = 0
    for j in range(rows):
        held_begin[j] = at
        m = mine[j + 1] - mine[j]
        if m == 0:
            continue
        v = low + j * gap
        x = 0  # the stretches that are left lie in rows x and x + 1
        for i in range(m):
            left, right = ia[mine[j] + i], ib[mine[j] + i]
            area += right - left
            mu += 0.5 * (right * right - left * left)
            mv += v * (right - left)
            spare[0, i], spare[1, i] = left, right
        for step in range(-below, above + 1):
            if step == 0 or m == 0:
                continue
            other = level + step
            if other < 0 or other >= n or section[other] < 0:
                m = 0
                continue
            s = section[other]
            if s != done:
                m = _meet(spare, x, m, a, b, begin[s, j], begin[s, j + 1])
                x = 2 - x
        for i in range(m):
            left, right = spare[x, i], spare[x + 1, i]
            ha[at], hb[at] = left, right
            at += 1
            rest += right - left
            ru += 0.5 * (right * right - left * left)
            rv += v * (right - left)
        edges += mine[j + 1] - mine[j]
        bare_edges += _gaps(ia, ib, mine[j], mine[j + 1], spare, x, m)
    held_begin[rows] = at
    entry[BARE_EDGE] = bare_edges / max(edges, 1)
    entry[REGION], entry[BARE] = area * gap, (area - rest) * gap
    u, w = (mu - ru) * gap, (mv - rv) * gap
    entry[BARE_X] = ASKEW_COS * u - ASKEW_SIN * w
    entry[BARE_Y] = ASKEW_SIN * u + ASKEW_COS * w
