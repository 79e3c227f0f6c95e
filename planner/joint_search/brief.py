"""The first plan that is told: what a quick search begins with, before the budget of a longer one."""

from __future__ import annotations

import math
from dataclasses import replace

from planner.errors import Infeasible
from planner.joint_search.beds import BedMaker
from planner.joint_search.composition import ComposeTask, First
from planner.joint_search.sections import ranks
from planner.model.effort import QUICK
from planner.scheduling.plan import schedule_batches


def tell_briefly(task: ComposeTask, first: First) -> bool:
    """Tell beds of any length, laid by their boxes and scheduled by a quick search; whether there are any.

    The search that follows starts anew and finds the same plan as without it. Where pieces have to be turned
    freely to lie at all, or nobody can handle these beds, it is left to that search to say so.
    """
    brief = replace(task, effort=QUICK)
    try:
        bedding = BedMaker(brief).lay(math.inf)
        if not bedding.batches or bedding.misfits:
            return False
        schedule = schedule_batches(
            bedding.batches,
            task.workshop,
            task.start,
            section_of=ranks(bedding.batches, task),
            effort=QUICK,
            seed=task.seed,
        )
    except Infeasible:
        return False
    first(bedding.batches, schedule)
    return True
