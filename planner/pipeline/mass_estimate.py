"""Parts, deposits and pieces of the chosen options, what they weigh and where they balance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, field, replace
from functools import partial

from planner.errors import Infeasible
from planner.estimate.executor import EstimateJob, estimate_all
from planner.estimate.poses.poses import choose_pose
from planner.geometry.mesh.outer import OuterSurface, outer_surface
from planner.geometry.remembered import Plain, Remembered
from planner.model.airframe import Airframe, Finish
from planner.model.assembly import Contact, Silhouette
from planner.model.budget import Balance, Mass, OptionEffect
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece, all_pieces
from planner.model.printed import Make
from planner.pipeline.job import Job, Progress
from planner.pipeline.lessons import as_taught
from planner.pipeline.makes import as_printed, makes_of
from planner.pipeline.overlapping import with_overlaps
from planner.pipeline.seated import contacts, silhouettes
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass

_OUTER: Remembered[OuterSurface] = Remembered(
    4096, Plain("outer", astuple, lambda held: OuterSurface(held[0], (held[1][0], held[1][1], held[1][2])))
)


@dataclass(frozen=True, slots=True)
class Weighing:
    """The airframe as it is chosen, before anything lies on a bed.

    ``effects`` tell what every choice of every option does to mass and balance, ``contacts`` where
    pieces touch, ``silhouettes`` how they look in place, and ``makes`` how each part is made. Where several
    airframes are planned together, ``members`` has each of them by itself.
    """

    parts: tuple[Part, ...]
    deposits: Mapping[str, Deposit]
    pieces: tuple[Piece, ...]
    mass: Mass
    balance: Balance
    outer: Mapping[str, OuterSurface]
    effects: tuple[OptionEffect, ...] = ()
    contacts: tuple[Contact, ...] = ()
    silhouettes: tuple[Silhouette, ...] = ()
    makes: Mapping[str, Make] = field(default_factory=dict)
    members: tuple[Weighing, ...] = ()


def weighed(job: Job, progress: Progress | None = None) -> Weighing:
    """Estimate every part and weigh the airframe; parts of other choices are estimated, too.

    Raises
    ------
    Infeasible
        when no part of the chosen options has a copy
    RecordError
        when the filament of a chosen part is not known
    """
    parts = _chosen(job.airframe)
    if not parts:
        raise Infeasible(
            "there is nothing to print.", next_step="Give at least one part of the chosen options a copy."
        )
    for part in parts:
        job.workshop.filament(part.filament)  # an unknown name is refused before any work is done
    names = {part.name for part in parts}
    known = {filament.name for filament in job.workshop.filaments}
    others = [p for p in job.airframe.parts if p.name not in names and p.copies > 0 and p.filament in known]
    deposits = deposits_of(job, (*parts, *others), progress)
    outer = _outer(job, (*parts, *others))
    pieces = all_pieces(parts)
    own = {part.name: deposits[part.name] for part in parts}
    touching = contacts(job, job.airframe, parts, own, pieces)
    makes = makes_of(job, parts, own)
    job = replace(job, printed=as_printed(job.printed, pieces, makes))
    mass = weight(job, job.airframe, parts, deposits, outer, touching)
    return Weighing(
        parts,
        own,
        pieces,
        mass,
        balance(job.airframe, mass),
        outer,
        _effects(job, deposits, outer),
        touching,
        silhouettes(job, parts, own, pieces),
        makes,
    )


def _chosen(airframe: Airframe) -> tuple[Part, ...]:
    return tuple(p for p in airframe.parts if airframe.chosen(p.option) and p.copies > 0)


def weight(
    job: Job,
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    outer: Mapping[str, OuterSurface],
    touching: Sequence[Contact] | None = None,
) -> Mass:
    """What an airframe of these parts weighs in the filaments of the workshop.

    ``touching`` is looked up where it is not given and counts.
    """
    filaments = {filament.name: filament for filament in job.workshop.filaments}
    pieces = all_pieces(parts)
    if touching is None and _glued_where_it_touches(airframe.finish):
        touching = contacts(job, airframe, parts, deposits, pieces)
    return airframe_mass(
        airframe, parts, deposits, pieces, filaments, outer, touching or (), job.printed, job.taught
    )


def _glued_where_it_touches(finish: Finish) -> bool:
    """Whether mass or balance hang on the joints: not where all glue sits at one given station."""
    return finish.glue_g_per_cm2 is not None or (finish.station_mm is None and finish.glue_g != 0.0)


def deposits_of(job: Job, parts: Sequence[Part], progress: Progress | None = None) -> dict[str, Deposit]:
    """The deposit of each part by its name, in the pose in which it is printed."""
    motions = {printer.kind: printer.motion for printer in job.workshop.printers}
    jobs = []
    reasons: dict[str, str] = {}
    for part in parts:
        mesh = job.meshes[part.mesh]
        filament = job.workshop.filament(part.filament)
        able = [printer for printer in job.workshop.printers if job.workshop.can_run(printer, filament)]
        choice = choose_pose(mesh, part, able or job.workshop.printers, job.shapes)
        reasons[part.name] = choice.reason
        jobs.append(EstimateJob(mesh, replace(part, pose=choice.pose), filament, motions))
    estimated = estimate_all(
        jobs,
        workers=job.workers,
        cluster=job.cluster,
        cache=job.cache,
        progress=None if progress is None else lambda done, total: progress("estimate", done, total),
    )
    return {
        part.name: replace(
            as_taught(deposit, part, job.taught),
            pose_reason=reasons[part.name],
            watertight=job.watertight.get(part.mesh, True),
            findings=tuple(replace(finding, about=part.name) for finding in deposit.findings),
        )
        for part, deposit in zip(parts, estimated, strict=True)
    }


def _outer(job: Job, parts: Sequence[Part]) -> dict[str, OuterSurface]:
    """Outer surface of each part by its name; empty where no paint asks for it."""
    finish = job.airframe.finish
    if not any((finish.primer_g_per_m2, finish.paint_g_per_m2, finish.paint_g)):
        return {}
    own = {name: job.meshes[name] for name in {part.mesh for part in parts}}
    areas = {
        name: _OUTER.of(mesh.digest, partial(outer_surface, mesh), job.shapes) for name, mesh in own.items()
    }
    return {part.name: areas[part.mesh] for part in parts}


def _effects(
    job: Job, deposits: Mapping[str, Deposit], outer: Mapping[str, OuterSurface]
) -> tuple[OptionEffect, ...]:
    """Each choice alone, the other options as they are planned."""
    found = []
    airframe = job.airframe
    stacked = {part.name for part in _chosen(airframe) if part.stack is not None}
    for option, choices in airframe.choices.items():
        for choice in choices:
            turned = replace(airframe, options={**airframe.options, option: choice})
            parts = _chosen(turned)
            if not parts or any(part.name not in deposits for part in parts):
                continue
            if airframe.overlaps_mm is not None and stacked != {p.name for p in parts if p.stack is not None}:
                turned = with_overlaps(job, turned)
            mass = weight(job, turned, parts, deposits, outer)
            balanced = balance(turned, mass)
            planned = airframe.options.get(option) == choice
            found.append(
                OptionEffect(option, choice, planned, mass.total_g, balanced.station_mm, balanced.inside)
            )
    return tuple(found)
