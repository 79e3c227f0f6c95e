"""What one piece asks of the nozzle, layer by layer: the input of the motion model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.outline_sides import OutlineSums

Column = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class LayerBeads:
    """Lengths and areas of every layer, and the outlines of the layers that were walked.

    Sections of neighbouring layers are alike, so outlines are kept on some layers only (the
    *walked* ones, rising). Layer ``i`` looks like walked layer ``nearest[i]``, and its walls are
    ``wall_path_mm[i]`` long: seconds per millimetre along the rings of the walked layer, times
    that length. Rings are closed (the first point is not repeated), outer ones counter-clockwise,
    holes clockwise; they are the outlines of the section, the beads run parallel to them.

    Parameters
    ----------
    height_mm : (n,) height of each layer
    wall_path_mm : (n,) centre-line length of all wall beads of the layer
    wall_mm3 : (n,) their volume (the mean bead area is volume / length)
    solid_mm2 : (n,) area filled without gaps; its lines lie ``solid_spacing_mm`` apart
    sparse_mm2, sparse_chord_mm, sparse_path_mm : (n,) area that sparse lines run over, the mean length
        of one, and all beads of it with the steps between them; lines lie ``sparse_spacing_mm`` apart
        (infinite where the recipe has no infill)
    support_mm2, support_solid_mm2, support_wall_mm2 : (n,) area of support columns: sparse (lines
        ``support_spacing_mm`` apart), of their solid interface layers, and of the beads around them
    support_line_mm : (n,) length of the sparse lines of support with the steps that join them
    support_islands : (n,) columns that stand apart, and strips of their faces that rings fill (a mean where
        layers are in proportion to others)
    brim_path_mm : (n,) bead length of the brim, zero above the first layer
    islands : (n,) separate outer rings of the section
    chord_mm : (n,) mean length of a straight line across the solid areas
    top_mm2, top_chord_mm, bridge_mm2, bridge_chord_mm, rest_chord_mm : (n,) the part of the solid areas that
        are top layers, bridges and neither; no area where nobody asks
    points : (m, 2) ring points of all walked layers, one ring after the other
    ring_starts : (r + 1,) ring ``j`` is ``points[ring_starts[j]:ring_starts[j + 1]]``
    walked : (k,) layer number of each walked layer, rising
    walked_starts : (k + 1,) rings of walked layer ``q`` are ``walked_starts[q]`` up to
        ``walked_starts[q + 1]``
    nearest : (n,) for every layer the position in ``walked`` of the layer nearest to it
    hops, hop_mm, reach_mm : (k,) ways between places where one bead runs between two walls, their
        length, and how far the first of these places is from the farthest corner
    sums : of the rings of the walked layers
    spiral : (n,) True on layers that are one closed bead climbing without a layer change
    """

    height_mm: Column
    wall_path_mm: Column
    wall_mm3: Column
    solid_mm2: Column
    sparse_mm2: Column
    sparse_chord_mm: Column
    sparse_path_mm: Column
    support_mm2: Column
    support_solid_mm2: Column
    support_wall_mm2: Column
    support_line_mm: Column
    support_islands: Column
    brim_path_mm: Column
    islands: Index
    chord_mm: Column
    top_mm2: Column
    top_chord_mm: Column
    bridge_mm2: Column
    bridge_chord_mm: Column
    rest_chord_mm: Column
    points: Column
    ring_starts: Index
    walked: Index
    walked_starts: Index
    nearest: Index
    hops: Column
    hop_mm: Column
    reach_mm: Column
    sums: OutlineSums
    spiral: NDArray[np.bool_]
    solid_spacing_mm: float
    sparse_spacing_mm: float
    support_spacing_mm: float

    def __len__(self) -> int:
        return len(self.height_mm)
