"""Beds that are laid, timed by works that others do: parts of a farm, then parts of the horizon."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop
from planner.scheduling.annealing.horizon import horizon_parts, search_horizon
from planner.scheduling.annealing.improve import SMALL_WORKSHOP, improve
from planner.scheduling.annealing.parts import Each, search_in_parts
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.plan import COOLING, WEIGHTS, goal_of, problem_of
from planner.scheduling.timetable import runs_of, schedule_of


def schedule_in_parts(
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    *,
    section_of: Mapping[str, int],
    effort: Effort,
    seed: int,
    each: Each,
) -> Schedule | None:
    """Runs of all batches; None where a workshop is small, has few beds, or persons with hours of their own.

    The same for the same effort and seed, whoever does the works and in whatever order.

    Parameters
    ----------
    each : does the works, and gives their answers in the order of the works

    Raises
    ------
    Infeasible
        as for `plan.schedule_batches`
    """
    if len(workshop.printers) <= SMALL_WORKSHOP or workshop.attendance.named:
        return None
    tables, first = problem_of(batches, workshop, start, section_of)
    if len(horizon_parts(tables, first)) < 2:
        return None
    steps = effort.schedule_steps
    found = improve(tables, first, steps=steps, seed=seed, weights=WEIGHTS, cooling=COOLING)
    goal = goal_of(tables, found)
    parted = search_in_parts(tables, goal=goal, steps=steps, rest=steps, seed=seed, each=each)
    if parted is not None and parted.finish < found.finish:
        found = parted
    found = search_horizon(tables, found, steps=steps, rest=steps, seed=seed, each=each)
    runs = runs_of(found, tables, batches, workshop, start)
    return schedule_of(runs, batches, workshop, start, area_bound(tables))
