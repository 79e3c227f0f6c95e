"""Plans that go on: the local repair, the exact model of moves, hands that are taken, and the shelf."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.model.attendance import Attendance
from planner.model.effort import QUICK
from planner.model.filament import Spool
from planner.model.printer import Printer
from planner.model.schedule import Draw, Run
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.handling_windows import Desk, persons_there
from planner.scheduling.problem.placing import Placing, Was, place
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.repair.replan_model import MoveModel
from planner.scheduling.repair.replan_plan import (
    Underway,
    replan_batches,
    tables_now,
    taken_hands,
    without,
)
from planner.scheduling.repair.replan_repair import Repair
from planner.scheduling.repair.replan_shelf import shelf_behind, with_shelf
from planner.scheduling.spools.shelf_search import bought_of
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

DAYS = 28
ONE, TWO = Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA")
MINUTE = timedelta(minutes=1)


def desk_of(*minutes: float, printers: tuple[Printer, ...] = (ONE, TWO)) -> tuple[Tables, Desk]:
    workshop = make_workshop(evenings_and_mornings(), *printers)
    batches = [make_batch(f"bed {n}", m) for n, m in enumerate(minutes)]
    tables = compile_tables(
        batches, workshop, windows(workshop.attendance, MONDAY, DAYS), DAYS * 1440, {}, {}
    )
    return tables, Desk(tables, persons_there(tables))


def fewest(desk: Desk, was: Was, cap: int) -> int:
    """Fewest moves over all ways to deal the batches to two printers."""
    count, best = len(was), 99
    for order in permutations(range(count)):
        for cut in range(count + 1):
            found = place(desk, (tuple(order[:cut]), tuple(order[cut:])), was)
            if found is not None and found.finish <= cap:
                best = min(best, found.moved)
    return best


def was_of(made: Placing) -> list[tuple[int, int] | None]:
    """Where everything lies in a placing."""
    where = {b: p for p, line in enumerate(made.lines) for b in line}
    return [(where[b], made.start[b]) for b in range(len(made.start))]


@pytest.mark.parametrize("slack", [60, 400])
def test_the_repair_moves_what_it_must(slack: int) -> None:
    """Three batches that had a place and a new one: all rules hold, as few moved as that finish allows."""
    _, desk = desk_of(200.0, 150.0, 300.0, 120.0)
    first = place(desk, ((0, 1), (2, 3)), [None] * 4)
    assert first is not None
    was = [*was_of(first)[:3], None]
    free = Repair(desk, [None] * 4, 0, 400).run()
    assert free is not None
    cap = free.finish + slack
    found = Repair(desk, was, cap, 400).run()
    assert found is not None
    assert sorted(b for line in found.lines for b in line) == [0, 1, 2, 3]
    assert found.finish <= cap
    assert found.moved == fewest(desk, was, cap)
    for batch, kept in enumerate(found.kept):
        line = next(p for p, own in enumerate(found.lines) if batch in own)
        assert kept == (was[batch] == (line, found.start[batch]))


def test_the_score_puts_the_cap_first() -> None:
    """Ticks beyond the cap, then moves, then the finish, then late starts of what moved."""
    _, desk = desk_of(200.0, 150.0)
    repair = Repair(desk, [None, None], 300, 10)
    made = place(desk, ((0, 1), ()), [None, None])
    assert made is not None
    late = sum(made.start)
    assert repair.score(made) == (made.finish - 300, 2, made.finish, late)
    assert Repair(desk, [None, None], 10**6, 10).score(made)[0] == 0


def test_without_effort_the_first_place_is_taken() -> None:
    """Nothing is tried again once the effort is spent; every batch still has its place."""
    _, desk = desk_of(200.0, 150.0, 100.0)
    found = Repair(desk, [None] * 3, 0, 0).run()
    assert found is not None
    assert sorted(b for line in found.lines for b in line) == [0, 1, 2]


@pytest.mark.parametrize("slack", [90])
def test_the_model_is_as_good_as_all_ways(slack: int) -> None:
    """Fewest moves by the solver are those of the brute force; fewer than that are proved not to be."""
    _, desk = desk_of(200.0, 150.0, 300.0)
    was: list[tuple[int, int] | None] = [(0, 5), (0, 400), None]
    best = Repair(desk, [None] * 3, 0, 400).run()
    assert best is not None
    cap = best.finish + slack
    least = fewest(desk, was, cap)
    found, proved, work = MoveModel(desk, was, cap, range(3)).solve(5.0, 4)
    assert found is not None
    assert proved
    assert found.moved == least
    assert found.finish <= cap
    assert work > 0.0
    again = place(desk, found.lines, was)
    assert again is not None
    none, proved, _ = MoveModel(desk, was, cap, range(3)).solve(5.0, least)
    assert (none, proved) == (None, True)


def test_what_is_not_loose_stays() -> None:
    """With only the new batch loose the others keep printer and start, and a cap too early has no answer."""
    _, desk = desk_of(200.0, 150.0, 100.0)
    was: list[tuple[int, int] | None] = [(0, 5), (1, 10), None]
    found, _, _ = MoveModel(desk, was, 2000, [2]).solve(5.0, 4)
    assert found is not None
    assert found.kept == (True, True, False)
    assert found.start[:2] == (5, 10)
    assert MoveModel(desk, was, 150, [2]).solve(5.0, 4)[:2] == (None, True)


def running(bed: str, printer: str, *draws: Draw, since: float = -60.0, minutes: float = 120.0) -> Run:
    begin = MONDAY + since * MINUTE
    return Run(
        f"run of {bed}",
        bed,
        printer,
        begin,
        begin + minutes * MINUTE,
        attended_start=True,
        draws=draws,
        purge_g=0.0,
    )


def test_hands_that_are_taken() -> None:
    """The spool of a run is changed after two of its five parts; somebody is at a printer until 18:06:30."""
    run = running("bed 0", "one", Draw("A", 40.0), Draw("B", 60.0), since=0.0, minutes=100.0)
    workshop = make_workshop(evenings_and_mornings(), ONE, TWO)
    underway = Underway((run,), busy_until={"two": MONDAY + 6.5 * MINUTE})
    assert taken_hands(underway, workshop, MONDAY) == [(40, 50), (0, 7)]
    over = running("bed 0", "one", Draw("A", 40.0), Draw("B", 60.0), since=-60.0, minutes=100.0)
    assert taken_hands(Underway((over,)), workshop, MONDAY) == []
    assert taken_hands(Underway(), workshop, MONDAY) == []


def test_segments_without_what_is_taken() -> None:
    """One person less from 10 to 20 of a segment of two, and nobody in one of one."""
    assert without([(0, 30, 2)], [(10, 20)]) == [(0, 10, 2), (10, 20, 1), (20, 30, 2)]
    alone = without([(0, 30, 1)], [(10, 20)])
    assert [(a, b) for a, b, persons in alone if persons > 0] == [(0, 10), (20, 30)]
    assert without([(0, 30, 1)], []) == [(0, 30, 1)]
    assert without([(0, 30, 1)], [(40, 50)]) == [(0, 30, 1)]


def test_printers_behind_what_goes_on() -> None:
    """Free when the run is over and cold, or whoever is there is ready; what lies there is cleared first."""
    cold = (replace(ONE, cool_down_minutes=14.5), TWO, replace(TWO, name="three"))
    workshop = make_workshop(evenings_and_mornings(), *cold)
    underway = Underway(
        (running("bed 0", "one"),),
        (make_batch("bed 0", 120.0),),
        {"three": "bed 9"},
        {"two": MONDAY + 3 * MINUTE},
    )
    spans = windows(workshop.attendance, MONDAY, DAYS)
    tables = tables_now([make_batch("bed 1", 60.0)], underway, workshop, MONDAY, spans, DAYS)
    assert tables.release.tolist() == [75, 3, 0]
    assert tables.covered.tolist() == [1, 0, 1]


def test_a_plan_goes_on_behind_a_run() -> None:
    """What had a place keeps it; the new bed comes behind; the run that goes on stays the first."""
    workshop = make_workshop(evenings_and_mornings(), ONE, TWO)
    going = running("bed 0", "one", Draw("A", 10.0))
    batches = [make_batch("bed 1", 100.0), make_batch("bed 2", 90.0)]
    underway = Underway((going,), (make_batch("bed 0", 120.0),))
    made, answer = replan_batches(
        batches,
        {"bed 1": ("two", MONDAY + 5 * MINUTE)},
        underway,
        workshop,
        MONDAY,
        tolerance_h=5.0,
        effort=QUICK,
        seed=1,
    )
    assert answer.kept == (True, False)
    runs = {run.batch: run for run in made.runs}
    assert runs.keys() == {"bed 0", "bed 1", "bed 2"}
    assert (runs["bed 0"].start, runs["bed 0"].end) == (going.start, going.end)
    assert (runs["bed 1"].printer, runs["bed 1"].start) == ("two", MONDAY + 5 * MINUTE)
    assert [run.name for run in made.runs] == [f"run {n}" for n in range(1, 4)]
    same = [r for r in made.runs if r.printer == runs["bed 2"].printer and r is not runs["bed 2"]]
    assert all(r.end <= runs["bed 2"].start for r in same)


def test_no_room_at_all_is_refused() -> None:
    """A filament that wants somebody there for longer than any window."""
    short = replace(evenings_and_mornings(), weekly=evenings_and_mornings().weekly[:1])
    workshop = make_workshop(short, ONE)
    batches = [make_batch("bed 1", 500.0, filament="TPU")]
    with pytest.raises(Infeasible):
        replan_batches(batches, {}, Underway(), workshop, MONDAY, tolerance_h=5.0, effort=QUICK, seed=1)


def test_a_place_on_a_printer_that_is_gone_is_none() -> None:
    """A printer that broke, or a start before now: the bed is planned anew."""
    workshop = make_workshop(evenings_and_mornings(), ONE)
    batches = [make_batch("bed 1", 100.0), make_batch("bed 2", 90.0)]
    was = {"bed 1": ("two", MONDAY + 5 * MINUTE), "bed 2": ("one", MONDAY - 5 * MINUTE)}
    made, answer = replan_batches(
        batches, was, Underway(), workshop, MONDAY, tolerance_h=99.0, effort=QUICK, seed=1
    )
    assert answer.kept == (False, False)
    assert {run.printer for run in made.runs} == {"one"}


def test_the_shelf_behind_what_goes_on() -> None:
    """Each spool less what runs draw from it, never below nothing; the others stay."""
    spools = (Spool("A", "PLA", 100.0), Spool("B", "PLA", 30.0), Spool("C", "PLA", 70.0))
    workshop = make_workshop(evenings_and_mornings(), ONE, spools=spools)
    run = running("bed 0", "one", Draw("A", 40.0), Draw("B", 60.0))
    left = {spool.name: spool.grams_left for spool in shelf_behind(workshop, (run,)).spools}
    assert left == {"A": pytest.approx(60.0), "B": 0.0, "C": 70.0}


def test_order_and_spools_together() -> None:
    """Two beds of 60 g and one spool of 130 g: one after the other, none is bought; nobody works unseen."""
    workshop = make_workshop(evenings_and_mornings(), ONE, TWO, spools=(Spool("A", "PLA", 130.0),))
    batches = [make_batch(f"bed {n}", 100.0, mass_g=60.0) for n in (1, 2)]
    first, _ = replan_batches(
        batches, {}, Underway(), workshop, MONDAY, tolerance_h=0.0, effort=QUICK, seed=1
    )
    found = with_shelf(batches, Underway(), workshop, first, MONDAY, {}, effort=QUICK, seed=1)
    assert found
    best = found[0]
    one, other = sorted(best.runs, key=lambda run: run.start)
    assert other.start >= one.end
    assert bought_of(best, batches, workshop).total() == 0
    two = with_shelf(batches, Underway(), workshop, first, MONDAY, {"PLA": 1}, effort=QUICK, seed=1)
    assert two[0].makespan_h < best.makespan_h
    assert [s.makespan_h for s in found] == sorted(s.makespan_h for s in found)


def test_nothing_on_the_shelf_has_no_answer() -> None:
    """No spool, none bought."""
    workshop = make_workshop(Attendance(zone="UTC"), ONE, TWO)
    batches = [make_batch("bed 1", 100.0)]
    first, _ = replan_batches(
        batches, {}, Underway(), workshop, MONDAY, tolerance_h=0.0, effort=QUICK, seed=1
    )
    assert with_shelf(batches, Underway(), workshop, first, MONDAY, {}, effort=QUICK, seed=1) == ()
    assert np.isfinite(first.makespan_h)
