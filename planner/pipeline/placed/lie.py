"""Which way an airframe in assembly position lies: as it says itself, else as it shows, told either way."""

from __future__ import annotations

from dataclasses import replace

from planner.model.airframe import Airframe
from planner.model.axes import Axes
from planner.model.finding import Finding
from planner.pipeline.job import Job
from planner.pipeline.placed.heading import Heading, heading


def lying(job: Job, *, recognised: bool) -> Job:
    """The job with the axes of its airframe; ``recognised`` where nobody said that it is drawn in place.

    What is declared to be in place runs aft along x, as the key says, and is doubted where it shows
    otherwise.
    """
    airframe = job.airframe
    if airframe.axes is not None:
        return replace(job, assumptions=(*job.assumptions, *_side_told(airframe.axes)))
    used = {p.mesh for p in airframe.parts if p.copies > 0 and airframe.chosen(p.option)}
    meshes = {
        name: job.meshes[name] for name in sorted(used - {*airframe.out_of_place}) if name in job.meshes
    }
    if len(meshes) < 2:
        return job
    hands = {part.mesh: part.hand for part in airframe.parts}
    found = heading(meshes, hands, {part.mesh for part in airframe.parts if part.mirror})
    if not recognised:
        doubts = () if _as_declared(found) else (_declared_otherwise(found),)
        return replace(job, findings=(*job.findings, *doubts))
    return replace(
        job,
        airframe=replace(airframe, axes=found.axes),
        assumptions=(*job.assumptions, *_taken(found)),
        findings=(*job.findings, *(() if found.sure else (_not_sure(found),))),
    )


def axes_told(axes: Axes) -> str:
    """The axes in words."""
    return f"{axes.aft} aft of the datum, {axes.side} right, {axes.up} up"


def unused(airframe: Airframe) -> tuple[Finding, ...]:
    """A doubt about axes that are written where nothing is drawn in place."""
    if airframe.axes is None or airframe.in_assembly_position:
        return ()
    text = (
        "axes count for meshes that are drawn where they sit, and these are not taken to be: write"
        " in_assembly_position = true under [airframe] if they are, or take axes out."
    )
    return (Finding("axes", text),)


def _as_declared(found: Heading) -> bool:
    """Whether it lies with x aft and z up, as far as it shows."""
    usual = Axes()
    if not found.reasons:
        return True
    if found.sure:
        return (found.axes.aft, found.axes.up) == (usual.aft, usual.up)
    return (found.axes.aft[-1], found.axes.up[-1]) == (usual.aft[-1], usual.up[-1])


def _declared_otherwise(found: Heading) -> Finding:
    text = (
        f"In assembly position x runs aft, y right and z up, but {', '.join(found.reasons)}: it seems to lie"
        f" with {_words(found.axes)}. Stations and balance hang on it: write {found.axes} under [airframe]."
    )
    return Finding("axes", text)


def _not_sure(found: Heading) -> Finding:
    text = (
        f"Which way the airframe lies is not sure: {'; '.join(found.open)}. Taken: {_words(found.axes)}."
        f" Stations and balance hang on it: write {found.axes} under [airframe], or as it is."
    )
    return Finding("axes", text)


def _side_told(axes: Axes) -> tuple[str, ...]:
    """Said where the right side is named without its sign, and runs against its axis."""
    if axes.right in ("", axes.side):
        return ()
    return (f"axes: with {axes.aft} aft and {axes.up} up the right side is {axes.side}; nothing is mirrored",)


def _taken(found: Heading) -> tuple[str, ...]:
    """Said where it lies otherwise than the usual way."""
    if not found.sure or found.axes == Axes():
        return ()
    return (
        f"the airframe lies with {_words(found.axes)}: {', '.join(found.reasons)}; {found.axes} under"
        " [airframe] says it otherwise",
    )


def _words(axes: Axes) -> str:
    return f"{axes.aft} aft, {axes.side} right, {axes.up} up"
