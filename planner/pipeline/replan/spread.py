"""Open beds laid again for printers of another kind, where that ends the plan much earlier."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from planner.errors import Infeasible
from planner.joint_search.composition import ComposeTask
from planner.joint_search.search import compose
from planner.model.batch import Batch, bed_numbers
from planner.model.printer import Printer
from planner.model.replan import EarlierPlan
from planner.model.schedule import Schedule
from planner.pipeline.replan.beds import BedsLeft, Names
from planner.scheduling.repair.replan import Replanned

SHARES = (0.25, 0.5, 0.75, 1.0)  # of the open beds, those that begin last, that are laid again
WHY = "for printers that no open bed was for"
Timed = Callable[[BedsLeft], tuple[Schedule, Replanned]]


def beds_and_times(
    task: ComposeTask, earlier: EarlierPlan, left: BedsLeft, timed: Timed, tolerance_h: float
) -> tuple[BedsLeft, Schedule, Replanned]:
    """The beds that are left with their schedule; the last of them laid again where idle printers gain by it.

    A printer of a kind that no open bed is for, one that was added, say, can take none of them. So many of
    the last open beds as end the plan earliest are laid again for such printers, or all of them for all
    printers, if the plan then ends earlier by more than the tolerance; of equal ends the one with the fewest.
    """
    schedule, answer = timed(left)
    kinds = {batch.printer_kind for batch in left.batches}
    idle = tuple(printer for printer in task.workshop.printers if printer.kind not in kinds)
    best = left, schedule, answer
    if not idle or not left.batches:
        return best
    starts = {run.batch: run.start for run in schedule.runs}
    last = sorted(left.batches, key=lambda batch: (starts[batch.name], batch.name))
    limit = schedule.finish - timedelta(hours=tolerance_h)
    fitting = [batch for batch in last if _taken(batch, task, idle)]
    counts = sorted({max(1, round(share * len(fitting))) for share in SHARES})
    tries = [(fitting[-count:], replace(task.workshop, printers=idle)) for count in counts if fitting]
    for beds, workshop in [*tries, (last, task.workshop)]:
        again = _laid_again(replace(task, workshop=workshop), earlier, left, beds)
        if again is None:
            continue
        found, made = timed(again)
        if found.finish < min(limit, best[1].finish):
            best = again, found, made
    return best


def _taken(batch: Batch, task: ComposeTask, printers: Sequence[Printer]) -> bool:
    filament = task.workshop.filament(batch.filament)
    return any(task.workshop.can_run(printer, filament) for printer in printers)


def _laid_again(
    task: ComposeTask, earlier: EarlierPlan, left: BedsLeft, beds: list[Batch]
) -> BedsLeft | None:
    """The pieces of these beds on new ones; ``None`` where the printers do not take them all."""
    gone = {batch.name for batch in beds}
    mine = {placed.piece for batch in beds for placed in batch.placed}
    try:
        made = compose(replace(task, pieces=tuple(piece for piece in task.pieces if piece.name in mine)))
    except Infeasible:
        return None
    if made.misfits:
        return None
    kept = tuple(batch for batch in left.batches if batch.name not in gone)
    names = Names(earlier)
    names.number = max([names.number, *bed_numbers([batch.name for batch in left.batches]).values()])
    new = tuple(replace(batch, name=names.next()) for batch in made.batches)
    planned = {run.batch for run in earlier.runs}
    dropped: Mapping[str, str] = {
        **{bed: f"laid again: {WHY}" if _became(why) in gone else why for bed, why in left.dropped.items()},
        **{batch.name: f"laid again: {WHY}" for batch in beds if batch.name in planned},
    }
    notes = {name: note for name, note in left.notes.items() if name not in gone}
    notes |= {batch.name: WHY for batch in new}
    return replace(left, batches=(*kept, *new), notes=notes, dropped=dropped)


def _became(why: str) -> str:
    """The bed that a dropped one is now, by the words that tell it."""
    found = re.match(r"is (.+?) now: ", why)
    return found[1] if found else ""
