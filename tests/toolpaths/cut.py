"""Sections of a mesh as regions, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.slow_deposit import section_of, solid_of


@dataclass(frozen=True)
class Slab:
    """One layer: its height, its upper face above the bed, and the section at its middle."""

    height: float
    top: float
    section: shapely.Geometry


def slabs(triangles: NDArray[np.float64], layer: float, first: float) -> list[Slab]:
    """All layers of a standing mesh, (m, 3, 3) mm; its lowest corner becomes the origin."""
    triangles = triangles - triangles.reshape(-1, 3).min(axis=0)
    mesh = solid_of(triangles)
    ceiling = float(mesh.bounds[1][2])
    out, top, height = list[Slab](), first, first
    while not out or top - 0.5 * height < ceiling - 1e-6:
        out.append(
            Slab(height, top, section_of(mesh, min(top - 0.5 * height, 0.5 * ceiling if not out else top)))
        )
        top, height = top + layer, layer
    return out
