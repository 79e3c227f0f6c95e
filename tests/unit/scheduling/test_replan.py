"""Going on from an earlier plan: fewest moves, the tolerance kept, everything still attended."""

from dataclasses import replace
from datetime import timedelta
from itertools import permutations, product

import numpy as np
import pytest

from planner.model.effort import NORMAL, QUICK
from planner.model.printer import Printer
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.handling_windows import Desk, persons_there
from planner.scheduling.problem.placing import place
from planner.scheduling.problem.problem import compile_tables
from planner.scheduling.repair.replan import neighbourhoods, replan, stuck
from tests.unit.scheduling.workshops import (
    MONDAY,
    evenings_and_mornings,
    make_batch,
    make_workshop,
    random_case,
)

DAYS = 28


def tables_for(batches, workshop):
    spans = windows(workshop.attendance, MONDAY, DAYS)
    return compile_tables(batches, workshop, spans, DAYS * 1440, {}, {})


def sound(tables, answer):
    """Judged anew, run by run: printers, handling, windows, persons."""
    timing = answer.timing
    busy = np.zeros(DAYS * 1440 + 1, dtype=int)
    for printer in range(len(tables.release)):
        ready, loaded, first = int(tables.release[printer]), int(tables.loaded[printer]), True
        for batch in timing.order(printer):
            length = int(tables.duration[batch, printer])
            assert length > 0
            start = int(timing.end[batch]) - length
            handling = tables.start + (0 if first and not tables.covered[printer] else tables.clear)
            handling += tables.change if tables.material[batch] != loaded else 0
            assert start - handling >= ready
            watched = length if tables.attended[batch] else min(int(tables.watch[batch]), length)
            assert any(
                a <= start - handling and start + watched <= b
                for a, b in zip(tables.opens, tables.closes, strict=False)
            )
            busy[start - handling : start] += 1
            ready = int(timing.end[batch] + tables.cool[printer])
            loaded, first = int(tables.material[batch]), False
    assert busy.max() <= tables.persons


def kept_by(tables, was, answer):
    starts = answer.timing.end - tables.duration[np.arange(len(was)), answer.timing.printer_of]
    return tuple(
        old == (int(p), int(s)) for old, p, s in zip(was, answer.timing.printer_of, starts, strict=False)
    )


def earlier(tables, steps=300):
    """A plan of everything, as printer and start by batch."""
    answer = replan(tables, [None] * len(tables.material), tolerance=0, effort=QUICK, steps=steps)
    starts = answer.timing.end - tables.duration[np.arange(len(answer.timing.end)), answer.timing.printer_of]
    return [(int(p), int(s)) for p, s in zip(answer.timing.printer_of, starts, strict=False)]


@pytest.mark.parametrize("seed", range(12))
def test_random_workshops_stay_sound(seed):
    """One more batch on a random workshop: every rule holds, and what is said to stay does stay."""
    batches, workshop = random_case(seed)
    tables = tables_for(batches, workshop)
    was = earlier(tables)
    tables = tables_for([*batches, replace(batches[0], name="again")], workshop)
    answer = replan(tables, [*was, None], tolerance=240, effort=QUICK, steps=300)
    sound(tables, answer)
    assert answer.kept == kept_by(tables, [*was, None], answer)
    assert answer.timing.finish <= answer.best + 240


def test_nothing_new_moves_nothing():
    """An unchanged plan within its tolerance stays as it is, and that is proved."""
    batches = [make_batch(f"bed {n}", 200.0 + 90.0 * n) for n in range(6)]
    tables = tables_for(
        batches, make_workshop(evenings_and_mornings(), Printer("one", "desk"), Printer("two", "desk"))
    )
    was = earlier(tables)
    answer = replan(tables, was, tolerance=6000, effort=QUICK, steps=300)
    assert answer.kept == (True,) * 6
    assert answer.proved


def test_the_same_question_gets_the_same_answer():
    """Replanning is repeatable."""
    batches, workshop = random_case(5)
    tables = tables_for(batches, workshop)
    was = [None, *earlier(tables)[1:]]
    one, two = (replan(tables, was, tolerance=60, effort=QUICK, steps=300) for _ in range(2))
    assert one.kept == two.kept
    assert (one.timing.end == two.timing.end).all()
    assert (one.timing.printer_of == two.timing.printer_of).all()


def brute_force(tables, was, cap):
    """Fewest moves over all orders on all printers; every batch as early as can be, or where it was."""
    desk = Desk(tables, persons_there(tables))
    fewest = len(was) + 1
    count, printers = len(was), len(tables.release)
    for order in permutations(range(count)):
        for choice in product(range(printers), repeat=count):
            lines = tuple(tuple(b for b in order if choice[b] == p) for p in range(printers))
            found = place(desk, lines, was)
            if found is not None and found.finish <= cap:
                fewest = min(fewest, found.moved)
    return fewest


@pytest.mark.parametrize("seed", range(4))
def test_fewest_moves_against_all_orders(seed):
    """Four batches and a new one on two printers: no order of all moves fewer than the model says."""
    rng = np.random.default_rng(seed)
    batches = [
        make_batch(f"bed {n}", float(rng.integers(60, 700)), filament=["PLA", "foaming PLA"][n % 2])
        for n in range(4)
    ]
    workshop = make_workshop(
        evenings_and_mornings(), Printer("one", "desk", loaded="PLA"), Printer("two", "desk")
    )
    tables = tables_for(batches, workshop)
    was = [*earlier(tables), None]
    tables = tables_for([*batches, make_batch("again", 300.0)], workshop)
    answer = replan(tables, was, tolerance=120, effort=NORMAL, steps=2000)
    sound(tables, answer)
    assert answer.proved
    assert answer.kept.count(False) <= brute_force(tables, was, answer.best + 120)


def test_persons_with_hours_of_their_own_are_counted():
    """Of two persons only one is there: at no minute more handlings than persons."""
    workshop = make_workshop(evenings_and_mornings(2), *(Printer(str(n), "desk") for n in range(6)))
    tables = tables_for([make_batch(f"bed {n}", 500.0) for n in range(6)], workshop)
    there = [(a, b, 1) for a, b in windows(workshop.attendance, MONDAY, DAYS)]
    answer = replan(tables, [None] * 6, tolerance=0, effort=QUICK, steps=300, there=there)
    sound(tables._replace(persons=1), answer)
    assert timedelta(minutes=int(answer.timing.finish)) >= timedelta(minutes=500 + 6 * 15)


def begun_too_soon():
    """A desk and an earlier plan of five batches, the first of which would have to be handled before now."""
    printers = Printer("one", "desk", loaded="PLA"), Printer("two", "desk", loaded="PLA")
    workshop = make_workshop(evenings_and_mornings(), *printers)
    tables = tables_for([make_batch(f"bed {n}", 200.0) for n in range(5)], workshop)
    desk = Desk(tables, persons_there(tables))
    made = place(desk, ((0, 2, 4), (1, 3)), [None] * 5)
    was = [(int(b % 2), made.start[b]) for b in range(5)]
    return desk, [(0, was[0][1] - 1), *was[1:]]


def test_a_batch_whose_handling_would_have_begun_cannot_stay():
    """A minute makes it too soon, whatever runs before it; and nobody starts a run when nobody is there."""
    desk, was = begun_too_soon()
    assert stuck(desk, was) == {0}
    assert stuck(desk, [(0, was[0][1] + 1), *was[1:]]) == set()
    assert stuck(desk, [(0, was[0][1] + 1), (1, int(desk.tables.closes[0]) + 1), *was[2:]]) == {1}


def test_what_cannot_stay_may_move_in_every_exact_model():
    """Else none of them has an answer, and all that the search of the whole moved stays moved."""
    desk, was = begun_too_soon()
    known = place(desk, ((4, 2, 0), (3, 1)), was)
    looked = list(neighbourhoods(was, known, stuck(desk, was)))
    assert looked
    assert all(0 in loose for loose in looked)


def test_no_fewer_than_those_that_cannot_stay_is_a_proof():
    """With a day of tolerance one of five moves, and that is known to be the least."""
    desk, was = begun_too_soon()
    answer = replan(desk.tables, was, tolerance=1440, effort=NORMAL, steps=300)
    sound(desk.tables, answer)
    assert answer.proved
    assert answer.kept == (False, True, True, True, True)
