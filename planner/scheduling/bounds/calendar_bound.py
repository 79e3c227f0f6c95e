"""A proved lower bound that knows nights: how long printers can print by a tick, given who is there when."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.problem.problem import Tables

SURE = 0.01  # ticks by which the linear programme must miss a time before the time counts as refuted


@dataclass(frozen=True, slots=True)
class Twins:
    """Batches, or printers, that the bound need not tell apart."""

    first: int
    count: int


@dataclass(frozen=True, slots=True)
class Gap:
    """Stretches of so many ticks without anybody, by how often they come."""

    ticks: int
    count: int


def calendar_bound(tables: Tables) -> int:
    """No schedule of these batches ends before this tick.

    Proof. Let a schedule end at T. In a gap between two windows nobody starts a run, so on a printer at most
    the one run prints that was printing when the gap began, and in a gap of G ticks at most min(d, G) ticks
    of its d. All else a printer does by T, printing and handling, lies in windows, one thing at a time.
    So on every printer: printing + handling <= ticks of windows until T + what its runs print in gaps. A run
    prints in no more gaps than can begin while it lasts, in all no longer than it lasts, and each gap of a
    printer belongs to one run. Handling of all printers lies in windows and needs a person for each. These
    are linear in how many runs of each kind a printer takes and how many of them cross each kind of gap;
    where even fractions do not exist, T is refuted. The least T that is not is found by bisection, for with
    more time everything only grows. Every handling counts with start and clearing, but for the first of a
    printer that is not covered; changes of filament and cooling count as nothing.

    Source: linear programming relaxation of unrelated parallel machines (Lenstra, Shmoys, Tardos,
    Mathematical Programming 46, 1990), with the windows and gaps of the calendar for the machine time.

    Assumes a solver that is exact to a hundredth of a tick; never below `bound.area_bound`.
    """
    low = area_bound(tables)
    if len(tables.material) == 0 or len(tables.setup) or not _solver_there():
        return low
    batches, printers = _batch_twins(tables), _printer_twins(tables)
    high = max(low, 1)
    while high < len(tables.window_at) and _refuted(tables, batches, printers, high):
        low, high = high + 1, high + max(1, high // 8)
    high = min(high, len(tables.window_at) - 1)
    while low < high:
        middle = (low + high) // 2
        if _refuted(tables, batches, printers, middle):
            low = middle + 1
        else:
            high = middle
    return low


def _solver_there() -> bool:
    from importlib.util import find_spec

    return find_spec("ortools") is not None


def _batch_twins(tables: Tables) -> list[Twins]:
    rows = np.column_stack([tables.duration, tables.attended])
    _, first, count = np.unique(rows, axis=0, return_index=True, return_counts=True)
    return [Twins(int(f), int(c)) for f, c in zip(first, count, strict=True)]


def _printer_twins(tables: Tables) -> list[Twins]:
    columns = np.vstack([tables.duration, tables.release, tables.covered]).T
    _, first, count = np.unique(columns, axis=0, return_index=True, return_counts=True)
    return [Twins(int(f), int(c)) for f, c in zip(first, count, strict=True)]


def _windows_until(tables: Tables, since: int, until: int) -> int:
    """Ticks with somebody there between two ticks."""
    inside = np.minimum(tables.closes, until) - np.maximum(tables.opens, since)
    return int(np.maximum(inside, 0).sum())


def _gaps_until(tables: Tables, since: int, until: int) -> tuple[list[Gap], list[int]]:
    """Gaps that begin after a window, cut off at ``until``, by length; and the ticks at which they begin."""
    opens = np.append(tables.opens[1:], len(tables.window_at))
    begins = [
        (int(close), int(min(following, until) - close))
        for close, following in zip(tables.closes, opens, strict=True)
        if since <= close < min(following, until)
    ]
    lengths = Counter(ticks for _, ticks in begins)
    return [Gap(ticks, count) for ticks, count in sorted(lengths.items())], [at for at, _ in begins]


def _crossings(begins: list[int], ticks: int) -> int:
    """How many gaps can begin while a run of so many ticks lasts."""
    at = np.asarray(begins)
    return int((np.searchsorted(at, at + ticks, side="left") - np.arange(len(at))).max(initial=0))


def _refuted(tables: Tables, batches: list[Twins], printers: list[Twins], until: int) -> bool:
    """Whether even fractions of runs do not fit until a tick."""
    from ortools.math_opt.python import mathopt  # type: ignore[import-untyped]

    programme = mathopt.Model()
    short = programme.add_variable(lb=0.0)
    taken = [programme.add_linear_constraint(lb=batch.count, ub=batch.count) for batch in batches]
    handling = tables.start + tables.clear
    hands = programme.add_linear_constraint(ub=tables.persons * _windows_until(tables, 0, until))
    hands.set_coefficient(short, -1.0)
    for printer in printers:
        column, since = printer.first, int(tables.release[printer.first])
        gift = tables.clear * printer.count * int(tables.covered[column] == 0)
        hands.upper_bound += gift
        there = programme.add_linear_constraint(
            ub=printer.count * _windows_until(tables, since, until) + gift
        )
        there.set_coefficient(short, -1.0)
        gaps, begins = _gaps_until(tables, since, until)
        crossed = [programme.add_linear_constraint(ub=printer.count * gap.count) for gap in gaps]
        for n, batch in enumerate(batches):
            ticks = int(tables.duration[batch.first, column])
            if ticks < 0 or since + ticks > until:
                continue
            runs = programme.add_variable(lb=0.0, ub=batch.count)
            taken[n].set_coefficient(runs, 1.0)
            there.set_coefficient(runs, ticks + handling)
            hands.set_coefficient(runs, handling)
            if tables.attended[batch.first] == 1 or not gaps:
                continue
            times, length = programme.add_linear_constraint(ub=0.0), programme.add_linear_constraint(ub=0.0)
            times.set_coefficient(runs, -_crossings(begins, ticks))
            length.set_coefficient(runs, -ticks)
            for gap, row in zip(gaps, crossed, strict=True):
                crosses = programme.add_variable(lb=0.0)
                row.set_coefficient(crosses, 1.0)
                times.set_coefficient(crosses, 1.0)
                length.set_coefficient(crosses, min(ticks, gap.ticks))
                there.set_coefficient(crosses, -min(ticks, gap.ticks))
    programme.minimize(short)
    ended = mathopt.solve(programme, mathopt.SolverType.GLOP)
    reason = ended.termination.reason
    if reason == mathopt.TerminationReason.INFEASIBLE:  # some batch fits nowhere before that tick
        return True
    return reason == mathopt.TerminationReason.OPTIMAL and bool(ended.objective_value() > SURE)
