"""A finished composition timed anew by works that others do, where it is large enough to be cut in parts."""

from __future__ import annotations

from collections.abc import Mapping

from planner.errors import Infeasible
from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.buying import settled
from planner.joint_search.candidate import candidate
from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.objectives import best_of, objectives, order_of
from planner.joint_search.search import finished
from planner.joint_search.sections import ranks
from planner.scheduling.annealing.parts import Each
from planner.scheduling.in_parts import schedule_in_parts

NOTE = "its runs were searched on in parts of the workshop and of the horizon, and end sooner for it"


def timed_in_parts(task: ComposeTask, made: Composition, each: Each) -> Composition:
    """The same beds in better runs, by the goals in their order; as it was where parts find none.

    Parameters
    ----------
    each : does the works; who does them changes nothing
    """
    section_of = ranks(made.batches, task)
    try:
        schedule = schedule_in_parts(
            made.batches, task.workshop, task.start,
            section_of=section_of, effort=task.effort, seed=task.seed, each=each,
        )  # fmt: skip
    except Infeasible:  # beds of a printer that goes away early are none of a plain search over all printers
        return made
    if schedule is None:
        return made
    maker, order = BedMaker(task), order_of(task.prefer)
    one = candidate(Bedding(made.batches, made.misfits), schedule, maker)
    told: Mapping[str, float] = {goal.name: goal.value for goal in made.goals}
    first = order[0]  # spools are not yet known of the new runs, so only the first goal is asked
    values = [[told[goal.name] for goal in objectives()], list(one.values)]
    if values[1][first] >= values[0][first] or best_of(values, order[:1]) == 0:
        return made
    settled_one, buying = settled(one, [one], order, maker)
    hours = made.schedule.lower_bound_h
    done = finished(settled_one, buying, order, task, None if hours is None else 60.0 * hours, tidy=False)
    return Composition(
        done.batches, done.misfits, done.schedule, done.spools, done.goals, (*made.notes, NOTE)
    )
