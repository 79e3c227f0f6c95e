"""What a folder of meshes is read as, and where its parts sit as written, before anything is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from planner.io.meshes.mesh_folder import MeshFolder
    from planner.io.records.draft import Placed
    from planner.kit.stacks import RawKit
    from planner.model.airframe import Airframe


@dataclass(frozen=True, slots=True)
class KitFound:
    """What was found about the meshes of a folder, and whether they are drawn in place."""

    kit: RawKit
    placed: Placed | None


@dataclass(frozen=True, slots=True)
class MeshBox:
    """Where the mesh of a part lies in its own coordinates, mm."""

    mesh_low_mm: tuple[float, float, float]
    mesh_extents_mm: tuple[float, float, float]


def kit_found(folder: MeshFolder) -> KitFound:
    """Read a raw kit: what is sure and what is asked, with reasons."""
    from planner.api.looking import kit_of, placed_as

    placed = placed_as(folder)
    return KitFound(kit_of(folder, in_place=placed is not None), placed)


def kit_record(found: KitFound) -> dict[str, Any]:
    """What was found as plain values; lists stand for pairs.

    ``rows`` are parts that fit one on the other: of each its mesh, and turn and shift into the row's axes.
    """
    import numpy as np

    placed = found.placed
    return {
        "proposals": [
            [one.mesh, one.key, list(one.value) if isinstance(one.value, tuple) else one.value,
             one.reason, one.confidence]
            for one in found.kit.proposals
        ],
        "stacks": [asdict(row) for row in found.kit.stacks],
        "rows": [
            [[seat.mesh, np.ravel(seat.turn).tolist(), np.ravel(seat.shift).tolist()] for seat in row.seats]
            for row in found.kit.rows
        ],
        "placed": None
        if placed is None
        else {
            "why": placed.why,
            "axes": None if placed.axes is None else {"aft": placed.axes.aft, "up": placed.axes.up},
            "sure": placed.sure,
            "lies": placed.lies,
        },
    }  # fmt: skip


def mesh_ends(folder: MeshFolder) -> dict[str, tuple[list[float] | None, list[float] | None]]:
    """The outlines of the lower and the upper end of every mesh, in numbers that ``ends_fit`` compares."""
    from planner.geometry.assembly.end_shapes import end_shapes

    found = {}
    for record in folder.meshes:
        low, high = end_shapes(record.mesh)
        found[record.name] = (None if low is None else list(low), None if high is None else list(high))
    return found


def ends_fit(first: list[float] | None, second: list[float] | None) -> bool:
    """Whether two ends have one outline."""
    from planner.geometry.assembly.end_shapes import fits

    return fits(first, second)


def seats_as_written(
    airframe: Airframe, boxes: Mapping[str, MeshBox]
) -> dict[str, tuple[str, NDArray[np.float64], NDArray[np.float64]]]:
    """Part, turn (3, 3) and shift (3,) of every piece that has a seat by stacks or by the meshes themselves.

    Pins that are found only when it is planned count as length here; ``overlap_mm`` is heeded.

    Parameters
    ----------
    boxes : of the mesh of each part, by the part's name
    """
    from planner.model.part import all_pieces
    from planner.weights.stations import seats

    parts = [p for p in airframe.parts if airframe.chosen(p.option) and p.copies > 0]
    pieces = all_pieces(parts)
    part_of = {piece.name: piece.part for piece in pieces}
    found = seats(airframe, parts, boxes, pieces)
    return {name: (part_of[name], turn, shift) for name, (turn, shift) in found.items()}


def fitting_rows() -> tuple[tuple[str, bool], ...]:
    """The bought items of the built-in table, each with whether it is sold by length."""
    from planner.weights.fittings import built_in_fittings

    return tuple((name, row.per == "metre") for name, row in built_in_fittings().items())


def usual_sections() -> tuple[str, ...]:
    """Sections that kits have, in the order in which they are glued up."""
    from planner.kit.reading import ORDER

    return ORDER
