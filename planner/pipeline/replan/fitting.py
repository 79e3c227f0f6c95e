"""Marks that facts give, without those that no longer say anything."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.model.replan import EarlierPlan, Marks
from planner.model.workshop import Workshop
from planner.pipeline.replan.outcomes import outcomes
from planner.pipeline.replan.visit import following_runs, starts


def fitting(marks: Marks, given: Marks, earlier: EarlierPlan, workshop: Workshop, now: datetime) -> Marks:
    """Marks of facts beside those of the options, as far as they still say anything.

    Facts stay when what they tell is over: a cleared bed whose printer runs the next, a piece that is lost
    and not printed yet. As marks these would be refused.

    Parameters
    ----------
    given : marks of the options, which hold where both speak of one bed
    """
    own = {*given.done, *given.failed, *given.running}
    failed = tuple(bed for bed in marks.failed if bed not in own)
    there = {p.piece for batch in earlier.batches if batch.name in failed for p in batch.placed}
    every = replace(
        given,
        done=(*given.done, *(bed for bed in marks.done if bed not in own)),
        failed=(*given.failed, *failed),
        running=(*given.running, *(bed for bed in marks.running if bed not in own)),
        good=_with(given.good, marks.good, there),
        at={**{bed: when for bed, when in marks.at.items() if bed not in own}, **given.at},
    )
    became = outcomes(earlier, every, now, starts(workshop))
    lying = {past.batch.name for past in became.past if past.on_bed}
    delivered = {piece for past in became.past for piece in past.delivered}
    ready = set(following_runs(became)) & {printer.name for printer in workshop.printers}
    return replace(
        every,
        cleared=_with(given.cleared, marks.cleared, lying),
        changed=_with(given.changed, marks.changed, ready),
        again=_with(given.again, marks.again, delivered),
    )


def _with(given: tuple[str, ...], told: tuple[str, ...], still: set[str]) -> tuple[str, ...]:
    """What was given, and of what is told that which still holds."""
    return tuple(dict.fromkeys((*given, *(name for name in told if name in still))))
