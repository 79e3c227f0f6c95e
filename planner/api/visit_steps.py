"""The steps of a visit: which are over by the facts, and which words of ``record`` tell that one is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.ledger.standing import Standing
    from planner.model.replan import EarlierPlan

_WATCH = re.compile(r"watch the first layers of (?P<bed>.+) for (?P<minutes>\d+) min")
_DRYER = re.compile(
    r"put (?P<in>.+) into dryer \d+ for .+|take (?P<out>.+) out of dryer \d+(?: and put it back on .+)?"
)


@dataclass(frozen=True, slots=True)
class Step:
    """A step of a visit; ``words`` tell ``record`` that it is done, none where nothing keeps that."""

    text: str
    words: tuple[str, ...] = ()


def open_steps(
    tasks: Sequence[str], plan: EarlierPlan, standing: Standing, now: datetime
) -> tuple[Step, ...]:
    """What is left of the steps of a visit, in their order.

    A bed that was begun was made ready before: what leads to its start is over with it.
    """
    return tuple(
        step
        for group, bed, printer in _groups(tasks, plan)
        for step in _left(group, bed, printer, plan, standing, now)
    )


def _groups(tasks: Sequence[str], plan: EarlierPlan) -> list[tuple[list[str], str, str]]:
    """Steps that belong together, with the bed and the printer that they make ready; empty where none."""
    starts = {f"start {run.batch} on {run.printer}": (run.batch, run.printer) for run in plan.runs}
    found: list[tuple[list[str], str, str]] = []
    group: list[str] = []
    for task in tasks:
        if task.startswith(("during ", "watch ")) or (task.startswith("clear ") and group):
            found += [([one], "", "") for one in group]
            group = []
        if task.startswith("watch ") or _DRYER.fullmatch(task):
            found.append(([task], "", ""))
            continue
        group.append(task)
        if task in starts:
            found.append((group, *starts[task]))
            group = []
    return [*found, *(([one], "", "") for one in group)]


def _left(
    group: list[str], bed: str, printer: str, plan: EarlierPlan, standing: Standing, now: datetime
) -> list[Step]:
    if bed in standing.fates:
        return []
    ready = printer in standing.ready
    found = []
    for task in group:
        if task == f"start {bed} on {printer}":
            found.append(Step(task, (bed, "began")))
        elif (cleared := _cleared(task, plan)) is not None:
            if cleared not in standing.cleared:
                found.append(Step(task, (cleared, "cleared") if _over(cleared, plan, standing) else ()))
        elif (watched := _WATCH.fullmatch(task)) is not None:
            if not _watched(watched, standing, now):
                found.append(Step(task))
        elif (dryer := _DRYER.fullmatch(task)) is not None:
            if not _dried(dryer, plan, standing, now):
                spool = (dryer["out"] or "").removeprefix("spool ")
                found.append(Step(task, ("dried", spool) if spool else ()))
        elif not (bed and ready):
            found.append(Step(task, ("changed", printer) if bed and task == _last_change(group) else ()))
    return found


def _dried(task: re.Match[str], plan: EarlierPlan, standing: Standing, now: datetime) -> bool:
    """Whether a spool is told to be out of the dryer since it went in, or was to go in."""
    name = (task["out"] or task["in"]).removeprefix("spool ")
    fact = standing.dried.get(name)
    if fact is None:
        return False
    loads = [load for load in plan.drying if name in load.spools]
    if task["out"]:
        mine = [load for load in loads if load.put_in <= now][-1:] or loads[:1]
    else:
        mine = [load for load in loads if load.take_out > now][:1] or loads[-1:]
    return all(fact.at >= load.put_in for load in mine)


def _cleared(task: str, plan: EarlierPlan) -> str | None:
    """The bed that a step clears."""
    if not task.startswith("clear "):
        return None
    over = [(past.batch.name, past.run.printer) for past in plan.past]
    beds = [*((run.batch, run.printer) for run in plan.runs), *over]
    return next((bed for bed, printer in beds if task == f"clear {bed} from {printer}"), None)


def _over(bed: str, plan: EarlierPlan, standing: Standing) -> bool:
    """Whether it is told what became of a bed; before that nobody can say that it was cleared."""
    fact = standing.fates.get(bed)
    return fact.kind != "began" if fact is not None else any(past.batch.name == bed for past in plan.past)


def _last_change(group: Sequence[str]) -> str:
    """The step with which the filament of the next bed is on: one tick for all that leads there."""
    changes = [task for task in group if not task.startswith(("clear ", "start ", "put the "))]
    return changes[-1] if changes else ""


def _watched(task: re.Match[str], standing: Standing, now: datetime) -> bool:
    """Whether the first layers of a bed are laid, or it came to nothing."""
    fact = standing.fates.get(task["bed"])
    if fact is None:
        return False
    return fact.kind != "began" or now >= fact.at + timedelta(minutes=int(task["minutes"]))
