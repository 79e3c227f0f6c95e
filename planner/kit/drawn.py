"""Parts that are drawn where they sit: where their middle is, and which way is aft."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.ends import PartEnds
from planner.kit.figures import blunt
from planner.kit.joints import Joined

Floats = NDArray[np.float64]

_AGREE = 0.95  # of the blunt edges' mean direction: they all look one way
_FEWEST = 2  # joints in place


@dataclass(frozen=True, eq=False, slots=True)
class DrawnInPlace:
    """The middle of all panels, mm, and the unit vector that points aft."""

    middle: Floats
    aft: Floats

    def distance(self, mesh: TriangleMesh, *, across: bool) -> float:
        """How far out a part lies from the middle, or else how far aft of it."""
        away = mesh.bounds.mean(axis=0) - self.middle
        along = float(away @ self.aft)
        return float(np.linalg.norm(away - along * self.aft)) if across else along


def drawn_in_place(parts: PartEnds, found: Joined) -> DrawnInPlace | None:
    """What panels say that lie end on end as they are drawn; None where too few do, or they disagree."""
    seated = sorted({end[0] for joint in found.joints if joint.in_place for end in (joint.one, joint.other)})
    if sum(joint.in_place for joint in found.joints) < _FEWEST:
        return None
    panels = [name for name in parts.ends if parts.figures[name].kind == "panel"]
    ways = [
        end.face.along * float(np.sign(end.face.outline.lean[0]))
        for name in panels
        for end in parts.ends[name]
        if blunt(end.face)
    ]
    if not ways or not seated:
        return None
    aft = np.mean(ways, axis=0)
    long = float(np.linalg.norm(aft))
    if long < _AGREE:
        return None
    middle = np.mean([parts.meshes[name].bounds.mean(axis=0) for name in panels], axis=0)
    return DrawnInPlace(middle, aft / long)
