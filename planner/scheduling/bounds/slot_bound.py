"""A proved lower bound for few batches: which batch starts in which window, by CP-SAT."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.scheduling.bounds.calendar_bound import calendar_bound
from planner.scheduling.problem.problem import Tables
from planner.solver import repeatable, without_tables

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_BATCHES = 24
MOST_SLOTS = 4000  # batch x printer x window, above which the model is not built
WORKERS = 2  # the answer depends on it: with interleaved search it is the same on any machine


@dataclass(frozen=True, slots=True)
class Slot:
    """One window of one printer."""

    printer: int
    opens: int
    closes: int


Slots = list[Slot]


def slot_bound(tables: Tables, finish: int, *, effort: float, seed: int) -> int:
    """No schedule of these batches ends before this tick.

    A relaxation: on each printer, the runs that start in one window follow each other without pause from
    the moment at which printer and person are there; only the last of them may print beyond the window.
    Handling counts with start and clearing (a printer that is not covered is spared one clearing), the
    first change of filament on each printer to each filament that it did not have is counted, and the
    handling of all printers in a window must fit the persons there. When the persons are free, and in which
    order the filaments come, is left out. Every schedule keeps these conditions, so what CP-SAT proves for
    them is proved for it.

    Source: time-slot formulation of parallel machines with availability windows, solved by CP-SAT (Perron and
    Didier, OR-Tools). Interleaved workers, a fixed seed and deterministic time make it repeatable.

    Parameters
    ----------
    finish : tick at which a known schedule ends; the bound is never above it
    effort : deterministic time that the solver may spend
    """
    without_tables()
    from ortools.sat.python import cp_model

    low = min(finish, calendar_bound(tables))
    slots = slots_until(tables, finish)
    count = len(tables.material)
    if low >= finish or not 0 < count <= MOST_BATCHES or count * len(slots) > MOST_SLOTS or effort <= 0.0:
        return low
    model = cp_model.CpModel()
    end = model.new_int_var(low, finish, "")
    _fill(model, tables, slots, end, finish)
    model.minimize(end)
    solver = repeatable(effort, seed, workers=WORKERS)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        return low  # a schedule is known, so the model cannot be infeasible: nothing is concluded from it
    return max(low, min(finish, int(np.ceil(solver.best_objective_bound - 1e-6))))


def slots_until(tables: Tables, finish: int) -> list[Slot]:
    """Windows of all printers that open before a tick."""
    return [
        Slot(printer, max(int(opens), int(release)), min(int(closes), finish))
        for printer, release in enumerate(tables.release)
        for opens, closes in zip(tables.opens, tables.closes, strict=True)
        if closes > release and opens < finish
    ]


def _fill(model: cp_model.CpModel, tables: Tables, slots: list[Slot], end: Any, finish: int) -> None:
    """All conditions; runs that are not the last of their window, and those that are."""
    count = len(tables.material)
    inner: dict[tuple[int, int], Any] = {}
    last: dict[tuple[int, int], Any] = {}
    for n, slot in enumerate(slots):
        for batch in range(count):
            if tables.duration[batch, slot.printer] >= 0:
                inner[batch, n] = model.new_bool_var("")
                last[batch, n] = model.new_bool_var("")
    for batch in range(count):
        model.add_exactly_one(v for found in (inner, last) for (b, _), v in found.items() if b == batch)
    for printer in range(len(tables.release)):
        mine = [n for n, slot in enumerate(slots) if slot.printer == printer]
        line_of_windows(model, tables, slots, mine, inner, last, end, finish)
    hands_of_windows(model, tables, slots, inner, last)


def line_of_windows(
    model: cp_model.CpModel,
    tables: Tables,
    slots: list[Slot],
    mine: list[int],
    inner: dict[tuple[int, int], Any],
    last: dict[tuple[int, int], Any],
    end: Any,
    finish: int,
) -> None:
    """The windows of one printer in their order: free from, filled with, left at."""
    if not mine:
        return
    printer = slots[mine[0]].printer
    spared = 0 if tables.covered[printer] else tables.clear
    handling, cool = tables.start + tables.clear, int(tables.cool[printer])
    free: Any = slots[mine[0]].opens - spared
    before: list[Any] = []
    changes = _changes(model, tables, slots, mine, inner, last)
    for n in mine:
        slot = slots[n]
        runs = {b: v for (b, m), v in inner.items() if m == n}
        lasts = {b: v for (b, m), v in last.items() if m == n}
        used = model.new_bool_var("")
        model.add(sum(lasts.values()) == used)
        model.add(sum(runs.values()) <= len(tables.material) * used)
        begins = model.new_int_var(slot.opens - spared, finish + cool, "")
        model.add(begins >= free)
        if before:
            there = model.new_bool_var("")
            model.add_max_equality(there, before)
            model.add(begins >= slot.opens).only_enforce_if(there)
        load = sum((int(tables.duration[b, printer]) + handling + cool) * v for b, v in runs.items())
        load += tables.change * sum(changes.get(n, []))
        leaves = sum((int(tables.duration[b, printer]) + handling) * v for b, v in lasts.items())
        model.add(begins + load + handling <= slot.closes).only_enforce_if(used)
        model.add(begins + load + leaves <= end).only_enforce_if(used)
        for b, v in lasts.items():
            if tables.attended[b] == 1:
                model.add(begins + load + leaves <= slot.closes).only_enforce_if(v)
        free = begins + load + leaves + cool * used
        before.append(used)


def _changes(
    model: cp_model.CpModel,
    tables: Tables,
    slots: list[Slot],
    mine: list[int],
    inner: dict[tuple[int, int], Any],
    last: dict[tuple[int, int], Any],
) -> dict[int, list[Any]]:
    """Of each window, the filaments that the printer gets there for the first time."""
    printer = slots[mine[0]].printer
    found: dict[int, list[Any]] = {n: [] for n in mine}
    for material in sorted({int(m) for m in tables.material} - {int(tables.loaded[printer])}):
        batches = [b for b in range(len(tables.material)) if tables.material[b] == material]
        gets = [model.new_bool_var("") for _ in mine]
        for at, n in enumerate(mine):
            for b in batches:
                for runs in (inner, last):
                    if (b, n) in runs:
                        model.add(sum(gets[: at + 1]) >= runs[b, n])
            found[n].append(gets[at])
    return found


def hands_of_windows(
    model: cp_model.CpModel,
    tables: Tables,
    slots: list[Slot],
    inner: dict[tuple[int, int], Any],
    last: dict[tuple[int, int], Any],
) -> None:
    """The persons of each window handle what starts in it; each printer may be spared one clearing."""
    spared = tables.clear * int((tables.covered == 0).sum())
    for opens, closes in zip(tables.opens.tolist(), tables.closes.tolist(), strict=True):
        here = {n for n, slot in enumerate(slots) if opens <= slot.opens < closes}
        runs = [v for found in (inner, last) for (_, n), v in found.items() if n in here]
        if runs:
            room = tables.persons * (closes - opens) + spared
            model.add((tables.start + tables.clear) * sum(runs) <= room)
