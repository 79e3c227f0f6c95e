"""Lower bounds against every order of every assignment on tiny workshops, and by hand."""

import itertools

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.model.printer import Printer
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.bounds.calendar_bound import calendar_bound
from planner.scheduling.bounds.exact_model import exact_finish
from planner.scheduling.bounds.slot_bound import slot_bound
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.problem import compile_tables
from tests.unit.scheduling.large_shops import faults_of
from tests.unit.scheduling.workshops import (
    MONDAY,
    evenings_and_mornings,
    make_batch,
    make_workshop,
    random_case,
)

DAYS = 28
TINY = 4  # batches, so that all orders can be tried


def tables_of(batches, workshop):
    spans = windows(workshop.attendance, MONDAY, DAYS)
    return compile_tables(batches, workshop, spans, DAYS * 24 * 60, {}, {})


def first_time(workshop, spans, ready, handling, watch, busy):
    """First minute from which one person is free for the handling, and somebody there to watch."""
    for since, until in spans:
        for at in range(max(since, ready), until - handling - watch + 1):
            taken = sum(begin < at + handling and at < end for begin, end in busy)
            if taken < workshop.attendance.persons:
                return at
    return None


def finish_of(lines, batches, workshop, spans):
    """Finish of ordered lists, minute by minute; the printer that is ready first is handled first."""
    ready = [0.0] * len(lines)
    loaded = [printer.loaded for printer in workshop.printers]
    busy, at, last = [], [0] * len(lines), 0
    while any(n < len(line) for n, line in zip(at, lines, strict=True)):
        p = min((p for p in range(len(lines)) if at[p] < len(lines[p])), key=lambda p: ready[p])
        batch, printer = batches[lines[p][at[p]]], workshop.printers[p]
        filament = workshop.filament(batch.filament)
        handling = workshop.start_minutes + (workshop.clear_minutes if at[p] else 0)
        handling += workshop.change_minutes if loaded[p] != batch.filament else 0
        minutes = int(np.ceil(batch.minutes))
        watch = minutes if not filament.unattended_run else min(filament.watch_minutes, minutes)
        begin = first_time(workshop, spans, int(ready[p]), handling, watch, busy)
        if begin is None:
            return None
        busy.append((begin, begin + handling))
        last = max(last, begin + handling + minutes)
        ready[p] = begin + handling + minutes + int(np.ceil(printer.cool_down_minutes))
        loaded[p] = batch.filament
        at[p] += 1
    return last


def every_finish(batches, workshop):
    """Finishes of all assignments in all orders."""
    spans = windows(workshop.attendance, MONDAY, DAYS)
    allowed = [
        [
            p
            for p, printer in enumerate(workshop.printers)
            if printer.kind == b.printer_kind and workshop.can_run(printer, workshop.filament(b.filament))
        ]
        for b in batches
    ]
    for order in itertools.permutations(range(len(batches))):
        for homes in itertools.product(*(allowed[b] for b in order)):
            lines = [[] for _ in workshop.printers]
            for b, p in zip(order, homes, strict=True):
                lines[p].append(b)
            found = finish_of(lines, batches, workshop, spans)
            if found is not None:
                yield found


def tiny(seed):
    """Tables of a few batches, and the tick at which the best of all their schedules ends."""
    batches, workshop = random_case(seed)
    try:
        tables = tables_of(batches[:TINY], workshop)
    except Infeasible:
        pytest.skip("a batch that no printer takes")
    return tables, min(every_finish(batches[:TINY], workshop))


@pytest.mark.parametrize("seed", range(25))
def test_no_schedule_of_a_tiny_workshop_ends_before_its_bounds(seed):
    """All assignments in all orders, timed minute by minute: none ends before any of the bounds."""
    tables, best = tiny(seed)
    assert area_bound(tables) <= calendar_bound(tables) <= best
    assert calendar_bound(tables) <= slot_bound(tables, best + 400, effort=2.0, seed=1) <= best


@pytest.mark.parametrize("seed", range(12))
def test_the_exact_model_finds_the_optimum_of_a_tiny_workshop(seed):
    """Asked from far above: what it finds is sound, ends at what it proves, and no order ends before."""
    tables, best = tiny(seed)
    found = exact_finish(tables, 0, best + 300, effort=5.0, seed=1)
    assert found.timing is not None
    assert faults_of(tables, found.timing) == []
    assert found.bound == found.timing.finish <= best
    assert exact_finish(tables, 0, found.bound, effort=5.0, seed=1) == (found.bound, None)


def test_the_exact_model_leaves_alone_what_it_does_not_know():
    """Absences, many batches, no effort: what was proved before is all."""
    batches, workshop = random_case(3)
    tables = tables_of(batches[:TINY], workshop)
    away = tables._replace(shut=np.array([[0, -1, 0, 50]], dtype=np.int32))
    many = tables_of([make_batch(str(n), 60.0) for n in range(30)], make_workshop(evenings_and_mornings()))
    for one, effort in ((away, 1.0), (many, 1.0), (tables, 0.0)):
        assert exact_finish(one, 77, 5000, effort=effort, seed=1) == (77, None)


def test_a_night_counts_in_the_bound():
    """Three batches of 4 h from 18:00, somebody there 18-23 and 6-8: the last cannot end before 9:35.

    Machine time is 3 x 240 + 3 x 15 - 10 = 755 min (the first bed needs no clearing). Until 8 o'clock there
    are 300 + 120 min in windows, and of the night one run fills 240: 95 min are left for after 8 o'clock.
    """
    workshop = make_workshop(
        evenings_and_mornings(), Printer("one", "desk", loaded="PLA", cool_down_minutes=0.0)
    )
    batches = [make_batch(str(n), 240.0) for n in range(3)]
    tables = tables_of(batches, workshop)
    assert area_bound(tables) == 5 + 3 * 240 + 2 * 15
    assert calendar_bound(tables) == 14 * 60 + 95


def test_the_slot_model_proves_a_small_optimum():
    """Two batches of 6 h: 18:05 to 0:05, then 6:15 to 12:15; no schedule is sooner."""
    workshop = make_workshop(
        evenings_and_mornings(), Printer("one", "desk", loaded="PLA", cool_down_minutes=0.0)
    )
    tables = tables_of([make_batch(str(n), 360.0) for n in range(2)], workshop)
    assert slot_bound(tables, 2000, effort=2.0, seed=1) == 12 * 60 + 15 + 360


def test_the_slot_model_gives_the_same_bound_twice():
    """Interleaved workers, seed and deterministic time."""
    batches, workshop = random_case(11)
    tables = tables_of(batches, workshop)
    assert len({slot_bound(tables, 20_000, effort=0.05, seed=1) for _ in range(3)}) == 1
