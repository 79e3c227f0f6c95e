"""What each airframe of a plan of several comes to: mass, balance, money, minutes and its date."""

from __future__ import annotations

from collections.abc import Sequence

from planner.costing.airframe_cost import cost_by_airframe, work_of
from planner.model.airframe import Airframe
from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.model.schedule import Run
from planner.model.several import AirframeSums, is_late
from planner.pipeline.mass_estimate import Weighing
from planner.weights.mass import class_limits


def airframe_sums(
    plan: Plan, known: Weighing, past: Sequence[Run] = (), beds: Sequence[Batch] | None = None
) -> tuple[AirframeSums, ...]:
    """One for each airframe, in their order; none where the plan is of one alone.

    Parameters
    ----------
    past : runs that are over, whose minutes and dates count
    beds : those of all runs, past ones included
    """
    members = plan.airframe.members
    if not members:
        return ()
    runs = (*past, *plan.schedule.runs)
    batches = {batch.name: batch for batch in (plan.batches if beds is None else beds)}
    home = {piece.name: piece.airframe for piece in plan.pieces}
    work = work_of(runs, tuple(batches.values()), plan.pieces, plan.deposits)
    money = cost_by_airframe(plan.airframe, work, plan.cost)
    found = []
    for one, own in zip(members, known.members, strict=True):
        mine = [run for run in runs if _holds(batches[run.batch], one.name, home)]
        finish = max((run.end for run in mine), key=lambda end: end.timestamp(), default=None)
        found.append(
            AirframeSums(
                airframe=one,
                mass=own.mass,
                balance=own.balance,
                pieces=len(own.pieces),
                beds=tuple(dict.fromkeys(run.batch for run in mine)),
                minutes=work.minutes.get(one.name, 0.0),
                finish=finish,
                late=is_late(finish, one.due),
                cost_minor=sum(money[one.name].values()),
                by_kind_minor=money[one.name],
            )
        )
    return tuple(found)


def _holds(batch: Batch, airframe: str, home: dict[str, str]) -> bool:
    return any(home.get(placed.piece) == airframe for placed in batch.placed)


def class_notes(airframe: Airframe, known: Weighing) -> list[str]:
    """Mass classes that an airframe is over, each with its name where there are several."""
    if not known.members:
        mass = known.mass
        return class_limits(airframe, mass.low_g, mass.total_g, mass.high_g)
    found = []
    for one, own in zip(airframe.members, known.members, strict=True):
        for text in class_limits(one, own.mass.low_g, own.mass.total_g, own.mass.high_g):
            found.append(f"{one.name}: {text}")
    return found
