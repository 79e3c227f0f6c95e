"""Parts that follow one another: the upper end of one is as wide and as deep as the lower end of the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.ends import End, lower_end
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar import polygon
from planner.geometry.remembered import Remembered

LEAST_MM = 20.0  # a part that is lower is no length of anything
LEAST_MM2 = 150.0  # nor is one whose end is smaller
_NEAR = 0.04  # of the area or the length of an outline: a quick look
_ALIKE_MM = 0.4  # outlines that differ by more, on the mean of their length, are no joint
_SAME_PLACE_MM = 1.0  # outlines that lie further apart were not drawn in one place


@dataclass(frozen=True, eq=False, slots=True)
class Face:
    """The end of a part: its outline, openings filled, its area and its length round."""

    outline: polygon.Region
    area: float
    round_mm: float


@dataclass(frozen=True, slots=True)
class Joint:
    """Two parts of which the second goes on where the first ends.

    ``in_place`` tells that both outlines lie in the same place across z: the two were drawn together.
    """

    before: str
    behind: str
    in_place: bool


@dataclass(frozen=True, slots=True)
class Chain:
    """Parts in the order in which they follow one another, along z of the first one's mesh.

    ``low_mm`` (x, y) and ``size_mm`` are those of the first outline; ``fore`` is where along x the middle of
    its area lies, 0 at its lowest x, 1 at its highest. ``in_place`` tells that all were drawn in one place.
    """

    parts: tuple[str, ...]
    in_place: bool
    low_mm: tuple[float, float]
    size_mm: tuple[float, float]
    fore: float


_ENDS: Remembered[tuple[Face, Face] | None] = Remembered(1024)


def chains(meshes: Mapping[str, TriangleMesh], rank: Mapping[str, int]) -> tuple[Chain, ...]:
    """Chains of two parts and more among meshes that stand on their lower end.

    Where several ends fit alike, as along a wing of one chord, the parts follow in the order of ``rank``; a
    mesh without one is left out there.

    Source: geometry; plane end faces with like outlines, turned by nothing. Faces at a slant are not seen.
    """
    ends = {
        name: found for name, mesh in meshes.items() if (found := _ENDS.of(mesh.digest, partial(_ends, mesh)))
    }
    joints = _joints({name: both[1] for name, both in ends.items()}, {n: b[0] for n, b in ends.items()})
    behind = {joint.before: joint for joint in _clear(joints, rank)}
    followed = {joint.behind for joint in behind.values()}
    starts = [name for name in behind if name not in followed]  # a circle has none, and is no chain
    made = []
    for start in starts:
        own: list[Joint] = []
        parts = [start]
        while (joint := behind.get(parts[-1])) is not None:
            own.append(joint)
            parts.append(joint.behind)
        outline = ends[start][0].outline
        x0, y0, x1, y1 = outline.bounds
        fore = (outline.centroid.x - x0) / max(x1 - x0, 1e-9)
        in_place = all(joint.in_place for joint in own)
        made.append(Chain(tuple(parts), in_place, (x0, y0), (x1 - x0, y1 - y0), fore))
    return tuple(made)


def _ends(mesh: TriangleMesh) -> tuple[Face, Face] | None:
    """The lower and the upper end of a part, each seen from above; ``None`` where one has no plane face."""
    if float(mesh.extents[2]) < LEAST_MM:
        return None
    triangles: NDArray[np.float64] = np.asarray(mesh.triangles, dtype=np.float64)
    found = []
    for end in (End(lower_end(triangles)), End(triangles)):
        faces = end.faces()
        if not faces:
            return None
        outline = max((face.outline for face in faces), key=lambda one: float(one.area))
        if outline.area < LEAST_MM2:
            return None
        found.append(Face(outline, float(outline.area), float(outline.length)))
    return found[0], found[1]


def _joints(upper: Mapping[str, Face], lower: Mapping[str, Face]) -> list[Joint]:
    found = []
    for before, top in upper.items():
        for behind, bottom in lower.items():
            near = (
                before != behind
                and abs(top.area - bottom.area) <= _NEAR * top.area
                and abs(top.round_mm - bottom.round_mm) <= _NEAR * top.round_mm
            )
            if not near:
                continue
            by = polygon.middle_of_box(top.outline) - polygon.middle_of_box(bottom.outline)
            if polygon.differ_by(top.outline, polygon.shifted(bottom.outline, by)) <= _ALIKE_MM:
                found.append(Joint(before, behind, bool(np.abs(by).max() <= _SAME_PLACE_MM)))
    return found


def _clear(joints: Sequence[Joint], rank: Mapping[str, int]) -> list[Joint]:
    """One joint at most at each end: the only one that fits, and that one way only, else the next by rank."""
    after: dict[str, list[Joint]] = {}
    for joint in joints:
        after.setdefault(joint.before, []).append(joint)
    pairs = {(joint.before, joint.behind) for joint in joints}
    taken: dict[str, Joint] = {}
    for own in after.values():
        ranked = [
            joint
            for joint in own
            if (len(own) == 1 and (joint.behind, joint.before) not in pairs)
            or (joint.before in rank and rank.get(joint.behind, -1) > rank[joint.before])
        ]
        if not ranked:
            continue
        best = min(ranked, key=lambda joint: rank.get(joint.behind, 0))
        rival = taken.get(best.behind)
        if rival is None:
            taken[best.behind] = best
        elif rank.get(best.before, -1) > rank.get(rival.before, -1):
            taken[best.behind] = best  # the nearer one before it
    return list(taken.values())
