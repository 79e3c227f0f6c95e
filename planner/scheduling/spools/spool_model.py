"""Which spool serves which run of one filament, exactly, as a constraint model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from planner.solver import repeatable, without_tables

SOLVER_SEED = 1
ONE_WORKER = 40  # runs up to which a second worker costs more than it brings
NEW_SPOOL, CUT, SEALED = 1_000_000, 10_000, 100  # each outweighs any number of the next; opening one counts 1
LOT = 2_000  # another lot of a section that asks for one: less than a change in mid-run
PARTED, KEPT = 1000, 5  # a parted pair outweighs any number of swaps, another spool than before a few of them
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Demand:
    """What one run asks of a spool: hundredths of a gram with purge, and when it is on the printer.

    ``cuts`` are the amounts, first and last included, after which the spool can be changed in mid-run because
    somebody is there. ``given`` is a spool that serves it already. ``before`` is the run before on the same
    printer, ``partner`` one that holds the other hand of a part of this, ``wish`` the spool that an earlier
    plan gave it; -1: none.
    """

    need: int
    begin: float
    end: float
    cuts: tuple[Span, ...] = ()
    given: int = -1
    before: int = -1
    partner: int = -1
    wish: int = -1


@dataclass(frozen=True, slots=True)
class Served:
    """The spool of each demand by number (shelf first, then new ones); proved: there is no better.

    Where a run is cut, ``second`` is the spool that goes on and ``first_amount`` what the first one gives.
    """

    spool: tuple[int, ...]
    proved: bool
    second: tuple[int, ...] = ()
    first_amount: tuple[int, ...] = ()

    def opened(self, shelf: int) -> tuple[int, int]:
        """New spools and spools of the shelf that are used."""
        used = {*self.spool, *(s for s in self.second if s >= 0)}
        return sum(s >= shelf for s in used), sum(s < shelf for s in used)


@dataclass(frozen=True, slots=True)
class Lots:
    """The lot of each spool by number; demands that ask for one together, with lots that these had."""

    of_spool: tuple[int, ...] = ()
    groups: tuple[tuple[tuple[int, ...], frozenset[int]], ...] = ()

    def counted(self, served: Served) -> int:
        """Lots of all groups together."""
        return sum(len(had | self._taken(served, held)) for held, had in self.groups)

    def _taken(self, served: Served, held: Sequence[int]) -> set[int]:
        used = [served.spool[i] for i in held]
        used += [served.second[i] for i in held if served.second and served.second[i] >= 0]
        return {self.of_spool[s] for s in used}


NO_LOTS = Lots()


class SpoolModel:
    """Runs and spools of one filament; ``cuttable`` runs may be served by two, one after the other.

    ``spent`` is the work of the solver until now, in its own count, about seconds; never the wall clock.
    """

    def __init__(
        self,
        demands: Sequence[Demand],
        shelf: Sequence[int],
        full: int,
        new: int,
        cuttable: Sequence[bool],
        barred: Sequence[Sequence[int]] = (),
        lots: Lots = NO_LOTS,
        *,
        ordered: bool = False,
    ) -> None:
        """``ordered``: new spools are told apart by the first run that takes them, the largest run first.

        That leaves out what differs by the names of new spools alone.
        """
        without_tables()
        from ortools.sat.python import cp_model

        self.cp, self.model = cp_model, cp_model.CpModel()
        self.demands, self.shelf, self.full, self.spent = demands, shelf, full, 0.0
        self.room = [*shelf, *[full] * new]
        self.cuttable = [may and bool(d.cuts) for may, d in zip(cuttable, demands, strict=True)]
        spools, runs = range(len(self.room)), range(len(demands))
        self.takes = [[self.model.new_bool_var(f"{i}_{s}") for s in spools] for i in runs]
        self.second = [
            [self.model.new_bool_var(f"{i}_then_{s}") for s in spools] if self.cuttable[i] else []
            for i in runs
        ]
        self.first_amount: list[Any] = []
        self.cut: dict[int, Any] = {}
        self.drawn: list[list[Any]] = [[] for _ in spools]  # by spool: what each run takes from it
        for i in runs:
            self._run(i)
        for i, spools_not_there in enumerate(barred):
            for s in (
                spools_not_there
            ):  # not even as the second: what is not there when it begins is not counted on
                self.model.add(self.takes[i][s] == 0)
                if self.second[i]:
                    self.model.add(self.second[i][s] == 0)
        self.opened = [self._opened(s) for s in spools]
        for s in range(len(shelf), len(self.room) - 1):
            self.model.add_implication(self.opened[s + 1], self.opened[s])
        total = sum(demand.need for demand in demands)
        self.model.add(sum(r * o for r, o in zip(self.room, self.opened, strict=True)) >= total)
        self._one_printer_at_a_time()
        if ordered:
            self._in_order()
        self.lots = lots
        self.lots_used = [used for held, had in lots.groups for used in self._lots_of(held, had)]

    def solve(self, hint: Sequence[int], limit: float, then: Sequence[int] = ()) -> Served | None:
        """The best assignment within the limit.

        Parameters
        ----------
        hint : by run, a spool to begin with; nothing where it is empty
        then : the second one, -1 for none
        """
        for row, chosen in zip(self.takes, hint, strict=False):
            for s, taken in enumerate(row):
                self.model.add_hint(taken, s == chosen)
        for row, chosen in zip(self.second, then, strict=False):
            for s, taken in enumerate(row):
                self.model.add_hint(taken, s == chosen)
        self.model.minimize(self._cost())
        return self._solved(limit)

    def tidied(self, best: Served, limit: float) -> Served | None:
        """As good as ``best``, with pairs on one spool and few swaps on the printers."""
        self.model.add(self._cost() <= self._cost_of(best))
        for i, row in enumerate(self.takes):
            for s, taken in enumerate(row):
                self.model.add_hint(taken, s == best.spool[i])
        self.model.minimize(
            sum(
                PARTED * self._differ(i, self.takes[d.partner])
                for i, d in enumerate(self.demands)
                if d.partner > i
            )
            + sum(self._differ(i, self._last(d.before)) for i, d in enumerate(self.demands) if d.before >= 0)
            + sum(KEPT * (1 - self.takes[i][d.wish]) for i, d in enumerate(self.demands) if d.wish >= 0)
        )
        found = self._solved(limit)
        if found is None:
            return None
        return Served(found.spool, best.proved, found.second, found.first_amount)

    def _run(self, i: int) -> None:
        """One first spool; where the run may be cut, perhaps a second one that gives the rest."""
        need, takes, second = self.demands[i].need, self.takes[i], self.second[i]
        self.model.add_exactly_one(takes)
        if self.demands[i].given >= 0:
            self.model.add(takes[self.demands[i].given] == 1)
        if not second:
            self.first_amount.append(need)
            for s, taken in enumerate(takes):
                self.drawn[s].append(need * taken)
            return
        self.model.add_at_most_one(second)
        first = self.model.new_int_var(0, need, f"first_{i}")
        self.first_amount.append(first)
        is_cut = sum(second)
        cut = self.model.new_bool_var(f"cut_{i}")
        self.model.add(cut == is_cut)
        self.cut[i] = cut
        domain = self.cp.Domain.from_intervals([list(span) for span in self.demands[i].cuts])
        self.model.add_linear_expression_in_domain(first, domain).only_enforce_if(cut)
        self.model.add(first == need).only_enforce_if(~cut)
        for s, (taken, then) in enumerate(zip(takes, second, strict=True)):
            one = self.model.new_int_var(0, need, f"gives_{i}_{s}")
            two = self.model.new_int_var(0, need, f"gives_then_{i}_{s}")
            self.model.add(one == first).only_enforce_if(taken)
            self.model.add(one == 0).only_enforce_if(~taken)
            self.model.add(two == need - first).only_enforce_if(then)
            self.model.add(two == 0).only_enforce_if(~then)
            self.model.add_at_most_one(taken, then)
            self.drawn[s] += [one, two]

    def _opened(self, s: int) -> Any:
        opened = self.model.new_bool_var(f"opened_{s}")
        for i, row in enumerate(self.takes):
            self.model.add_implication(row[s], opened)
            if self.second[i]:
                self.model.add_implication(self.second[i][s], opened)
        self.model.add(sum(self.drawn[s]) <= self.room[s] * opened)
        return opened

    def _one_printer_at_a_time(self) -> None:
        for group in at_once(self.demands):
            for s in range(len(self.room)):
                users = [self.takes[i][s] for i in group]
                users += [self.second[i][s] for i in group if self.second[i]]
                self.model.add_at_most_one(users)

    def _in_order(self) -> None:
        """The largest run takes the first new spool or none, the next one of the first two, and so on.

        Source: the names of equal bins, as of colours in Mendez-Diaz and Zabala 2006 (from memory).
        """
        place = 0
        for i in sorted(range(len(self.demands)), key=lambda i: (-self.demands[i].need, i)):
            for row in (self.takes[i], self.second[i]):
                for later in row[len(self.shelf) + place + 1 :]:
                    self.model.add(later == 0)
                place += bool(row)

    def _lots_of(self, held: Sequence[int], had: frozenset[int]) -> list[Any]:
        """By lot, whether any of these demands draws from it; 1 where the section had it before."""
        found = []
        for lot in sorted(set(self.lots.of_spool)):
            used = self.model.new_bool_var(f"lot_{lot}_{len(self.model.proto.variables)}")
            if lot in had:
                self.model.add(used == 1)
            for s in (s for s, of in enumerate(self.lots.of_spool[: len(self.room)]) if of == lot):
                for i in held:
                    self.model.add_implication(self.takes[i][s], used)
                    if self.second[i]:
                        self.model.add_implication(self.second[i][s], used)
            found.append(used)
        return found

    def _weights(self) -> list[int]:
        return [1 + (SEALED if left >= self.full else 0) for left in self.shelf] + [
            NEW_SPOOL + SEALED + 1
        ] * (len(self.room) - len(self.shelf))

    def _cost(self) -> Any:
        cost = sum(weight * opened for weight, opened in zip(self._weights(), self.opened, strict=True))
        cost += CUT * sum(then for row in self.second for then in row)
        return cost + LOT * sum(self.lots_used) if self.lots_used else cost

    def _cost_of(self, served: Served) -> int:
        used = {*served.spool, *(s for s in served.second if s >= 0)}
        weights = self._weights()
        cost = sum(weights[s] for s in used) + CUT * sum(s >= 0 for s in served.second)
        return cost + LOT * self.lots.counted(served)

    def _last(self, k: int) -> Sequence[Any]:
        """By spool, whether a run ends on it."""
        if k not in self.cut:
            return self.takes[k]
        last = []
        for s, (taken, then) in enumerate(zip(self.takes[k], self.second[k], strict=True)):
            ends = self.model.new_bool_var(f"last_{k}_{s}")
            self.model.add_bool_or(taken, then).only_enforce_if(ends)
            self.model.add_implication(ends, then).only_enforce_if(self.cut[k])
            last.append(ends)
        return last

    def _differ(self, i: int, others: Sequence[Any]) -> Any:
        """1 where a run begins on another spool than these (an upper bound that the aim presses down)."""
        differ = self.model.new_bool_var(f"differ_{i}_{len(self.model.proto.variables)}")
        for one, other in zip(self.takes[i], others, strict=True):
            self.model.add_implication(one, other).only_enforce_if(~differ)
        return differ

    def _solved(self, limit: float) -> Served | None:
        workers = 2 if len(self.demands) > ONE_WORKER else 1
        solver = repeatable(limit, SOLVER_SEED, workers=workers)
        status = solver.solve(self.model)
        self.spent += float(solver.response_proto.deterministic_time)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        chosen = tuple(next(s for s, taken in enumerate(row) if solver.value(taken)) for row in self.takes)
        second = tuple(
            next((s for s, then in enumerate(row) if solver.value(then)), -1) for row in self.second
        )
        amounts = tuple(int(a) if isinstance(a, int) else int(solver.value(a)) for a in self.first_amount)
        return Served(chosen, status == self.cp.OPTIMAL, second, amounts)


def at_once(demands: Sequence[Demand]) -> list[list[int]]:
    """Largest groups of demands that are on printers at the same time, seen at the start of each."""
    groups: list[set[int]] = []
    for demand in sorted(demands, key=lambda demand: demand.begin):
        at = demand.begin
        group = {i for i, other in enumerate(demands) if other.begin <= at < other.end}
        if groups and groups[-1] <= group:
            groups.pop()
        if len(group) > 1:
            groups.append(group)
    return [sorted(group) for group in groups]


def consecutive(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Spans without the empty ones, joined where they touch."""
    joined: list[Span] = []
    for low, high in sorted(span for span in spans if span[0] <= span[1]):
        if joined and low <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return tuple(joined)
