"""Lines of sparse infill: their length with the steps along the edge that join them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class SparseLines:
    """Of every layer, (n,): area that centre lines run over, mean length of one, length of all beads."""

    area_mm2: Column
    chord_mm: Column
    path_mm: Column


def sparse_lines(
    sparse_mm2: Column,
    inner_mm2: Column,
    edge_share: Column,
    core_mm2: Column,
    core_mm: Column,
    diagonal_share: Column,
    caps_mm: Column,
    spacing_mm: float,
    bead_mm: float,
) -> SparseLines:
    """Lines ``spacing_mm`` apart over the sparse area, from edge to edge and along it to the next one.

    Lines end half a bead inside the edge, so they run over the area A and within the outline P of the
    sparse region moved in by that: A / spacing of line, P / (pi x spacing x share) lines, and between
    neighbours a bead along the edge, so that every other stretch of P is laid, but for the caps beyond the
    outermost lines: (P - caps) / 2. At a spacing of one bead that is again the whole area.

    Parameters
    ----------
    sparse_mm2 : (n,) area of the sparse region
    inner_mm2 : (n,) area of all that walls leave free
    edge_share : (n,) outline of the sparse region over that of all the inside
    core_mm2, core_mm : (n,) area and outline of that, moved in by half a bead
    diagonal_share : (n,) mean chord along the lines over that of all directions
    caps_mm : (n,) length of the outline beyond the first and the last line

    Source: geometry (Cauchy's formula for the lines; half of the edge for the steps); that lines are
    joined along the edge: common practice, no source.
    Assumes: along the edge of a sparse region that is part of the inside, half a bead takes as much from area
    and outline as along the edge of all of it.
    """
    moved = core_mm * edge_share
    area = np.maximum(sparse_mm2 - (inner_mm2 - core_mm2) * edge_share, 0.0)
    if not np.isfinite(spacing_mm):
        return SparseLines(area, np.zeros_like(area), np.zeros_like(area))
    laid = area > 0.0
    chord = np.where(laid, np.pi * area * diagonal_share / np.where(moved > 0.0, moved, np.inf), 0.0)
    if spacing_mm <= 1.001 * bead_mm:  # touching: they and their steps cover all of it
        return SparseLines(sparse_mm2, np.where(laid, chord + bead_mm, 0.0), sparse_mm2 / bead_mm)
    path = np.where(laid, joined_lines(area, moved, caps_mm, spacing_mm), 0.0)
    return SparseLines(area, chord, np.minimum(path, sparse_mm2 / bead_mm))


def joined_lines(core_mm2: Column, core_mm: Column, caps_mm: Column, spacing_mm: float) -> Column:
    """Length of lines over a core, and of the steps along every other stretch of its edge but the caps."""
    length: Column = core_mm2 / spacing_mm + 0.5 * np.maximum(core_mm - caps_mm, 0.0)
    return length
