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
LATE_SHARES = (0.5, 1.0)  # of those that end late
WHY = "for printers that no open bed was for"
SOONER = "so that the plan ends sooner"
Timed = Callable[[BedsLeft], tuple[Schedule, Replanned]]


def beds_and_times(
    task: ComposeTask, earlier: EarlierPlan, left: BedsLeft, timed: Timed, tolerance_h: float
) -> tuple[BedsLeft, Schedule, Replanned]:
    """The beds that are left with their schedule; the last of them laid again where other printers help.

    A printer of a kind that no open bed is for, one that was added, say, can take none of them; and where a
    printer is away its beds wait for it, however idle those of another kind are. So many of the last open
    beds (or, where the plan ends later than the earlier one by more than the tolerance, of those that end so
    late) as end the plan earliest are laid again for such printers, or all of them for all printers, if the
    plan then ends earlier by more than the tolerance; of equal ends the one with the fewest.
    """
    schedule, answer = timed(left)
    best = left, schedule, answer
    starts = {run.batch: run.start for run in schedule.runs}
    last = sorted(left.batches, key=lambda batch: (starts[batch.name], batch.name))
    late, others, why = _waiting(task.workshop.printers, earlier, last, schedule, tolerance_h)
    if not late or len({printer.kind for printer in task.workshop.printers}) == 1:
        return best
    limit = schedule.finish - timedelta(hours=tolerance_h)
    fitting = [batch for batch in late if _taken(batch, task, others)]
    shares = SHARES if why == WHY else LATE_SHARES
    counts = sorted({max(1, round(share * len(fitting))) for share in shares})
    tries = [(fitting[-count:], replace(task.workshop, printers=others)) for count in counts if fitting]
    for beds, workshop in [*tries, (last if why == WHY else _by_estimate(last), task.workshop)]:
        again = _laid_again(replace(task, workshop=workshop), earlier, left, beds, why)
        if again is None:
            continue
        found, made = timed(again)
        if found.finish < min(limit, best[1].finish):
            best = again, found, made
    return best


def _waiting(
    printers: Sequence[Printer],
    earlier: EarlierPlan,
    last: list[Batch],
    schedule: Schedule,
    tolerance_h: float,
) -> tuple[list[Batch], tuple[Printer, ...], str]:
    """Beds that other printers may take, those printers, and why they are asked."""
    kinds = {batch.printer_kind for batch in last}
    idle = tuple(printer for printer in printers if printer.kind not in kinds)
    if idle:
        return last, idle, WHY
    most = earlier.finish + timedelta(hours=tolerance_h)
    ends = {run.batch: run.end for run in schedule.runs}
    late = [one for one in _by_estimate(last) if ends[one.name].timestamp() > most.timestamp()]
    kinds = {batch.printer_kind for batch in late}
    return late, tuple(printer for printer in printers if printer.kind not in kinds), SOONER


def _by_estimate(batches: Sequence[Batch]) -> list[Batch]:
    """Those without a machine file: what a file says of a bed is lost with the bed."""
    return [batch for batch in batches if not batch.machine_file]


def _taken(batch: Batch, task: ComposeTask, printers: Sequence[Printer]) -> bool:
    filament = task.workshop.filament(batch.filament)
    return any(task.workshop.can_run(printer, filament) for printer in printers)


def _laid_again(
    task: ComposeTask, earlier: EarlierPlan, left: BedsLeft, beds: list[Batch], why: str
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
        **{bed: f"laid again: {why}" if _became(was) in gone else was for bed, was in left.dropped.items()},
        **{batch.name: f"laid again: {why}" for batch in beds if batch.name in planned},
    }
    notes = {name: note for name, note in left.notes.items() if name not in gone}
    notes |= {batch.name: why for batch in new}
    return replace(left, batches=(*kept, *new), notes=notes, dropped=dropped)


def _became(why: str) -> str:
    """The bed that a dropped one is now, by the words that tell it."""
    found = re.match(r"is (.+?) now: ", why)
    return found[1] if found else ""
