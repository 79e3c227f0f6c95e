"""A look at the meshes without a plan: size, fit, health, printable wall."""

from __future__ import annotations

from dataclasses import replace

from planner.estimate.executor import EstimateJob, estimated
from planner.geometry.planar.flat import shifted
from planner.model.batch import LEAST_G, Unplaced, nothing_of
from planner.model.deposit import Deposit
from planner.model.effort import QUICK
from planner.model.finding import Finding
from planner.model.mesh_check import FolderCheck, MeshCheck
from planner.model.part import Part
from planner.nesting.pack import fill
from planner.nesting.problem.item import Item, bed_kind
from planner.nesting.problem.problem import NestingProblem
from planner.pipeline.job import Job, Progress
from planner.pipeline.placed.assembly import in_assembly
from planner.pipeline.turning import with_turns
from planner.units import MM3_PER_CM3

_Told = dict[str, list[tuple[int, Finding]]]  # findings by what they are about, with their number


def look(job: Job, progress: Progress | None = None) -> FolderCheck:
    """Check every part of the airframe, whatever its option; nothing is planned."""
    job = in_assembly(job)
    parts = {part.mesh: part for part in reversed(job.airframe.parts)}
    motions = {printer.kind: printer.motion for printer in job.workshop.printers}
    jobs = [
        EstimateJob(job.meshes[part.mesh], part, job.workshop.filament(part.filament), motions)
        for part in parts.values()
    ]
    of = list(parts.values())
    told: _Told = {}
    for number, finding in enumerate(job.findings):
        told.setdefault(finding.about, []).append((number, finding))
    checks: list[MeshCheck] = []
    for at, deposit in estimated(
        jobs,
        workers=job.workers,
        cluster=job.cluster,
        cache=job.cache,
        progress=None if progress is None else lambda done, total: progress("look at walls", done, total),
    ):  # what is told of a deposit is small; the deposits of thousands of parts are not
        turns = with_turns(job, [of[at]], {of[at].name: deposit})
        checks.append(_mesh(job, of[at], replace(deposit, findings=turns[of[at].name]), told))
    loose = tuple(f for f in job.findings if f.about not in job.meshes)
    return FolderCheck(
        tuple(sorted(checks, key=lambda check: check.mesh)), job.set_aside, loose, job.assumptions
    )


def _mesh(job: Job, part: Part, deposit: Deposit, told: _Told) -> MeshCheck:
    fits, misfit = _fit(job, part, deposit)
    about = {number: f for name in (part.mesh, part.name) for number, f in told.get(name, ())}
    findings = [about[number] for number in sorted(about)]
    extents = deposit.extents_mm
    return MeshCheck(
        mesh=part.mesh,
        triangles=deposit.triangles,
        extents_mm=extents,
        solid_volume_cm3=deposit.solid_volume_mm3 / MM3_PER_CM3,
        watertight=job.watertight.get(part.mesh, True),
        fits=fits,
        misfit=misfit,
        findings=tuple(
            dict.fromkeys([*findings, *(Finding(part.mesh, f.text, f.weight) for f in deposit.findings)])
        ),
    )


def _fit(job: Job, part: Part, deposit: Deposit) -> tuple[tuple[str, ...], Unplaced | None]:
    """Printer kinds whose empty bed takes the part, else the nearest miss; none for a part of nothing."""
    if deposit.mass_g < LEAST_G:
        return (), nothing_of(part.name)
    item = Item(
        part.name,
        shifted(deposit.footprint_mm, deposit.footprint_low_mm),
        tuple(shifted(hole, deposit.footprint_low_mm) for hole in deposit.inside_holes),
        deposit.extents_mm[2],
        part.turns_deg or None,
        part.section,
        part.name,
    )
    fits: list[str] = []
    misses: list[Unplaced] = []
    for printer in {printer.kind: printer for printer in job.workshop.printers}.values():
        kind = bed_kind(printer, 1)
        answer = fill(NestingProblem([item], (kind,), job.workshop.clearance_mm, seed=job.seed, effort=QUICK))
        if answer.misfits:
            misses.append(answer.misfits[0])
        else:
            fits.append(printer.kind)
    return tuple(fits), None if fits else min(misses, key=lambda miss: miss.missing_mm)
