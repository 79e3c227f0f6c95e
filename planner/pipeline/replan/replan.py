"""From an earlier plan, and what became of its beds, to a plan for the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime

from planner.costing.cost import cost_sheet
from planner.costing.section_cost import cost_by_section
from planner.errors import RecordError
from planner.joint_search.composition import Composition
from planner.model.batch import Batch, bed_numbers
from planner.model.finding import Finding
from planner.model.fit import ANY
from planner.model.moments import minutes_after, told_in
from planner.model.plan import Plan
from planner.model.replan import EarlierPlan, Marks, Replan
from planner.model.schedule import Schedule, SpoolUse, Visit
from planner.model.workshop import Workshop
from planner.pipeline.airframe_sums import airframe_sums
from planner.pipeline.away import cut_short, there_now
from planner.pipeline.build_order import build_order
from planner.pipeline.job import Job, Progress, Stop
from planner.pipeline.lessons import printed_as_taught, tables_of
from planner.pipeline.lots import told_lots, with_lots
from planner.pipeline.mass_estimate import Weighing
from planner.pipeline.outlook import with_outlook
from planner.pipeline.replan.again import printed_again
from planner.pipeline.replan.beds import BedsLeft, beds_left
from planner.pipeline.replan.buying import Given, Open, bought_as_told
from planner.pipeline.replan.changes import changes_of
from planner.pipeline.replan.density import corrected
from planner.pipeline.replan.drying import dryers_now, replanned_dry
from planner.pipeline.replan.outcomes import Outcomes, outcomes
from planner.pipeline.replan.printed import changed_since, printed_now
from planner.pipeline.replan.same import Sameness
from planner.pipeline.replan.shelf import drawn_from, refuse_other_filament, shelf_now
from planner.pipeline.replan.spread import beds_and_times
from planner.pipeline.replan.visit import halfway, starts, with_changed
from planner.pipeline.run import STOPPED, plan_of
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.task import compose_task
from planner.scheduling.repair.replan import Replanned
from planner.scheduling.repair.replan_plan import Underway, replan_batches
from planner.scheduling.spools.spool_short import resupplied, weighed_while_running

TOLERATED_H = 4.0
Digests = Callable[[Weighing], Callable[[Batch], str]]


def run_since(
    job: Job,
    earlier: EarlierPlan,
    marks: Marks,
    tolerance_h: float = TOLERATED_H,
    progress: Progress | None = None,
    stop: Stop | None = None,
    digests: Digests | None = None,
) -> Plan:
    """Plan what is left of an airframe: failed beds again, what runs goes on, few of the others moved.

    Grams of runs that are over are taken off the shelf. A failed run is taken to have drawn what it can have
    drawn until now. What is printed weighs what was printed.

    Parameters
    ----------
    digests : of the models of bed files, so that a bed whose file would be another one is told as new

    Raises
    ------
    RecordError
        for marks that the earlier plan does not know
    Infeasible
        when what is left cannot be printed
    """
    report = progress or (lambda stage, done, total: None)
    job = in_place(job)
    earlier, densities = corrected(earlier, job.workshop)
    became = printed_again(outcomes(earlier, marks, job.start, starts(job.workshop)), earlier, marks.again)
    job = there_now(job, frozenset(run.printer for run in became.running))
    lost = [*_lost_printers(job.workshop, became), *cut_short(job, became.running, earlier)]
    shelf = shelf_now(job.workshop.spools, earlier, became, job.accounts, job.start)
    refuse_other_filament(became, earlier, job.workshop.spools)
    told = {spool.name: spool.grams_left for spool in job.workshop.spools}
    workshop = _workshop_now(job.workshop, earlier, became)
    visit = halfway(earlier, marks, became, workshop, job.start)
    became = visit.now(became)
    spools = visit.shelf(shelf.spools, shelf.weighed, earlier)
    workshop = with_changed(workshop, visit, spools)
    workshop, dryers = dryers_now(workshop, earlier, job.start)
    printed = printed_now(earlier, became)
    job = replace(job, workshop=workshop, taught=tables_of(printed, earlier, job.taught))
    job = replace(job, printed=printed_as_taught(printed, earlier, job.taught))
    became, dry = _with_spools(became, earlier, job.workshop, shelf.weighed, job.start)
    known = weighed_all(job, report)
    job = with_lots(job, known.pieces, became.past)
    report("beds and schedule", 0, 1)
    task = compose_task(job, known)
    left = beds_left(task, earlier, became, _sameness(job, earlier, known, digests))
    underway = replace(_underway(earlier, became, job.workshop), busy_until=visit.until)
    was = {run.batch: (run.printer, run.start) for run in became.open}

    wishes = {run.batch: run.draws[0].spool for run in became.open if run.draws}

    def attempt(shop: Workshop) -> tuple[BedsLeft, Given, Replanned]:
        def timed(beds: BedsLeft) -> tuple[Schedule, Replanned]:
            return replan_batches(
                beds.batches,
                was,
                underway,
                shop,
                job.start,
                tolerance_h=tolerance_h,
                effort=job.effort,
                seed=job.seed,
            )

        beds, times, found = beds_and_times(task, earlier, left, timed, tolerance_h)
        given, found = bought_as_told(
            Open(beds.batches, underway, wishes),
            times,
            found,
            shop,
            job.start,
            tolerance_h=tolerance_h,
            effort=job.effort,
            seed=job.seed,
        )
        return beds, given, found

    left, (schedule, uses), answer = replanned_dry(
        attempt, left, underway, dryers, earlier, job.workshop, job.start
    )
    batches = _in_order((*underway.batches, *left.batches), schedule)
    if not schedule.runs and became.past:
        schedule = replace(schedule, finish=_last_end(became, job.start))
    report("mass and cost", 0, 1)
    plan = plan_of(job, known, Composition(batches, left.misfits, schedule, uses))
    changes = changes_of(earlier, became, left, schedule, job.start)
    replanned = Replan(
        since=earlier.identification,
        tolerance_h=tolerance_h,
        earlier_finish=told_in(earlier.finish, job.start.tzinfo),
        best=_best(minutes_after(job.start, answer.best), schedule),
        open_batches=sum(change.kind in ("stays", "moved") for change in changes),
        moved=sum(change.kind == "moved" for change in changes),
        proved=answer.proved,
        changes=changes,
        told_g=told,
        series=earlier.series,
        generation=earlier.generation + 1,
        last_bed=_last_bed(earlier, batches),
        visits_gone=_gone(earlier, schedule, job.start),
        changed=visit.changed,
    )
    findings = (*became.findings, *lost, *densities, *shelf.findings, *dry, *changed_since(plan))
    plan = replace(
        _with_past(plan, became, known),
        past=became.past,
        replan=replanned,
        assumptions=(*_assumed(became, left), *dryers.notes, *plan.assumptions),
        findings=tuple(dict.fromkeys([*findings, *plan.findings])),
    )
    plan = told_lots(with_outlook(plan))
    if stop is not None and stop():
        return replace(plan, assumptions=(*plan.assumptions, STOPPED))
    return plan


def _sameness(job: Job, earlier: EarlierPlan, known: Weighing, digests: Digests | None) -> Sameness:
    return Sameness(
        earlier,
        {piece.name: piece for piece in known.pieces},
        known.makes,
        {name: deposit.mass_g for name, deposit in known.deposits.items()},
        None if digests is None else digests(known),
        {} if job.taught is None else job.taught.files,
    )


def _best(found: datetime, schedule: Schedule) -> datetime:
    """The soonest finish that was found: that of the plan itself, where its order of spools has it."""
    return min(found, schedule.finish, key=lambda at: at.timestamp()) if schedule.runs else found


def _last_bed(earlier: EarlierPlan, batches: Sequence[Batch]) -> int:
    names = [batch.name for batch in (*earlier.batches, *(p.batch for p in earlier.past), *batches)]
    return max([earlier.last_bed, *bed_numbers(names).values()])


def _last_end(became: Outcomes, now: datetime) -> datetime:
    """When the last bed of all really ended."""
    last = max((past.run.end for past in became.past), key=lambda end: end.timestamp())
    return told_in(last, now.tzinfo)


def _with_spools(
    became: Outcomes, earlier: EarlierPlan, workshop: Workshop, weighed: frozenset[str], now: datetime
) -> tuple[Outcomes, tuple[Finding, ...]]:
    """What runs draws what its spools hold, and no more."""
    here = {batch.name: batch for batch in earlier.batches}
    runs = weighed_while_running(became.running, weighed, now)
    runs, findings = resupplied(runs, here, workshop, now)
    return replace(became, running=runs), findings


def _lost_printers(workshop: Workshop, became: Outcomes) -> list[Finding]:
    """What is to be said of printers that the workshop has no more; what ran on them must be over."""
    names = {printer.name for printer in workshop.printers}
    lost = next((run for run in became.running if run.printer not in names), None)
    if lost is not None:
        raise RecordError(
            f"{lost.batch!r} runs on {lost.printer!r}, which the workshop does not have.",
            where="--running",
            next_step=f'Say --done "{lost.batch}" or --failed "{lost.batch}", or name the printer again'
            f" (known: {', '.join(sorted(names))}).",
        )
    return [
        Finding(
            past.batch.name,
            f"it lies on {past.run.printer}, which the workshop has no more: no visit of the plan clears it.",
        )
        for past in became.past
        if past.on_bed and past.run.printer not in names
    ]


def _workshop_now(workshop: Workshop, earlier: EarlierPlan, became: Outcomes) -> Workshop:
    """What is on each printer after the last run that has begun on it."""
    here = {batch.name: batch for batch in earlier.batches}
    begun = [(past.run.start, past.run.printer, past.batch.filament) for past in became.past]
    begun += [(run.start, run.printer, here[run.batch].filament) for run in became.running]
    loaded = {printer: filament for _, printer, filament in sorted(begun)}
    fits = [(past.run.start, past.run.printer, past.batch.fit) for past in became.past]
    fits += [(run.start, run.printer, here[run.batch].fit) for run in became.running]
    on = {printer: fit for _, printer, fit in sorted(fits, key=lambda row: row[:2])}
    printers = tuple(
        replace(p, loaded=loaded.get(p.name, p.loaded), fitted=p.fit_for(on.get(p.name, ANY)) or p.fitted)
        if p.name in on
        else p
        for p in workshop.printers
    )
    return replace(workshop, printers=printers)


def _underway(earlier: EarlierPlan, became: Outcomes, workshop: Workshop) -> Underway:
    here = {batch.name: batch for batch in earlier.batches}
    names = {printer.name for printer in workshop.printers}
    on_bed = {p.run.printer: p.batch.name for p in became.past if p.on_bed and p.run.printer in names}
    return Underway(became.running, tuple(here[run.batch] for run in became.running), on_bed)


def _in_order(batches: tuple[Batch, ...], schedule: Schedule) -> tuple[Batch, ...]:
    at = {run.batch: n for n, run in enumerate(schedule.runs)}
    return tuple(sorted(batches, key=lambda batch: at[batch.name]))


def _gone(earlier: EarlierPlan, schedule: Schedule, now: datetime) -> tuple[datetime, ...]:
    """Visits of the earlier plan that were still to come and are not in the new one."""
    kept = {visit.at for visit in schedule.visits}
    return tuple(told_in(at, now.tzinfo) for at in earlier.visits if at >= now and at not in kept)


def _with_past(plan: Plan, became: Outcomes, known: Weighing) -> Plan:
    """Cost of the whole airframe with what is over, and a build order that begins with what is there."""
    past = became.past
    delivered = [
        replace(one.batch, placed=tuple(p for p in one.batch.placed if p.piece in one.delivered))
        for one in past
    ]
    names = {batch.name: n for n, batch in enumerate(plan.batches)}
    runs = (*(one.run for one in past), *plan.schedule.runs)
    whole = replace(plan.schedule, runs=runs, visits=(Visit(plan.start, 0, ()), *plan.schedule.visits))
    beds = (*(batch for batch in delivered if batch.name not in names), *plan.batches)
    order = build_order(plan.airframe, plan.parts, plan.pieces, beds, whole, known.contacts)
    printed = (*(one.batch for one in past if one.batch.name not in names), *plan.batches)
    cost = cost_sheet(
        plan.airframe,
        plan.workshop,
        plan.mass,
        printed,
        replace(plan.schedule, runs=runs),
        _with_drawn(plan, became),
    )
    cost = replace(cost, by_section_minor=cost_by_section(plan.airframe, plan.mass, cost))
    plan = replace(plan, build_order=order, cost=cost)
    return replace(plan, airframes=airframe_sums(plan, known, [one.run for one in past], printed))


def _with_drawn(plan: Plan, became: Outcomes) -> tuple[SpoolUse, ...]:
    """Spool usage with the grams of runs that are over, for the cost of the whole."""
    used: dict[str, float] = {}
    purged: dict[str, float] = {}
    filament: dict[str, str] = {}
    for past in became.past:
        for n, draw in enumerate(past.run.draws):
            used[draw.spool] = used.get(draw.spool, 0.0) + draw.grams
            purged[draw.spool] = purged.get(draw.spool, 0.0) + (0.0 if n else past.run.purge_g)
            filament[draw.spool] = past.batch.filament
    here = {batch.name: batch for batch in plan.batches}
    for run in became.running:  # what was drawn before the scale is in no spool's account
        for n, draw in enumerate(run.draws):
            used[draw.spool] = used.get(draw.spool, 0.0) + draw.before_g
            before = run.purge_g - run.charge(n)[1] if n == 0 else 0.0
            purged[draw.spool] = purged.get(draw.spool, 0.0) + before
            filament[draw.spool] = here[run.batch].filament
    whole = [
        replace(
            use,
            grams_used=use.grams_used + used.pop(use.spool, 0.0),
            grams_purged=use.grams_purged + purged.pop(use.spool, 0.0),
        )
        for use in plan.spools
    ]
    gone = [
        SpoolUse(name, filament[name], False, grams + purged[name], grams, purged[name], 0.0, None)
        for name, grams in used.items()
    ]
    return (*whole, *gone)


def _assumed(became: Outcomes, left: BedsLeft) -> tuple[str, ...]:
    notes = []
    failed = [past for past in became.newly if past.outcome == "failed"]
    if failed:
        grams = sum(drawn_from(failed).values())
        names = ", ".join(past.batch.name for past in failed)
        notes.append(f"{names} failed: {grams:.0f} g are taken off the spools, as far as it can have printed")
    if left.dropped:
        told = "; ".join(f"{name}: {why}" for name, why in left.dropped.items())
        notes.append(f"beds of the earlier plan that are gone: {told}")
    return tuple(notes)
