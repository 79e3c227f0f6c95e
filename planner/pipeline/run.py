"""From meshes, airframe and workshop to a plan: strings the stages together."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from planner.costing.cost import cost_sheet
from planner.costing.section_cost import cost_by_section
from planner.costing.series_cost import series_price
from planner.estimate.advice import advise, advise_filaments
from planner.joint_search.composition import Composition
from planner.joint_search.limits import limits_told
from planner.joint_search.search import compose
from planner.joint_search.series import compose_series
from planner.model.finding import Finding
from planner.model.plan import Plan
from planner.model.several import copies_of
from planner.pipeline.airframe_sums import airframe_sums, class_notes
from planner.pipeline.away import there_now
from planner.pipeline.build_order import build_order
from planner.pipeline.cautions import cautions
from planner.pipeline.cluster_search import compose_on_cluster
from planner.pipeline.doubts import counted_by_grams, left_out, never_cleared, tight_spools, timed_printers
from planner.pipeline.drying import composed_dry, drying_notes
from planner.pipeline.early import EarlyTold
from planner.pipeline.job import Job, Progress, Stop
from planner.pipeline.lots import told_lots, with_lots
from planner.pipeline.mass_estimate import Weighing
from planner.pipeline.outlook import with_outlook
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.task import compose_task
from planner.pipeline.taught import with_predictions
from planner.pipeline.turning import with_turns

STOPPED = "the search was stopped by hand; the plan is the best that was found until then"


def run(job: Job, progress: Progress | None = None, stop: Stop | None = None) -> Plan:
    """Plan an airframe.

    Parameters
    ----------
    stop : once it says so, the search ends with the best until then, and the plan says that it did

    Raises
    ------
    Infeasible
        when nothing can be printed, or nobody is ever there to start a run
    """
    report = progress or _silent
    job = in_place(there_now(job))
    known = weighed_all(job, report)
    job = with_lots(job, known.pieces)
    report("beds and schedule", 0, 1)
    composition = _compose(job, known, report, stop)
    report("mass and cost", 0, 1)
    plan = told_lots(with_outlook(plan_of(job, known, composition)))
    plan = replace(plan, series=series_price(plan))
    if stop is not None and stop():
        return replace(plan, assumptions=(*plan.assumptions, STOPPED))
    return plan


def _silent(stage: str, done: int, total: int) -> None:
    del stage, done, total


def _compose(job: Job, known: Weighing, report: Progress, stop: Stop | None) -> Composition:
    told = SearchTold(report)
    task, copies = compose_task(job, known), copies_of(job.airframe)
    search = partial(compose_on_cluster, job.cluster) if job.cluster else compose
    if copies:
        return composed_dry(
            task, lambda dry: compose_series(dry, copies, told.better, stop, told.stepped, search)
        )
    early = EarlyTold(job, known, report).told if report is not _silent else None
    return composed_dry(task, lambda dry: search(dry, told.better, stop, told.stepped, early))


class SearchTold:
    """Tells of a search: its best finish so far, and how many of its steps are done."""

    def __init__(self, report: Progress) -> None:
        self._report = report
        self._stage, self._done, self._total = "beds and schedule", 0, 1

    def better(self, hours: float) -> None:
        """A plan that finishes after fewer hours."""
        self._stage = f"beds and schedule: {hours:.1f} h"
        self._report(self._stage, self._done, self._total)

    def stepped(self, done: int, total: int) -> None:
        """Steps that are done, and how many there are at most."""
        self._done, self._total = done, total
        self._report(self._stage, done, total)


def plan_of(job: Job, known: Weighing, made: Composition) -> Plan:
    """Everything that follows from beds and runs: cost, cautions, advice, build order."""
    airframe, workshop = job.airframe, job.workshop
    turns = with_turns(job, known.parts, known.deposits)
    told = {name: replace(deposit, findings=turns[name]) for name, deposit in known.deposits.items()}
    known = replace(known, deposits=told)
    filaments = {filament.name: filament for filament in workshop.filaments}
    used = [filaments[name] for name in dict.fromkeys(part.filament for part in known.parts)]
    advice = [
        f
        for part in known.parts
        if not part.like
        for f in advise(part, filaments[part.filament], part.recipe)
    ]
    advice += advise_filaments(used)
    advice += [Finding("mass class", text) for text in class_notes(airframe, known)]
    advice += tight_spools(made.spools, filaments)
    advice += never_cleared(made.schedule, workshop.clear_minutes)
    found = [finding for deposit in known.deposits.values() for finding in deposit.findings]
    cost = cost_sheet(airframe, workshop, known.mass, made.batches, made.schedule, made.spools)
    plan = Plan(
        airframe=airframe,
        workshop=workshop,
        start=job.start,
        seed=job.seed,
        effort=job.effort.name,
        parts=known.parts,
        deposits=known.deposits,
        pieces=known.pieces,
        set_aside=job.set_aside,
        misfits=made.misfits,
        batches=made.batches,
        schedule=made.schedule,
        spools=made.spools,
        mass=known.mass,
        balance=known.balance,
        cost=replace(cost, by_section_minor=cost_by_section(airframe, known.mass, cost)),
        assumptions=(
            *left_out(made.misfits, known.pieces, known.deposits),
            *counted_by_grams(workshop, made.spools),
            *limits_told(workshop, made.batches, known.parts),
            *made.notes,
            *job.assumptions,
            *timed_printers(workshop),
            *drying_notes(used, workshop),
            *known.mass.notes,
            *known.balance.notes,
        ),
        cautions=cautions(used, workshop, airframe, made.schedule),
        findings=tuple(dict.fromkeys([*job.findings, *found, *advice])),
        build_order=build_order(
            airframe, known.parts, known.pieces, made.batches, made.schedule, known.contacts
        ),
        option_effects=known.effects,
        goals=made.goals,
        silhouettes=known.silhouettes,
        makes=known.makes,
        printed=tuple(job.printed.values()),
        taught=None if job.taught is None else with_predictions(job.taught, known),
        choices=replace(job.choices, prefer=job.prefer, section_dates=airframe.section_dates),
    )
    return replace(plan, airframes=airframe_sums(plan, known))
