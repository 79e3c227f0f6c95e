"""Rows of parts that follow one another, from the root or the nose on, and where each sits in its row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.plane_faces import PlaneFace
from planner.kit.drawn import DrawnInPlace
from planner.kit.ends import PartEnds
from planner.kit.joints import EndJoint, Joined
from planner.kit.mounts import Mount, aft_by_mounts

Floats = NDArray[np.float64]
NO_RANKS: Mapping[str, int] = MappingProxyType({})
_CLEARLY = 0.02  # of an area: one of two ends is the larger one


@dataclass(frozen=True, eq=False, slots=True)
class Seat:
    """Where a part sits in its row: its number in it, and the motion into the axes of the row.

    The axes are those of the row's first end: z along the row, away from that end, whose middle is the
    origin; x along the long axis of the outline, towards its sharp end, where it has one.
    """

    mesh: str
    row: int
    order: int
    turn: Floats
    shift: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Row:
    """Parts in their order; of alternatives all stand at their place."""

    parts: tuple[tuple[str, ...], ...]
    seats: tuple[Seat, ...]
    in_place: bool


def rows_of(
    parts: PartEnds,
    found: Joined,
    rank: Mapping[str, int] = NO_RANKS,
    placed: DrawnInPlace | None = None,
    mounts: Sequence[Mount] = (),
) -> tuple[Row, ...]:
    """Every row of two parts and more. A row of panels begins at its larger end, a hull at its nose.

    A hull tapers to its tail (common practice, no source), and panels that are drawn in place, or that sit on
    it, say where aft is. Where shape tells no beginning, the names do.

    Source: geometry; motions of the joints are put one behind the other.
    """
    near: dict[str, list[tuple[str, EndJoint, bool]]] = {}
    for joint in found.joints:
        near.setdefault(joint.one[0], []).append((joint.other[0], joint, True))
        near.setdefault(joint.other[0], []).append((joint.one[0], joint, False))
    aside = {name for _, names in found.options for name in names[1:]}
    made: list[Row] = []
    seen: set[str] = set()
    for name in parts.ends:
        if name in seen or name not in near:
            continue
        group = _reached(name, near)
        seen |= set(group)
        line = [one for one in group if one not in aside]
        path = _path(line, near)
        if path is None:
            continue
        turned = _by_mounts(parts, path, near, mounts)
        if _backwards(parts, path, near, rank, placed) if turned is None else turned:
            path = path[::-1]
        made.append(_row(parts, path, near, found, len(made)))
    return tuple(made)


def _reached(start: str, near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]) -> list[str]:
    reached, waiting = {start}, [start]
    while waiting:
        for other, _, _ in near[waiting.pop()]:
            if other not in reached:
                reached.add(other)
                waiting.append(other)
    return sorted(reached)


def _path(line: Sequence[str], near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]) -> list[str] | None:
    """The parts from one end to the other; None where they branch or close a circle."""
    own = set(line)
    degrees = {name: len({other for other, _, _ in near[name]} & own) for name in line}
    tips = [name for name in line if degrees[name] == 1]
    if len(line) < 2 or len(tips) != 2 or max(degrees.values()) > 2:
        return None
    path = [tips[0]]
    while len(path) < len(line):
        step = [o for o, _, _ in near[path[-1]] if o in own and o not in path]
        if not step:
            return None
        path.append(step[0])
    return path


def _joint(
    one: str, other: str, near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]
) -> tuple[EndJoint, bool]:
    return next((joint, first) for name, joint, first in near[one] if name == other)


def _free_end(
    parts: PartEnds, name: str, beside: str, near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]
) -> int | None:
    joint, first = _joint(name, beside, near)
    used = joint.one[1] if first else joint.other[1]
    left = [k for k in range(len(parts.ends[name])) if k != used]
    return left[0] if left else None


def _end_area(parts: PartEnds, name: str, end: int | None) -> float:
    return 0.0 if end is None else parts.ends[name][end].face.outline.area


def _backwards(
    parts: PartEnds,
    path: Sequence[str],
    near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]],
    rank: Mapping[str, int],
    placed: DrawnInPlace | None,
) -> bool:
    """Whether a path is told from its last part to its first."""
    tips = ((path[0], path[1]), (path[-1], path[-2]))
    panels = all(parts.figures[name].kind == "panel" for name in path)
    if placed is not None and all(joint.in_place for name in path for _, joint, _ in near[name]):
        far = [placed.distance(parts.meshes[name], across=panels) for name, _ in tips]
        return far[0] > far[1]
    if panels:
        sizes = [_end_area(parts, name, _free_end(parts, name, beside, near)) for name, beside in tips]
    else:
        sizes = [_joint_face(parts, name, beside, near).outline.area for name, beside in tips]
    if abs(sizes[0] - sizes[1]) > _CLEARLY * max(sizes):
        return sizes[0] < sizes[1]
    if path[0] in rank and path[-1] in rank and rank[path[0]] != rank[path[-1]]:
        return rank[path[0]] > rank[path[-1]]
    if panels:
        return False
    return _slender(parts, *tips[0], near) > _slender(parts, *tips[1], near)


def _by_mounts(
    parts: PartEnds,
    path: Sequence[str],
    near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]],
    mounts: Sequence[Mount],
) -> bool | None:
    """Whether a path is told from its last part to its first, by what sits on it or its own seat; or None."""
    for mount in mounts:
        if mount.guest in (path[0], path[-1]):
            return mount.guest == path[-1]
    ways = aft_by_mounts(mounts)
    along = [
        float(ways[name] @ _joint_face(parts, name, other, near).normal) * sign
        for before, behind in pairwise(path)
        for name, other, sign in ((before, behind, 1.0), (behind, before, -1.0))
        if name in ways
    ]
    return sum(along) < 0.0 if along else None


def _joint_face(
    parts: PartEnds, name: str, beside: str, near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]
) -> PlaneFace:
    joint, first = _joint(name, beside, near)
    return parts.ends[name][joint.one[1] if first else joint.other[1]].face


def _slender(
    parts: PartEnds, name: str, beside: str, near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]
) -> float:
    """Length of a last part over the width of its joint."""
    face = _joint_face(parts, name, beside, near)
    points = parts.meshes[name].indexed[0] @ face.normal
    return float(np.ptp(points)) / float(np.sqrt(face.outline.area))


def _row(
    parts: PartEnds,
    path: Sequence[str],
    near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]],
    found: Joined,
    number: int,
) -> Row:
    choices = {names[0]: names for _, names in found.options}
    motions = {path[0]: _first(parts, path, near)}
    steps = []
    for before, behind in pairwise(path):
        joint, first = _joint(before, behind, near)
        motions[behind] = _after(motions[before], joint, first=first)
        steps.append(joint)
    seats, places = [], []
    for order, name in enumerate(path):
        names = choices.get(name, (name,))
        places.append(names)
        host = path[order - 1] if order else path[1]
        for one in names:
            if one not in motions:
                joint, first = _joint(host, one, near)
                motions[one] = _after(motions[host], joint, first=first)
            seats.append(Seat(one, number, order, *motions[one]))
    return Row(tuple(places), tuple(seats), all(joint.in_place for joint in steps))


def _first(
    parts: PartEnds, path: Sequence[str], near: Mapping[str, Sequence[tuple[str, EndJoint, bool]]]
) -> tuple[Floats, Floats]:
    """The motion of the first part into the axes of the row."""
    joint, first = _joint(path[0], path[1], near)
    used = joint.one[1] if first else joint.other[1]
    end = _free_end(parts, path[0], path[1], near)
    face = parts.ends[path[0]][used if end is None else end].face
    z = face.normal if end is None else -face.normal
    points = parts.meshes[path[0]].indexed[0]
    middle = face.middle
    if end is None:  # a closed nose: the row begins at its very tip
        middle = face.middle - z * float(np.ptp(points @ z))
    x = face.along * (1.0 if face.outline.lean[0] >= 0.0 else -1.0)
    turn = np.vstack([x, np.cross(z, x), z])
    return turn, -turn @ middle


def _after(known: tuple[Floats, Floats], joint: EndJoint, *, first: bool) -> tuple[Floats, Floats]:
    """The motion of the other part of a joint, from that of the one."""
    turn, shift = joint.turn, joint.shift
    if not first:  # the known part is the second of the joint
        turn, shift = turn.T, -turn.T @ shift
    return known[0] @ turn, known[0] @ shift + known[1]
