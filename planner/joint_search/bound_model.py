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

    Parameters
    ----------
    lost : minutes that each printer of a group cannot use until any T that is possible
    """
    from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]

    solver = pywraplp.Solver.CreateSolver("SCIP")
    if solver is None:
        return 0.0
    solver.SetNumThreads(1)
    solver.SetSolverSpecificParametersAsString(f"limits/nodes = {NODES}\n")
    model = _Model(solver, instance, least, known)
    for group, minutes in zip(groups, lost, strict=True):
        model.add_group(group, minutes)
    for family in range(len(instance.families)):
        model.add_family(family)
    model.add_leads()
    solver.Objective().SetCoefficient(model.finish, 1.0)
    solver.Objective().SetMinimization()
    if solver.Solve() not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return 0.0
    return max(0.0, float(solver.Objective().BestBound()) - SURE)


class _Model:
    """Rows of groups and the beds of families in them, as they are added."""

    def __init__(self, solver: Any, instance: Instance, least: LeastMinutes, known: float) -> None:
        self.solver, self.instance, self.least, self.known = solver, instance, least, known
        self.table = instance.table
        self.free = solver.infinity()
        self.finish = solver.NumVar(0.0, self.free, "")
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
        solver, count = self.solver, group.count
        room = count * (self.between(group) - lost)
        row = solver.Constraint(-self.free, room)
        row.SetCoefficient(self.finish, -float(count))
        soonest = count * float(self.first[list(group.printers)].min(initial=0))
        lead = solver.NumVar(max(soonest, first_leads(self.table.tables, count)), self.free, "")
        row.SetCoefficient(lead, 1.0)
        self.leads.append(lead)
        self.rows.append((group, row))

    def add_leads(self) -> None:
        """All first starts together follow each other, too."""
        count = sum(group.count for group, _ in self.rows)
        together = self.solver.Constraint(first_leads(self.table.tables, count), self.free)
        for lead in self.leads:
            together.SetCoefficient(lead, 1.0)

    def add_family(self, family: int) -> None:
        """Its pieces to groups, and the beds that they need there."""
        members = [n for n, one in enumerate(self.instance.family) if one == family]
        keys = [self._alike(n) for n in members]
        counts, one_of = Counter(keys), dict(zip(keys, members, strict=True))
        solver = self.solver
        enough = solver.Constraint(1.0, self.free)
        taken = {key: solver.Constraint(float(n), float(n)) for key, n in counts.items()}
        for at, (group, row) in enumerate(self.rows):
            able = {key: n for key, n in one_of.items() if self.table.barred[group.printers[0], n] == 0}
            if not able:
                continue
            beds = solver.IntVar(0.0, float(len(members)), "")
            enough.SetCoefficient(beds, 1.0)
            self._beds(group, row, family, beds)
            self._change(at, family, beds, len(members))
            rows = self._room_of(group, family, beds)
            for key, n in able.items():
                lies = solver.NumVar(0.0, float(counts[key]), "")
                taken[key].SetCoefficient(lies, 1.0)
                own = float(self.least.own[group.kind, n])
                row.SetCoefficient(lies, own)
                for limit, weight in zip(rows, (shadow_area(self.instance.items[n]), 1.0, own), strict=True):
                    limit.SetCoefficient(lies, weight)

    def _alike(self, piece: int) -> Key:
        """Pieces that may change places."""
        table = self.table
        own = tuple(self.least.own[:, piece].tolist())
        return (int(table.shape_class[piece]), own, tuple(table.barred[:, piece].tolist()))

    def _beds(self, group: Group, row: Any, family: int, beds: Any) -> None:
        spared = float(self.least.spared[group.kind, family])
        row.SetCoefficient(beds, float(self.table.heat_up[group.kind]) + self.between(group) - spared)

    def _room_of(self, group: Group, family: int, beds: Any) -> list[Any]:
        """Area, number and minutes of the pieces that lie on the beds of a family."""
        table, kind = self.table, group.kind
        longest = math.inf if table.longest is None else float(table.longest[kind, family])
        soonest = float(self.first[list(group.printers)].min(initial=0))
        minutes = min(longest, self.known - soonest) - float(table.heat_up[kind])
        minutes += float(self.least.spared[kind, family])
        most = math.inf if table.most is None else float(table.most[kind, family])
        rows = []
        for room in (free_region(self.instance.kinds[kind].bed).area_mm2, most, minutes):
            limit = self.solver.Constraint(-self.free, 0.0)
            limit.SetCoefficient(beds, -min(max(0.0, room), 1e9))
            rows.append(limit)
        return rows

    def _change(self, at: int, family: int, beds: Any, most: int) -> None:
        """Where the filament of a family is on no printer of the group, using it costs a change."""
        tables, (group, row) = self.table.tables, self.rows[at]
        material = int(tables.material[family])
        if int(tables.loaded[group.printers[0]]) == material or tables.change == 0:
            return
        if (at, material) not in self.changed:
            self.changed[at, material] = self.solver.BoolVar("")
            row.SetCoefficient(self.changed[at, material], float(tables.change))
        used = self.solver.Constraint(-self.free, 0.0)
        used.SetCoefficient(beds, 1.0)
        used.SetCoefficient(self.changed[at, material], -float(most))
