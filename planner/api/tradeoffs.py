"""Trade-offs: read, studied, written, told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.reading import start_time
from planner.api.request import PlanRequest
from planner.api.several import refuse_several
from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.pipeline.job import Job, Progress
    from planner.tradeoffs.study import Study, Wishes


@dataclass(frozen=True, slots=True)
class TradeoffRequest:
    """What the user wants to reach, as written; ``None`` leaves it open."""

    mass_at_most_g: float | None = None
    finish_by: str | None = None
    cost_at_most: str | None = None
    balance_inside: bool = False


def tradeoff_folder(
    request: PlanRequest, wanted: TradeoffRequest, now: datetime, progress: Progress | None = None
) -> Study:
    """Study what to print otherwise, and write the sheet and its record.

    Raises
    ------
    InputError
        when a file, a record, a wish or the place for the results cannot be used
    Infeasible
        when there is no plan to start from
    PlanFault
        when a plan of the study fails the check by independent code; nothing is written then
    """
    from planner.api.planning import verify_plan
    from planner.io.results.output import check_output, write_output
    from planner.report.sheets.tradeoff_sheet import tradeoff_html
    from planner.report.text.tradeoff_text import tradeoff_json

    check_output(request.out)
    found = tradeoff_studied(request, wanted, now, progress)
    for plan in (found.before, found.after):
        if plan is not None:
            verify_plan(plan)
    if progress is not None:
        progress("report", 0, 1)
    text = {"tradeoff.html": tradeoff_html(found), "tradeoff.json": tradeoff_json(found)}
    write_output(request.out, {name: body.encode("utf-8") for name, body in text.items()})
    return found


def tradeoff_studied(
    request: PlanRequest, wanted: TradeoffRequest, now: datetime, progress: Progress | None = None
) -> Study:
    """Study what to print otherwise; nothing is written.

    Where a ledger tells of beds the study goes on from their plan: what is printed stays as it is.
    """
    from planner.api.ledger_plan import gone_on, ledger_of
    from planner.api.planning import prepared
    from planner.pipeline.tradeoff import study

    refuse_several(request, "a trade-off")
    read = ledger_of(request)
    request = gone_on(request, read)
    job, planned = prepared(request, read, now, progress, every_way=True)
    return study(job, _wishes(job, wanted, now), progress, lambda job, told: planned(job, told, None))


def tradeoff_told(found: Study, *, as_json: bool, report: Path) -> str:
    """A trade-off for the terminal, or its record."""
    from planner.report.text.tradeoff_text import tradeoff_json, tradeoff_text

    return tradeoff_json(found) if as_json else tradeoff_text(found, str(report))


def _wishes(job: Job, wanted: TradeoffRequest, now: datetime) -> Wishes:
    from planner.errors import InputError
    from planner.tradeoffs.study import Wishes
    from planner.units import parse_money, to_minor

    cost = None
    if wanted.cost_at_most is not None:
        try:
            amount, code = parse_money(wanted.cost_at_most)
        except InputError as error:
            raise RecordError(error.what, where="--cost-at-most", next_step=error.next_step) from error
        if code != job.workshop.currency:
            raise RecordError(
                f"{wanted.cost_at_most!r} is in {code}, but the workshop counts in {job.workshop.currency}.",
                where="--cost-at-most",
                next_step=f"Write the amount in {job.workshop.currency}.",
            )
        cost = to_minor(amount, code)
    finish = None
    if wanted.finish_by is not None:
        try:
            finish = start_time(wanted.finish_by, job.workshop.attendance, now)
        except RecordError as error:
            raise RecordError(error.what, where="--finish-by", next_step=error.next_step) from error
        if finish <= job.start:
            raise RecordError(
                f"{wanted.finish_by!r} is not after the start of the plan ({job.start:%Y-%m-%d %H:%M}).",
                where="--finish-by",
                next_step="Give a later date, or an earlier --start.",
            )
    return Wishes(wanted.mass_at_most_g, finish, cost, wanted.balance_inside)
