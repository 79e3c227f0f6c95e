"""What of the solid part of a region lies open above, or over air or sparse lines, on scan lines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.geometry.planar.inset_kernel import offset, scan
from planner.geometry.sections.cover_kernel import TOUCHING, held_spans, room, spans

Floats = NDArray[np.float64]

# Columns of the table of faces, one row a region: its area and stretches, then both of each kind.
REGION, REGION_COUNT, REST, REST_COUNT, TOP, TOP_COUNT, AIR, AIR_COUNT, LINES, LINES_COUNT = range(10)
FACE_COLUMNS = 10


@compiled(nogil=True, error_model="numpy")
def faces(
    points: Floats, starts: Any, plane: Any, depths: Floats, levels: Any, above: int, below: int,
    seg: Floats, seg_starts: Any, section: Any, low: float, gap: float, rows: int, sparse: bool,
) -> Floats:  # fmt: skip
    """The kinds of solid area of each region.

    A point of a region is solid unless all sections from ``below`` under it to ``above`` over it hold it.
    Of what is solid it is

    - over air, where the section right below does not hold it (and ``below`` is not zero)
    - over lines, where the layer below is sparse: all its own sections hold it (only if ``sparse``)
    - top, where the section right above does not hold it (and ``above`` is not zero)
    - the rest else

    the first that fits. The lowest layer lies on the bed.

    Parameters
    ----------
    points, starts, plane : rings of each region; the region is what lies deeper than ``depths``
    levels : (k,) layer number of each region
    seg, seg_starts : segments of the sections at hand
    section : (n,) which of them belongs to a layer, -1 where none is at hand and none is needed
    low, gap, rows : the scan lines

    Returns
    -------
    (k, 10) mm2 of the region and stretches of scan lines in it; the same of each kind
    """
    k, n = plane.shape[0] - 1, section.shape[0]
    out, row = room(starts, plane, seg_starts), np.empty(rows + 1, np.int64)
    begin, a, b = held_spans(seg, seg_starts, low, gap, rows, out, row)
    table = np.zeros((k, FACE_COLUMNS))
    mine = np.empty(rows + 1, np.int64)
    for q in range(k):
        count = offset(points, starts, plane[q], plane[q + 1], depths[q], out)
        where, tag = scan(out, count, low, gap, rows, row)
        ia, ib = np.empty(where.shape[0] + 1), np.empty(where.shape[0] + 1)
        size = 2 * spans(rows, row, where, tag, mine, ia, ib, 0) + 4
        for step in range(-below - 1, above + 1):
            other = levels[q] + step
            if 0 <= other < n and section[other] >= 0:
                size += 2 * (begin[section[other], rows] - begin[section[other], 0])
        ends, codes = np.empty(size), np.empty(size, np.int64)
        state = np.zeros(below + above + 3, np.int64)
        for j in range(rows):
            if mine[j + 1] > mine[j]:
                state[:] = 0
                _line(
                    j, levels[q], above, below, mine, ia, ib, section, begin, a, b, ends, codes, state,
                    sparse, gap, table[q],
                )  # fmt: skip
    return table


@compiled(nogil=True, error_model="numpy")
def _line(
    j: int, level: int, above: int, below: int, mine: Any, ia: Floats, ib: Floats, section: Any, begin: Any,
    a: Floats, b: Floats, ends: Floats, codes: Any, state: Any, sparse: bool, gap: float, entry: Floats,
) -> None:  # fmt: skip
    """One scan line: what each piece between two ends is, added to ``entry``."""
    count, own = 0, below + above + 2
    for i in range(mine[j], mine[j + 1]):
        count = _put(ia[i], ib[i], own, ends, codes, count)
    for step in range(-below - 1, above + 1):
        other = level + step
        if 0 <= other < section.shape[0] and section[other] >= 0:
            s = section[other]
            for i in range(begin[s, j], begin[s, j + 1]):
                count = _put(a[i], b[i], step + below + 1, ends, codes, count)
    last, last_at = -1, 0.0
    region_at = -np.inf
    for e in range(count - 1):
        state[codes[e] // 2] += 1 if codes[e] % 2 else -1
        length = ends[e + 1] - ends[e]
        if length <= TOUCHING or state[own] <= 0:
            continue
        entry[REGION] += length * gap
        if ends[e] > region_at + TOUCHING:
            entry[REGION_COUNT] += 1
        region_at = ends[e + 1]
        kind = _kind(level, above, below, state, sparse)
        if kind:
            entry[kind] += length * gap
            if kind != last or ends[e] > last_at + TOUCHING:
                entry[kind + 1] += 1
        last, last_at = kind, ends[e + 1]


@compiled(nogil=True, error_model="numpy")
def _put(left: float, right: float, which: int, ends: Floats, codes: Any, count: int) -> int:
    """Both ends of a stretch into the rising list; the new count."""
    for at, code in ((left, 2 * which + 1), (right, 2 * which)):
        i = count
        while i > 0 and ends[i - 1] > at:
            ends[i], codes[i] = ends[i - 1], codes[i - 1]
            i -= 1
        ends[i], codes[i] = at, code
        count += 1
    return count


@compiled(nogil=True, error_model="numpy")
def _kind(level: int, above: int, below: int, state: Any, sparse: bool) -> int:
    """The kind of a point from the sections that hold it, ``state[step + below + 1]``; 0 where not solid."""
    here = below + 1
    holding = 0
    for step in range(-below, above + 1):
        holding += 1 if step != 0 and state[here + step] > 0 else 0
    if holding == below + above:
        return 0
    if level > 0 and below > 0 and state[here - 1] <= 0:
        return AIR
    if level > 0 and sparse and above > 0 and state[0] > 0:
        over = 1 if state[here + above] > 0 else 0
        if holding - over == below + above - 1:
            return LINES
    if above > 0 and state[here + 1] <= 0:
        return TOP
    return REST
