"""The mixed-integer programme that every plan keeps, and its least finish."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from planner.joint_search.instance import Instance
from planner.joint_search.joint import Table
from planner.joint_search.least_minutes import LeastMinutes
from planner.joint_search.lost_time import first_leads
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.placement import shadow_area
from planner.scheduling.bounds.bound import earliest_start

SURE = 0.05  # minutes that are given away for the tolerances of the solver
NODES = 400  # of its tree; what it has proved until then counts
Key = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Printers that are alike in all that the bound knows."""

    kind: int
    printers: tuple[int, ...]

    @property
    def count(self) -> int:
        """How many they are."""
        return len(self.printers)


def groups_of(table: Table) -> list[Group]:
    """Printers of one kind, filament on, pieces and absences."""
    tables = table.tables
    found: dict[Key, list[int]] = {}
    for p, kind in enumerate(table.kind_of.tolist()):
        away = tuple(sorted(tuple(row[2:]) for row in tables.shut.tolist() if row[0] == p))
        alike = (kind, int(tables.loaded[p]), int(tables.release[p]), int(tables.covered[p]))
        key = (*alike, int(tables.cool[p]), tuple(table.barred[p].tolist()), away)
        found.setdefault(key, []).append(p)
    return [Group(int(table.kind_of[printers[0]]), tuple(printers)) for printers in found.values()]


def least_finish(
    instance: Instance, least: LeastMinutes, groups: Sequence[Group], lost: Sequence[float], known: float
) -> float:
    """The least T for which whole beds and fractions of pieces exist; 0 where the solver proves nothing.

    Proof. Take a plan that ends at T before ``known``. Of each family each group of printers takes some
    pieces on a whole number of beds; each family lies on a bed at least. The beds of a family on a group
    hold no more than their area and the most pieces of a bed, and last no longer than a bed may, which is
    less than what ``known`` leaves after the first start. A printer prints its beds, and between two of them
    its bed cools, is cleared and the next one started: once less than it has beds. A filament that is used
    and was not on needs a change at least once in each group that uses it. Before the first starts nothing
    prints, and those follow each other as there are persons. With what is lost all of that lies before T.
    Fractions of pieces only help.

    Source: linear programming relaxation of unrelated parallel machines (Lenstra, Shmoys, Tardos,
    Mathematical Programming 46, 1990), with whole numbers of batches; solved by SCIP, up to so many nodes.
    Rows keep the order in which they are made: in an order of addresses the last digits changed at random.

    Parameters
    ----------
    lost : minutes that each printer of a group cannot use until any T that is possible
    """
    from ortools.math_opt.python import mathopt  # type: ignore[import-untyped]

    model = _Model(mathopt.Model(), instance, least, known)
    for group, minutes in zip(groups, lost, strict=True):
        model.add_group(group, minutes)
    for family in range(len(instance.families)):
        model.add_family(family)
    model.add_leads()
    model.programme.minimize(model.finish)
    effort = mathopt.SolveParameters(threads=1, node_limit=NODES)
    ended = mathopt.solve(model.programme, mathopt.SolverType.GSCIP, params=effort)
    reasons = mathopt.TerminationReason
    if ended.termination.reason not in (reasons.OPTIMAL, reasons.FEASIBLE):
        return 0.0
    return max(0.0, float(ended.best_objective_bound()) - SURE)


class _Model:
    """Rows of groups and the beds of families in them, as they are added."""

    def __init__(self, programme: Any, instance: Instance, least: LeastMinutes, known: float) -> None:
        self.programme, self.instance, self.least, self.known = programme, instance, least, known
        self.table = instance.table
        self.finish = programme.add_variable(lb=0.0)
        self.rows: list[tuple[Group, Any]] = []
        self.leads: list[Any] = []
        self.changed: dict[tuple[int, int], Any] = {}
        self.first = earliest_start(self.table.tables)

    def between(self, group: Group) -> float:
        """Minutes from the end of a bed to the begin of the next at least."""
        tables = self.table.tables
        return float(tables.clear + tables.start + int(tables.cool[group.printers[0]]))

    def add_group(self, group: Group, lost: float) -> None:
        """All that its printers do lies before the finish."""
        programme, count = self.programme, group.count
        room = count * (self.between(group) - lost)
        row = programme.add_linear_constraint(ub=room)
        row.set_coefficient(self.finish, -float(count))
        soonest = count * float(self.first[list(group.printers)].min(initial=0))
        lead = programme.add_variable(lb=max(soonest, first_leads(self.table.tables, count)))
        row.set_coefficient(lead, 1.0)
        self.leads.append(lead)
        self.rows.append((group, row))

    def add_leads(self) -> None:
        """All first starts together follow each other, too."""
        count = sum(group.count for group, _ in self.rows)
        together = self.programme.add_linear_constraint(lb=first_leads(self.table.tables, count))
        for lead in self.leads:
            together.set_coefficient(lead, 1.0)

    def add_family(self, family: int) -> None:
        """Its pieces to groups, and the beds that they need there."""
        members = [n for n, one in enumerate(self.instance.family) if one == family]
        keys = [self._alike(n) for n in members]
        counts, one_of = Counter(keys), dict(zip(keys, members, strict=True))
        programme = self.programme
        enough = programme.add_linear_constraint(lb=1.0)
        taken = {key: programme.add_linear_constraint(lb=float(n), ub=float(n)) for key, n in counts.items()}
        for at, (group, row) in enumerate(self.rows):
            able = {key: n for key, n in one_of.items() if self.table.barred[group.printers[0], n] == 0}
            if not able:
                continue
            beds = programme.add_integer_variable(lb=0.0, ub=float(len(members)))
            enough.set_coefficient(beds, 1.0)
            self._beds(group, row, family, beds)
            self._change(at, family, beds, len(members))
            rows = self._room_of(group, family, beds)
            for key, n in able.items():
                lies = programme.add_variable(lb=0.0, ub=float(counts[key]))
                taken[key].set_coefficient(lies, 1.0)
                own = float(self.least.own[group.kind, n])
                row.set_coefficient(lies, own)
                for limit, weight in zip(rows, (shadow_area(self.instance.items[n]), 1.0, own), strict=True):
                    if limit is not None:
                        limit.set_coefficient(lies, weight)

    def _alike(self, piece: int) -> Key:
        """Pieces that may change places."""
        table = self.table
        own = tuple(self.least.own[:, piece].tolist())
        return (int(table.shape_class[piece]), own, tuple(table.barred[:, piece].tolist()))

    def _beds(self, group: Group, row: Any, family: int, beds: Any) -> None:
        spared = float(self.least.spared[group.kind, family])
        row.set_coefficient(beds, float(self.table.heat_up[group.kind]) + self.between(group) - spared)

    def _room_of(self, group: Group, family: int, beds: Any) -> list[Any]:
        """Area, number and minutes of the pieces on the beds of a family; None without a limit."""
        table, kind = self.table, group.kind
        longest = math.inf if table.longest is None else float(table.longest[kind, family])
        soonest = float(self.first[list(group.printers)].min(initial=0))
        minutes = min(longest, self.known - soonest) - float(table.heat_up[kind])
        minutes += float(self.least.spared[kind, family])
        most = math.inf if table.most is None else float(table.most[kind, family])
        return [
            self._at_most(beds, room)
            for room in (free_region(self.instance.kinds[kind].bed).area_mm2, most, minutes)
        ]

    def _at_most(self, beds: Any, room: float) -> Any:
        """What so much room on each bed limits; None without a limit."""
        if math.isinf(room):
            return None
        limit = self.programme.add_linear_constraint(ub=0.0)
        limit.set_coefficient(beds, -max(0.0, room))
        return limit

    def _change(self, at: int, family: int, beds: Any, most: int) -> None:
        """Where the filament of a family is on no printer of the group, using it costs a change."""
        tables, (group, row) = self.table.tables, self.rows[at]
        material = int(tables.material[family])
        if int(tables.loaded[group.printers[0]]) == material or tables.change == 0:
            return
        if (at, material) not in self.changed:
            self.changed[at, material] = self.programme.add_binary_variable()
            row.set_coefficient(self.changed[at, material], float(tables.change))
        used = self.programme.add_linear_constraint(ub=0.0)
        used.set_coefficient(beds, 1.0)
        used.set_coefficient(self.changed[at, material], -float(most))
