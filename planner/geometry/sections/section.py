"""Horizontal sections of a mesh: exact measures of all of them, rings of those that are asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar.ragged import picked

Column = NDArray[np.float64]
Index = NDArray[np.int64]

KEEP_WITHIN = 0.002  # mm: points of a ring that lie closer to the line over them are left out
_CLOSED_BY = 1e-6  # mm2 of area that a plane may have and still count as empty


@dataclass(frozen=True, eq=False, slots=True)
class Rings:
    """Closed rings of some sections, outer ones counter-clockwise, holes clockwise.

    Parameters
    ----------
    points : (p, 2) of all rings, one after the other
    starts : (r + 1,) where each ring begins
    plane : (k + 1,) where the rings of each section begin
    area, perimeter : (k,) of the rings as cut, before points are left out
    left_out : (k,) area that leaving points out took away
    outers, rings : (k,) numbers of outer rings and of all rings
    gap : (k,) total length of the joints where facets are missing
    """

    points: Column
    starts: Index
    plane: Index
    area: Column
    perimeter: Column
    left_out: Column
    outers: Index
    rings: Index
    gap: Column

    def section(self, q: int) -> list[Column]:
        """Rings of one section, each (m, 2)."""
        return [
            self.points[self.starts[r] : self.starts[r + 1]] for r in range(self.plane[q], self.plane[q + 1])
        ]

    def picked(self, order: Index) -> Rings:
        """Some of the sections, in the given order."""
        points, starts, plane = picked(self.points, self.starts, self.plane, order)
        return Rings(
            points,
            starts,
            plane,
            self.area[order],
            self.perimeter[order],
            self.left_out[order],
            self.outers[order],
            self.rings[order],
            self.gap[order],
        )


def _after(many: list[Index]) -> Index:
    """Starts of stretches that follow those of the sets before."""
    begin = np.cumsum([0, *(int(one[-1]) for one in many)])
    moved = [one[1:] + int(shift) for one, shift in zip(many, begin[:-1], strict=True)]
    return np.concatenate([np.zeros(1, dtype=np.int64), *moved])


def merged(many: list[Rings]) -> Rings:
    """Sections of several sets, one after the other."""
    if len(many) == 1:
        return many[0]
    points = np.concatenate([one.points for one in many])
    starts = _after([one.starts for one in many])
    plane = _after([one.plane for one in many])
    columns = (
        np.concatenate([getattr(one, name) for one in many])
        for name in ("area", "perimeter", "left_out", "outers", "rings", "gap")
    )
    return Rings(points, starts, plane, *columns)


@dataclass(frozen=True, eq=False, slots=True)
class Sections:
    """Exact area, perimeter and centroids of parallel sections of one mesh.

    Parameters
    ----------
    mesh, low : the mesh and its lowest corner; all results are measured from there
    mids : (n,) heights of the planes, rising
    area, perimeter : (n,) mm2, mm
    middle, line_middle : (n, 2) centroid of the area and of its outline
    torn : (n,) True where the cut facets do not close
    counts : (n,) facets cut by each plane
    runs : (n + 1, 2) the largest sideways run per height of surfaces that look up, down, below
        each plane and above the last
    like : (n,) the lowest plane whose section is the same because all between them is upright
    spans : (m, 2) planes that cut each facet
    surface, volume : mm2, signed mm3 of the mesh
    overhang, overhang_at : mm2 of flat surface that looks down in the air, and where
    watertight : every edge is used once in each direction
    """

    mesh: TriangleMesh
    low: Column
    mids: Column
    area: Column
    perimeter: Column
    middle: Column
    line_middle: Column
    torn: NDArray[np.bool_]
    counts: Index
    runs: Column
    like: Index
    spans: NDArray[np.int32]
    surface: float
    volume: float
    overhang: float
    overhang_at: tuple[float, float, float]
    watertight: bool

    def segments(self, wanted: Index) -> tuple[Column, Index]:
        """Cut segments (s, 4) of the wanted planes (rising), material on the left, and their starts."""
        from planner.geometry.sections.section_kernel import gather

        starts = np.concatenate([[0], np.cumsum(self.counts[wanted])]).astype(np.int64)
        return gather(self.mesh.triangles, self.low, self.mids, self.spans, wanted, starts), starts

    def rings(self, wanted: Index) -> Rings:
        """Closed rings of the wanted planes (rising numbers)."""
        seg, starts = self.segments(wanted)
        return joined(seg, starts)


def joined(seg: Column, starts: Index) -> Rings:
    """Rings of segments with the material on their left, plane by plane."""
    from planner.geometry.planar import rings_kernel as kernel

    points, ring_starts, plane, sums = kernel.join(seg, seg.view(np.int64), starts, KEEP_WITHIN)
    return Rings(
        points,
        ring_starts,
        plane,
        sums[:, kernel.RAW_AREA].copy(),
        sums[:, kernel.RAW_LENGTH].copy(),
        sums[:, kernel.RAW_AREA] - sums[:, kernel.KEPT_AREA],
        sums[:, kernel.OUTERS].astype(np.int64),
        sums[:, kernel.RINGS].astype(np.int64),
        sums[:, kernel.GAP_LENGTH].copy(),
    )


def sections(
    mesh: TriangleMesh, mids: Column, step: float, *, run_floor: float = 0.0, flat_deg: float = 40.0
) -> Sections:
    """Cut a mesh at heights ``mids`` above its lowest point, evenly ``step`` apart from the second on.

    ``run_floor`` leaves surfaces with a smaller sideways run per height out of ``runs``. A surface
    flatter than ``flat_deg`` that looks down, above the first plane, counts as overhang.
    """
    from planner.geometry.sections import section_kernel as kernel

    low = np.ascontiguousarray(mesh.bounds[0])
    sums, checks, counts, spans, runs, tilted, totals, whole = kernel.sweep(
        mesh.triangles,
        mesh.triangles.view(np.int64),
        low,
        mids,
        step,
        run_floor,
        float(np.cos(np.radians(flat_deg))),
        float(mids[0]),
    )
    cross = sums[:, kernel.CROSS]
    some = np.where(np.abs(cross) > _CLOSED_BY, cross, np.inf)
    line = np.where(sums[:, kernel.LENGTH] > 0.0, sums[:, kernel.LENGTH], np.inf)
    over = totals[kernel.OVERHANG]
    return Sections(
        mesh,
        low,
        mids,
        0.5 * cross,
        sums[:, kernel.LENGTH].copy(),
        sums[:, [kernel.MOMENT_X, kernel.MOMENT_Y]] / (3.0 * some[:, None]),
        sums[:, [kernel.LINE_X, kernel.LINE_Y]] / (2.0 * line[:, None]),
        checks != 0,
        counts,
        runs,
        _like(tilted, bool(whole == 0)),
        spans,
        float(totals[kernel.SURFACE]),
        float(totals[kernel.SIX_VOLUMES] / 6.0),
        float(over),
        (
            float(totals[kernel.OVERHANG_X] / over) if over > 0.0 else 0.0,
            float(totals[kernel.OVERHANG_Y] / over) if over > 0.0 else 0.0,
            float(totals[kernel.OVERHANG_LOW]) if over > 0.0 else 0.0,
        ),
        bool(whole == 0),
    )


def _like(tilted: NDArray[np.bool_], watertight: bool) -> Index:
    """Number of the lowest plane with the same section; each its own where caps may be missing."""
    level = np.arange(len(tilted) - 1, dtype=np.int64)
    if not watertight:
        return level
    changed = tilted[:-1].copy()
    changed[0] = True
    return np.maximum.accumulate(np.where(changed, level, 0))
