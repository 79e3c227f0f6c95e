"""The finish of few batches to the tick: every condition of the schedule as one model, by CP-SAT."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from planner.scheduling.bounds.slot_bound import (
    MOST_BATCHES,
    MOST_SLOTS,
    WORKERS,
    Slots,
    hands_of_windows,
    line_of_windows,
    slots_until,
)
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Ints, Tables
from planner.solver import repeatable, without_tables

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


class Exact(NamedTuple):
    """No schedule ends before ``bound``; one that ends before the known finish, if it was met."""

    bound: int
    timing: Timing | None


def exact_finish(tables: Tables, low: int, finish: int, *, effort: float, seed: int) -> Exact:
    """Whether any schedule of these batches ends before a known one, and when.

    All that `slot_bound` knows of windows, and beside it the order on every printer, every change of
    filament, and each tick of a person's time: of the schedules that end before the known one none is left
    out. What is proved holds for them, and so for all.

    Source: interval and circuit models solved by CP-SAT (Perron and Didier, OR-Tools). Interleaved workers, a
    fixed seed and deterministic time make it repeatable.

    Not for setups that need nobody, absences, nozzles and plates, nor for many batches: ``low`` comes back.

    Parameters
    ----------
    low : a tick before which no schedule ends, as it is proved already
    finish : tick at which a known schedule ends; the bound is never above it
    effort : deterministic time that the solver may spend
    """
    count = len(tables.material)
    special = len(tables.setup) or len(tables.shut) or len(tables.fit)
    if low >= finish or special or not 0 < count <= MOST_BATCHES or effort <= 0.0:
        return Exact(min(low, finish), None)
    without_tables()
    from ortools.sat.python import cp_model

    slots = slots_until(tables, finish - 1)
    if count * len(slots) > MOST_SLOTS:
        return Exact(low, None)
    model = cp_model.CpModel()
    desk = _Desk(model, tables, slots, low, finish - 1)
    model.minimize(desk.end)
    solver = repeatable(effort, seed, workers=WORKERS)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return Exact(finish, None)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Exact(low, None)
    bound = max(low, int(np.ceil(solver.best_objective_bound - 1e-6)))
    return Exact(bound, desk.timing(solver))


class _Desk:
    """Of every batch its window, printer, begin of handling and ticks of handling."""

    def __init__(self, model: cp_model.CpModel, tables: Tables, slots: Slots, low: int, latest: int) -> None:
        self.model, self.tables, self.latest = model, tables, latest
        count, printers = tables.duration.shape
        self.end: Any = model.new_int_var(low, latest, "")
        self.inner: dict[tuple[int, int], Any] = {}
        self.last: dict[tuple[int, int], Any] = {}
        for n, slot in enumerate(slots):
            for batch in np.flatnonzero(tables.duration[:, slot.printer] >= 0).tolist():
                self.inner[batch, n], self.last[batch, n] = model.new_bool_var(""), model.new_bool_var("")
        self.begin: list[Any] = [model.new_int_var(0, latest, "") for _ in range(count)]
        self.changed: list[Any] = [model.new_bool_var("") for _ in range(count)]
        self.clean: list[Any] = [model.new_bool_var("") for _ in range(count)]
        self.on: dict[tuple[int, int], Any] = {}
        for batch in range(count):
            self._windows(batch, slots)
        self._persons()
        for printer in range(printers):
            mine = [n for n, slot in enumerate(slots) if slot.printer == printer]
            line_of_windows(model, tables, slots, mine, self.inner, self.last, self.end, latest)
            self._line(printer)
        hands_of_windows(model, tables, slots, self.inner, self.last)

    def hands(self, batch: int) -> Any:
        """Ticks of handling: the bed is not cleared where it is clean."""
        t = self.tables
        return t.start + t.clear + t.change * self.changed[batch] - t.clear * self.clean[batch]

    def timing(self, solver: cp_model.CpSolver) -> Timing:
        """The schedule that the solver found."""
        count = len(self.begin)
        printer_of: Ints = np.zeros(count, dtype=np.int32)
        for (batch, printer), there in self.on.items():
            if solver.boolean_value(there):
                printer_of[batch] = printer
        begin = np.array([solver.value(one) for one in self.begin], dtype=np.int32)
        hands = np.array([solver.value(self.hands(batch)) for batch in range(count)], dtype=np.int32)
        ticks = self.tables.duration[np.arange(count), printer_of]
        return Timing(printer_of, begin, (begin + hands + ticks).astype(np.int32))

    def _windows(self, batch: int, slots: Slots) -> None:
        """One window in which it is handled and watched; that says the printer, too."""
        t, mine = self.tables, [n for b, n in self.inner if b == batch]
        self.model.add_exactly_one(v for n in mine for v in (self.inner[batch, n], self.last[batch, n]))
        for printer in {slots[n].printer for n in mine}:
            there = self.on[batch, printer] = self.model.new_bool_var("")
            here = [n for n in mine if slots[n].printer == printer]
            self.model.add(sum(self.inner[batch, n] + self.last[batch, n] for n in here) == there)
        for n in mine:
            ticks = int(t.duration[batch, slots[n].printer])
            watched = ticks if t.attended[batch] else min(int(t.watch[batch]), ticks)
            closes = int(t.closes[np.searchsorted(t.opens, slots[n].opens, side="right") - 1])
            for chosen in (self.inner[batch, n], self.last[batch, n]):
                self.model.add(self.begin[batch] >= slots[n].opens).only_enforce_if(chosen)
                until = self.begin[batch] + self.hands(batch) + watched
                self.model.add(until <= closes).only_enforce_if(chosen)

    def _persons(self) -> None:
        """Each handling needs one of the persons for all of its ticks."""
        t, model = self.tables, self.model
        taken = []
        for batch, begin in enumerate(self.begin):
            size = model.new_int_var(0, t.start + t.clear + t.change, "")
            until = model.new_int_var(0, self.latest, "")
            model.add(size == self.hands(batch))
            taken.append(model.new_interval_var(begin, size, until, ""))
        model.add_cumulative(taken, [1] * len(taken), t.persons)

    def _line(self, printer: int) -> None:
        """The order of one printer as a way from batch to batch; changes and clearing follow from it."""
        t, model = self.tables, self.model
        mine = [batch for batch, p in self.on if p == printer]
        ways: list[tuple[int, int, Any]] = [(0, 0, model.new_bool_var(""))]
        loaded, clean = int(t.loaded[printer]), int(t.covered[printer] == 0)
        for at, batch in enumerate(mine, start=1):
            there = self.on[batch, printer]
            begin, run = self.begin[batch], self.hands(batch) + int(t.duration[batch, printer])
            first = model.new_bool_var("")
            ways += [(at, at, there.negated()), (0, at, first), (at, 0, model.new_bool_var(""))]
            self._follows(first, batch, int(t.material[batch] != loaded), clean)
            model.add(begin >= int(t.release[printer])).only_enforce_if(there)
            model.add(begin + run <= self.end).only_enforce_if(there)
            for to, after in enumerate(mine, start=1):
                if after != batch:
                    way = model.new_bool_var("")
                    ways.append((at, to, way))
                    ready = begin + run + int(t.cool[printer])
                    model.add(self.begin[after] >= ready).only_enforce_if(way)
                    self._follows(way, after, int(t.material[after] != t.material[batch]), 0)
        if mine:
            model.add_circuit(ways)

    def _follows(self, way: Any, batch: int, changed: int, clean: int) -> None:
        self.model.add(self.changed[batch] == changed).only_enforce_if(way)
        self.model.add(self.clean[batch] == clean).only_enforce_if(way)
