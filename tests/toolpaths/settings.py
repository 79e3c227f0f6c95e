"""What a toolpath is made by, and what it is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

KINDS = (
    "outer wall", "inner wall", "thin", "sparse", "solid", "top", "bridge", "support", "support face", "brim",
)  # fmt: skip


@dataclass(frozen=True)
class Settings:
    """Lengths in mm; ``full`` beads are rectangles, others have round ends.

    With ``faces``, top layers and bridges are laid apart from other solid ones. With ``gaps``, room between
    walls that is narrower than a bead is filled by what runs beside it. Solid areas reach ``anchor`` mm over
    the sparse lines beside them.
    """

    layer: float = 0.2
    first: float | None = None
    width: float = 0.45
    least: float = 0.25
    walls: int = 2
    top: int = 4
    bottom: int = 4
    infill: float = 0.1
    spiral: bool = False
    brim: float = 0.0
    full: bool = False
    gaps: bool = True
    faces: bool = False
    anchor: float = 0.0

    @property
    def first_layer(self) -> float:
        return self.layer if self.first is None else self.first

    def bead(self, width: float, height: float) -> float:
        """Cross-section mm2 (geometry: a rectangle, or one with half discs at its ends)."""
        if self.full or width < height:
            return width * height
        return (width - height) * height + math.pi * height**2 / 4.0

    @property
    def pitch(self) -> float:
        """Distance of beads that fill a layer without net void."""
        return self.bead(self.width, self.layer) / self.layer


@dataclass(frozen=True)
class Stroke:
    """One bead from its start to its end; a closed one returns to its first point, which is repeated."""

    points: NDArray[np.float64]
    kind: str
    mm2: float

    @property
    def length(self) -> float:
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())

    @property
    def volume(self) -> float:
        return self.mm2 * self.length

    @property
    def closed(self) -> bool:
        return bool(np.allclose(self.points[0], self.points[-1]))


@dataclass(frozen=True)
class LayerPath:
    """All beads of one layer in the order in which they are laid; ``climbs`` as one lap of a spiral."""

    top: float
    height: float
    section: object
    strokes: tuple[Stroke, ...]
    climbs: bool = False

    def volume(self, *kinds: str) -> float:
        """Laid volume in mm3: of these kinds, of all where none is named."""
        return sum(s.volume for s in self.strokes if not kinds or s.kind in kinds)
