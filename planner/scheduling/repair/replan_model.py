"""Fewest moved batches within a tolerated delay, exactly, as a constraint model of intervals."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from planner.scheduling.problem.handling_windows import NO_BATCH, Desk, Span
from planner.scheduling.problem.placing import Placing, Was
from planner.solver import repeatable, without_tables

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SOLVER_SEED = 1


class MoveModel:
    """Starts of all batches on all printers; ``loose`` ones may go anywhere, the others stay.

    A run is handled (cleared, changed over, started) and watched within one window; no more handlings at once
    than persons are there. No hints are given: with them some versions of the solver end the whole process
    ("Check failed: heuristics.fixed_search != nullptr", seen with 9.15 and interleaved workers).
    """

    def __init__(self, desk: Desk, was: Was, cap: int, loose: Iterable[int]) -> None:
        without_tables()
        from ortools.sat.python import cp_model

        self.cp, self.model = cp_model, cp_model.CpModel()
        self.desk, self.was, self.cap = desk, was, cap
        self.loose = frozenset(loose)
        count = len(was)
        self.on: dict[tuple[int, int], Any] = {}
        self.arcs: dict[tuple[int, int, int], Any] = {}
        self.open_to: dict[tuple[int, int], Any] = {}
        self.start = [self._start(batch) for batch in range(count)]
        self.kept = [self._kept(batch) for batch in range(count)]
        for printer in range(len(desk.tables.release)):
            self._line(printer)
        self._persons([self._handled(batch) for batch in range(count)])

    def solve(self, limit: float, fewer_than: int) -> tuple[Placing | None, bool, float]:
        """The placing of fewest moves found within so much of the solver's own count of work.

        ``None`` where there is none with fewer moves than ``fewer_than``; then whether the answer is proved,
        and the work that it took.
        """
        moved = sum(1 - kept for kept in self.kept)
        self.model.add(moved < fewer_than)
        self.model.minimize(moved)
        solver, proved, taken = self._solved(limit)
        if solver is None:
            return None, proved, taken
        least = round(solver.objective_value)
        found = self._placing(solver)
        self.model.add(moved <= least)
        self.model.minimize(sum(self.start[b] for b in sorted(self.loose)))
        solver, _, more = self._solved(limit / 2.0)
        return (found if solver is None else self._placing(solver)), proved, taken + more

    def _solved(self, limit: float) -> tuple[cp_model.CpSolver | None, bool, float]:
        solver = repeatable(limit, SOLVER_SEED, workers=2)
        status = solver.solve(self.model)
        taken = float(solver.response_proto.deterministic_time)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None, status == self.cp.INFEASIBLE, taken
        return solver, status == self.cp.OPTIMAL, taken

    def _printers(self, batch: int) -> list[int]:
        old = self.was[batch]
        if batch not in self.loose and old is not None:
            return [old[0]]
        return [p for p, ticks in enumerate(self.desk.tables.duration[batch].tolist()) if ticks >= 0]

    def _start(self, batch: int) -> Any:
        old = self.was[batch]
        if batch not in self.loose and old is not None:
            self.on[batch, old[0]] = self.model.new_constant(1)
            return self.model.new_constant(old[1])
        start = self.model.new_int_var(0, self.cap, f"start_{batch}")
        for printer in self._printers(batch):
            self.on[batch, printer] = self.model.new_bool_var(f"on_{batch}_{printer}")
            end = start + int(self.desk.tables.duration[batch, printer])
            self.model.add(end <= self.cap).only_enforce_if(self.on[batch, printer])
        self.model.add_exactly_one(self.on[batch, printer] for printer in self._printers(batch))
        return start

    def _kept(self, batch: int) -> Any:
        old = self.was[batch]
        if old is None:
            return self.model.new_constant(0)
        if batch not in self.loose:
            return self.model.new_constant(1)
        kept = self.model.new_bool_var(f"kept_{batch}")
        self.model.add_implication(kept, self.on[batch, old[0]])
        self.model.add(self.start[batch] == old[1]).only_enforce_if(kept)
        return kept

    def _line(self, printer: int) -> None:
        """The order on one printer: a circuit through the batches that run there."""
        here = [batch for batch, p in self.on if p == printer]
        arcs: list[tuple[int, int, Any]] = []
        empty = self.model.new_bool_var(f"empty_{printer}")
        arcs.append((0, 0, empty))
        tables = self.desk.tables
        for batch in here:
            on = self.on[batch, printer]
            self.model.add_implication(on, ~empty)
            arcs.append((batch + 1, batch + 1, ~on))
            arcs.append((batch + 1, 0, self.model.new_bool_var(f"last_{printer}_{batch}")))
            arcs.append((0, batch + 1, self._arc(printer, NO_BATCH, batch, int(tables.release[printer]))))
            for after in self._after(printer, batch, here):
                ready = self.start[batch] + int(tables.duration[batch, printer] + tables.cool[printer])
                arcs.append((batch + 1, after + 1, self._arc(printer, batch, after, ready)))
        self.model.add_circuit(arcs)

    def _after(self, printer: int, batch: int, here: Sequence[int]) -> list[int]:
        """Batches that may follow: of those that stay only the next one."""
        old = self.was[batch]
        stay = [b for b in here if b not in self.loose]
        if batch in self.loose or old is None:
            return [b for b in here if b != batch]
        later = sorted((self._old(b), b) for b in stay if self._old(b) > old[1])
        return [*(b for b in here if b in self.loose), *(b for _, b in later[:1])]

    def _old(self, batch: int) -> int:
        old = self.was[batch]
        return -1 if old is None else old[1]

    def _arc(self, printer: int, before: int, batch: int, ready: Any) -> Any:
        arc = self.model.new_bool_var(f"arc_{printer}_{before}_{batch}")
        self.arcs[printer, before, batch] = arc
        handling = self.desk.handling(printer, batch, before)
        self.model.add(self.start[batch] >= ready + handling).only_enforce_if(arc)
        ticks = int(self.desk.tables.duration[batch, printer])
        for since, until in self.desk.shut(printer, batch):
            open_to = self._open_to(since - ticks, until + handling)
            self.model.add_linear_expression_in_domain(self.start[batch], open_to).only_enforce_if(arc)
        return arc

    def _open_to(self, last: int, first: int) -> Any:
        """Starts before an absence or after it; kept, as many arcs ask for the same."""
        if (last, first) not in self.open_to:
            spans = [span for span in ([0, last], [first, self.cap]) if span[0] <= span[1]]
            self.open_to[last, first] = self.cp.Domain.from_intervals(spans)
        return self.open_to[last, first]

    def _handled(self, batch: int) -> Any:
        """The handling of a batch as an interval; its length follows from what runs before."""
        groups: dict[tuple[int, int], list[Any]] = defaultdict(list)
        for (printer, before, after), arc in self.arcs.items():
            if after == batch:
                key = self.desk.handling(printer, batch, before), self.desk.watched(printer, batch)
                groups[key].append(arc)
        lengths = []
        for (handling, watched), arcs in sorted(groups.items(), key=lambda pair: pair[0]):
            chosen = self.model.new_bool_var(f"handling_{batch}_{handling}_{watched}")
            self.model.add(sum(arcs) == chosen)
            spans: list[Span] = self.desk.starts(handling, watched, self.cap)
            domain = self.cp.Domain.from_intervals([list(span) for span in spans])
            self.model.add_linear_expression_in_domain(self.start[batch], domain).only_enforce_if(chosen)
            lengths.append(handling * chosen)
        longest = max((handling for handling, _ in groups), default=0)
        length = self.model.new_int_var(0, longest, f"length_{batch}")
        self.model.add(length == sum(lengths))
        begin = self.model.new_int_var(0, self.cap, f"begin_{batch}")
        return self.model.new_interval_var(begin, length, self.start[batch], f"handled_{batch}")

    def _persons(self, handlings: Sequence[Any]) -> None:
        there = self.desk.there
        most = int(there.max(initial=0))
        away: list[tuple[int, int, int]] = []
        for opens, closes in zip(
            self.desk.tables.opens.tolist(), self.desk.tables.closes.tolist(), strict=True
        ):
            since = opens
            for tick in range(opens, closes + 1):
                if tick == closes or there[tick] != there[since]:
                    if there[since] < most:
                        away.append((since, tick, most - int(there[since])))
                    since = tick
        fixed = [
            self.model.new_fixed_size_interval_var(since, until - since, f"away_{since}")
            for since, until, _ in away
        ]
        demands = [1] * len(handlings) + [missing for _, _, missing in away]
        self.model.add_cumulative([*handlings, *fixed], demands, most)

    def _placing(self, solver: cp_model.CpSolver) -> Placing:
        tables = self.desk.tables
        start = [int(solver.value(s)) for s in self.start]
        lines: list[list[int]] = [[] for _ in tables.release]
        for (batch, printer), on in self.on.items():
            if solver.value(on):
                lines[printer].append(batch)
        begin, finish = [0] * len(start), 0
        for printer, line in enumerate(lines):
            line.sort(key=lambda b: start[b])
            for n, batch in enumerate(line):
                before = line[n - 1] if n else NO_BATCH
                begin[batch] = start[batch] - self.desk.handling(printer, batch, before)
                finish = max(finish, start[batch] + int(tables.duration[batch, printer]))
        where = {batch: printer for printer, line in enumerate(lines) for batch in line}
        kept = tuple(self.was[b] == (where[b], start[b]) for b in range(len(start)))
        return Placing(tuple(tuple(line) for line in lines), tuple(begin), tuple(start), kept, finish)
