"""Farms: printers, batches and persons dealt to workshops of a dozen printers, each searched, then all.

A search finds its way in a small workshop in as many steps as it would need in a farm to touch every batch a
few times; and small ones can be searched side by side, on threads or on other machines.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.annealing.improve import CHAINS, Cooling
from planner.scheduling.annealing.towards import towards
from planner.scheduling.problem.dispatch import Timing, dispatch
from planner.scheduling.problem.problem import Tables

PART = 12  # printers of a part, about
TOGETHER = Cooling(0.006, 0.004)  # so cold that what the parts found is not lost again

Rows = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of the farm's tables that make a workshop of their own, and the persons who work there."""

    printers: Rows
    batches: Rows
    persons: int


@dataclass(frozen=True, slots=True)
class Work:
    """What the search of one part needs, wherever it is done."""

    tables: Tables
    goal: int
    steps: int
    seed: int
    first: Timing | None = None  # to go on from; without it the longest batch first


Searched = tuple[Timing | None, ...]
Each = Callable[[Sequence[Work]], Searched]  # does all works and gives their answers in their order


def search_in_parts(
    tables: Tables, *, goal: int, steps: int, rest: int, seed: int, each: Each | None = None
) -> Timing | None:
    """A timing of a farm; None where it is not divided, or a part has no room in the calendar.

    The same steps and seed give the same timing, whoever searches the parts and in whatever order.

    Parameters
    ----------
    goal : tick to end by, as `towards` takes it
    steps, rest : of the search of each part, and of that of all printers together afterwards
    each : does the works; without it threads do
    """
    parts = parts_of(tables)
    if len(parts) < 2:
        return None
    works = [
        Work(rows_of(tables, one.batches, one.printers, one.persons), goal, steps, seed + n)
        for n, one in enumerate(parts)
    ]
    found = (each or in_turns)(works)
    ends = [timing.finish for timing in found if timing is not None]
    whole = Timing(*(np.zeros(len(tables.material), dtype=np.int32) for _ in range(3)))
    for part, timing in zip(parts, found, strict=True):
        if timing is None:
            return None
        whole.printer_of[part.batches] = part.printers[timing.printer_of]
        whole.begin[part.batches], whole.end[part.batches] = timing.begin, timing.end
    together = max(goal, int(np.median(ends)))  # those that end late give to the others
    return towards(tables, whole, goal=together, steps=rest, seed=seed, cooling=TOGETHER)


def in_turns(works: Sequence[Work]) -> Searched:
    """All works on threads of this machine; the kernels let go of the interpreter."""
    with ThreadPoolExecutor(max_workers=CHAINS) as pool:
        return tuple(pool.map(searched, works))


def searched(work: Work) -> Timing | None:
    """One part by itself; None where its calendar has no room."""
    first = work.first or dispatch(work.tables)
    if first is None:
        return None
    return towards(work.tables, first, goal=work.goal, steps=work.steps, seed=work.seed, chains=1)


def parts_of(tables: Tables) -> tuple[Part, ...]:
    """Printers dealt kind by kind, batches to the part that has least to do; one part where it cannot be.

    No part is without a person of its own, so that the parts can be put together as they are.
    """
    count = min(len(tables.release) // PART, tables.persons)
    alone = (Part(np.arange(len(tables.release)), np.arange(len(tables.material)), tables.persons),)
    if count < 2 or len(tables.setup):
        return alone
    order = np.lexsort(np.vstack([tables.duration, tables.cool]))
    printers = [np.sort(order[n::count]) for n in range(count)]
    batches = _dealt(tables, printers)
    persons = [len(range(n, tables.persons, count)) for n in range(count)]
    found = (Part(*one) for one in zip(printers, batches, persons, strict=True))
    return tuple(one for one in found if len(one.batches))


def _dealt(tables: Tables, printers: Sequence[Rows]) -> list[Rows]:
    """Batches that fewest printers take first, of these the longest; each to the part with least to do.

    What a part can do is the sum of how fast its printers are, each beside the fastest for every batch.
    """
    usable = tables.duration >= 0
    ticks = np.where(usable, tables.duration, np.iinfo(np.int32).max)
    least = ticks.min(axis=1)
    speed = (least[:, None] / ticks).sum(axis=0) / np.maximum(1, usable.sum(axis=0))
    load = np.zeros(len(printers))
    mine: list[list[int]] = [[] for _ in printers]
    takes = np.array([usable[:, rows].any(axis=1) for rows in printers])
    size = np.array([max(1e-9, speed[rows].sum()) for rows in printers])
    for batch in np.lexsort((-least, usable.sum(axis=1))).tolist():
        part = int(np.argmin(np.where(takes[:, batch], load / size, np.inf)))
        mine[part].append(batch)
        load[part] += least[batch]
    return [np.sort(np.array(one, dtype=np.int64)) for one in mine]


def rows_of(tables: Tables, rows: Rows, columns: Rows, persons: int) -> Tables:
    """The tables of some batches and printers; who belongs to a batch of another part belongs to nobody."""
    row_of = np.full(len(tables.material) + 1, -1, dtype=np.int32)
    row_of[rows] = np.arange(len(rows), dtype=np.int32)
    shut = tables.shut
    column_of = {int(p): n for n, p in enumerate(columns)}
    kept = [[column_of.get(p, -1), *rest] for p, *rest in shut.tolist() if p < 0 or p in column_of]
    has_fit = len(tables.fit) > 0
    return tables._replace(
        duration=np.ascontiguousarray(tables.duration[np.ix_(rows, columns)]),
        material=tables.material[rows],
        attended=tables.attended[rows],
        watch=tables.watch[rows],
        early=tables.early[rows],
        partner=row_of[tables.partner[rows]],
        release=tables.release[columns],
        loaded=tables.loaded[columns],
        covered=tables.covered[columns],
        cool=tables.cool[columns],
        persons=persons,
        shut=np.array(kept, dtype=np.int32).reshape(-1, 4),
        fit=np.ascontiguousarray(tables.fit[np.ix_(rows, columns)]) if has_fit else tables.fit,
        fitted=tables.fitted[columns] if has_fit else tables.fitted,
        refit=np.ascontiguousarray(tables.refit[columns]) if has_fit else tables.refit,
    )
