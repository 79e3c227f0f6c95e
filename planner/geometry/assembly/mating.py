"""How far two bodies that stand one on the other reach into each other: pins in their sockets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.ends import LEAST_MM2, LONGEST, End, EndFace, lower_end
from planner.geometry.planar import polygon

Floats = NDArray[np.float64]

CLEAR_MM = 0.5  # a body that goes on by less than this beyond its face has no pin
_ALIKE_MM = 0.4  # outlines that differ by more, on the mean of their length, belong to other joints
_PRESSED_MM = 0.15  # bodies that share no more than a rim of twice this do not stand in each other
_MEET = 0.5  # of the smaller face: so much of it lies on the other
_SLENDER = 0.25  # of the outline: what stands beyond a face and is larger is no pin
_WHOLE = 0.97  # of the largest outline: such a face, at the very end, is all of the end
_TIP_MM = 0.1  # sections are cut this near to the tips of pins
_STEPS = (0.25, 0.5, 0.75)


@dataclass(frozen=True, slots=True)
class Mating:
    """What was found of a joint.

    ``overlap_mm`` is the length that both bodies share along z, 0 where it is not certain.
    ``by_before`` tells that the pins (or most of them) are those of the body before.
    ``loose_before_mm, loose_behind_mm``: how far something slender stands out that the other does not take.
    """

    overlap_mm: float = 0.0
    by_before: bool = True
    loose_before_mm: float = 0.0
    loose_behind_mm: float = 0.0


def mated(before: Floats, behind: Floats) -> Mating:
    """How far the lower end of ``behind`` comes down over, or into, the upper end of ``before``.

    Both are closed (m, 3, 3) facets with z along the stack; where they lie across it does not
    matter, they are brought together by their outlines. The bodies mate where a plane face of the one
    lies on one of the other, the outlines at both are alike, and nothing that stands beyond the faces
    cuts into the other body (Source: geometry, sections across the pins; the nearest such joint that is
    reached when they are pushed together). Faces that lie at a slant to z are not seen.
    """
    upper, lower = End(before), End(lower_end(behind))
    tops, bottoms = upper.faces(), lower.faces()
    if not tops or not bottoms or (_flush(tops) and _flush(bottoms)):
        return Mating()
    pairs = sorted(((a, b) for a in tops for b in bottoms), key=lambda pair: pair[0].reach + pair[1].reach)
    most = LONGEST * min(upper.length, lower.length)
    for top, bottom in pairs:
        if top.reach + bottom.reach <= most and _fits(upper, lower, top, bottom):
            overlap = top.reach + bottom.reach
            return Mating(overlap if overlap >= CLEAR_MM else 0.0, top.reach >= bottom.reach)
    return Mating(loose_before_mm=_loose(upper, tops), loose_behind_mm=_loose(lower, bottoms))


def _flush(faces: list[EndFace]) -> bool:
    """Whether nothing stands beyond the end."""
    most = max(face.outline.area for face in faces)
    return faces[0].reach < CLEAR_MM and faces[0].outline.area >= _WHOLE * most


def _fits(upper: End, lower: End, top: EndFace, bottom: EndFace) -> bool:
    by = polygon.middle_of_box(top.outline) - polygon.middle_of_box(bottom.outline)
    if polygon.differ_by(top.outline, polygon.shifted(bottom.outline, by)) > _ALIKE_MM:
        return False
    meet = polygon.shared_area(top.face, polygon.shifted(bottom.face, by))
    if meet < max(_MEET * min(top.area, bottom.area), LEAST_MM2):
        return False
    for above in _heights(bottom.reach, top.reach):
        own, other = upper.section(top.reach - above), lower.section(bottom.reach + above)
        if polygon.shared_deeply(own, polygon.shifted(other, by), _PRESSED_MM):
            return False
    return True


def _heights(below: float, above: float) -> list[float]:
    """Heights over the joint at which the bodies are cut, on either side of it."""
    found = []
    for reach, sign in ((above, 1.0), (below, -1.0)):
        if reach > 2.0 * _TIP_MM:
            found += [sign * at for at in (_TIP_MM, *(step * reach for step in _STEPS), reach - _TIP_MM)]
    return found


def _loose(end: End, faces: list[EndFace]) -> float:
    """How far something slender stands beyond the largest face of an end; 0 where nothing does."""
    face = max(faces, key=lambda each: each.area)
    if face.reach < CLEAR_MM:
        return 0.0
    beyond = end.section(face.reach / 2.0).area
    return face.reach if beyond <= _SLENDER * face.outline.area else 0.0
