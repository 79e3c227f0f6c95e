"""What machine files that were taken do to a plan: figures of beds that go on, lessons, what is too long."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.ledger.fact import Fact
    from planner.model.finding import Finding
    from planner.model.learned import FileFigures
    from planner.model.replan import EarlierPlan
    from planner.pipeline.job import Job


def with_files(job: Job, facts: tuple[Fact, ...], earlier: EarlierPlan | None) -> Job:
    """Figures of machine files: of the beds that go on, and what all of them say of the estimate."""
    from planner.learning.file_factors import file_factors
    from planner.ledger.files import all_files, files_of

    every = all_files(facts)
    if not every or job.taught is None:
        return job
    files = {}
    if earlier is not None:
        known = {run.batch for run in earlier.runs} | {past.batch.name for past in earlier.past}
        own = files_of(facts, earlier.airframe, earlier.series)
        files = {bed: one for bed, one in own.items() if bed in known}
    taught = replace(job.taught, files=files, factors=(*job.taught.factors, *file_factors(every)))
    findings = _too_long(job, files, earlier)
    notes = tuple(
        f"{bed} has the grams and minutes of its machine file {one.file}"
        f" ({100.0 * one.share:.0f} % and {100.0 * one.minutes_share:.0f} % of the estimate)"
        for bed, one in files.items()
    )
    return replace(
        job,
        taught=taught,
        assumptions=(*job.assumptions, *notes),
        findings=(*job.findings, *findings),
    )


def _too_long(job: Job, files: Mapping[str, FileFigures], earlier: EarlierPlan | None) -> list[Finding]:
    """Beds whose file takes longer than a run may take: they were taken before that was said."""
    from planner.joint_search.limits import longest_minutes
    from planner.model.finding import Finding
    from planner.units import hours_text

    found = []
    shop = job.workshop
    names = {filament.name for filament in shop.filaments}
    for batch in earlier.batches if earlier is not None else ():
        printer = next((one for one in shop.printers if one.kind == batch.printer_kind), None)
        file = files.get(batch.name)
        if printer is None or file is None or batch.filament not in names:
            continue
        longest = longest_minutes(shop, printer.kind, shop.filament(batch.filament))
        minutes = printer.heat_up_minutes + printer.minutes_times(batch.filament) * file.minutes
        if minutes > longest.value:
            lasts, who = hours_text(minutes), longest.said_by
            text = f"runs {lasts} by its machine file {file.file}, longer than {who}"
            found.append(Finding(batch.name, text))
    return found
