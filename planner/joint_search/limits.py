"""What the trade forbids of a bed: too long a run, too many pieces, hands apart, sections mixed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.joint_search.composition import ComposeTask
from planner.joint_search.sections import pairs_of, section_of
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.dry_spans import most_open_minutes


@dataclass(frozen=True, slots=True)
class Limit:
    """A number and the key, with its owner, that says so."""

    value: float
    said_by: str


NO_LIMIT = Limit(math.inf, "")


def longest_minutes(workshop: Workshop, kind: str, filament: Filament) -> Limit:
    """How long a bed of a filament may last on printers of a kind: the least that anybody says."""
    said = [(60.0 * h, f"longest_run_h = {h:g} of {who}") for who, h in _hours(workshop, kind, filament)]
    if workshop.dries(filament) and filament.open_hours is not None:
        minutes = most_open_minutes(workshop, filament)
        said.append((minutes, f"open_hours = {filament.open_hours:g} of {filament.name}"))
    return min((Limit(*one) for one in said), key=lambda limit: limit.value, default=NO_LIMIT)


def most_pieces(workshop: Workshop, kind: str, filament: Filament) -> Limit:
    """How many pieces of a filament may lie on a bed of printers of a kind: the least that anybody says."""
    said = [(filament.most_pieces, f"{filament.name}")]
    said += [(printer.most_pieces, printer.name) for printer in _of_kind(workshop, kind)]
    found = [Limit(most, f"most_pieces = {most} of {who}") for most, who in said if most is not None]
    return min(found, key=lambda limit: limit.value, default=NO_LIMIT)


def bed_keeps_limits(batch: Batch, task: ComposeTask) -> bool:
    """Whether a bed that was laid before keeps all limits of today."""
    workshop, filament = task.workshop, task.workshop.filament(batch.filament)
    here = {placed.piece for placed in batch.placed}
    mine = [piece for piece in task.pieces if piece.name in here]
    if len(mine) > most_pieces(workshop, batch.printer_kind, filament).value:
        return False
    if batch.minutes > longest_minutes(workshop, batch.printer_kind, filament).value:
        return False
    if len(mine) > 1 and any(task.parts[piece.part].alone for piece in mine):
        return False
    if not workshop.mix_sections and len({section_of(piece, task) for piece in mine}) > 1:
        return False
    if len({piece.airframe for piece in mine}) > 1 and (
        not workshop.mix_airframes or any(piece.airframe in task.unmixed for piece in mine)
    ):
        return False
    return not workshop.pairs_together or all((a in here) == (b in here) for a, b in pairs_of(task))


def limits_told(workshop: Workshop, batches: Sequence[Batch], parts: Sequence[Part] = ()) -> tuple[str, ...]:
    """Which limits hold, in words, and on how many beds they are reached."""
    told = []
    for kind, name in dict.fromkeys((batch.printer_kind, batch.filament) for batch in batches):
        filament = workshop.filament(name)
        mine = [b for b in batches if (b.printer_kind, b.filament) == (kind, name)]
        most, longest = most_pieces(workshop, kind, filament), longest_minutes(workshop, kind, filament)
        if most.said_by:
            full = sum(len(batch.placed) >= most.value for batch in mine)
            why = filament.most_pieces_why if f" of {name}" in most.said_by else ""
            text = f"{name} on {kind}: {most.said_by}; {full} of {len(mine)} beds hold as many"
            told.append(text + (f"; {why}" if why else ""))
        if longest.said_by:
            last = max(batch.minutes for batch in mine) / 60.0
            told.append(f"{name} on {kind}: {longest.said_by}; the longest bed lasts {last:.1f} h")
    alone = [part.name for part in parts if part.alone]
    told += [f"alone = true: {', '.join(alone)}: a bed for each piece"] if alone else []
    told += ["pairs_together = true: left and right hands share a bed"] if workshop.pairs_together else []
    told += [] if workshop.mix_sections else ["mix_sections = false: no bed holds pieces of two sections"]
    if not workshop.mix_airframes and len({part.airframe for part in parts}) > 1:
        told.append("mix_airframes = false: no bed holds pieces of two airframes")
    return tuple(told)


def _hours(workshop: Workshop, kind: str, filament: Filament) -> list[tuple[str, float]]:
    said: Sequence[tuple[str, float | None]] = [
        ("the workshop", workshop.longest_run_h),
        (filament.name, filament.longest_run_h),
        *((printer.name, printer.longest_run_h) for printer in _of_kind(workshop, kind)),
    ]
    return [(who, hours) for who, hours in said if hours is not None]


def _of_kind(workshop: Workshop, kind: str) -> list[Printer]:
    return [printer for printer in workshop.printers if printer.kind == kind]
