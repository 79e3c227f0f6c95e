"""Of plans that are equal up to the finish, those that end soonest when things go wrong."""

from __future__ import annotations

from collections.abc import Sequence

from planner.joint_search.candidate import Candidate
from planner.joint_search.composition import ComposeTask
from planner.joint_search.objectives import FINISH, objectives
from planner.model.risk import Chances
from planner.scheduling.simulation.worlds import lived_through

SHARE = 0.9  # of worlds
SAME_MINUTES = 1.0  # schedules are told in whole minutes
MOST_LIVED = 24  # plans that are lived through, those found last: the search betters what it has


def surest(
    found: Sequence[Candidate], order: Sequence[int], task: ComposeTask, chances: Chances
) -> list[Candidate]:
    """Plans within the tolerance of the best finish, and of all goals before it: those surest to end soon.

    The same worlds are drawn for all of them: the same for the same seed.
    """
    goals, left = objectives(), list(found)
    for goal in order[: list(order).index(FINISH) + 1]:
        limit = goals[goal].ceiling(min(made.values[goal] for made in left)) + 1e-9
        left = [made for made in left if made.values[goal] <= limit]
    left = left[-MOST_LIVED:]
    if len(left) < 2:
        return left
    ends = [
        lived_through(made.schedule, made.bedding.batches, task.workshop, task.start, chances).finish(SHARE)
        for made in left
    ]
    return [made for made, end in zip(left, ends, strict=True) if end <= min(ends) + SAME_MINUTES]
