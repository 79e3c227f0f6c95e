"""Faces of neighbouring parts that are glued to each other: how large, and where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from planner.budget.stations import seat, stack_starts
from planner.model.airframe import Airframe, StackPlace
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece

_UPRIGHT = 0.9  # cosine between the mesh's own z axis and the way it stands


@dataclass(frozen=True, slots=True)
class JointFace:
    """One glued face: the names of the pieces that begin there, its area and its station."""

    pieces: tuple[str, ...]
    area_mm2: float
    station_mm: float


def joint_faces(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Sequence[Piece]
) -> tuple[JointFace, ...]:
    """Joints between neighbours of every stack, each hand for itself.

    The face is the smaller of what both sides show there: the sections of their last and first
    layer (Source: geometry). A part that is printed on its side shows the smaller of its two ends.
    Joints outside stacks are not known and not counted.
    """
    by_name = {part.name: part for part in parts}
    starts = stack_starts(airframe, parts, deposits)
    rows = {row.name: row for row in airframe.stacks}
    steps: dict[str, dict[int, list[Piece]]] = {}
    for piece in pieces:
        part = by_name.get(piece.part)
        if part is not None and part.stack is not None and part.name in deposits and part.name in starts:
            steps.setdefault(part.stack.name, {}).setdefault(part.stack.order, []).append(piece)
    faces = []
    for name, row in steps.items():
        place = rows.get(name, StackPlace(name))
        hands = sorted({p.hand for own in row.values() for p in own} - {"none"}) or ["none"]
        for hand in hands:
            ordered = [[p for p in row[k] if p.hand in (hand, "none")] for k in sorted(row)]
            for before, behind in pairwise([own for own in ordered if own]):
                low = sum(_ends(deposits[p.part])[1] for p in before)
                high = sum(_ends(deposits[p.part])[0] for p in behind)
                part = by_name[behind[0].part]
                turn, shift = seat(place, starts[part.name], part, mirrored=behind[0].mirrored)
                deposit = deposits[part.name]
                middle = np.array(deposit.mesh_low_mm) + np.array(deposit.mesh_extents_mm) / 2.0
                at = turn @ np.array([middle[0], middle[1], 0.0]) + shift
                faces.append(JointFace(tuple(p.name for p in behind), min(low, high), float(at[0])))
    return tuple(faces)


def _ends(deposit: Deposit) -> tuple[float, float]:
    """Sections at the foot and at the head of the mesh, along its own z axis."""
    first, last = float(deposit.layers.area_mm2[0]), float(deposit.layers.area_mm2[-1])
    rise = float(deposit.pose.matrix[2, 2])
    if abs(rise) < _UPRIGHT:
        return min(first, last), min(first, last)
    return (first, last) if rise > 0.0 else (last, first)
