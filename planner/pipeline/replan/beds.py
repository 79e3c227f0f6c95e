"""The beds that are left: those of the earlier plan that still hold, reprints, and new ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from planner.estimate.time.bed import bed_piece, bed_table
from planner.joint_search.composition import ComposeTask
from planner.joint_search.limits import bed_keeps_limits
from planner.joint_search.pieces import families
from planner.joint_search.search import compose
from planner.model.batch import Batch, Placed, Unplaced, bed_numbers
from planner.model.part import Piece
from planner.model.replan import EarlierPlan
from planner.nesting.problem.item import FilledBed, Item, bed_kind
from planner.nesting.problem.placement import filled_bed
from planner.nesting.verify import verify_beds
from planner.pipeline.replan.outcomes import Outcomes
from planner.pipeline.replan.same import Sameness

Family = tuple[str, float, float]
ROUNDED_MM = 0.00051  # lengths are told to a thousandth
_MINUTES_TOLD, _GRAMS_TOLD = 2, 3  # digits with which a plan tells minutes and grams of a bed


@dataclass(frozen=True, slots=True)
class BedsLeft:
    """Beds to print; ``notes`` tell where a new one comes from, ``dropped`` why one is gone."""

    batches: tuple[Batch, ...]
    misfits: tuple[Unplaced, ...]
    notes: Mapping[str, str]
    dropped: Mapping[str, str]


def beds_left(task: ComposeTask, earlier: EarlierPlan, became: Outcomes, same: Sameness) -> BedsLeft:
    """Open beds as they were, failed ones again without their good pieces, and new beds for what is on none.

    A bed stays where ``same`` finds it the bed that was planned. Where its pieces, as they are now, can lie
    as they lay, it becomes a new bed with the next number; else they are laid anew.

    Raises
    ------
    Infeasible
        when pieces must be laid anew and no bed takes them
    """
    here = {batch.name: batch for batch in earlier.batches}
    over = {piece for past in became.past for piece in past.delivered}
    over |= {placed.piece for run in became.running for placed in here[run.batch].placed}
    wanted = {piece.name: piece for piece in task.pieces if piece.name not in over}
    names = Names(earlier)
    kept: list[Batch] = []
    notes: dict[str, str] = {}
    dropped: dict[str, str] = {}
    laid: set[str] = set()
    failed = [past for past in became.newly if past.outcome == "failed"]
    for batch, anew in [
        *((here[run.batch], False) for run in became.open),
        *((p.batch, True) for p in failed),
    ]:
        pieces = [p for p in batch.placed if p.piece in wanted and p.piece not in laid]
        found = rebuilt(replace(batch, placed=tuple(pieces)), task) if pieces else None
        why = "" if anew else same.reason(batch, found, task.workshop.printers)
        if found is None:
            if not anew:
                dropped[batch.name] = f"laid anew: {why}" if pieces else "its pieces are no longer needed"
            continue
        name = names.next() if anew or why else batch.name
        one = replace(found, name=name, digest="") if anew or why else as_told(found, batch)
        kept.append(same.by_file(one, task.workshop.printers))
        laid |= {placed.piece for placed in found.placed}
        if anew:
            notes[name] = f"prints {batch.name} again"
        elif why:
            notes[name] = f"was {batch.name}: {why}"
            dropped[batch.name] = f"is {name} now: {why}"
    rest = tuple(piece for name, piece in wanted.items() if name not in laid)
    if not rest:
        return BedsLeft(tuple(kept), (), notes, dropped)
    made = compose(replace(task, pieces=rest))
    new = [replace(batch, name=names.next()) for batch in made.batches]
    return BedsLeft((*kept, *new), made.misfits, notes, dropped)


def as_told(found: Batch, was: Batch) -> Batch:
    """A bed that is the one that was planned, with its minutes and grams as they were told.

    They are told rounded, and the sum of the same pieces in another order may round to the other side.
    """
    return replace(
        found,
        name=was.name,
        digest=was.digest,
        minutes=_told(found.minutes, was.minutes, _MINUTES_TOLD),
        mass_g=_told(found.mass_g, was.mass_g, _GRAMS_TOLD),
    )


def _told(now: float, was: float, digits: int) -> float:
    """The value that is now, unless it only rounds to the other side of what was told."""
    other = round(now, digits) != round(was, digits)
    return was if other and abs(now - was) <= 0.51 * 10.0**-digits else now


class Names:
    """Names of new beds: the numbers go on."""

    def __init__(self, earlier: EarlierPlan) -> None:
        names = [batch.name for batch in earlier.batches] + [past.batch.name for past in earlier.past]
        self.number = max([earlier.last_bed, *bed_numbers(names).values()])

    def next(self) -> str:
        """The next free name."""
        self.number += 1
        return f"bed {self.number}"


def rebuilt(batch: Batch, task: ComposeTask) -> Batch | None:
    """The bed with the minutes and grams that its pieces have now; ``None`` where it can no longer be."""
    printer = next((p for p in task.workshop.printers if p.kind == batch.printer_kind), None)
    pieces = {piece.name: piece for piece in task.pieces}
    mine = [pieces[placed.piece] for placed in batch.placed]
    kinds = {_family(piece, task) for piece in mine}
    if printer is None or len(kinds) != 1 or next(iter(kinds))[:2] != (batch.filament, batch.layer_height_mm):
        return None
    filament = task.workshop.filament(batch.filament)
    fits = {filament.asks(task.parts[piece.part].recipe) for piece in mine}
    fit = next(iter(fits))
    if len(fits) != 1:
        return None
    if not any(
        p.kind == printer.kind and task.workshop.can_run(p, filament, fit) for p in task.workshop.printers
    ):
        return None
    items = _items(mine, task)
    tall = {item.piece: item.height_mm for item in items}
    batch = replace(batch, placed=tuple(_unrounded(placed, tall[placed.piece]) for placed in batch.placed))
    bed = FilledBed(bed_kind(printer), batch.placed, batch.fill)
    if verify_beds([bed], items, task.workshop.clearance_mm):
        return None
    parts = [task.parts[piece.part] for piece in mine]
    rows = [
        bed_piece(task.deposits[part.name], part.recipe, printer.kind, task.workshop.clearance_mm)
        for part in parts
    ]
    made = replace(
        batch,
        minutes=bed_table(rows, printer, filament).minutes(range(len(rows))),
        mass_g=sum(task.deposits[part.name].mass_g for part in parts),
        height_mm=max(placed.height_mm for placed in batch.placed),
        fill=filled_bed(bed.kind, list(batch.placed), {item.piece: item for item in items}).fill,
        fit=fit,
    )
    return made if bed_keeps_limits(made, task) else None


def _unrounded(placed: Placed, height_mm: float) -> Placed:
    """The height as it is, where the file told it rounded."""
    same = abs(placed.height_mm - height_mm) <= ROUNDED_MM
    return replace(placed, height_mm=height_mm) if same else placed


def _family(piece: Piece, task: ComposeTask) -> Family:
    part = task.parts[piece.part]
    return part.filament, part.recipe.layer_height_mm, part.recipe.first_height_mm


def _items(pieces: Sequence[Piece], task: ComposeTask) -> list[Item]:
    return [item for group in families(replace(task, pieces=tuple(pieces))).values() for item in group]
