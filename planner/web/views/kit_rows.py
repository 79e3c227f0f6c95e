"""The parts of a kit as the sheet Kit lists them, and its stacks and fittings, as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from planner.api import MeshBox, seats_as_written
from planner.model.airframe import Airframe, Fitting
from planner.model.axes import Axes
from planner.model.part import Part
from planner.web.state import State
from planner.web.views.palette import colour
from planner.web.views.shown import section_ranks

_AS_DRAWN = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class KitRow:
    """One part: its mesh, where it belongs and sits, and whether it is printed."""

    name: str
    mesh: str
    key: str
    rank: int
    size: str
    section: str
    stack: str
    order: int | None
    station: float | None
    hand: str
    printed: bool
    option: str
    choice: str
    chosen: bool
    recipe: str
    filament: str
    seated: bool


def kit_rows(state: State, seated: set[str]) -> list[KitRow]:
    """Parts in the order of their sections and places; what is left out comes last in its section."""
    records = state.records
    if records is None or state.look is None:
        return []
    meshes = {row["name"]: row for row in state.look["meshes"]}
    ranks = section_ranks(state)
    found = [
        _row(part, meshes[part.mesh], ranks, records.airframe, seated) for part in records.airframe.parts
    ]
    last = len(found)
    return sorted(
        found,
        key=lambda r: (r.rank, not r.printed, r.stack or "~", last if r.order is None else r.order, r.name),
    )


def _row(
    part: Part, mesh: dict[str, Any], ranks: dict[str, int], frame: Airframe, seated: set[str]
) -> KitRow:
    option, choice = part.option or ("", "")
    return KitRow(
        name=part.name,
        mesh=part.mesh,
        key=mesh["key"],
        rank=ranks.get(part.section, 0),
        size=" x ".join(f"{v:.0f}" if v >= 10 else f"{v:.1f}" for v in mesh["extents"]),
        section=part.section,
        stack=part.stack.name if part.stack else "",
        order=part.stack.order if part.stack else None,
        station=part.station_mm,
        hand=part.hand,
        printed=part.copies > 0,
        option=option,
        choice=choice,
        chosen=frame.chosen(part.option),
        recipe=part.recipe.name,
        filament=part.filament,
        seated=part.name in seated or part.station_mm is not None,
    )


@dataclass(frozen=True, slots=True)
class Seated:
    """One piece where it sits: ``x_airframe = turn @ x_mesh + shift``, mm."""

    part: str
    key: str
    colour: str
    turn: tuple[float, ...]
    shift: tuple[float, float, float]


def frame_shown(state: State, placed: dict[str, Any] | None) -> Airframe | None:
    """The airframe; meshes that seem to be drawn in place lie there as long as nobody says otherwise."""
    from dataclasses import replace

    if state.records is None:
        return None
    frame = state.records.airframe
    if placed is None or frame.in_assembly_position is not None:
        return frame
    axes = frame.axes or (Axes(**placed["axes"]) if placed["axes"] else None)
    return replace(frame, in_assembly_position=True, axes=axes)


def seated_pieces(state: State, placed: dict[str, Any] | None) -> list[Seated]:
    """Every piece that has a seat by what is written, or by where its mesh is drawn."""
    frame = frame_shown(state, placed)
    if frame is None or state.look is None:
        return []
    meshes = {row["name"]: row for row in state.look["meshes"]}
    part_of = {part.name: part for part in frame.parts}
    ranks = section_ranks(state)
    boxes = {
        name: MeshBox(tuple(meshes[part.mesh]["low"]), tuple(meshes[part.mesh]["extents"]))
        for name, part in part_of.items()
    }
    found = []
    for name, turn, shift in seats_as_written(frame, boxes).values():
        part = part_of[name]
        x, y, z = (float(v) for v in shift)
        found.append(
            Seated(
                name,
                meshes[part.mesh]["key"],
                colour(ranks.get(part.section, 0)),
                tuple(float(v) for v in turn.ravel()),
                (x, y, z),
            )
        )
    return found


def loose_groups(
    rows: Sequence[KitRow], seated: set[str], in_rows: Sequence[Sequence[Sequence[Any]]]
) -> list[list[Seated]]:
    """Parts that have no seat: those that fit one on the other together, all others by themselves.

    Parameters
    ----------
    in_rows : rows of parts as they were found: of each its mesh, and turn and shift into the row's axes
    """
    loose = {row.mesh: row for row in rows if row.printed and row.chosen and row.name not in seated}
    groups = []
    for found in in_rows:
        own = [
            Seated(loose[mesh].name, loose[mesh].key, colour(loose[mesh].rank), tuple(turn), (x, y, z))
            for mesh, turn, (x, y, z) in found
            if mesh in loose
        ]
        if len(own) > 1:
            groups.append(own)
            for mesh, _, _ in found:
                loose.pop(mesh, None)
    alone = [
        Seated(row.name, row.key, colour(row.rank), _AS_DRAWN, (0.0, 0.0, 0.0)) for row in loose.values()
    ]
    return [*groups, *([one] for one in alone)]


@dataclass(frozen=True, slots=True)
class FittingShown:
    """A fitting with the letter of its mark and where it sits."""

    at: int
    mark: str
    name: str
    mass: str
    station: float | None
    up: float | None
    across: float | None


def fittings_shown(frame: Airframe | None) -> list[FittingShown]:
    """The bought items of an airframe, in the order of the file."""
    return [] if frame is None else [_fitting(at, one) for at, one in enumerate(frame.fittings)]


def _fitting(at: int, one: Fitting) -> FittingShown:
    mass = f"{one.count} x {one.mass_g:.1f} g" if one.count != 1 else f"{one.mass_g:.1f} g"
    return FittingShown(at, str(at + 1), one.name, mass, one.station_mm, one.up_mm, one.across_mm)
