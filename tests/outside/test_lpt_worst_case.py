"""Worst cases of the longest-first rule, published by R. L. Graham (1969)."""

import pytest

from planner.model.attendance import Attendance
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.problem.dispatch import dispatch
from planner.scheduling.problem.problem import compile_tables

DAY = 24 * 60


def graham_case(machines):
    """Two jobs each of 2m-1 ... m+1 and three of m, with no handling and everybody there."""
    jobs = sorted([*range(m := machines, 2 * m), *range(m + 1, 2 * m), m, m], reverse=True)
    batches = [Batch(str(n), "k", "PLA", 0.2, (), float(job), 1.0, 1.0, 0.5) for n, job in enumerate(jobs)]
    workshop = Workshop(
        printers=tuple(Printer(str(n), "k", loaded="PLA", cool_down_minutes=0.0) for n in range(machines)),
        filaments=(Filament("PLA", "PLA", 1.24, 1.24),),
        attendance=Attendance(persons=machines),
        start_minutes=0,
        clear_minutes=0,
        change_minutes=0,
    )
    return compile_tables(batches, workshop, ((0, DAY),), DAY, {}, {})


@pytest.mark.parametrize("machines", [2, 3, 4, 5, 8, 12, 20])
def test_longest_first_meets_its_published_worst_case(machines):
    """LPT gives 4m - 1 where 3m is possible, exactly as Graham's tight family says."""
    tables = graham_case(machines)
    timing = dispatch(tables)
    assert timing.finish == 4 * machines - 1
    assert area_bound(tables) == 3 * machines
