"""Columns of air under flat ceilings of a mesh, and their outlines at any height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.sections.section import Rings, joined

Column = NDArray[np.float64]
Index = NDArray[np.int64]

MOST_CELLS = 400  # across the grid
LEAST_CELL_MM = 0.25
COLUMN, RIM = 1, 2


@dataclass(frozen=True, slots=True)
class ColumnRule:
    """Where columns stand: lengths in mm.

    Parameters
    ----------
    flat_deg : ceilings flatter than this get a column
    above_mm : and higher than this
    gap_mm : air between a column and its ceiling, and between it and a floor that is not the ground
    rim_mm : height of its topmost stretch
    widening, late_mm : mm outward for every mm down, from so far below the top on
    from_ground : columns that would stand on the mesh are left out
    """

    flat_deg: float
    above_mm: float
    gap_mm: float
    rim_mm: float
    widening: float
    late_mm: float
    from_ground: bool


@dataclass(frozen=True, eq=False, slots=True)
class Columns:
    """The air of every cell of a grid over a mesh, lowest span first (see `air_kernel.spans`).

    ``low`` (2,) is the corner of the grid, measured from that of the mesh.
    """

    rule: ColumnRule
    cell: float
    shape: tuple[int, int]
    low: Column
    spans: tuple[Index, Column, Column, NDArray[np.bool_]]

    def areas(self, mids: Column) -> tuple[Column, float]:
        """Area of all columns and of their rims at rising heights (n, 2), and the ceilings left out, mm2.

        Without what columns widen by.
        """
        from planner.geometry.sections.air_kernel import held

        rule = self.rule
        found, left = held(*self.spans, mids, self.cell, rule.gap_mm, rule.rim_mm, rule.from_ground)
        return found, float(left)

    def outlines(self, levels: Column) -> tuple[Rings, Rings]:
        """Outlines at rising heights: of the columns, and of those parts that are rims."""
        from planner.geometry.planar.contour_kernel import outlines
        from planner.geometry.sections.air_kernel import slices

        rule, (nx, ny) = self.rule, self.shape
        marks = slices(
            *self.spans,
            nx,
            ny,
            levels,
            self.cell,
            rule.gap_mm,
            rule.rim_mm,
            rule.from_ground,
            rule.widening,
            rule.late_mm,
        )
        x, y = self.low.tolist()
        return tuple(  # type: ignore[return-value]
            joined(*outlines(marks, kind, nx, ny, self.cell, x, y)) for kind in (COLUMN, RIM)
        )


def columns(mesh: TriangleMesh, rule: ColumnRule) -> Columns:
    """The air under a mesh on a grid that leaves room for what its columns widen by."""
    from planner.geometry.sections.air_kernel import spans

    low = mesh.bounds[0]
    wide, deep, high = mesh.extents.tolist()
    room = rule.widening * high
    cell = max(LEAST_CELL_MM, (max(wide, deep) + 2.0 * room) / MOST_CELLS)
    margin = cell * np.ceil(room / cell + 1.0)
    shape = int((wide + 2.0 * margin) / cell) + 1, int((deep + 2.0 * margin) / cell) + 1
    corner = np.array([low[0] - margin, low[1] - margin, low[2]])
    found = spans(
        mesh.triangles, corner, cell, *shape, float(np.cos(np.radians(rule.flat_deg))), rule.above_mm
    )
    return Columns(rule, cell, shape, np.array([-margin, -margin]), found)
