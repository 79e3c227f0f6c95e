"""What is away while a plan is made: left out, told, and held against the runs that go on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from planner.errors import Infeasible
from planner.model.away import Span, spans_of
from planner.model.filament import Filament, Spool
from planner.model.finding import Finding
from planner.model.printer import Printer
from planner.model.replan import EarlierPlan
from planner.model.schedule import Run
from planner.pipeline.job import Job
from planner.scheduling.problem.calendar import zone_of

Thing = Printer | Filament | Spool


def there_now(job: Job, running: frozenset[str] = frozenset()) -> Job:
    """The job with its absences told, and without printers of which nobody knows when they are back.

    Parameters
    ----------
    running : printers on which something goes on

    Raises
    ------
    Infeasible
        where no printer is left
    """
    shop = job.workshop
    findings = [
        Finding(f"{what} {thing.name}", text, "note")
        for what, things in (("printer", shop.printers), ("filament", shop.filaments), ("spool", shop.spools))
        for thing in things
        for text in _told(thing, job)
    ]
    if not findings:
        return job
    gone = {p.name for p in shop.printers if _gone(p, job) and p.name not in running}
    kept = tuple(printer for printer in shop.printers if printer.name not in gone)
    if not kept:
        raise Infeasible(
            "every printer is away until told.",
            where="away",
            next_step="Say until when (planner away, or workshop.toml), or start the plan later.",
        )
    workshop = replace(shop, printers=kept)
    return replace(job, workshop=workshop, findings=(*job.findings, *findings))


def cut_short(job: Job, running: Sequence[Run], earlier: EarlierPlan) -> list[Finding]:
    """Runs that go on while their printer, filament or spool is away."""
    shop = job.workshop
    filament_of = {batch.name: batch.filament for batch in earlier.batches}
    printers = {printer.name: printer for printer in shop.printers}
    filaments = {filament.name: filament for filament in shop.filaments}
    spools = {spool.name: spool for spool in shop.spools}
    found = []
    for run in running:
        needs: list[tuple[str, Thing | None]] = [("printer", printers.get(run.printer))]
        needs.append(("filament", filaments.get(filament_of.get(run.batch, ""))))
        needs += [("spool", spools.get(draw.spool)) for draw in run.draws]
        for what, thing in needs:
            span = next((s for s in _spans(thing, job) if _meets(s, job.start, run.end)), None)
            if thing is not None and span is not None:
                text = (
                    f"it prints until {run.end:%Y-%m-%d %H:%M}, and {what} {thing.name} is away"
                    f" {_words(span, job)}: let that wait, or stop the bed and mark it failed."
                )
                found.append(Finding(run.batch, text))
    return found


def _told(thing: Thing, job: Job) -> Iterable[str]:
    for span in _spans(thing, job):
        since, until = span
        if until is not None and _utc(until) <= _utc(job.start):
            yield f"its absence until {_clock(until, job)} is over before the plan begins."
        elif isinstance(thing, Printer) and _gone(thing, job):
            yield "away until told: the plan leaves it out."
        elif _utc(since) <= _utc(job.start):
            yield f"away until {_clock(until, job)}" if until is not None else "away until told"
        else:
            yield f"away {_words(span, job)}"


def _gone(printer: Printer, job: Job) -> bool:
    """Whether it is away when the plan begins, and nobody knows until when."""
    return any(until is None and _utc(since) <= _utc(job.start) for since, until in _spans(printer, job))


def _spans(thing: Thing | None, job: Job) -> tuple[Span, ...]:
    return () if thing is None else spans_of(thing.away, zone_of(job.workshop.attendance, job.start))


def _meets(span: Span, since: datetime, until: datetime) -> bool:
    return _utc(span[0]) < _utc(until) and (span[1] is None or _utc(span[1]) > _utc(since))


def _words(span: Span, job: Job) -> str:
    since, until = span
    return f"from {_clock(since, job)} until {_clock(until, job) if until is not None else 'told'}"


def _clock(moment: datetime, job: Job) -> str:
    return f"{moment.astimezone(zone_of(job.workshop.attendance, job.start)):%Y-%m-%d %H:%M}"


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
