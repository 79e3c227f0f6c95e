"""What to do at each visit, in words and minutes."""

from dataclasses import replace
from datetime import time, timedelta

from planner.model.attendance import Attendance, DateWindow, WeeklyWindow
from planner.model.filament import Spool
from planner.model.printer import Printer
from planner.model.schedule import RUNNING, Draw, Run
from planner.pipeline.doubts import never_cleared
from planner.scheduling.timetable import schedule_of, spooled
from planner.scheduling.verify import verify_schedule
from planner.scheduling.visits import visits_of
from tests.unit.scheduling.workshops import (
    ALL_DAYS,
    MONDAY,
    evenings_and_mornings,
    make_batch,
    make_workshop,
)

ONE, TWO = Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA")


def run(name, batch, printer, start, minutes, *draws, **more):
    begin = MONDAY + timedelta(minutes=start)
    return Run(name, batch, printer, begin, begin + timedelta(minutes=minutes), True, draws, 1.0, **more)


def test_three_beds_cleared_at_once_take_three_times_as_long():
    """One person clears bed after bed: the last visit lasts three times ten minutes."""
    batches = {f"bed {n}": make_batch(f"bed {n}", 300.0) for n in range(3)}
    printers = [Printer(str(n), "desk", loaded="PLA") for n in range(3)]
    runs = [run(f"run {n}", f"bed {n}", str(n), 5 + 5 * n, 500 - 5 * n) for n in range(3)]
    last = visits_of(runs, batches, make_workshop(evenings_and_mornings(), *printers), MONDAY)[-1]
    assert last.minutes == 30
    assert last.tasks == ("clear bed 0 from 0", "clear bed 1 from 1", "clear bed 2 from 2")


def test_the_list_says_which_spool_comes_off_and_which_goes_on():
    """Another spool of the same filament, then another filament."""
    batches = {"bed 1": make_batch("bed 1", 60.0), "bed 2": make_batch("bed 2", 60.0)}
    batches["bed 3"] = make_batch("bed 3", 60.0, filament="TPU")
    runs = [
        run("run 1", "bed 1", "one", 5, 60, Draw("7", 50.0)),
        run("run 2", "bed 2", "one", 100, 60, Draw("8", 50.0)),
        run("run 3", "bed 3", "one", 220, 60, Draw("new TPU 1", 50.0), changed_from="PLA"),
    ]
    visits = visits_of(runs, batches, make_workshop(evenings_and_mornings(), ONE), MONDAY)
    assert [visit.tasks for visit in visits][:3] == [
        ("see that spool 7 is on one", "start bed 1 on one"),
        ("clear bed 1 from one", "take spool 7 off one", "put spool 8 on one", "start bed 2 on one"),
        (
            "clear bed 2 from one",
            "take spool 8 off one",
            "put new TPU 1 on one",
            "purge PLA until TPU comes",
            "start bed 3 on one",
        ),
    ]
    assert [visit.minutes for visit in visits][:3] == [5, 15, 25]


def test_the_spool_that_is_on_a_printer_stays_on():
    """A new one, too; another one of the same filament takes its place."""
    batches = {"bed 1": make_batch("bed 1", 60.0)}
    shop = make_workshop(evenings_and_mornings(), replace(ONE, mounted="new PLA 1"))
    for spool, words in (
        ("new PLA 1", ()),
        ("8", ("take new PLA 1 off one", "put spool 8 on one")),
    ):
        runs = [run("run 1", "bed 1", "one", 15, 60, Draw(spool, 50.0))]
        assert visits_of(runs, batches, shop, MONDAY)[0].tasks == (*words, "start bed 1 on one")


def test_what_runs_is_left_alone_and_what_lies_there_is_cleared_first():
    """A run that goes on is cleared after its end; a bed of the plan before is cleared before the start."""
    batches = {"bed 4": make_batch("bed 4", 60.0), "bed 5": make_batch("bed 5", 60.0)}
    runs = [
        run("run 1", "bed 4", "one", -30, 60, Draw("7", 50.0), mark=RUNNING),
        run("run 2", "bed 5", "two", 15, 60, Draw("8", 50.0)),
    ]
    visits = visits_of(
        runs, batches, make_workshop(evenings_and_mornings(), ONE, TWO), MONDAY, {"two": "bed 3"}
    )
    told = [task for visit in visits for task in visit.tasks]
    assert told == [
        "clear bed 3 from two",
        "see that spool 8 is on two",
        "start bed 5 on two",
        "clear bed 4 from one",
        "clear bed 5 from two",
    ]


def test_a_change_of_spool_in_the_night_is_found():
    """The independent check asks for somebody at a change in mid-run, and for a visit then."""
    shelf = (Spool("7", "PLA", 300.0), Spool("8", "PLA", 300.0))
    workshop = make_workshop(evenings_and_mornings(), ONE, spools=shelf)
    batch = make_batch("bed 1", 900.0, mass_g=100.0)
    sound = schedule_of([run("run 1", "bed 1", "one", 5, 900)], [batch], workshop, MONDAY, None)
    schedule, uses = spooled(sound, [batch], workshop, MONDAY)
    assert verify_schedule(schedule, uses, [batch], workshop, MONDAY) == ()
    night = replace(schedule.runs[0], draws=(Draw("7", 60.0), Draw("8", 40.0)))
    found = verify_schedule(replace(schedule, runs=(night,)), uses, [batch], workshop, MONDAY)
    assert any("change of spool in run 1 is handled while nobody is there" in fault for fault in found)
    assert any("change of spool in run 1 is handled outside of every visit" in fault for fault in found)


def evening(*windows):
    return Attendance(weekly=tuple(WeeklyWindow(ALL_DAYS, time(*a), time(*b)) for a, b in windows))


def test_a_bed_that_ends_shortly_before_the_window_does_is_cleared_the_next_day():
    """Cold at 22:55 of a window until 23:00: ten minutes do not fit, so it waits for the morning."""
    workshop = make_workshop(evenings_and_mornings(), ONE)
    batch = make_batch("bed 1", 285.0, mass_g=100.0)
    schedule = schedule_of([run("run 1", "bed 1", "one", 5, 285)], [batch], workshop, MONDAY, None)
    assert [f"{visit.at:%d %H:%M}" for visit in schedule.visits] == ["05 18:00", "06 06:00"]
    late = replace(schedule.visits[1], at=MONDAY + timedelta(hours=4, minutes=55))
    schedule, uses = spooled(schedule, [batch], workshop, MONDAY)
    assert verify_schedule(schedule, uses, [batch], workshop, MONDAY) == ()
    bent = replace(schedule, visits=(schedule.visits[0], late))
    found = verify_schedule(bent, uses, [batch], workshop, MONDAY)
    assert found == (
        "the visit at 2026-01-05 22:55 lasts beyond the hours in which somebody is there.",
        "bed 1 is cleared from one before it has cooled.",
    )


def test_work_in_two_windows_is_two_visits():
    """Somebody leaves at 19:00 and is back at 19:10: nothing is joined over the time between."""
    there = evening(((18, 0), (19, 0)), ((19, 10), (20, 0)))
    workshop = make_workshop(there, ONE, TWO)
    batches = [make_batch(f"bed {n}", 900.0, mass_g=100.0) for n in (1, 2)]
    runs = [run("run 1", "bed 1", "one", 60, 900), run("run 2", "bed 2", "two", 75, 900)]
    schedule, uses = spooled(schedule_of(runs, batches, workshop, MONDAY, None), batches, workshop, MONDAY)
    assert [(f"{v.at:%H:%M}", v.minutes) for v in schedule.visits][:2] == [("18:55", 5), ("19:10", 5)]
    assert verify_schedule(schedule, uses, batches, workshop, MONDAY) == ()


def test_a_bed_that_nobody_can_ever_clear_is_told():
    """The only hours are those of one evening: the bed is started, never cleared, and a finding says so."""
    hours = Attendance(dates=(DateWindow(MONDAY.date(), time(18), time(19)),))
    workshop = make_workshop(hours, ONE)
    batch = make_batch("bed 1", 900.0, mass_g=100.0)
    schedule = schedule_of([run("run 1", "bed 1", "one", 5, 900)], [batch], workshop, MONDAY, None)
    assert len(schedule.visits) == 1
    (found,) = never_cleared(schedule, 10)
    assert found.about == "bed 1"
    assert "nobody is there for 10 min on end" in found.text


def test_a_visit_that_is_too_short_is_found():
    """Two minutes for clearing and starting are not enough."""
    workshop = make_workshop(evenings_and_mornings(), ONE)
    batch = make_batch("bed 1", 900.0, mass_g=100.0)
    sound = schedule_of([run("run 1", "bed 1", "one", 5, 900)], [batch], workshop, MONDAY, None)
    schedule, uses = spooled(sound, [batch], workshop, MONDAY)
    short = tuple(replace(visit, minutes=2) for visit in schedule.visits)
    found = verify_schedule(replace(schedule, visits=short), uses, [batch], workshop, MONDAY)
    assert any("outside of every visit" in fault for fault in found)
    assert any("shorter than its work" in fault for fault in found)
