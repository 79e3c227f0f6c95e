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

Cells = NDArray[np.bool_]
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
    sums = _sums(taken)
    full: set[tuple[int, int]] = set()  # sizes for which there was no room; it never grows
    for box in sorted(boxes, key=lambda b: (-b.area_mm2, b.item.piece)):
        if box.area_mm2 / cell**2 > room:
            continue
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
        sums = _sums(taken)
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
    xs = x0 + (np.arange(int((x1 - x0) / cell + 1e-9)) + 0.5) * cell
    ys = y0 + (np.arange(int((y1 - y0) / cell + 1e-9)) + 0.5) * cell
    points = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    inside = np.zeros(len(points), dtype=bool)
    for patch in ground.patches:
        if to_the_edge:
            inside |= _wholly_inside(points, patch, cell / 2.0 - 1e-9)
        else:
            inside |= _well_inside(points, patch, cell / np.sqrt(2.0) - 1e-9)
    free = inside.reshape(len(ys), len(xs))
    free.setflags(write=False)
    return free, cell, (x0, y0)


def _well_inside(points: NDArray[np.float64], patch: Patch, depth: float) -> Cells:
    """Which points lie in the patch at least ``depth`` from every edge of it."""
    near = np.full(len(points), np.inf)
    x, y = points[:, 0], points[:, 1]
    for (ax, ay), (bx, by) in _edges(patch):
        along = np.clip(
            ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2), 0, 1
        )
        near = np.minimum(near, np.hypot(x - ax - along * (bx - ax), y - ay - along * (by - ay)))
    return _inside(points, patch) & (near >= depth)


def _wholly_inside(points: NDArray[np.float64], patch: Patch, half: float) -> Cells:
    """Which squares of half side ``half`` about the points lie in the patch: no edge of it enters them.

    Source of the test of an edge against a square: separating axes (geometry).
    """
    entered = np.zeros(len(points), dtype=bool)
    x, y = points[:, 0], points[:, 1]
    for (ax, ay), (bx, by) in _edges(patch):
        wide, deep = abs(bx - ax), abs(by - ay)
        entered |= (
            (np.abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) < half * (wide + deep))
            & (np.abs(x - (ax + bx) / 2.0) < half + wide / 2.0)
            & (np.abs(y - (ay + by) / 2.0) < half + deep / 2.0)
        )
    return _inside(points, patch) & ~entered


def _inside(points: NDArray[np.float64], patch: Patch) -> Cells:
    """Which points lie in the patch, by the even-odd rule."""
    inside = np.zeros(len(points), dtype=bool)
    x, y = points[:, 0], points[:, 1]
    for (ax, ay), (bx, by) in _edges(patch):
        if ay != by:
            inside ^= ((ay > y) != (by > y)) & (x < ax + (y - ay) / (by - ay) * (bx - ax))
    return inside


def _edges(patch: Patch) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """First and last point of every edge of the outline and the openings."""
    for ring in (patch.outer, *patch.holes):
        yield from zip(ring, np.roll(ring, -1, axis=0), strict=True)
