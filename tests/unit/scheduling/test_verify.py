"""The independent check finds what is planted."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.effort import QUICK
from planner.model.filament import Spool
from planner.model.printer import Printer
from planner.model.schedule import Draw
from planner.scheduling.plan import schedule_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

BATCHES = [
    make_batch("bed 1", 300.0),
    make_batch("bed 2", 200.0, filament="foaming PLA"),
    make_batch("bed 3", 100.0, filament="TPU"),
]
WORKSHOP = make_workshop(
    evenings_and_mornings(),
    Printer("one", "desk", loaded="PLA"),
    Printer("two", "desk"),
    spools=(Spool("7", "PLA", 400.0),),
)


@pytest.fixture(scope="module")
def sound():
    schedule = schedule_batches(BATCHES, WORKSHOP, MONDAY, section_of={}, effort=QUICK, seed=1, steps=500)
    return spooled(schedule, BATCHES, WORKSHOP, MONDAY)


def check(schedule, uses, workshop=WORKSHOP):
    return " ".join(verify_schedule(schedule, uses, BATCHES, workshop, MONDAY))


def with_run(schedule, index, **changes):
    runs = list(schedule.runs)
    runs[index] = replace(runs[index], **changes)
    return replace(schedule, runs=tuple(runs), finish=max(run.end for run in runs))


def moved(schedule, index, minutes):
    run = schedule.runs[index]
    shift = timedelta(minutes=minutes)
    return with_run(schedule, index, start=run.start + shift, end=run.end + shift)


def test_a_sound_schedule_has_no_faults(sound):
    """What the planner makes passes."""
    assert check(*sound) == ""


def test_a_lost_batch_is_found(sound):
    """Every batch runs exactly once."""
    schedule, uses = sound
    assert "does not run exactly once" in check(replace(schedule, runs=schedule.runs[1:]), uses)


def test_a_start_in_the_night_is_found(sound):
    """Seven hours later nobody is there."""
    schedule, uses = sound
    assert "nobody is there" in check(moved(schedule, 0, 420), uses)


def test_an_unattended_run_that_must_be_attended_is_found(sound):
    """TPU moved so that its handling is in the window and its end is not."""
    schedule, uses = sound
    index = next(n for n, run in enumerate(schedule.runs) if run.batch == "bed 3")
    late = MONDAY + timedelta(minutes=290) - schedule.runs[index].start
    assert "unattended" in check(moved(schedule, index, late.total_seconds() / 60), uses)


def test_two_runs_at_once_are_found(sound):
    """All runs on one printer overlap, or ask one person for two things."""
    schedule, uses = sound
    runs = tuple(replace(run, printer="one", start=schedule.runs[0].start) for run in schedule.runs)
    assert "overlaps" in check(replace(schedule, runs=runs), uses)


def test_a_busy_person_is_found(sound):
    """The second start of the evening moved onto the first."""
    schedule, uses = sound
    shift = (schedule.runs[0].start - schedule.runs[1].start).total_seconds() / 60
    assert "busy" in check(moved(schedule, 1, shift), uses)


def test_a_wrong_printer_is_found(sound):
    """A filament that the printer does not list."""
    schedule, uses = sound
    printers = tuple(replace(p, filaments=("TPU",)) for p in WORKSHOP.printers)
    assert "may not run PLA" in check(schedule, uses, replace(WORKSHOP, printers=printers))


def test_grams_that_do_not_add_up_are_found(sound):
    """One gram less drawn than the batch weighs."""
    schedule, uses = sound
    draw = schedule.runs[0].draws[0]
    assert "grams" in check(with_run(schedule, 0, draws=(Draw(draw.spool, draw.grams - 1.0),)), uses)


def test_a_spool_below_zero_is_found(sound):
    """A spool that had less than was drawn."""
    schedule, uses = sound
    poor = tuple(replace(use, grams_before=10.0, grams_left=10.0 - use.grams_used) for use in uses)
    assert "below zero" in check(schedule, poor)


def test_a_start_without_anybody_is_found_unless_the_filament_allows_it(sound):
    """``unattended_start`` is asked of the filament."""
    schedule, uses = sound
    alone = with_run(schedule, 0, attended_start=False)
    name = next(b.filament for b in BATCHES if b.name == schedule.runs[0].batch)
    assert f"starts {name} unattended" in check(alone, uses)
    able = tuple(replace(f, unattended_start=True) for f in WORKSHOP.filaments)
    assert "unattended" not in check(alone, uses, replace(WORKSHOP, filaments=able))


def test_first_layers_that_nobody_watches_are_found(sound):
    """Ten minutes of watching, and the window closes five minutes after the start."""
    schedule, uses = sound
    index = next(n for n, run in enumerate(schedule.runs) if run.batch == "bed 2")
    late = MONDAY + timedelta(minutes=295) - schedule.runs[index].start
    assert "to watch its first layers" in check(moved(schedule, index, late.total_seconds() / 60), uses)
