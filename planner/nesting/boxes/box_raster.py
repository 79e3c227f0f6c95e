"""Boxes on round beds, polygon beds and beds with keep-outs, by a raster that never rounds in our favour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.outline_offset import Patch
from planner.model.batch import Placed
from planner.model.printer import Bed
from planner.nesting.problem.box import Box
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.placement import lay_box

_CELLS = 160  # cells along the longer side of the bed

_ROUNDED = 1e-6  # mm by which a place may be told too far from an edge

Cells = NDArray[np.bool_]
Floats = NDArray[np.float64]
Sums = NDArray[np.int32]


def fill_odd_bed(boxes: Sequence[Box], kind: BedKind, *, to_the_edge: bool = False) -> list[Placed]:
    """Largest first, each as far to the front as it goes, then as far to the left.

    Cells along straight edges count only ``to_the_edge``: a piece that is as wide as the ground needs them.
    """
    free, cell, (x0, y0) = _ground(kind.bed, to_the_edge)
    taken = ~free
    placed: list[Placed] = []
    room = float(free.sum())
    most = max(box.reach_mm for box in boxes)
    sums: Sums | None = _bare_sums(kind.bed, to_the_edge)
    full: set[tuple[int, int]] = set()  # sizes for which there was no room; it never grows
    for box in sorted(boxes, key=lambda b: (-b.area_mm2, b.item.piece)):
        if box.area_mm2 / cell**2 > room:
            continue
        if sums is None:
            sums = _sums(taken)
        wanted = [(_cells(size, cell), n) for n, size in enumerate(box.sizes)]
        found = [
            (spot, n) for cells, n in wanted if cells not in full and (spot := _spot(sums, cells)) is not None
        ]
        if not found:
            full.update(cells for cells, _ in wanted)
            continue
        # the turn whose far edge stays nearest to the front
        (row, column), n = min(
            found, key=lambda f: (f[0][0] + _cells(box.sizes[f[1]], cell)[0], f[0][1], f[1])
        )
        placed.append(lay_box(box.item, x0 + column * cell, y0 + row * cell, box.turns[n]))
        rows, columns = _cells(box.sizes[n], cell)
        gap = int(np.ceil((box.reach_mm + most) / cell))
        taken[max(0, row - gap) : row + rows + gap, max(0, column - gap) : column + columns + gap] = True
        sums = None  # counted again where another box comes
        room -= box.area_mm2 / cell**2
    return placed


def _cells(size: tuple[float, float], cell: float) -> tuple[int, int]:
    """Rows and columns that a box covers when it starts at the corner of a cell."""
    return int(np.ceil(size[1] / cell - 1e-9)), int(np.ceil(size[0] / cell - 1e-9))


def _sums(taken: Cells) -> Sums:
    """How many cells before each row and column are taken."""
    total = np.zeros((taken.shape[0] + 1, taken.shape[1] + 1), dtype=np.int32)
    np.cumsum(taken.cumsum(axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
    return total


@lru_cache(maxsize=64)
def _bare_sums(bed: Bed, to_the_edge: bool) -> Sums:
    """The sums of a bed on which nothing lies yet."""
    total = _sums(~_ground(bed, to_the_edge)[0])
    total.setflags(write=False)
    return total


def _spot(total: Sums, cells: tuple[int, int]) -> tuple[int, int] | None:
    rows, columns = cells
    if rows >= total.shape[0] or columns >= total.shape[1]:
        return None
    blocked = (
        total[rows:, columns:] - total[:-rows, columns:] - total[rows:, :-columns] + total[:-rows, :-columns]
    )
    first = int(blocked.argmin())
    row, column = divmod(first, blocked.shape[1])
    return (row, column) if blocked[row, column] == 0 else None


@lru_cache(maxsize=64)
def _ground(bed: Bed, to_the_edge: bool) -> tuple[Cells, float, tuple[float, float]]:
    """Cells that lie wholly on the usable ground, the size of a cell, and where the first one starts."""
    ground = free_region(bed)
    if not ground.patches:
        return np.zeros((0, 0), dtype=bool), 1.0, (0.0, 0.0)
    x0, y0, x1, y1 = ground.bounds
    cell = max(x1 - x0, y1 - y0) / _CELLS
    xs, ys = (_middles(*ends, cell) for ends in ((x0, x1), (y0, y1)))
    free = np.zeros((len(ys), len(xs)), dtype=bool)
    for patch in ground.patches:
        if to_the_edge:
            free |= _wholly_inside(xs, ys, patch, cell / 2.0 - 1e-9)
        else:
            free |= _well_inside(xs, ys, patch, cell / np.sqrt(2.0) - 1e-9)
    free.setflags(write=False)
    return free, cell, (x0, y0)


def _middles(low: float, high: float, cell: float) -> Floats:
    """Middles of the whole cells between two places."""
    counted: Floats = np.arange(int((high - low) / cell + 1e-9), dtype=np.float64)
    middles: Floats = low + (counted + 0.5) * cell
    return middles


def _well_inside(xs: Floats, ys: Floats, patch: Patch, depth: float) -> Cells:
    """Which points of the grid lie in the patch at least ``depth`` from every edge of it."""
    inside = _inside(xs, ys, patch)
    for (ax, ay), (bx, by) in _edges(patch):
        rows, columns = _about(ys, ay, by, depth), _about(xs, ax, bx, depth)
        x, y = xs[None, columns], ys[rows, None]
        along = np.clip(
            ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2), 0, 1
        )
        near = np.hypot(x - ax - along * (bx - ax), y - ay - along * (by - ay))
        inside[rows, columns] &= near >= depth
    return inside


def _wholly_inside(xs: Floats, ys: Floats, patch: Patch, half: float) -> Cells:
    """Which squares of half side ``half`` about the points of the grid lie in the patch: no edge enters them.

    Source of the test of an edge against a square: separating axes (geometry).
    """
    inside = _inside(xs, ys, patch)
    for (ax, ay), (bx, by) in _edges(patch):
        wide, deep = abs(bx - ax), abs(by - ay)
        rows, columns = _about(ys, ay, by, half), _about(xs, ax, bx, half)
        x, y = xs[None, columns], ys[rows, None]
        inside[rows, columns] &= ~(
            (np.abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) < half * (wide + deep))
            & (np.abs(x - (ax + bx) / 2.0) < half + wide / 2.0)
            & (np.abs(y - (ay + by) / 2.0) < half + deep / 2.0)
        )
    return inside


def _inside(xs: Floats, ys: Floats, patch: Patch) -> Cells:
    """Which points of the grid lie in the patch, by the even-odd rule."""
    inside = np.zeros((len(ys), len(xs)), dtype=bool)
    for (ax, ay), (bx, by) in _edges(patch):
        rows = _about(ys, ay, by, 0.0)
        y = ys[rows, None]
        if ay != by:
            inside[rows] ^= ((ay > y) != (by > y)) & (xs[None] < ax + (y - ay) / (by - ay) * (bx - ax))
    return inside


def _about(places: Floats, first: float, last: float, reach: float) -> slice:
    """Those of growing places that lie between two, or nearer than ``reach`` to them."""
    low, high = min(first, last) - reach - _ROUNDED, max(first, last) + reach + _ROUNDED
    return slice(int(np.searchsorted(places, low)), int(np.searchsorted(places, high, side="right")))


def _edges(patch: Patch) -> Iterator[tuple[Floats, Floats]]:
    """First and last point of every edge of the outline and the openings."""
    for ring in (patch.outer, *patch.holes):
        yield from zip(ring, np.roll(ring, -1, axis=0), strict=True)
