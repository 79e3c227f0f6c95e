"""Going on from an earlier plan: which one, what became of its beds, how much delay is tolerated."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import InputError, PlanFault, RecordError
from planner.model.moments import told_in
from planner.model.replan import Marks

if TYPE_CHECKING:
    from planner.model.batch import Batch
    from planner.model.plan import Plan
    from planner.model.replan import EarlierPlan
    from planner.pipeline.job import Job, Progress, Stop
    from planner.pipeline.mass_estimate import Weighing

LONGEST_H = 24.0 * 365.0
PLAN_FILE = "plan.json"
KEPT_FILE = "earlier_plan.json"


@dataclass(frozen=True, slots=True)
class SinceRequest:
    """The earlier plan (its file or results folder), the marks, and the hours of delay that are tolerated.

    ``at`` tells by bed, as written, when a done or failed one ended, or when a running one will.

    Examples
    --------
    >>> import planner
    >>> first = planner.plan("kit", start="2026-12-01T18:00", effort="quick", out="out")
    >>> marks = planner.Marks(failed=("bed 1",))
    >>> since = planner.Since("out", marks)
    >>> again = planner.plan("kit", since=since, start="2026-12-02T08:00", effort="quick")
    >>> [batch.name for batch in again.batches]
    ['bed 2']
    """

    plan: Path
    marks: Marks = Marks()
    tolerance_h: float = 4.0
    at: Mapping[str, str] = field(default_factory=dict)


def tolerance_of(text: str) -> float:
    """Hours of a text such as ``4h``, ``90min``, ``1d`` or ``0``.

    Raises
    ------
    InputError
        when it is no duration, or longer than a year
    """
    found = re.fullmatch(r"\s*(\d{1,6}(?:\.\d{1,3})?)\s*(h|min|d|)\s*", text)
    hours = -1.0
    if found:
        hours = float(found[1]) * {"h": 1.0, "": 1.0, "min": 1.0 / 60.0, "d": 24.0}[found[2]]
    if not 0.0 <= hours <= LONGEST_H:
        raise InputError(
            f"{text!r} is no delay.", where="--tolerate", next_step="Write it like 4h, 90min or 1d."
        )
    return hours


def plan_path(plan: Path) -> Path:
    """The file of a plan that is named by it or by its results folder."""
    return plan / PLAN_FILE if plan.is_dir() else plan


def beds_and_times(words: Sequence[str]) -> tuple[tuple[str, ...], dict[str, str]]:
    """Beds of words such as ``bed 1`` and ``bed 1=2026-12-02T21:30``, and the times that stand with them."""
    beds, times = [], {}
    for word in words:
        bed, equals, text = word.rpartition("=")
        if equals and re.match(r"\s*\d{4}", text):
            beds.append(bed.strip())
            times[bed.strip()] = text.strip()
        else:
            beds.append(word)
    return tuple(beds), times


def moments(request: SinceRequest, job: Job) -> dict[str, datetime]:
    """The told times on the clock of the workshop."""
    from planner.api.reading import start_time

    found = {}
    for bed, text in request.at.items():
        mark = next(
            mark
            for mark in ("running", "failed", "done")
            if bed in getattr(request.marks, mark) or mark == "done"
        )
        try:
            at = start_time(text, job.workshop.attendance, job.start)
            found[bed] = told_in(at, at.tzinfo)
        except RecordError as error:
            raise RecordError(error.what, where=f"--{mark}", next_step=error.next_step) from error
    return found


def plan_since(
    job: Job,
    request: SinceRequest,
    earlier: EarlierPlan,
    verify: bool,
    progress: Progress | None,
    stop: Stop | None,
) -> Plan:
    """The plan that goes on.

    Raises
    ------
    RecordError
        when the earlier plan is one of another airframe, or a mark makes no sense in it
    PlanFault
        when the check is asked for and fails
    """
    from planner.io.results.bed_files import Shapes, model_digest
    from planner.pipeline.replan.replan import run_since

    path = plan_path(request.plan)
    names = {part.name for part in job.airframe.parts}
    if not names & set(earlier.parts):
        raise RecordError(
            f"this is a plan of {earlier.airframe!r}; none of its parts is in {job.airframe.name!r}.",
            where=str(path),
            next_step="Give the plan.json of the same airframe.",
        )

    def digests(known: Weighing) -> Callable[[Batch], str]:
        shapes = Shapes(known.parts, known.pieces, known.deposits, job.meshes)
        return lambda batch: model_digest(batch, shapes)

    marks = replace(request.marks, at=moments(request, job))
    plan = run_since(job, earlier, marks, request.tolerance_h, progress, stop, digests)
    if verify:
        from planner.pipeline.replan.verify import since_faults

        found = since_faults(plan, earlier, marks)
        if found:
            raise PlanFault("the plan does not go on from the earlier one: " + "; ".join(found))
    return plan
