"""Nothing is planned across what is away: printers, filaments, spools; open ends; plans that go on."""
# ruff: noqa: DTZ001 - moments without an offset are on the clock of the workshop

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.errors import Infeasible
from planner.model.attendance import DateWindow, WeeklyWindow
from planner.model.away import Away
from planner.model.effort import QUICK
from planner.model.filament import Spool
from planner.model.printer import Printer
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.away_spans import minutes_away, nothing_left, shut_rows
from planner.scheduling.repair.replan_plan import Underway, replan_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.kits.mixed_shop import mixed_shop
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

REFUSED = {9}  # what they need is away until told
TUESDAY, WEDNESDAY = date(2026, 1, 6), date(2026, 1, 7)


def planned(batches, shop, steps: int = 300):
    """Schedule and spools, looked at by the check."""
    made = schedule_batches(batches, shop, MONDAY, section_of={}, effort=QUICK, seed=1, steps=steps)
    schedule, uses = spooled(made, batches, shop, MONDAY)
    assert verify_schedule(schedule, uses, batches, shop, MONDAY) == ()
    return schedule, uses


def test_minutes_are_rounded_outward_and_what_is_over_counts_no_more() -> None:
    """A span from the day before, one of half minutes, one without an end."""
    shop = make_workshop(evenings_and_mornings())
    odd = Away(datetime(2026, 1, 5, 18, 1, 30), datetime(2026, 1, 5, 18, 2, 30))
    spans = minutes_away((Away(date(2026, 1, 4), date(2026, 1, 4)), odd, Away(WEDNESDAY)), shop, MONDAY, 9999)
    assert spans == [(1, 3), (30 * 60, 9999)]
    printer = Printer("one", "desk", cool_down_minutes=12.0, away=(Away(TUESDAY, TUESDAY),))
    rows = shut_rows(replace(shop, printers=(printer,)), MONDAY, 9999)
    assert rows.tolist() == [[0, -1, 6 * 60 - 12, 30 * 60]]


def test_a_bed_that_would_cross_is_printed_after() -> None:
    """300 min from 18:05 are cold before midnight; 400 are not, and wait for Wednesday."""
    for minutes, day in ((300.0, 5), (400.0, 7)):
        printer = Printer("one", "desk", loaded="PLA", away=(Away(TUESDAY, TUESDAY, "repair"),))
        schedule, _ = planned([make_batch("bed 1", minutes)], make_workshop(evenings_and_mornings(), printer))
        assert schedule.runs[0].start.day == day


def test_the_other_printer_takes_what_cannot_wait() -> None:
    """Without the absence both print; with it the plan is another."""
    batches = [make_batch(f"bed {n}", 600.0) for n in range(4)]
    one, two = Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA")
    free, _ = planned(batches, make_workshop(evenings_and_mornings(), one, two))
    gone = replace(one, away=(Away(date(2026, 1, 5)),))
    shop = make_workshop(evenings_and_mornings(), gone, two)
    made, _ = planned(batches, shop)
    assert {run.printer for run in free.runs} == {"one", "two"}
    assert {run.printer for run in made.runs} == {"two"}
    assert made.finish > free.finish


def test_a_filament_on_a_damp_day() -> None:
    """Foam waits, the rest does not."""
    shop = make_workshop(evenings_and_mornings())
    foam = replace(shop.filament("foaming PLA"), away=(Away(date(2026, 1, 5), TUESDAY),))
    shop = replace(shop, filaments=(shop.filaments[0], foam, shop.filaments[2]))
    batches = [make_batch("bed 1", 100.0, filament="foaming PLA"), make_batch("bed 2", 90.0)]
    schedule, _ = planned(batches, shop)
    assert [(run.batch, run.start.day) for run in schedule.runs] == [("bed 2", 5), ("bed 1", 7)]


def test_a_spool_that_is_away_is_not_drawn_from() -> None:
    """The smaller spool would do; while it is lent out the other one serves, and else one is bought."""
    small, large = Spool("small", "PLA", 60.0), Spool("large", "PLA", 400.0)
    batches = [make_batch("bed 1", 100.0)]
    lent = replace(small, away=(Away(date(2026, 1, 5), TUESDAY),))
    for spools, served in (((small, large), "small"), ((lent, large), "large"), ((lent,), "new PLA 1")):
        schedule, _ = planned(batches, make_workshop(evenings_and_mornings(), spools=spools))
        assert [draw.spool for draw in schedule.runs[0].draws] == [served]


def test_the_last_bed_is_cleared_when_the_printer_is_back() -> None:
    """It ends at 19:45, is cold at 19:55, and the printer is away from 20:00 until Wednesday 18:30."""
    gone = Away(datetime(2026, 1, 5, 20), datetime(2026, 1, 7, 18, 30))
    printer = Printer("one", "desk", loaded="PLA", away=(gone,))
    schedule, _ = planned([make_batch("bed 1", 100.0)], make_workshop(evenings_and_mornings(), printer))
    assert schedule.visits[-1].at == datetime(2026, 1, 7, 18, 30, tzinfo=UTC)


def test_all_away_until_told_is_no_plan() -> None:
    """Said of printers and of filaments, at once."""
    shop = make_workshop(evenings_and_mornings(), Printer("one", "desk", loaded="PLA", away=(Away(TUESDAY),)))
    long = [make_batch(f"bed {n}", 200.0) for n in range(9)]
    with pytest.raises(Infeasible, match=r"every printer for 'PLA' is away until told \(one from 2026-01-06"):
        planned(long, shop)
    assert planned(long[:1], shop)[0].runs[0].start.day == 5
    foam = replace(shop.filament("foaming PLA"), away=(Away(TUESDAY),))
    damp = replace(make_workshop(evenings_and_mornings()), filaments=(shop.filaments[0], foam))
    found = nothing_left([make_batch("bed 1", 5.0, filament="foaming PLA")], damp, MONDAY, 10**6)
    assert str(found).startswith("away: the filament is away until told (foaming PLA from 2026-01-06")
    assert nothing_left(long, make_workshop(evenings_and_mornings()), MONDAY, 10**6) is None


def test_a_plan_that_goes_on_moves_only_what_it_must() -> None:
    """Of four beds the one that would run into the repair moves; the exact model knows the spans, too."""
    printers = [Printer(name, "desk", loaded="PLA") for name in ("one", "two")]
    batches = [make_batch(f"bed {n}", 500.0) for n in range(4)]
    shop = make_workshop(evenings_and_mornings(), *printers)
    first, _ = planned(batches, shop)
    was = {run.batch: (run.printer, run.start) for run in first.runs}
    last = max((run for run in first.runs if run.printer == "one"), key=lambda run: run.start)
    gone = Away(last.start + timedelta(minutes=30), last.start + timedelta(days=2))
    shop = make_workshop(evenings_and_mornings(), replace(printers[0], away=(gone,)), printers[1])
    made, answer = replan_batches(
        batches, was, Underway(), shop, MONDAY, tolerance_h=72.0, effort=QUICK, seed=1
    )
    schedule, uses = spooled(made, batches, shop, MONDAY)
    assert verify_schedule(schedule, uses, batches, shop, MONDAY) == ()
    moved = {run.batch for run in made.runs if was[run.batch] != (run.printer, run.start)}
    assert moved == {last.batch}
    assert answer.kept.count(False) == 1


def test_named_persons_and_absent_printers() -> None:
    """Where persons have hours of their own, runs are timed once more, and still not while it is away."""
    hours = evenings_and_mornings()
    weekly = tuple(WeeklyWindow(w.days, w.since, w.until, "Ada") for w in hours.weekly)
    shop = make_workshop(
        replace(hours, weekly=weekly, dates=(DateWindow(TUESDAY, weekly[0].since, weekly[0].until, "Ben"),)),
        Printer("one", "desk", loaded="PLA", away=(Away(TUESDAY, TUESDAY),)),
        Printer("two", "desk", loaded="PLA"),
    )
    schedule, _ = planned([make_batch(f"bed {n}", 400.0) for n in range(4)], shop)
    assert all(run.start.day != 6 for run in schedule.runs if run.printer == "one")


@pytest.mark.parametrize("seed", range(10))
def test_random_workshops_with_absences(seed: int) -> None:
    """Sound, or refused in a sentence that says what is away."""
    shop = mixed_shop(seed)
    with pytest.raises(Infeasible, match="away until told") if seed in REFUSED else nullcontext():
        planned(shop.batches, shop.workshop, steps=200)
