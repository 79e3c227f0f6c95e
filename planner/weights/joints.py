"""Faces of neighbouring parts that are glued to each other: how large, and where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.model.airframe import Airframe, StackPlace
from planner.model.assembly import Contact
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.weights.fastened import fastened_by
from planner.weights.stations import seat, sided, stack_starts

_UPRIGHT = 0.9  # cosine between the mesh's own z axis and the way it stands
_END_MM = 1.0  # a face that is this near to the lowest or highest point is the first or last layer

_Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class JointFace:
    """One glued face: the names of the pieces that begin there, its area and where its middle is.

    ``sides`` are the pieces on both sides of it.
    """

    pieces: tuple[str, ...]
    area_mm2: float
    station_mm: float
    sides: tuple[tuple[str, ...], ...]
    across_mm: float | None = None
    up_mm: float | None = None


def joint_faces(
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    contacts: Sequence[Contact] = (),
) -> tuple[JointFace, ...]:
    """Joints between neighbours of every stack, each hand for itself, and all other faces that touch.

    Where the meshes touch, the face is what is deposited on it. Neighbours of a stack whose meshes do
    not touch have the smaller of what both sides show there: the deposits of their last and first
    layer (Source: geometry). A part that is printed on its side shows the smaller of its two ends.
    What is fastened has no glue and no face here.
    """
    by_name = {part.name: part for part in parts}
    starts = stack_starts(airframe, parts, deposits)
    rows = {row.name: row for row in airframe.stacks}
    left = {frozenset(contact.pieces): contact for contact in contacts}
    faces = []
    steps = [(name, *pair) for name, row in rows_of(parts, pieces) for pair in pairwise(row)]
    for name, before, behind in steps:
        if fastened_by(airframe, (p.part for p in (*before, *behind)), by_name) is not None:
            for pair in (frozenset((a.name, b.name)) for a in before for b in behind):
                left.pop(pair, None)
            continue
        if any(p.part not in deposits or p.part not in starts for p in (*before, *behind)):
            continue
        pairs = [frozenset((a.name, b.name)) for a in before for b in behind]
        names = tuple(p.name for p in before), tuple(p.name for p in behind)
        known_side = all(sided(airframe, by_name[p.part]) for p in (*before, *behind))
        met = [left.pop(pair) for pair in pairs if pair in left]
        if met:
            faces.append(_met(names[1], met, names, known_side))
            continue
        low = sum(_ends(deposits[p.part])[1] for p in before)
        high = sum(_ends(deposits[p.part])[0] for p in behind)
        part = by_name[behind[0].part]
        turn, shift = seat(
            rows.get(name, StackPlace(name)), starts[part.name], part, mirrored=behind[0].mirrored
        )
        deposit = deposits[part.name]
        middle = np.array(deposit.mesh_low_mm) + np.array(deposit.mesh_extents_mm) / 2.0
        at = turn @ np.array([middle[0], middle[1], 0.0]) + shift
        x, y, z = at.tolist()
        faces.append(JointFace(names[1], min(low, high), x, names, y if known_side else None, z))
    part_of = {piece.name: piece.part for piece in pieces}
    glued = [
        contact
        for contact in left.values()
        if fastened_by(airframe, (part_of.get(name, "") for name in contact.pieces), by_name) is None
    ]
    for contact in glued:
        own = [by_name[part_of[name]] for name in contact.pieces if part_of.get(name) in by_name]
        sides = tuple((name,) for name in contact.pieces)
        faces.append(_met(contact.pieces, [contact], sides, all(sided(airframe, part) for part in own)))
    return tuple(faces)


def rows_of(parts: Sequence[Part], pieces: Sequence[Piece]) -> list[tuple[str, list[tuple[Piece, ...]]]]:
    """Every stack with its pieces order by order, each hand for itself."""
    by_name = {part.name: part for part in parts}
    steps: dict[str, dict[int, list[Piece]]] = {}
    for piece in pieces:
        part = by_name.get(piece.part)
        if part is not None and part.stack is not None:
            steps.setdefault(part.stack.name, {}).setdefault(part.stack.order, []).append(piece)
    found = []
    for name, row in steps.items():
        hands = sorted({p.hand for own in row.values() for p in own} - {"none"}) or ["none"]
        for hand in hands:
            ordered = [tuple(p for p in row[k] if p.hand in (hand, "none")) for k in sorted(row)]
            found.append((name, [own for own in ordered if own]))
    return found


def face_share(deposit: Deposit, outward: _Vector, at: _Vector) -> float:
    """How much of a face is deposited: all of it but on the first and last layer of an open piece.

    ``outward`` is the face's normal and ``at`` a point of it, in mesh coordinates. The share is the
    volume of the layer over its section times its height (Source: geometry).
    """
    turn = deposit.pose.matrix
    rise = float((turn @ outward)[2])
    if abs(rise) < _UPRIGHT or len(deposit.layers) == 0:
        return 1.0
    corners = np.array(deposit.mesh_low_mm) + np.array(
        [[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    ) * np.array(deposit.mesh_extents_mm)
    heights = (corners @ turn.T)[:, 2]
    level = float((turn @ at)[2])
    first, last = _layer_shares(deposit)
    if rise < 0.0:
        return first if level < heights.min() + _END_MM else 1.0
    return last if level > heights.max() - _END_MM else 1.0


def _met(
    pieces: tuple[str, ...], met: Sequence[Contact], sides: tuple[tuple[str, ...], ...], known_side: bool
) -> JointFace:
    area = sum(contact.area_mm2 for contact in met)
    station = sum(contact.area_mm2 * contact.station_mm for contact in met) / area
    across = _mean_of([(contact.area_mm2, contact.across_mm if known_side else None) for contact in met])
    up = _mean_of([(contact.area_mm2, contact.up_mm) for contact in met])
    return JointFace(pieces, sum(contact.glued_mm2 for contact in met), station, sides, across, up)


def _mean_of(spots: Sequence[tuple[float, float | None]]) -> float | None:
    known = [(area, at) for area, at in spots if at is not None]
    if len(known) < len(spots):
        return None
    return sum(area * at for area, at in known) / sum(area for area, _ in known)


def _layer_shares(deposit: Deposit) -> tuple[float, float]:
    """Deposited share of the section of the first and of the last layer, support not included."""
    layers = deposit.layers
    heights = np.diff(layers.top_mm, prepend=0.0)
    laid = layers.volume_mm3 - layers.support_mm3
    shares = []
    for at in (0, -1):
        room = float(layers.area_mm2[at] * heights[at])
        shares.append(min(float(laid[at]) / room, 1.0) if room > 0.0 else 0.0)
    return shares[0], shares[1]


def _ends(deposit: Deposit) -> tuple[float, float]:
    """What is deposited at the foot and at the head of the mesh, along its own z axis, mm2."""
    shares = _layer_shares(deposit)
    first = float(deposit.layers.area_mm2[0]) * shares[0]
    last = float(deposit.layers.area_mm2[-1]) * shares[1]
    rise = float(deposit.pose.matrix[2, 2])
    if abs(rise) < _UPRIGHT:
        return min(first, last), min(first, last)
    return (first, last) if rise > 0.0 else (last, first)
