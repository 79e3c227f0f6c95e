"""The outline of beads: what lies within half a width of their centre lines."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry.planar.outline_offset import Patch
from planner.geometry.planar.polygon import Points, signed_area

_ROUND = 6  # chords of a quarter of a bead's end: 0.002 mm off
_SAME_WIDTH_MM = 0.02
_GAP_MM = 0.06  # half of what may lie open between two beads that are meant to touch
_HOLE_MM2 = 1.0  # between ends of lines and the wall beside them there are smaller ones


def bead_union(ends: Points, widths: NDArray[np.float64]) -> tuple[Patch, ...]:
    """Areas that beads cover; gaps and holes that are smaller than a bead are closed.

    Parameters
    ----------
    ends : (n, 4) mm, where each bead begins and ends, in the order in which they are laid
    widths : (n,) mm

    Source: geometry (Minkowski sum with a disc), done by the polygon library. Assumes: ends are round.
    """
    if len(ends) == 0:
        return ()
    grade = np.round(widths / _SAME_WIDTH_MM).astype(np.int64)
    joined = (ends[1:, :2] == ends[:-1, 2:]).all(axis=1) & (grade[1:] == grade[:-1])
    first = np.flatnonzero(np.concatenate([[True], ~joined]))
    path = np.repeat(np.arange(len(first)), np.diff(np.append(first, len(ends))))
    starts = np.zeros(len(ends), dtype=bool)
    starts[first] = True
    # the points of a path are the begin of its first bead and the ends of all
    points = np.concatenate([ends[first, :2], ends[:, 2:]])
    of = np.concatenate([np.arange(len(first)), path])
    order = np.argsort(of, kind="stable")
    lines = shapely.linestrings(points[order], indices=of[order])
    wide = shapely.buffer(lines, widths[first] / 2.0 + _GAP_MM, quad_segs=_ROUND)
    whole = shapely.buffer(shapely.union_all(wide), -_GAP_MM, quad_segs=_ROUND)
    parts = [part for part in shapely.get_parts(whole) if part.area > 0.0]
    return tuple(_patch(shapely.geometry.polygon.orient(part)) for part in parts)


def _patch(polygon: shapely.Polygon) -> Patch:
    rings = [
        np.asarray(ring.coords, dtype=np.float64)[:-1] for ring in (polygon.exterior, *polygon.interiors)
    ]
    return Patch(rings[0], tuple(ring for ring in rings[1:] if abs(signed_area(ring)) >= _HOLE_MM2))
