"""Where each piece sits in the airframe.

A station is known from the seat that a part is given, else from the assembly position of the meshes,
else from a stack, else from a number that the user gives; else the piece is unplaced. The centroid is
always that of the deposit, not of the solid: walls weigh, air does not.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from planner.model.airframe import Airframe, StackPlace
from planner.model.budget import Place
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.model.seat import seat_motion

_FIN = 90.0  # a stack that stands upright has no side

_Vector = NDArray[np.float64]


class Boxed(Protocol):
    """What is known of a mesh: its lowest corner and its size, mm."""

    @property
    def mesh_low_mm(self) -> tuple[float, float, float]: ...  # noqa: D102 - said above

    @property
    def mesh_extents_mm(self) -> tuple[float, float, float]: ...  # noqa: D102 - said above


def stations(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Iterable[Piece]
) -> dict[str, Place]:
    """The place of every piece whose place is known, by piece name.

    Left and right copies of a part share the station, and so do parts of the same order in a
    stack. A part behind one whose height is not known is not placed.
    """
    by_name = {part.name: part for part in parts}
    found: dict[str, Place] = {}
    own = tuple(pieces)
    known = seats(airframe, parts, deposits, own)
    for piece in own:
        part, deposit = by_name.get(piece.part), deposits.get(piece.part)
        if part is None or deposit is None:
            continue
        seated = known.get(piece.name)
        if seated is not None:
            turn, shift = seated
            x, y, z = (turn @ np.array(deposit.centroid_in_mesh_mm) + shift).tolist()
            if part.seat is not None:
                found[piece.name] = Place(x, y, z, "seat")
            elif part.stack is None or airframe.drawn_in_place(part):
                found[piece.name] = Place(x, y, z, "assembly position")
            else:
                across = y if sided(airframe, part) else None
                found[piece.name] = Place(x, across, z, f"stack {part.stack.name}")
        elif part.station_mm is not None:
            found[piece.name] = Place(part.station_mm)
    return found


def seats(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Boxed], pieces: Iterable[Piece]
) -> dict[str, tuple[_Vector, _Vector]]:
    """Turn (3, 3) and shift (3,) from mesh to airframe coordinates of every piece that has a seat.

    ``x_airframe = turn @ x_mesh + shift``. A piece whose station is a number has none.
    """
    by_name = {part.name: part for part in parts}
    starts = stack_starts(airframe, parts, deposits)
    rows = {place.name: place for place in airframe.stacks}
    found: dict[str, tuple[_Vector, _Vector]] = {}
    copies: Counter[tuple[str, bool]] = Counter()
    for piece in pieces:
        part, deposit = by_name.get(piece.part), deposits.get(piece.part)
        if part is None or deposit is None:
            continue
        copy = copies[part.name, piece.mirrored]
        copies[part.name, piece.mirrored] += 1
        own = part.stack is not None or part.station_mm is not None
        if part.seat is not None:
            turn, shift = seat_motion(part.seat)
            found[piece.name] = (_MIRROR @ turn, _MIRROR @ shift) if piece.mirrored else (turn, shift)
        elif airframe.drawn_in_place(part) and not (own and part.copies > 1):
            turn = _STRAIGHT if airframe.axes is None else airframe.axes.turn
            turn = _MIRROR @ turn if piece.mirrored else turn
            shift = np.zeros(3)
            if airframe.copies_placed(part):
                moved, away = seat_motion(part.drawn_at[copy])
                turn, shift = turn @ moved, turn @ away
            found[piece.name] = turn, shift
        elif part.stack is not None and part.name in starts:
            row = rows.get(part.stack.name, StackPlace(part.stack.name))
            turn, shift = seat(row, starts[part.name], part, mirrored=piece.mirrored)
            low, size = np.array(deposit.mesh_low_mm), np.array(deposit.mesh_extents_mm)
            found[piece.name] = turn, shift - turn @ foot(row, low, size)
    return found


def stack_starts(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Boxed]
) -> dict[str, float]:
    """How far from the beginning of its stack each part begins, mm.

    A part begins where the one before ends, less what the two reach into each other.
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
                deposit = deposits.get(part.name)
                height = math.inf if deposit is None else deposit.mesh_extents_mm[2]
                heights.append(height - airframe.overlap_mm(part))
            reached += max(heights)
            if not math.isfinite(reached):
                break
    return starts


def seat(row: StackPlace, before_mm: float, part: Part, *, mirrored: bool) -> tuple[_Vector, _Vector]:
    """Turn (3, 3) and shift (3,) that bring mesh coordinates above the part's foot into the airframe.

    ``x_airframe = turn @ (x, y, z - lowest z) + shift``; for a mirrored piece the turn mirrors, too.
    Source: geometry. A mesh is never turned inside out: of a part that is drawn for the right
    side, y looks down when x runs aft and z outwards.
    """
    left = part.hand == "left"
    side = -1.0 if left else 1.0
    if row.direction == "across":
        turn, shift = _outwards(row, before_mm, side)
    else:
        way = 1.0 if row.direction == "aft" else -1.0
        along, up = _AFT * way, _UP
        turn = (
            np.column_stack([up, np.cross(along, up), along])
            if row.mesh_up == "x"
            else np.column_stack([np.cross(up, along), up, along])
        )
        shift = np.array([row.start_mm, side * row.across_mm, row.up_mm]) + before_mm * along
    if mirrored:
        turn, shift = _MIRROR @ turn, _MIRROR @ shift
    return turn, shift


_AFT, _RIGHT, _UP = np.eye(3)
_MIRROR = np.diag([1.0, -1.0, 1.0])
_STRAIGHT = np.eye(3)


def _outwards(row: StackPlace, before_mm: float, side: float) -> tuple[_Vector, _Vector]:
    dihedral, incidence = math.radians(row.dihedral_deg), math.radians(row.incidence_deg)
    out = math.cos(dihedral) * side * _RIGHT + math.sin(dihedral) * _UP
    top = -math.sin(dihedral) * side * _RIGHT + math.cos(dihedral) * _UP
    chord = math.cos(incidence) * _AFT - math.sin(incidence) * top
    back = before_mm * math.tan(math.radians(row.sweep_deg)) * _AFT
    start = np.array([row.start_mm, side * row.across_mm, row.up_mm])
    return np.column_stack([chord, np.cross(out, chord), out]), start + before_mm * out + back


def foot(row: StackPlace, low: _Vector, size: _Vector) -> _Vector:
    """The point of a mesh, by its lowest corner and its size, that comes to lie where its seat begins."""
    at = np.array([0.0, 0.0, low[2]])
    if row.direction != "across" and ((low[:2] > 0.0) | (low[:2] + size[:2] < 0.0)).any():
        at[:2] = low[:2] + size[:2] / 2.0  # not drawn about the stack's axis: taken to be centred on it
    return at


def sided(airframe: Airframe, part: Part) -> bool:
    """Whether the side on which a part with a seat sits is known."""
    if part.stack is None or part.seat is not None or airframe.drawn_in_place(part):
        return True
    row = next((r for r in airframe.stacks if part.stack and r.name == part.stack.name), None)
    direction, dihedral = ("aft", 0.0) if row is None else (row.direction, row.dihedral_deg)
    return part.hand != "none" or part.mirror or direction != "across" or abs(dihedral) == _FIN
