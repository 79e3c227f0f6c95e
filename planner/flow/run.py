"""From meshes, airframe and workshop to a plan: strings the stages together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.budget.balance import balance
from planner.budget.cautions import cautions
from planner.budget.cost import cost_sheet
from planner.budget.mass import airframe_mass
from planner.compose.composition import ComposeTask, Composition
from planner.compose.search import compose
from planner.errors import Infeasible
from planner.estimate.advice import advise, advise_filaments
from planner.estimate.executor import EstimateJob, estimate_all
from planner.estimate.poses import choose_pose
from planner.flow.assembly import in_assembly
from planner.flow.job import Job, Progress, Stop
from planner.model.airframe import Airframe
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece, pieces_of
from planner.model.plan import Plan

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
    job = in_assembly(job)
    parts = _parts(job)
    deposits = _deposits(job, parts, report)
    pieces = tuple(piece for part in parts for piece in pieces_of(part))
    report("beds and schedule", 0, 1)
    composition = _compose(job, parts, deposits, pieces, report, stop)
    report("mass and cost", 0, 1)
    plan = _budget(job, parts, deposits, pieces, composition)
    if stop is not None and stop():
        return replace(plan, assumptions=(*plan.assumptions, STOPPED))
    return plan


def _silent(stage: str, done: int, total: int) -> None:
    del stage, done, total


def _parts(job: Job) -> tuple[Part, ...]:
    """Parts of the chosen options that have copies, each with the pose that it is printed in."""
    chosen = [p for p in job.airframe.parts if job.airframe.chosen(p.option) and p.copies > 0]
    if not chosen:
        raise Infeasible(
            "there is nothing to print.", next_step="Give at least one part of the chosen options a copy."
        )
    for part in chosen:
        job.workshop.filament(part.filament)  # an unknown name is refused before any work is done
    return tuple(chosen)


def _deposits(job: Job, parts: tuple[Part, ...], report: Progress) -> dict[str, Deposit]:
    motions = {printer.kind: printer.motion for printer in job.workshop.printers}
    jobs = []
    reasons: dict[str, str] = {}
    for part in parts:
        mesh = job.meshes[part.mesh]
        filament = job.workshop.filament(part.filament)
        able = [printer for printer in job.workshop.printers if job.workshop.can_run(printer, filament)]
        choice = choose_pose(mesh, part, able or job.workshop.printers)
        reasons[part.name] = choice.reason
        jobs.append(EstimateJob(mesh, replace(part, pose=choice.pose), filament, motions))
    estimated = estimate_all(
        jobs,
        workers=job.workers,
        cluster=job.cluster,
        cache=job.cache,
        progress=lambda done, total: report("estimate", done, total),
    )
    return {
        part.name: replace(
            deposit,
            pose_reason=reasons[part.name],
            watertight=job.watertight.get(part.mesh, True),
            findings=tuple(replace(finding, about=part.name) for finding in deposit.findings),
        )
        for part, deposit in zip(parts, estimated, strict=True)
    }


def _compose(
    job: Job,
    parts: tuple[Part, ...],
    deposits: Mapping[str, Deposit],
    pieces: tuple[Piece, ...],
    report: Progress,
    stop: Stop | None,
) -> Composition:
    named = {part.name: part for part in parts}
    task = ComposeTask(
        pieces, named, deposits, job.workshop, job.start, section_rank(job.airframe), job.seed, job.effort
    )
    return compose(task, lambda hours: report(f"beds and schedule: {hours:.1f} h", 0, 1), stop)


def section_rank(airframe: Airframe) -> dict[str, int]:
    """Place of every section in the build order: as listed, the others in the order of their parts."""
    names = list(airframe.sections)
    names += [part.section for part in airframe.parts]
    names += [part.other_section for part in airframe.parts if part.other_section]
    return {name: at for at, name in enumerate(dict.fromkeys(names))}


def _budget(
    job: Job,
    parts: tuple[Part, ...],
    deposits: Mapping[str, Deposit],
    pieces: tuple[Piece, ...],
    composition: Composition,
) -> Plan:
    airframe, workshop = job.airframe, job.workshop
    filaments = {filament.name: filament for filament in workshop.filaments}
    mass = airframe_mass(airframe, parts, deposits, pieces, filaments)
    balanced = balance(airframe, mass)
    used = [filaments[name] for name in dict.fromkeys(part.filament for part in parts)]
    advice = [f for part in parts for f in advise(part, filaments[part.filament], part.recipe)]
    advice += advise_filaments(used)
    found = [finding for deposit in deposits.values() for finding in deposit.findings]
    return Plan(
        airframe=airframe,
        workshop=workshop,
        start=job.start,
        seed=job.seed,
        effort=job.effort,
        parts=parts,
        deposits=deposits,
        pieces=pieces,
        set_aside=job.set_aside,
        misfits=composition.misfits,
        batches=composition.batches,
        schedule=composition.schedule,
        spools=composition.spools,
        mass=mass,
        balance=balanced,
        cost=cost_sheet(
            airframe, workshop, mass, composition.batches, composition.schedule, composition.spools
        ),
        assumptions=(*job.assumptions, *mass.notes, *balanced.notes),
        cautions=cautions(used, workshop, airframe, composition.schedule),
        findings=tuple(dict.fromkeys([*job.findings, *found, *advice])),
    )
