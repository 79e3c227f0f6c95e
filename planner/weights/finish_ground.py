"""What glue and paint lie on: surfaces and joints of the pieces where they sit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from planner.geometry.mesh.outer import OuterSurface
from planner.model.airframe import Airframe
from planner.model.assembly import Contact
from planner.model.budget import Place
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.weights.finish_spots import Ground, Painted
from planner.weights.joints import joint_faces
from planner.weights.stations import seats, sided


def finish_ground(
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    outer: Mapping[str, OuterSurface],
    contacts: Sequence[Contact] = (),
) -> Ground:
    """Surfaces, outer surfaces (by part, in mesh coordinates) and joints, each at its place.

    Of copies of one part only those of a stack, or those that a file of an assembly places, have a place of
    their own, so that their joints are known.
    """
    by_name = {part.name: part for part in parts}
    known = seats(airframe, parts, deposits, pieces)
    painted: dict[str, Painted] = {}
    for piece in pieces:
        part, own = by_name.get(piece.part), outer.get(piece.part)
        if part is None or own is None:
            continue
        place = None
        if piece.name in known:
            turn, shift = known[piece.name]
            x, y, z = (turn @ np.array(own.middle_mm) + shift).tolist()
            place = Place(x, y if sided(airframe, part) else None, z, "outer surface")
        painted[piece.name] = Painted(own.area_mm2, place)
    single = {
        part.name
        for part in parts
        if part.copies == 1 or part.stack is not None or airframe.copies_placed(part)
    }
    return Ground(
        surfaces_mm2={p.name: deposits[p.part].surface_mm2 for p in pieces if p.part in deposits},
        outer=painted,
        joints=joint_faces(airframe, parts, deposits, pieces, contacts),
        jointed=frozenset(piece.name for piece in pieces if piece.name in known and piece.part in single),
    )
