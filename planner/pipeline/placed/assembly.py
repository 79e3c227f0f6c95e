"""Meshes that are drawn in assembly position: recognised or declared, and how they then stand to print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.geometry.assembly.assembled import InPlace, disagreeing, gap_to, in_place, stands_off
from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.pose import UPRIGHT
from planner.model.airframe import Airframe
from planner.model.axes import Axes
from planner.model.finding import Finding
from planner.pipeline.job import Job
from planner.pipeline.placed.lie import axes_told, lying, unused

RECOGNISED = "taken to be in assembly position"
UNDO = "write in_assembly_position = false under [airframe] if they are not"
TURNED = (
    "meshes in assembly position are turned onto a flat face to be printed, where that is better; give a"
    " [[part]] its pose to fix it"
)
_NO_PLACE = (
    ", so it has no place: write station_mm under its [[part]], or in_assembly_position = true under"
    " [airframe] if it sits there"
)
_COUNTS = (
    ", and counts where it is drawn: write the station_mm at which it sits, here or elsewhere, under its"
    " [[part]]"
)
_CROWDED = (
    "is true, but most meshes lie in one another, as if each was drawn about one origin: stations and balance"
    " hang on where they are drawn. Take it out, or write false, if they were drawn one by one."
)
_MOST_TOLD = 3
_SAME = 1e-3  # of the volume: such a pair is doubted as one mesh that is there twice


def in_assembly(job: Job) -> Job:
    """The job with its meshes' position decided; nothing changes where they are drawn one by one.

    An airframe that tells its position, or gives a part a seat or a place in a stack, is taken at its word.
    """
    asked = job.airframe.in_assembly_position is None
    if asked:
        job = _recognised(job)
    if not job.airframe.in_assembly_position:
        return replace(job, findings=(*job.findings, *unused(job.airframe)))
    if not asked:
        job = lying(_declared(job), recognised=False)
    airframe = job.airframe
    parts = tuple(replace(p, may_turn=p.may_turn or p.pose == UPRIGHT) for p in airframe.parts)
    return replace(job, airframe=replace(airframe, parts=parts), assumptions=(*job.assumptions, TURNED))


def _recognised(job: Job) -> Job:
    airframe = job.airframe
    found: InPlace | None = None
    names: list[str] = []
    if not any(part.stack is not None or part.seat is not None for part in airframe.parts):
        names = _meshes(airframe)
        found = in_place([job.meshes[name] for name in names])
    if found is None:
        return replace(job, airframe=replace(airframe, in_assembly_position=False))
    loose = {names[k] for k in found.loose} | _loose_choices(job, [names[k] for k in found.agree], names)
    placed = replace(airframe, in_assembly_position=True, out_of_place=tuple(sorted(loose)))
    many = (
        f"{len(names)} meshes"
        if len(found.agree) == len(names)
        else f"{len(found.agree)} of {len(names)} meshes"
    )
    told = (
        *_loose(job, placed.out_of_place, [names[k] for k in found.agree], _NO_PLACE),
        *_shared(names, found),
        *_again(job, names, found),
    )
    job = lying(replace(job, airframe=placed, findings=(*job.findings, *told)), recognised=True)
    axes = axes_told(job.airframe.axes or Axes())
    note = f"{many} tile one space: they are {RECOGNISED}, {axes}; {UNDO}"
    return replace(job, assumptions=(*job.assumptions, note))


def _declared(job: Job) -> Job:
    """What disagrees with what the user says is told; it counts where it is drawn, as they say."""
    airframe = job.airframe
    stacked = {p.mesh for p in airframe.parts if p.stack is not None or p.seat is not None}
    names = [name for name in _meshes(airframe) if name in job.meshes and name not in stacked]
    found = disagreeing([job.meshes[name] for name in names])
    if found is None:
        return replace(job, findings=(*job.findings, Finding("in_assembly_position", _CROWDED)))
    told = (
        *_loose(job, [names[k] for k in found.loose], [names[k] for k in found.agree], _COUNTS),
        *_shared(names, found),
        *_again(job, names, found),
    )
    return replace(job, findings=(*job.findings, *told))


def _meshes(airframe: Airframe) -> list[str]:
    """Meshes of what is built, each once."""
    built = (part.mesh for part in airframe.parts if part.copies > 0 and airframe.chosen(part.option))
    return list(dict.fromkeys(built))


def _loose_choices(job: Job, placed: Sequence[str], known: Sequence[str]) -> set[str]:
    """Meshes of other choices that stand off what is built."""
    others = [job.meshes[name] for name in placed]
    rest = {part.mesh for part in job.airframe.parts if part.copies > 0} - {*known}
    return {name for name in rest if name in job.meshes and stands_off(job.meshes[name], others)}


def _loose(job: Job, loose: Sequence[str], placed: Sequence[str], then: str) -> list[Finding]:
    """Who stands off the others and has no place of its own."""
    others = [job.meshes[name] for name in placed]
    stated = {part.mesh for part in job.airframe.parts if part.station_mm is not None}
    return [
        Finding(
            name,
            f"It stands {gap_to(job.meshes[name], others):.0f} mm off the parts that are drawn in"
            f" assembly position{then}.",
        )
        for name in loose
        if name not in stated
    ]


def _shared(names: Sequence[str], found: InPlace) -> list[Finding]:
    told = []
    for odd, partners in found.shared.items():
        others = tuple(names[k] for k in partners)
        listed = ", ".join(others[:_MOST_TOLD])
        more = f" and {len(others) - _MOST_TOLD} more" if len(others) > _MOST_TOLD else ""
        guess = "it may be the whole of them" if odd in found.whole else "one of them may be drawn elsewhere"
        told.append(
            Finding(
                names[odd],
                f"It reaches into {listed}{more} by more than a skin, though all are drawn in assembly"
                f" position: {guess}.",
                others=others,
            )
        )
    return told


def _again(job: Job, names: Sequence[str], found: InPlace) -> list[Finding]:
    """Meshes that lie where another does, and are not the same one twice: that is doubted elsewhere."""
    told = []
    for k, first in found.repeated.items():
        own, other = (volume(job.meshes[names[n]]) for n in (k, first))
        if abs(own - other) > _SAME * abs(other):
            text = (
                f"It lies where {names[first]} does. If only one of them is built, give both rows an option,"
                ' as option = { nose = "long" }.'
            )
            told.append(Finding(names[k], text, others=(names[first],)))
    return told
