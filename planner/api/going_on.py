"""A plan that goes on, made beside the one that holds until somebody takes it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.ledger_place import LedgerPlace
from planner.api.ledger_plan import gone_on, ledger_of
from planner.api.planning import plan_folder
from planner.api.request import PlanRequest
from planner.api.since import SinceRequest

if TYPE_CHECKING:
    from planner.model.plan import Plan
    from planner.pipeline.job import Progress, Stop


def plan_beside(
    request: PlanRequest,
    into: Path,
    now: datetime,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Plan:
    """Go on from the plan in ``request.out``, by the facts since, and write the new one ``into`` another.

    Raises
    ------
    InputError
        as for a plan
    Infeasible
        when no plan is possible
    """
    asked = gone_on(request, ledger_of(request))
    since = asked.since or SinceRequest(request.out, tolerance_h=request.tolerance_h)
    return plan_folder(replace(asked, since=since, out=into), now, progress, stop)


def take_results(made: Path, out: Path) -> None:
    """Put a results folder in the place of another one, as a whole.

    Raises
    ------
    OutputError
        where that cannot be written; the folder of before stays then
    """
    from planner.io.results.output import WRITTEN, results

    with results(out) as fresh:
        for path in sorted(path for path in made.rglob("*") if path.is_file()):
            if (name := path.relative_to(made).as_posix()) != WRITTEN:
                fresh.write(name, path.read_bytes())


def last_fact(place: LedgerPlace) -> int:
    """The place of the fact that was told last, 0 where none was."""
    if not place.file.is_file():
        return 0
    from planner.ledger.reading import Reader

    with Reader(place.file) as ledger:
        return ledger.last()
