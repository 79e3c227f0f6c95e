"""Shadows on square cells: that of what is laid, and those of pieces as a plan lays them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch
from planner.model.printer import Outline
from planner.readback.cells_kernel import filled, within
from planner.readback.moves_read import MovesRead

Mask = NDArray[np.bool_]

TRACE = 1e-6  # fed mm in a cell that count for something
_LINES = 2.2  # beads of the common 0.45 mm side by side in a millimetre
_ONCE = 1.3  # times a layer: what is laid only once, like a loop about all pieces, casts no shadow


@dataclass(frozen=True, slots=True)
class Way:
    """How a bed may have been turned: mirrored about its middle line first, then by quarter turns."""

    quarters: int = 0
    mirrored: bool = False

    @property
    def plain(self) -> bool:
        """Whether nothing was done to it."""
        return self.quarters == 0 and not self.mirrored


WAYS = tuple(Way(q) for q in range(4))
MIRRORED_WAYS = tuple(Way(q, mirrored=True) for q in range(4))


@dataclass(frozen=True, slots=True)
class Cells:
    """The grid that all shadows of one file share."""

    rows: int
    low_mm: float
    cell_mm: float

    def of_ring(self, ring: NDArray[np.float64]) -> Mask:
        """The cells whose middle lies within a ring."""
        found: Mask = within(ring, self.rows, self.rows, self.low_mm, self.cell_mm)
        return found


def cells_of(moves: MovesRead) -> Cells:
    """The grid of a file."""
    return Cells(len(moves.laid.cells), moves.laid.low_mm, moves.laid.cell_mm)


def laid_shadows(moves: MovesRead) -> tuple[Mask, Mask]:
    """The shadow of all that is laid, closed in; and that of what is laid more than once."""
    fed = moves.laid.cells
    whole: Mask = filled(fed > TRACE)
    levels = moves.levels
    if len(levels.fed_mm) < 2:
        return whole, whole
    once = levels.fed_mm[0] / max(levels.path_mm[0], 1e-9) * _LINES * moves.laid.cell_mm**2
    more: Mask = filled(fed > _ONCE * once)
    return whole, more


def turned(ring: Outline | NDArray[np.float64], way: Way, width: float, depth: float) -> NDArray[np.float64]:
    """A ring of a bed of this size, turned with the bed about the middle of it."""
    middle = np.array([width / 2.0, depth / 2.0])
    points = np.asarray(ring, dtype=np.float64) - middle
    if way.mirrored:
        points = points * (-1.0, 1.0)
    for _ in range(way.quarters % 4):
        points = np.stack([-points[:, 1], points[:, 0]], axis=1)
    return np.ascontiguousarray(points + middle)


def rings_of(batch: Batch, way: Way, width: float, depth: float) -> dict[str, NDArray[np.float64]]:
    """The outline of every piece of a bed by its name, turned so."""
    return {one.piece: turned(one.outline_mm, way, width, depth) for one in batch.placed}


def grown(mask: Mask, by: int = 1) -> Mask:
    """The cells, and those up to so many cells beside them."""
    for _ in range(by):
        wide = mask.copy()
        wide[1:] |= mask[:-1]
        wide[:-1] |= mask[1:]
        across = wide.copy()
        across[:, 1:] |= wide[:, :-1]
        across[:, :-1] |= wide[:, 1:]
        mask = across
    return mask
