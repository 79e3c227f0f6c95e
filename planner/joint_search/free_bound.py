"""A proved lower bound on the finish, whatever pieces share a bed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.joint_search.instance import Instance
from planner.joint_search.joint import Table
from planner.joint_search.kernels.bed_kernel import SECONDS_PER_MINUTE
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.placement import shadow_area
from planner.scheduling.bounds.bound import earliest_start

Minutes = NDArray[np.float64]
Ticks = NDArray[np.int64]

SURE = 0.01  # minutes that are given away for the rounding of the solver


def free_bound(instance: Instance) -> float:
    """No plan of these pieces ends before so many minutes, on whatever beds they lie.

    Proof. A bed lasts at least its heat-up and the seconds of its pieces. A layer of one piece pays the
    layer change of that piece; one of a pieces pays a layer change and a - 1 hops, which is for each of
    them at least the less of a change and the shortest hop: so a piece pays in each layer at least the
    least of these, with whatever it shares its bed. Waiting counts as nothing. A printer prints nothing
    before somebody was there to start it, and between two beds lie cooling, clearing and starting. A family
    needs at least one bed, and on each kind of printer at least as many as the outlines of its pieces there
    fill to the last mm2. A filament that no printer has on needs a change. Summed over the printers of a
    kind, these are linear in which kind takes which piece and how many beds; the least T for which even
    fractions exist is the bound. No plan ends, either, before its longest piece alone.

    Source: linear programming relaxation of unrelated parallel machines (Lenstra, Shmoys, Tardos,
    Mathematical Programming 46, 1990).

    Assumes a solver that is exact to a hundredth of a minute; nights are taken to be filled by long beds.
    """
    table = instance.table
    own, waits = _least_minutes(table)
    lead = earliest_start(table.tables)
    lone = 0.0
    for piece in range(len(instance.items)):
        ends = [
            float(lead[p] + table.heat_up[kind] + max(own[kind, piece], waits[kind, piece]))
            for p, kind in enumerate(table.kind_of.tolist())
            if table.barred[p, piece] == 0
        ]
        lone = max(lone, min(ends, default=0.0))
    return max(lone, _shared(instance, own, lead))


def _least_minutes(table: Table) -> tuple[Minutes, Minutes]:
    """Of each piece on each kind, heat-up apart: seconds of its own layers, and its least layer times."""
    from planner.estimate.time.motion_kernel import move_seconds

    counts = np.diff(table.starts)
    sums = np.add.reduceat(np.pad(table.seconds, ((0, 0), (0, 1))), table.starts[:-1], axis=1)
    own = np.where(counts > 0, sums, 0.0) - counts * table.change
    for kind in range(len(table.capacity)):
        for family in range(table.travel.shape[1]):
            mine = table.family == family
            speed, acceleration, retract, change, _ = table.travel[kind, family].tolist()
            reach = float(table.reach[mine].min(initial=np.inf))
            if np.isfinite(reach):
                hop = move_seconds(reach, speed, acceleration, 0.0, 0.0) + retract
                own[kind, mine] += counts[mine] * np.minimum(table.change[kind, mine], min(hop, change))
    return np.maximum(0.0, own) / SECONDS_PER_MINUTE, counts * table.least / SECONDS_PER_MINUTE


def _shared(instance: Instance, own: Minutes, lead: Ticks) -> float:
    """The least T of the linear programme."""
    from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]

    table, tables = instance.table, instance.table.tables
    solver = pywraplp.Solver.CreateSolver("GLOP")
    free = solver.infinity()
    finish = solver.NumVar(0.0, free, "")
    rows = []
    for kind in range(len(instance.kinds)):
        printers = np.flatnonzero(table.kind_of == kind)
        between = tables.clear + tables.start + int(tables.cool[printers].min(initial=0))
        soonest = int(lead[printers].min(initial=0))
        row = solver.Constraint(-free, float(len(printers) * (between - soonest)))
        row.SetCoefficient(finish, -float(len(printers)))
        rows.append((row, between))
    for family in range(len(instance.families)):
        _add_family(solver, instance, own, rows, family)
    on = set(tables.loaded.tolist())
    for _ in sorted(set(tables.material.tolist()) - on):
        change = solver.Constraint(1.0, free)
        for row, _ in rows:
            made = solver.NumVar(0.0, free, "")
            change.SetCoefficient(made, 1.0)
            row.SetCoefficient(made, tables.change)
    solver.Objective().SetCoefficient(finish, 1.0)
    solver.Objective().SetMinimization()
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return 0.0
    return max(0.0, float(solver.Objective().Value()) - SURE)


def _add_family(
    solver: Any, instance: Instance, own: Minutes, rows: Sequence[tuple[Any, int]], family: int
) -> None:
    """Pieces of a family to kinds, and the beds that they need there."""
    table, free = instance.table, solver.infinity()
    members = [n for n, one in enumerate(instance.family) if one == family]
    enough = solver.Constraint(1.0, free)
    taken = {n: solver.Constraint(1.0, 1.0) for n in members}
    for kind, (row, between) in enumerate(rows):
        ground = free_region(instance.kinds[kind].bed).area_mm2
        printers = np.flatnonzero(table.kind_of == kind)
        beds = solver.NumVar(0.0, free, "")
        enough.SetCoefficient(beds, 1.0)
        row.SetCoefficient(beds, float(table.heat_up[kind]) + between)
        covers = solver.Constraint(-free, 0.0)
        covers.SetCoefficient(beds, -ground)
        for n in members:
            if (table.barred[printers, n] == 0).any():
                lies = solver.NumVar(0.0, 1.0, "")
                taken[n].SetCoefficient(lies, 1.0)
                row.SetCoefficient(lies, float(own[kind, n]))
                covers.SetCoefficient(lies, shadow_area(instance.items[n]))
