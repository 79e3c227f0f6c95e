"""How far neighbours of a stack reach into each other, from their meshes: pins do not add to its length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.geometry.assembly.mating import Mating, mated
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.remembered import Plain, Remembered
from planner.model.airframe import Airframe, StackPlace
from planner.model.finding import Finding
from planner.model.part import Part, Piece, pieces_of
from planner.pipeline.job import Job
from planner.weights.joints import rows_of
from planner.weights.stations import foot, seat

_Step = tuple[StackPlace, tuple[Piece, ...], tuple[Piece, ...]]
_Floats = NDArray[np.float64]
_SAME_WAY = 0.9  # cosine
_MOST_TOLD = 4
# what is known of neighbours, by their bodies and the way they stand to each other
_MATINGS: Remembered[Mating] = Remembered(4096, Plain("matings", astuple, lambda held: Mating(*held)))


def overlapping(job: Job) -> Job:
    """The job with the overlaps that its meshes show, told as assumptions and doubts; once only.

    Raises
    ------
    RecordError
        when an overlap that is given is as long as its part
    """
    if job.airframe.overlaps_mm is not None:
        return job
    _refuse_too_long(job)
    airframe = with_overlaps(job, job.airframe)
    told: dict[str, dict[str, None]] = {}
    loose: dict[str, dict[str, None]] = {}
    for row, before, behind, found in _matings(job, airframe):
        first, second = (" and ".join(piece.part for piece in own) for own in (before, behind))
        if any((airframe.overlaps_mm or {}).get(piece.part) for piece in before):
            one, other = (first, second) if found.by_before else (second, first)
            told.setdefault(row.name, {})[f"{one} reaches {found.overlap_mm:.1f} mm into {other}"] = None
        loose.setdefault(row.name, {}).update(dict.fromkeys(_loose(first, second, found)))
    notes = [
        f"stack {name}: {', '.join(own)}; found from {'its' if len(own) == 1 else 'their'} pins"
        for name, own in told.items()
    ]
    return replace(
        job,
        airframe=airframe,
        assumptions=(*job.assumptions, *notes),
        findings=(*job.findings, *(_doubt(name, tuple(own)) for name, own in loose.items() if own)),
    )


def with_overlaps(job: Job, airframe: Airframe) -> Airframe:
    """The airframe, with the choices that it has, and the overlaps that its meshes show.

    Where both hands show one, the smaller counts: the parts of an order share their place.
    """
    shown: dict[str, list[float]] = {}
    for _, before, _, found in _matings(job, airframe):
        own = {piece.part: float(_mesh(job, airframe, piece).extents[2]) for piece in before}
        longest = max(own.values())
        for name, length in own.items():
            shown.setdefault(name, []).append(max(0.0, found.overlap_mm - (longest - length)))
    return replace(airframe, overlaps_mm={name: min(many) for name, many in shown.items() if min(many) > 0.0})


def _refuse_too_long(job: Job) -> None:
    for part in job.airframe.parts:
        if part.overlap_mm and part.mesh in job.meshes:
            length = float(job.meshes[part.mesh].extents[2])
            if part.overlap_mm >= length:
                raise RecordError(
                    f"part {part.name!r}: overlap_mm = {part.overlap_mm:g} must be less than the length of"
                    f" its mesh along the stack, {length:.1f} mm.",
                    next_step="Give what is inside the next part only, or leave the key out.",
                )


def _loose(first: str, second: str, found: Mating) -> list[str]:
    told = []
    for own, other, loose in ((first, second, found.loose_before_mm), (second, first, found.loose_behind_mm)):
        if loose > 0.0:
            told.append(f"{own} by {loose:.1f} mm towards {other}")
    return told


def _doubt(stack: str, told: tuple[str, ...]) -> Finding:
    """Pins that nothing takes, one finding a stack."""
    names = ", ".join(told[:_MOST_TOLD]) + (
        f" and {len(told) - _MOST_TOLD} more" if len(told) > _MOST_TOLD else ""
    )
    text = (
        f"parts stand out beyond their end faces as pins do, and no socket was found to take them ({names}):"
        " they count in the length of the stack. Give overlap_mm to the first of such two parts, 0 if they do"
        " not overlap."
    )
    return Finding(f"stack {stack}", text)


def _matings(
    job: Job, airframe: Airframe
) -> list[tuple[StackPlace, tuple[Piece, ...], tuple[Piece, ...], Mating]]:
    """Neighbours, hand by hand, for which no overlap is given, and what their meshes show."""
    if airframe.in_assembly_position:
        return []
    found = []
    for row, before, behind in _steps(job, airframe):
        ways = _ways(airframe, row, (*before, *behind))
        bodies = tuple(_mesh(job, airframe, piece).digest for piece in (*before, *behind))
        key = (row.direction, len(before), bodies, tuple(tuple(way.ravel().tolist()) for way in ways))
        mating = _MATINGS.of(key, partial(_mated, job, airframe, row, before, behind), job.shapes)
        found.append((row, before, behind, mating))
    return found


def _steps(job: Job, airframe: Airframe) -> list[_Step]:
    chosen = [p for p in airframe.parts if airframe.chosen(p.option) and p.copies > 0]
    pieces = [piece for part in chosen for piece in pieces_of(part)]
    rows = {row.name: row for row in airframe.stacks}
    found = []
    for name, row in rows_of(chosen, pieces):
        for before, behind in pairwise(row):
            own, other = _single(before), _single(behind)
            parts = [_part(airframe, piece) for piece in (*own, *other)]
            known = all(job.watertight.get(p.mesh, True) and p.mesh in job.meshes for p in parts)
            given = any(_part(airframe, piece).overlap_mm is not None for piece in own)
            if known and not given:
                found.append((rows.get(name, StackPlace(name)), own, other))
    return found


def _single(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """One piece of each part: copies share its seat, and its mirror image has its own neighbours."""
    return tuple({piece.part: piece for piece in reversed(pieces)}.values())[::-1]


def _mated(
    job: Job, airframe: Airframe, row: StackPlace, before: Sequence[Piece], behind: Sequence[Piece]
) -> Mating:
    """What the meshes show in the axes of the first one."""
    ways = _ways(airframe, row, (*before, *behind))
    if any(way[2, 2] < _SAME_WAY for way in ways):
        return Mating()  # the one runs to the left, the other to the right
    placed = []
    for piece, way in zip((*before, *behind), ways, strict=True):
        mesh = _mesh(job, airframe, piece)
        body = (mesh.triangles - foot(row, mesh.bounds[0], mesh.extents)) @ way.T
        placed.append(body[:, ::-1] if np.linalg.det(way) < 0.0 else body)
    count = len(before)
    return mated(np.concatenate(placed[:count]), np.concatenate(placed[count:]))


def _ways(airframe: Airframe, row: StackPlace, pieces: Sequence[Piece]) -> list[_Floats]:
    """How each mesh is turned against the first one, (3, 3)."""
    turns = [seat(row, 0.0, _part(airframe, piece), mirrored=piece.mirrored)[0] for piece in pieces]
    return [np.round(turns[0].T @ turn, 9) for turn in turns]


def _part(airframe: Airframe, piece: Piece) -> Part:
    return next(part for part in airframe.parts if part.name == piece.part)


def _mesh(job: Job, airframe: Airframe, piece: Piece) -> TriangleMesh:
    return job.meshes[_part(airframe, piece).mesh]
