"""Persons who have hours of their own: the whole way from attendance to a checked schedule."""

from dataclasses import replace
from datetime import date, time

import pytest

from planner.model.attendance import Absence, Attendance, WeeklyWindow
from planner.model.effort import QUICK
from planner.model.printer import Printer
from planner.scheduling.plan import schedule_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import ALL_DAYS, MONDAY, make_batch, make_workshop, random_case

ADA, BEN = (
    WeeklyWindow(ALL_DAYS, time(18), time(20), "Ada"),
    WeeklyWindow(ALL_DAYS, time(18, 30), time(22), "Ben"),
)


def checked(batches, workshop, seed=1):
    schedule = schedule_batches(batches, workshop, MONDAY, section_of={}, effort=QUICK, seed=seed, steps=500)
    schedule, uses = spooled(schedule, batches, workshop, MONDAY)
    return schedule, verify_schedule(schedule, uses, batches, workshop, MONDAY)


def test_two_persons_handle_two_printers_at_once_and_one_does_not():
    """Four printers, started from 18:00: one is started alone, from 18:30 two can be at once."""
    batches = [make_batch(f"bed {n}", 2000.0) for n in range(4)]
    printers = [Printer(str(n), "desk", loaded="PLA") for n in range(4)]
    slow = replace(make_workshop(Attendance(weekly=(ADA, BEN)), *printers), start_minutes=20)
    schedule, faults = checked(batches, slow)
    assert faults == ()
    starts = sorted((run.start - MONDAY).total_seconds() / 60 for run in schedule.runs)
    assert starts[0] == 20.0
    assert starts[-1] <= 60.0  # one person alone would take until 80
    alone, _ = checked(batches, replace(slow, attendance=Attendance(weekly=(ADA,))))
    assert max((run.start - MONDAY).total_seconds() / 60 for run in alone.runs) == 80.0


def test_an_absence_leaves_the_work_to_the_other():
    """Ada is away on Monday: nothing begins before Ben comes."""
    there = Attendance(weekly=(ADA, BEN), absences=(Absence(date(2026, 1, 5), date(2026, 1, 5), "Ada"),))
    schedule, faults = checked(
        [make_batch("bed 1", 60.0)], make_workshop(there, Printer("1", "desk", loaded="PLA"))
    )
    assert faults == ()
    assert (schedule.runs[0].start.hour, schedule.runs[0].start.minute) == (18, 35)


@pytest.mark.parametrize("seed", range(10))
def test_random_workshops_of_named_persons_pass_the_independent_check(seed):
    """Whatever the workshop, no minute asks for more hands than are there."""
    batches, workshop = random_case(seed)
    cold = WeeklyWindow(ALL_DAYS, time(6), time(9), "Cy")
    plain = WeeklyWindow(ALL_DAYS, time(19), time(23))
    there = Attendance(weekly=(ADA, BEN, cold, plain), zone=workshop.attendance.zone)
    _, faults = checked(batches, replace(workshop, attendance=there), seed)
    assert faults == ()
