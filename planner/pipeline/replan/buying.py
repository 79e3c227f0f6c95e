"""Spools of a plan that goes on, bought as the workshop says: never, if needed, or for speed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from planner.errors import Infeasible
from planner.joint_search.buying import price_of
from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Buying, Schedule, SpoolUse
from planner.model.workshop import NEVER_BUY, SPEED, Workshop
from planner.scheduling.repair.replan import Replanned
from planner.scheduling.repair.replan_plan import Underway
from planner.scheduling.repair.replan_shelf import shelf_behind, with_shelf
from planner.scheduling.spools.shelf_search import least_by_grams
from planner.scheduling.timetable import spooled

Given = tuple[Schedule, tuple[SpoolUse, ...]]


@dataclass(frozen=True, slots=True)
class Open:
    """Beds that are still open, what goes on beside them, and the spool that each had."""

    batches: tuple[Batch, ...]
    underway: Underway
    wishes: Mapping[str, str]


def bought_as_told(
    left: Open,
    schedule: Schedule,
    answer: Replanned,
    workshop: Workshop,
    start: datetime,
    *,
    tolerance_h: float,
    effort: Effort,
    seed: int,
) -> tuple[Given, Replanned]:
    """The schedule with its spools; another order of the beds where this one buys more than the grams need.

    With ``buy = "if needed"`` that order may end later than the best by no more than the tolerance.

    Raises
    ------
    Infeasible
        when spools cannot be given, or nothing may be bought and no order was found that makes do
    """
    given = _tried(left, schedule, workshop, start)
    if workshop.buy == SPEED or not workshop.spools or not left.batches:
        return _or_raise(given), answer
    least = least_by_grams(left.batches, shelf_behind(workshop, left.underway.runs))
    more = None if isinstance(given, Infeasible) else _bought(given[1]) - Counter(least)
    if more is not None and not more:
        return _or_raise(given), answer
    found = with_shelf(
        left.batches, left.underway, workshop, schedule, start, least, effort=effort, seed=seed
    )
    for other in found:
        minutes = round(60.0 * other.makespan_h)
        late = minutes > answer.best + round(60.0 * tolerance_h)
        if late and workshop.buy != NEVER_BUY:
            break
        made = _tried(left, other, workshop, start)
        if isinstance(made, Infeasible) or _bought(made[1]) - Counter(least):
            continue
        if more:
            hours = other.makespan_h - schedule.makespan_h
            made = _with_buying(made[0], more, hours, schedule.finish, workshop), made[1]
        return made, replace(answer, best=minutes if late else answer.best, proved=False)
    return _or_raise(given), answer


def _tried(left: Open, schedule: Schedule, workshop: Workshop, start: datetime) -> Given | Infeasible:
    named = {batch.name: batch for batch in (*left.underway.batches, *left.batches)}
    batches = [named[run.batch] for run in schedule.runs]
    try:
        return spooled(schedule, batches, workshop, start, left.underway.on_bed, left.wishes)
    except Infeasible as refused:
        return refused


def _or_raise(given: Given | Infeasible) -> Given:
    if isinstance(given, Infeasible):
        raise given
    return given


def _bought(uses: Sequence[SpoolUse]) -> Counter[str]:
    return Counter(use.filament for use in uses if use.bought)


def _with_buying(
    made: Schedule, more: Counter[str], hours: float, finish: datetime, workshop: Workshop
) -> Schedule:
    """What spools beyond the grams would cost, and how much sooner the plan would end with them."""
    if hours <= 0.0:
        return made
    buying = Buying(more.total(), price_of(more, workshop), hours, finish, bought=False)
    return replace(made, buying=buying)
