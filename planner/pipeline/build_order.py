"""The build order: what can be glued after which visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from planner.model.airframe import Airframe
from planner.model.assembly import Contact
from planner.model.batch import Batch
from planner.model.build import BuildOrder, BuildStep, Kit
from planner.model.part import Part, Piece
from planner.model.schedule import Schedule
from planner.weights.joints import rows_of

Joint = tuple[str, ...]


def build_order(
    airframe: Airframe,
    parts: Sequence[Part],
    pieces: Sequence[Piece],
    batches: Sequence[Batch],
    schedule: Schedule,
    contacts: Sequence[Contact] = (),
) -> BuildOrder:
    """Steps by visit, and one kit a section.

    A piece is there at the first visit after its run has ended, when its bed is cleared. Joints
    are those between neighbours of a stack, each hand for itself, and wherever else pieces touch; a
    joint can be glued when both sides are there. What touches nothing joins its section without a
    named joint.
    """
    at, runs = _deliveries(pieces, batches, schedule)
    by_name = {part.name: part for part in parts}
    sections = {piece.name: _section(piece, by_name) for piece in pieces}
    joints = _joints(parts, pieces, contacts)
    kits = _kits(airframe, sections, joints, at)
    steps = []
    for moment in sorted({*at.values()}):
        new = tuple(piece.name for piece in pieces if at.get(piece.name) == moment)
        steps.append(
            BuildStep(
                at=moment,
                runs=tuple(dict.fromkeys(runs[name] for name in new)),
                pieces=new,
                joints=tuple(joint for joint in joints if _ready(joint, at) == moment),
                sections=tuple(kit.section for kit in kits if kit.ready == moment),
            )
        )
    return BuildOrder(tuple(steps), kits)


def _deliveries(
    pieces: Sequence[Piece], batches: Sequence[Batch], schedule: Schedule
) -> tuple[dict[str, datetime], dict[str, str]]:
    """When each piece is in the hand, and from which run."""
    beds = {batch.name: batch for batch in batches}
    known = {piece.name for piece in pieces}
    visits = sorted((visit.at, visit.at + timedelta(minutes=visit.minutes)) for visit in schedule.visits)
    at: dict[str, datetime] = {}
    runs: dict[str, str] = {}
    for run in schedule.runs:
        # a visit may begin before the run ends: what counts is that it lasts beyond it
        cleared = next((begin for begin, end in visits if end > run.end), run.end)
        for placed in beds[run.batch].placed:
            if placed.piece in known and (placed.piece not in at or cleared < at[placed.piece]):
                at[placed.piece] = cleared
                runs[placed.piece] = run.name
    return at, runs


def _section(piece: Piece, by_name: Mapping[str, Part]) -> str:
    part = by_name.get(piece.part)
    return piece.section or ("" if part is None else part.section)


def _joints(parts: Sequence[Part], pieces: Sequence[Piece], contacts: Sequence[Contact]) -> tuple[Joint, ...]:
    """Neighbours of each stack, hand by hand, those that stand side by side, then all else that touches."""
    joints: dict[Joint, None] = {}
    for _, row in rows_of(parts, pieces):
        ordered = [tuple(piece.name for piece in step) for step in row]
        joints.update(dict.fromkeys(step for step in ordered if len(step) > 1))
        joints.update(dict.fromkeys((*before, *behind) for before, behind in pairwise(ordered)))
    held = [frozenset(joint) for joint in joints]
    for contact in contacts:
        if not any(names.issuperset(contact.pieces) for names in held):
            joints[contact.pieces] = None
    return tuple(joints)


def _ready(joint: Iterable[str], at: Mapping[str, datetime]) -> datetime | None:
    moments = [at.get(name) for name in joint]
    known = [moment for moment in moments if moment is not None]
    return max(known) if known and len(known) == len(moments) else None


def _kits(
    airframe: Airframe, sections: Mapping[str, str], joints: Sequence[Joint], at: Mapping[str, datetime]
) -> tuple[Kit, ...]:
    """One kit a section: those that are ready first come first, then in the airframe's own order."""
    fittings = [f for f in airframe.fittings if airframe.chosen(f.option) and f.count > 0]
    names = dict.fromkeys((*airframe.sections, *sections.values(), *(f.section for f in fittings)))
    kits = []
    for section in names:
        own = tuple(name for name, at_home in sections.items() if at_home == section)
        bought = tuple(
            f.name if f.count == 1 else f"{f.count} x {f.name}" for f in fittings if f.section == section
        )
        if own or bought:
            inside = tuple(joint for joint in joints if any(name in own for name in joint))
            missing = tuple(name for name in own if name not in at)
            kits.append(Kit(section, own, bought, inside, _ready(own, at), missing))
    last = max(at.values(), default=None)
    order = list(names)

    def key(kit: Kit) -> tuple[bool, datetime | None, int]:
        return (kit.ready is None, kit.ready or last, order.index(kit.section))

    return tuple(sorted(kits, key=key))
