"""A plan that the search has found: beds that lie, runs that are timed, and what it is judged by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.instance import Instance
from planner.joint_search.joint import Bed, Solution, Start
from planner.joint_search.objective import TimedPlan
from planner.joint_search.objectives import measured
from planner.joint_search.oracle import Oracle
from planner.model.batch import Batch
from planner.model.schedule import Schedule
from planner.nesting.problem.placement import filled_bed
from planner.scheduling.plan import timed_schedule
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import run_ticks


@dataclass(frozen=True, slots=True)
class Candidate:
    """Beds, their schedule without spools, and the value of every goal (spools to buy not yet known)."""

    bedding: Bedding
    schedule: Schedule
    values: tuple[float, ...]


def candidate(bedding: Bedding, schedule: Schedule, maker: BedMaker) -> Candidate:
    """Measure beds and their schedule."""
    named = {batch.name: batch for batch in bedding.batches}
    return Candidate(bedding, schedule, measured(TimedPlan(maker.task, named, schedule)))


def start_of(made: Candidate, instance: Instance) -> Start:
    """The beds of a plan as a start of the joint search, in the order in which they run."""
    number = {item.piece: n for n, item in enumerate(instance.items)}
    batches = {batch.name: batch for batch in made.bedding.batches}
    printers = [printer.name for printer in instance.printers]
    return [
        (tuple(number[p.piece] for p in batches[run.batch].placed), printers.index(run.printer))
        for run in made.schedule.runs
    ]


def from_joint(
    solution: Solution, instance: Instance, oracle: Oracle, maker: BedMaker, done: Bedding
) -> Candidate | None:
    """Beds of the joint search, all known to lie, as batches and runs at the very times of the search.

    None where a bed does not last as long as the search took it to last.
    """
    batches = [_batch(bed, n, instance, oracle, maker) for n, bed in enumerate(solution.beds, start=1)]
    if any(
        run_ticks(b.minutes) != bed.end - bed.begin for b, bed in zip(batches, solution.beds, strict=True)
    ):
        return None
    timing = Timing(
        np.array([bed.printer for bed in solution.beds], dtype=np.int32),
        np.array([bed.begin for bed in solution.beds], dtype=np.int32),
        np.array([bed.end for bed in solution.beds], dtype=np.int32),
    )
    schedule = timed_schedule(batches, timing, maker.task.workshop, maker.task.start)
    return candidate(Bedding(tuple(batches), done.misfits), schedule, maker)


def _batch(bed: Bed, number: int, instance: Instance, oracle: Oracle, maker: BedMaker) -> Batch:
    kind = instance.kinds[int(instance.table.kind_of[bed.printer])]
    placed = oracle.places(bed.pieces, kind)
    if placed is None:
        raise ValueError("a bed of the joint search was not asked for")
    items = {instance.items[piece].piece: instance.items[piece] for piece in bed.pieces}
    filled = filled_bed(kind, list(placed), items)
    return maker.batch(str(number), filled, instance.families[instance.family[bed.pieces[0]]])
