"""A plan: made, written, checked, told."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.ledger_plan import LedgerRead, gone_on, ledger_of, since_marks, with_ledger
from planner.api.left import brought_back
from planner.api.reading import read_job
from planner.api.request import CACHE_LIMIT_BYTES, CACHE_TRIM_S, PlanRequest
from planner.api.since import KEPT_FILE, plan_path, plan_since
from planner.errors import PlanFault

if TYPE_CHECKING:
    from planner.io.results.bed_files import KeptBeds
    from planner.model.plan import Plan
    from planner.pipeline.job import Job, Progress, Stop


def plan_folder(
    request: PlanRequest,
    now: datetime,
    progress: Progress | None = None,
    stop: Stop | None = None,
    first: Callable[[Plan], None] | None = None,
) -> Plan:
    """Read everything, plan, and write the results folder.

    Parameters
    ----------
    now : aware; the start of the plan when none is asked for
    stop : once it says so, the search ends with the best until then
    first : called when all is written and before it takes the place of an earlier plan, which stays where
        that fails

    Raises
    ------
    InputError
        when a file, a record or the place for the results cannot be used
    Infeasible
        when no plan is possible
    PlanFault
        when the plan fails the check by independent code; nothing is written then
    """
    from planner.api.preparing import first_plan

    with first_plan(request.effort, progress) as told:
        return _plan_folder(request, now, told, stop, first)


def _plan_folder(
    request: PlanRequest,
    now: datetime,
    progress: Progress | None,
    stop: Stop | None,
    first: Callable[[Plan], None] | None,
) -> Plan:
    from planner.io.results.bed_files import KeptBeds
    from planner.io.results.output import check_output

    brought_back(request.out)  # before it is looked for a plan that this one goes on from
    check_output(request.out)
    kept: dict[str, bytes] = {}
    before: KeptBeds | None = None
    read = ledger_of(request)
    request = gone_on(request, read)
    # An unsound plan replaces no sound one, asked for or not.
    job, plan = _made(replace(request, verify=True), read, now, progress, stop)
    if request.since is not None:
        path = plan_path(request.since.plan)
        kept[KEPT_FILE], before = path.read_bytes(), KeptBeds(path.parent)
    if progress is not None:
        progress("report", 0, 1)
    plan = write_results(job, plan, request.out, kept, before, first)
    _trim_cache(request)
    return plan


def write_results(
    job: Job,
    plan: Plan,
    out: Path,
    kept: Mapping[str, bytes] | None = None,
    before: KeptBeds | None = None,
    first: Callable[[Plan], None] | None = None,
) -> Plan:
    """Write the results folder of a plan, file by file; the plan with the digests of its beds.

    Parameters
    ----------
    kept : files that the folder holds besides, by path
    before : bed files of the plan that this one goes on from
    first : as of `plan_folder`

    Raises
    ------
    OutputError
        when the place cannot be written
    """
    from planner.io.results.bed_files import Shapes, write_beds
    from planner.io.results.output import results
    from planner.io.results.worlds_file import WORLDS, worlds_text
    from planner.pipeline.risk import livable_of
    from planner.report.bundle import each_document

    shapes = Shapes(plan.parts, plan.pieces, plan.deposits, job.meshes)
    with results(out) as made:
        plan = write_beds(plan, shapes, made.write, before)
        for name, body in chain((kept or {}).items(), each_document(plan)):
            made.write(name, body)
        if plan.schedule.runs:
            made.write(WORLDS, worlds_text(livable_of(plan)))
        if first is not None:
            first(plan)
    return plan


def _made(
    request: PlanRequest,
    read: LedgerRead | None,
    now: datetime,
    progress: Progress | None,
    stop: Stop | None,
) -> tuple[Job, Plan]:
    """Job and plan; checked where that is asked for, before anything is written of it."""
    from planner.pipeline.risk import with_risk

    job, planned = prepared(request, read, now, progress)
    plan = with_risk(planned(job, progress, stop), request.risk)
    if request.verify:
        verify_plan(plan)  # before anything is written: an unsound plan replaces no sound one
    return job, plan


Planned = Callable[["Job", "Progress | None", "Stop | None"], "Plan"]


def prepared(
    request: PlanRequest,
    read: LedgerRead | None,
    now: datetime,
    progress: Progress | None,
    *,
    every_way: bool = False,
) -> tuple[Job, Planned]:
    """The job, and what plans it or one that differs from it: from the start, or from an earlier plan on.

    Parameters
    ----------
    every_way : lessons of a ledger for whatever could be printed, not only for what is
    """
    from planner.io.results.plan_file import read_plan
    from planner.pipeline.coloured import coloured
    from planner.pipeline.run import run

    if request.since is None:
        job = coloured(read_job(request, now, progress))
        if read is not None:
            job, _ = with_ledger(job, read, request, None, every_way=every_way)
        return job, run
    earlier, since = read_plan(plan_path(request.since.plan)), request.since
    job = coloured(read_job(replace(request, held=earlier.choices), now, progress), earlier)
    if read is not None:
        since = since_marks(since, read, earlier, job)
        job, kept = with_ledger(job, read, request, earlier, every_way=every_way)
        earlier = kept or earlier

    def planned(job: Job, progress: Progress | None, stop: Stop | None) -> Plan:
        return plan_since(job, since, earlier, request.verify, progress, stop)

    return job, planned


def reckon(
    request: PlanRequest, now: datetime, progress: Progress | None = None, stop: Stop | None = None
) -> Plan:
    """A plan that is not written, and is checked only where that is asked for: what a choice does."""
    read = ledger_of(request)
    _, plan = _made(gone_on(request, read), read, now, progress, stop)
    _trim_cache(request)
    return plan


def _trim_cache(request: PlanRequest) -> None:
    if request.cache_folder is not None:
        from planner.estimate.cache_trim import trim_now_and_then

        trim_now_and_then(request.cache_folder, CACHE_LIMIT_BYTES, CACHE_TRIM_S)


def verify_plan(plan: Plan) -> None:
    """Check a plan by code that shares nothing with the code that made it.

    Raises
    ------
    PlanFault
        with every sentence that does not hold
    """
    from planner.pipeline.verify import faults

    found = faults(plan)
    if found:
        raise PlanFault("the plan failed its own check: " + "; ".join(found))


def plan_text(plan: Plan, *, as_json: bool, report: Path) -> str:
    """A plan for the terminal: the summary, or ``plan.json``."""
    if as_json:
        from planner.report.exports.plan_json import plan_json

        return plan_json(plan)
    from planner.report.text.summary import summary

    return summary(plan, str(report))
