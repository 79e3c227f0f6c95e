"""Where each piece sits in the airframe.

A station is known from the assembly position of the meshes, else from a stack, else from a number
that the user gives; else the piece is unplaced. The centroid is always that of the deposit, not
of the solid: walls weigh, air does not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from planner.model.airframe import Airframe, StackPlace
from planner.model.budget import Place
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece

_RIGHT_ANGLE = 1e-6  # how far a turn may miss a multiple of 90 degrees

_Vector = NDArray[np.float64]


def stations(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Iterable[Piece]
) -> dict[str, Place]:
    """The place of every piece whose place is known, by piece name.

    Left and right copies of a part share the station, and so do parts of the same order in a
    stack. A part behind one whose height is not known is not placed.
    """
    by_name = {part.name: part for part in parts}
    starts = _starts(airframe, parts, deposits)
    rows = {place.name: place for place in airframe.stacks}
    found: dict[str, Place] = {}
    for piece in pieces:
        part, deposit = by_name.get(piece.part), deposits.get(piece.part)
        if part is None or deposit is None:
            continue
        place = None
        if airframe.in_assembly_position:
            x, y, z = deposit.centroid_in_mesh_mm
            place = Place(x, -y if piece.mirrored else y, z, "assembly position")
        elif part.stack is not None:
            row = rows.get(part.stack.name, StackPlace(part.stack.name))
            place = _in_stack(row, starts.get(part.name), deposit, piece)
        if place is None and part.station_mm is not None:
            place = Place(part.station_mm)
        if place is not None:
            found[piece.name] = place
    return found


def _starts(airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit]) -> dict[str, float]:
    """How far from the beginning of its stack each part begins, mm.

    Parts of the airframe that could not be read still stand in their row, with a height that
    nobody knows.
    """
    row_parts = {part.name: part for part in airframe.parts if airframe.chosen(part.option)}
    row_parts.update({part.name: part for part in parts})
    rows: dict[str, dict[int, list[Part]]] = {}
    for part in row_parts.values():
        if part.stack is not None and part.copies > 0:
            rows.setdefault(part.stack.name, {}).setdefault(part.stack.order, []).append(part)
    starts: dict[str, float] = {}
    for row in rows.values():
        reached = 0.0
        for order in sorted(row):
            heights = []
            for part in row[order]:
                starts[part.name] = reached
                heights.append(_height(deposits.get(part.name)))
            reached += max(heights)
            if not math.isfinite(reached):
                break
    return starts


def _height(deposit: Deposit | None) -> float:
    """Height along the z axis of the mesh file; infinite when it is not known."""
    box = None if deposit is None else in_mesh_axes(deposit)
    return math.inf if box is None else float(box[0][2])


def in_mesh_axes(deposit: Deposit) -> tuple[_Vector, _Vector] | None:
    """Extents, and centroid above the lowest corner, both (3,) mm along the axes of the mesh file.

    ``None`` when the part is printed at a slant: then its printed extents are not those of the
    mesh. Source: geometry, a turn by right angles only swaps and flips axes.
    """
    back = deposit.pose.matrix.T
    if np.abs(np.abs(back) - np.round(np.abs(back))).max() > _RIGHT_ANGLE:
        return None
    swap = np.round(back)
    extents = np.abs(swap) @ np.asarray(deposit.extents_mm)
    turned = swap @ np.asarray(deposit.centroid_mm)
    flipped = swap.sum(axis=1) < 0
    return extents, np.where(flipped, turned + extents, turned)


def _in_stack(row: StackPlace, before: float | None, deposit: Deposit, piece: Piece) -> Place | None:
    """The place in a row of parts whose own z axis runs along the stack."""
    box = in_mesh_axes(deposit)
    if before is None or box is None:
        return None
    along = before + float(box[1][2])
    left = piece.hand == "left" or (piece.hand == "none" and piece.mirrored)
    side = -1.0 if left else 1.0
    found = f"stack {row.name}"
    if row.direction == "across":
        aft = deposit.centroid_in_mesh_mm[0] + along * math.tan(math.radians(row.sweep_deg))
        dihedral = math.radians(row.dihedral_deg)
        known = left or piece.hand == "right"
        across = side * (row.across_mm + along * math.cos(dihedral)) if known else None
        return Place(row.start_mm + aft, across, row.up_mm + along * math.sin(dihedral), found)
    aft = along if row.direction == "aft" else -along
    return Place(row.start_mm + aft, side * row.across_mm, row.up_mm, found)
