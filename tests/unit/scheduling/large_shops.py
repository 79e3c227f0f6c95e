"""Workshops of many printers drawn at random as tables, and a plain check of their timings."""

from __future__ import annotations

import numpy as np

from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import NOT_HERE, Tables, compile_tables, tables_of_windows
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_workshop

DAY = 1440
DAYS = 40


def drawn(printers: int, batches: int, seed: int, persons: int = 3) -> Tables:
    """Some kinds of printers, batches of 20 min to 14 h in four materials; absences and fits now and then."""
    rng = np.random.default_rng(seed)
    plain = compile_tables([], make_workshop(evenings_and_mornings()), [], DAY, {}, {}, MONDAY)
    spans = [
        (day * DAY + at, day * DAY + at + long) for day in range(DAYS) for at, long in ((0, 300), (720, 120))
    ]
    opens, closes, window_at = tables_of_windows(spans, DAYS * DAY)
    speed = rng.choice([0.8, 1.0, 1.5], printers)
    minutes = rng.integers(20, 840, batches)
    duration = np.ceil(minutes[:, None] / speed[None, :]).astype(np.int32)
    barred = rng.random((batches, printers)) < 0.2
    barred[np.arange(batches), rng.integers(0, printers, batches)] = False
    duration[barred] = NOT_HERE
    attended = ((rng.random(batches) < 0.1) & (duration.max(axis=1) < 100)).astype(np.int32)
    shut = [[int(rng.integers(0, printers)), -1, 3 * DAY, 3 * DAY + 700] for _ in range(int(seed % 2) * 3)]
    has_fit = seed % 3 == 0
    return plain._replace(
        duration=duration,
        material=rng.integers(0, 4, batches).astype(np.int32),
        attended=attended,
        watch=rng.integers(0, 10, batches).astype(np.int32),
        early=rng.random(batches),
        partner=np.full(batches, -1, dtype=np.int32),
        release=rng.integers(0, 60, printers).astype(np.int32),
        loaded=rng.integers(-1, 4, printers).astype(np.int32),
        covered=rng.integers(0, 2, printers).astype(np.int32),
        cool=rng.integers(0, 15, printers).astype(np.int32),
        persons=persons,
        opens=opens,
        closes=closes,
        window_at=window_at,
        shut=np.array(shut, dtype=np.int32).reshape(-1, 4),
        fit=rng.integers(0, 2, (batches, printers)).astype(np.int32) if has_fit else plain.fit,
        fitted=np.zeros(printers, dtype=np.int32) if has_fit else plain.fitted,
        refit=np.tile(np.array([[0, 7], [5, 0]], dtype=np.int32), (printers, 1, 1))
        if has_fit
        else plain.refit,
    )


def faults_of(tables: Tables, timing: Timing) -> list[str]:
    """What a timing breaks, looked at minute by minute and in plain code."""
    found = []
    busy = np.zeros(len(tables.window_at) + 1000, dtype=int)
    for p in range(len(tables.release)):
        ready, loaded, before = int(tables.release[p]), int(tables.loaded[p]), -1
        for b in timing.order(p):
            ticks, at = int(tables.duration[b, p]), int(timing.begin[b])
            hands = tables.start + (tables.clear if before >= 0 or tables.covered[p] else 0)
            hands += tables.change if int(tables.material[b]) != loaded else 0
            if len(tables.refit):
                on = tables.fit[before, p] if before >= 0 else tables.fitted[p]
                hands += int(tables.refit[p, on, tables.fit[b, p]])
            inside = hands + (ticks if tables.attended[b] else min(int(tables.watch[b]), ticks))
            windows = zip(tables.opens.tolist(), tables.closes.tolist(), strict=True)
            if ticks < 0:
                found.append(f"{b} cannot be on {p}")
            if at < ready or timing.end[b] != at + hands + ticks:
                found.append(f"{b} on {p}: begins {at}, ready {ready}, ends {timing.end[b]}")
            if not any(since <= at and at + inside <= until for since, until in windows):
                found.append(f"{b} on {p}: nobody there at {at}")
            gone = [row for row in tables.shut.tolist() if row[0] == p]
            found += [f"{b} on {p}: away" for *_, a, z in gone if a < timing.end[b] and at < z]
            busy[at : at + hands] += 1
            ready, loaded, before = int(timing.end[b] + tables.cool[p]), int(tables.material[b]), b
    if busy.max(initial=0) > tables.persons:
        found.append(f"{busy.max()} persons")
    return found
