"""Batches to schedule."""

from datetime import UTC, datetime, time, timedelta
from itertools import pairwise

import pytest

from planner.errors import Infeasible
from planner.model.attendance import Absence, Attendance, WeeklyWindow
from planner.model.effort import QUICK
from planner.model.printer import Printer
from planner.scheduling.annealing.improve import Weights, changes_of, ease, improve
from planner.scheduling.plan import COOLING, WEIGHTS, schedule_batches, schedule_ways
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.dispatch import dispatch
from planner.scheduling.problem.problem import compile_tables
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import (
    ALL_DAYS,
    MONDAY,
    evenings_and_mornings,
    make_batch,
    make_workshop,
    random_case,
)


def plan(batches, workshop, **more):
    options = {"section_of": {}, "effort": QUICK, "seed": 1, "steps": 2000, **more}
    return schedule_batches(batches, workshop, MONDAY, **options)


def test_one_batch_starts_after_five_minutes_of_handling():
    """A clear bed with the right filament on it needs starting only: 18:05 to 20:05."""
    schedule = plan([make_batch("bed 1", 120.0)], make_workshop(evenings_and_mornings()))
    run = schedule.runs[0]
    assert run.start == MONDAY + timedelta(minutes=5)
    assert schedule.finish == MONDAY + timedelta(minutes=125)
    assert schedule.makespan_h == pytest.approx(125 / 60)
    assert (schedule.changeovers, schedule.proven_gap) == (0, 0.0)


def test_a_bed_that_ends_in_the_night_is_cleared_in_the_morning():
    """Two long batches: the second starts at 06:15, after clearing and starting."""
    schedule = plan(
        [make_batch("bed 1", 400.0), make_batch("bed 2", 400.0)], make_workshop(evenings_and_mornings())
    )
    assert schedule.runs[1].start == datetime(2026, 1, 6, 6, 15, tzinfo=UTC)
    assert [visit.at.hour for visit in schedule.visits] == [18, 6, 18]
    assert schedule.visits[1].tasks == ("clear bed 1 from one", "start bed 2 on one") or schedule.visits[
        1
    ].tasks == ("clear bed 2 from one", "start bed 1 on one")


def test_one_person_starts_two_printers_one_after_the_other():
    """With one person the second printer starts five minutes later, with two at the same time."""
    batches = [make_batch("bed 1", 90.0), make_batch("bed 2", 90.0)]
    printers = (Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA"))
    alone = plan(batches, make_workshop(evenings_and_mornings(), *printers))
    pair = plan(batches, make_workshop(evenings_and_mornings(2), *printers))
    assert [run.start - MONDAY for run in alone.runs] == [timedelta(minutes=5), timedelta(minutes=10)]
    assert [run.start - MONDAY for run in pair.runs] == [timedelta(minutes=5), timedelta(minutes=5)]


def test_an_attended_filament_stays_inside_one_window():
    """TPU may not run unattended: 200 min fit the evening, not the morning."""
    batches = [make_batch("bed 1", 200.0, filament="TPU"), make_batch("bed 2", 200.0, filament="TPU")]
    schedule = plan(batches, make_workshop(evenings_and_mornings()))
    assert [run.start.hour for run in schedule.runs] == [18, 18]


def test_an_attended_filament_longer_than_any_window_is_infeasible():
    """The message names batch, minutes and the longest window."""
    with pytest.raises(Infeasible, match=r"'bed 1'.*305 min.*300 min"):
        plan([make_batch("bed 1", 300.0, filament="TPU")], make_workshop(evenings_and_mornings()))


def test_attendance_too_short_to_handle_is_infeasible():
    """Four minutes a day are not enough to start a run."""
    there = Attendance(weekly=(WeeklyWindow((0,), time(18), time(18, 4)),))
    with pytest.raises(Infeasible):
        plan([make_batch("bed 1", 100.0)], make_workshop(there))


def test_no_printer_for_the_filament_is_infeasible():
    """A kind whose printers do not list the filament."""
    workshop = make_workshop(evenings_and_mornings(), Printer("one", "desk", filaments=("PLA",)))
    with pytest.raises(Infeasible, match="foaming PLA"):
        plan([make_batch("bed 1", 100.0, filament="foaming PLA")], workshop)


def test_no_batches_make_an_empty_schedule():
    """Nothing to print finishes at once."""
    schedule = plan([], make_workshop(evenings_and_mornings()))
    assert (schedule.runs, schedule.finish, schedule.makespan_h) == ((), MONDAY, 0.0)


def test_the_same_seed_gives_the_same_schedule():
    """Seed and steps decide everything."""
    batches, workshop = random_case(7)
    assert plan(batches, workshop, seed=5) == plan(batches, workshop, seed=5)


@pytest.mark.parametrize("seed", range(12))
def test_random_workshops_pass_the_independent_check(seed):
    """Schedule and spools of random workshops are sound."""
    batches, workshop = random_case(seed)
    schedule, uses = spooled(plan(batches, workshop), batches, workshop, MONDAY)
    assert verify_schedule(schedule, uses, batches, workshop, MONDAY) == ()
    assert schedule.lower_bound_h is None or schedule.lower_bound_h <= schedule.makespan_h + 1e-9


@pytest.mark.parametrize(("printers", "persons"), [(8, 1), (26, 3)])
def test_a_large_workshop_ends_no_later_than_by_the_plain_search(printers, persons):
    """Eight printers as a whole, 26 in two parts: sound, and no later than what the plain search finds."""
    workshop = make_workshop(
        evenings_and_mornings(persons),
        *(Printer(f"desk {n}", "desk", loaded="PLA") for n in range(printers)),
    )
    batches = [make_batch(str(n), 40.0 + 37.0 * (n % 17), mass_g=5.0) for n in range(5 * printers)]
    schedule, uses = spooled(plan(batches, workshop), batches, workshop, MONDAY)
    assert verify_schedule(schedule, uses, batches, workshop, MONDAY) == ()
    spans = windows(workshop.attendance, MONDAY, 28)
    tables = compile_tables(batches, workshop, spans, 28 * 24 * 60, {}, {}, MONDAY)
    plain = improve(tables, dispatch(tables), steps=2000, seed=1, weights=WEIGHTS, cooling=COOLING)
    assert schedule.makespan_h <= plain.finish / 60.0 + 1e-9
    assert plan(batches, workshop) == plan(batches, workshop)


def test_easing_ends_no_later_and_changes_filament_no_more_often():
    """Random workshops: from a search that does not weigh changes to fewer of them at the same finish."""
    saved = 0
    for seed in range(8):
        batches, workshop = random_case(seed)
        spans = windows(workshop.attendance, MONDAY, 28)
        tables = compile_tables(batches, workshop, spans, 28 * 24 * 60, {}, {})
        plain = improve(tables, dispatch(tables), steps=3000, seed=1, weights=Weights(change=0.0))
        eased = ease(tables, plain, steps=3000, seed=1)
        assert eased.finish <= plain.finish
        assert changes_of(tables, eased) <= changes_of(tables, plain)
        saved += changes_of(tables, plain) - changes_of(tables, eased)
    assert saved > 0


def test_a_second_way_has_fewer_changes_ends_no_later_and_is_sound():
    """Beds in two filaments by turns on two printers, and random workshops; changes counted by runs."""
    shops = [random_case(seed) for seed in range(6)]
    names = ["PLA", "foaming PLA"]
    mixed = [make_batch(str(n), 90.0 + 31.0 * n, filament=names[n % 2]) for n in range(14)]
    printers = (Printer("one", "desk", loaded="PLA"), Printer("two", "desk"))
    shops.append((mixed, make_workshop(evenings_and_mornings(), *printers)))
    saved = 0
    for batches, workshop in shops:
        first, *others = schedule_ways(batches, workshop, MONDAY, section_of={}, steps=60, seed=1)
        assert first == plan(batches, workshop, steps=60)
        for other in others:
            other, uses = spooled(other, batches, workshop, MONDAY)
            assert verify_schedule(other, uses, batches, workshop, MONDAY) == ()
            assert other.makespan_h <= first.makespan_h + 1e-9
            assert changes(other, batches, workshop) < changes(first, batches, workshop)
            saved += 1
    assert saved > 0


def changes(schedule, batches, workshop):
    """How often the filament on a printer is another one than before, by the runs."""
    filament = {batch.name: batch.filament for batch in batches}
    lines = {}
    for run in sorted(schedule.runs, key=lambda run: run.start):
        lines.setdefault(run.printer, []).append(filament[run.batch])
    loaded = {printer.name: printer.loaded for printer in workshop.printers}
    return sum(a != b for p, line in lines.items() for a, b in pairwise([loaded[p], *line]))


@pytest.mark.parametrize("days", [35, 130])
def test_a_long_absence_at_the_start_is_waited_for(days: int) -> None:
    """The hour of today has passed, and nobody is there for weeks: the plan begins after them."""
    day = MONDAY.date()
    gone = Absence(day + timedelta(days=1), day + timedelta(days=days))
    hour = WeeklyWindow(ALL_DAYS, time(17), time(18))
    workshop = make_workshop(Attendance(weekly=(hour,), absences=(gone,)))
    batches = [make_batch("bed 1", 100.0)]
    made = schedule_batches(batches, workshop, MONDAY, section_of={}, effort=QUICK, seed=1, steps=10)
    assert made.runs[0].start.date() == day + timedelta(days=days + 1)
    assert verify_schedule(*spooled(made, batches, workshop, MONDAY), batches, workshop, MONDAY) == ()
