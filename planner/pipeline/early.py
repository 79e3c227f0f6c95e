"""The first sound answer of a plan, told while the search goes on."""

from __future__ import annotations

from collections.abc import Sequence

from planner.costing.cost import cost_sheet
from planner.model.batch import Batch
from planner.model.early import EARLY
from planner.model.schedule import Schedule
from planner.pipeline.job import Job, Progress
from planner.pipeline.mass_estimate import Weighing
from planner.scheduling.spools.spools import assign_spools
from planner.units import grams_text, money_text

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
NOT_PRINTED = ("fittings", "finish")  # kinds of cost lines that no printer makes


class EarlyTold:
    """Tells when the first plan ends, what the airframe weighs and what the prints cost."""

    def __init__(self, job: Job, known: Weighing, report: Progress) -> None:
        self._job, self._known, self._report = job, known, report

    def told(self, batches: Sequence[Batch], schedule: Schedule) -> None:
        """One stage of the progress, its name followed by finish, mass and cost."""
        job, mass = self._job, self._known.mass
        _, spools = assign_spools(schedule, batches, job.workshop)
        cost = cost_sheet(job.airframe, job.workshop, mass, batches, schedule, spools)
        printed = sum(minor for kind, minor in cost.totals_minor.items() if kind not in NOT_PRINTED)
        end = max(run.end for run in schedule.runs)
        words = (
            f"done {DAYS[end.weekday()]} {end:%Y-%m-%d %H:%M}",
            f"weighs {grams_text(mass.total_g)} g",
            f"costs {money_text(printed, cost.currency)} {cost.currency} printed",
        )
        self._report(EARLY + ", ".join(words), 0, 1)
