"""Whether a plan tells every goal in its place, and what it reached; it shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator

from planner.joint_search.objectives import objectives
from planner.model.plan import Plan

_TOLD_H = 1e-6


def goal_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each goal that is missing, out of its place, or not what the runs say.

    A plan that goes on from another is searched for no goals.
    """
    if not plan.goals:
        return
    known = {one.name: one for one in objectives()}
    first = [word.strip().lower() for word in plan.choices.prefer]
    order = [*first, *(name for name in known if name not in first)]
    told = [goal.name for goal in sorted(plan.goals, key=lambda goal: goal.place)]
    if told != order:
        yield f"the goals are told in the order {', '.join(told)} instead of {', '.join(order)}"
    if [goal.place for goal in plan.goals] != list(range(1, len(plan.goals) + 1)):
        yield "the places of the goals do not count from 1"
    runs, start = plan.schedule.runs, plan.start.timestamp()
    reached = {
        "finish": (max((run.end.timestamp() for run in runs), default=start) - start) / 3600.0,
        "visits": float(len(plan.schedule.visits) + sum(not 6 <= run.start.hour < 22 for run in runs)),
        "spools": float(sum(use.bought for use in plan.spools)),
    }
    for goal in plan.goals:
        if goal.name in known and goal.unit != known[goal.name].unit:
            yield f"goal {goal.name} is told in {goal.unit!r}"
        if not goal.value >= 0.0:
            yield f"goal {goal.name} is {goal.value}, less than nothing"
        exact = reached.get(goal.name, goal.value)
        if abs(goal.value - exact) > _TOLD_H:
            yield f"goal {goal.name} is told as {goal.value:g}, the runs make {exact:g}"
