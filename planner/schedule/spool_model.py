"""Which spool serves which run of one filament, exactly, as a constraint model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SOLVER_SEED = 1
DETERMINISTIC_LIMIT = 6.0  # the solver's own count of work, about seconds; never the wall clock
NEW_SPOOL = 1000  # one spool bought outweighs any number of spools opened


@dataclass(frozen=True, slots=True)
class Demand:
    """What one run asks of a spool: hundredths of a gram with purge, and when it is on the printer."""

    need: int
    begin: float
    end: float


@dataclass(frozen=True, slots=True)
class Served:
    """The spool of each demand by number (shelf first, then new ones); proved: there is no better."""

    spool: tuple[int, ...]
    proved: bool


def fewest_spools(
    demands: Sequence[Demand], shelf: Sequence[int], full: int, hint: Sequence[int]
) -> Served | None:
    """Fewest new spools, then fewest spools opened; a spool is on one printer at a time.

    Parameters
    ----------
    shelf : hundredths of a gram left on each spool of the shelf
    full : hundredths of a gram on a new spool
    hint : a sound assignment; no more new spools than it has are considered

    Returns
    -------
    ``None`` when the solver finds nothing within its limit
    """
    from ortools.sat.python import cp_model

    new = max(0, max(hint, default=0) + 1 - len(shelf))
    room = [*shelf, *[full] * new]
    model = cp_model.CpModel()
    takes = [[model.new_bool_var(f"{i}_{s}") for s in range(len(room))] for i in range(len(demands))]
    opened = [model.new_bool_var(f"opened_{s}") for s in range(len(room))]
    for i, row in enumerate(takes):
        model.add_exactly_one(row)
        for s, taken in enumerate(row):
            model.add_hint(taken, s == hint[i])
            model.add_implication(taken, opened[s])
    for s, left in enumerate(room):
        weight = sum(demand.need * takes[i][s] for i, demand in enumerate(demands))
        model.add(weight <= left * opened[s])
    for group in _at_once(demands):
        for s in range(len(room)):
            model.add_at_most_one(takes[i][s] for i in group)
    for s in range(len(shelf), len(room) - 1):
        model.add_implication(opened[s + 1], opened[s])
    total = sum(demand.need for demand in demands)
    model.add(sum(left * opened[s] for s, left in enumerate(room)) >= total)
    model.minimize(sum((NEW_SPOOL if s >= len(shelf) else 0) * o + o for s, o in enumerate(opened)))
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = SOLVER_SEED
    solver.parameters.num_workers = 2
    solver.parameters.interleave_search = True
    solver.parameters.max_deterministic_time = DETERMINISTIC_LIMIT
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = tuple(next(s for s, taken in enumerate(row) if solver.value(taken)) for row in takes)
    return Served(chosen, status == cp_model.OPTIMAL)


def _at_once(demands: Sequence[Demand]) -> list[list[int]]:
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
