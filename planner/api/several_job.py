"""Several airframe folders, or copies of one, into one job: one workshop, names told apart by airframe."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from planner.api.held import made_choices
from planner.api.request import PlanRequest
from planner.api.several import check_several, groups_of, shared_workshop
from planner.errors import InputError, RecordError
from planner.model.several import BETWEEN, named_of, own_name, together, told_apart

if TYPE_CHECKING:
    from planner.model.airframe import Airframe
    from planner.model.finding import Finding
    from planner.pipeline.job import Job, Progress

_Value = TypeVar("_Value")


def read_several(request: PlanRequest, now: datetime, progress: Progress | None = None) -> Job:
    """Read every folder for itself, and put all of them into one job.

    Raises
    ------
    InputError
        when two folders, or two airframes, cannot be told apart, or nothing can be printed of one
    """
    from planner.api.ledger_plan import airframe_name
    from planner.api.reading import read_job

    check_several(request)
    groups = groups_of(request)
    request = replace(request, workshop_file=shared_workshop(request))
    names = [airframe_name(replace(request, sources=one, copies=1)) for one in groups]
    _refuse_like_names(names, groups)
    if len(groups) > 1:
        _refuse_options(request, names)
    jobs = []
    for sources in groups:
        own = replace(request, sources=sources, copies=1, every_days=0)
        with _of_folder(sources if len(groups) > 1 else ()):
            jobs.append(read_job(_with_choices(own, request), now, progress))
    copies = [one for job in jobs for one in _copies(job, request)]
    airframe = together([one.airframe for one in copies])
    common = [note for note in jobs[0].assumptions if all(note in job.assumptions for job in jobs)]
    chosen = replace(request, options=_told_apart_options(request, jobs))
    return replace(
        jobs[0],
        airframe=airframe,
        meshes={name: mesh for one in copies for name, mesh in one.meshes.items()},
        watertight={name: tight for one in copies for name, tight in one.watertight.items()},
        set_aside=tuple(
            replace(aside, mesh=named_of(job.airframe.name, aside.mesh))
            for job in jobs
            for aside in job.set_aside
        ),
        assumptions=(*common, *(note for job in jobs for note in _own_notes(job, common))),
        findings=tuple(_finding(job.airframe.name, found) for job in jobs for found in job.findings),
        recipes={name: recipe for job in jobs for name, recipe in job.recipes.items()},
        choices=made_choices(chosen, airframe, jobs[0].workshop),
    )


@contextmanager
def _of_folder(sources: Sequence[Path]) -> Iterator[None]:
    """What is wrong with one folder of several names it: each has a file of the same name."""
    try:
        yield
    except InputError as error:
        folder = str(sources[0]) if sources else ""
        if folder and not error.where.startswith((folder, "--")):
            error.where = f"{folder}: {error.where}" if error.where else folder
        raise


def _own_notes(job: Job, common: Sequence[str]) -> list[str]:
    return [f"{job.airframe.name}: {note}" for note in job.assumptions if note not in common]


def _finding(airframe: str, found: Finding) -> Finding:
    others = tuple(named_of(airframe, other) for other in found.others)
    return replace(found, about=named_of(airframe, found.about), others=others)


def _refuse_like_names(names: Sequence[str], groups: Sequence[Sequence[Path]]) -> None:
    twice = [name for name, n in Counter(names).items() if n > 1]
    if twice:
        where = ", ".join(str(one[0]) for one, name in zip(groups, names, strict=True) if name == twice[0])
        raise RecordError(
            f"two airframes are named {twice[0]!r}: their parts could not be told apart.",
            where=where,
            next_step='Give one of them another name = "..." under [airframe].',
        )
    for name in names:
        if BETWEEN in name:
            raise RecordError(
                f"the name {name!r} holds {BETWEEN!r}, which stands between an airframe and its part.",
                where="airframe.name",
                next_step="Write it otherwise, as with a dash.",
            )


def _refuse_options(request: PlanRequest, names: Sequence[str]) -> None:
    """With several airframes an option says whose it is."""
    for key, value in request.options.items():
        if not any(key.startswith(name + BETWEEN) for name in names):
            raise InputError(
                f"whose option is {key!r}?",
                where=f"--option {key}={value}",
                next_step=f'Write the airframe before it: --option "{names[0]}{BETWEEN}{key}={value}".',
            )


def _with_choices(own: PlanRequest, request: PlanRequest) -> PlanRequest:
    """The request of one folder with the options that are its own, asked for or of an earlier plan."""
    from planner.api.ledger_plan import airframe_name

    name = airframe_name(own)
    labels = (name, f"{name} 1")
    held = request.held
    options = {own_name(label, key): v for label in labels for key, v in _of(label, held.options).items()}
    dates = {own_name(label, key): v for label in labels for key, v in _of(label, held.section_dates).items()}
    mine = {own_name(name, key): v for key, v in request.options.items() if _is_own(name, key, request)}
    return replace(
        own,
        options=mine,
        held=replace(held, options=options, section_dates=dates),
    )


def _is_own(name: str, key: str, request: PlanRequest) -> bool:
    return key.startswith(name + BETWEEN) or len(groups_of(request)) == 1


def _of(name: str, told: Mapping[str, _Value]) -> dict[str, _Value]:
    return {key: value for key, value in told.items() if key.startswith(name + BETWEEN)}


def _told_apart_options(request: PlanRequest, jobs: Sequence[Job]) -> dict[str, str]:
    """Options as the plan tells them: of one airframe in copies, they hold for each copy."""
    if len(jobs) > 1 and request.copies == 1:
        return dict(request.options)
    names = [job.airframe.name for job in jobs]
    found = {}
    for key, value in request.options.items():
        owner = next((name for name in names if key.startswith(name + BETWEEN)), names[0])
        for label in _labels(owner, request.copies):
            found[named_of(label, own_name(owner, key))] = value
    return found


def _labels(name: str, copies: int) -> list[str]:
    return [name] if copies == 1 else [f"{name} {k}" for k in range(1, copies + 1)]


def _copies(job: Job, request: PlanRequest) -> list[Job]:
    """The job as often as it is asked for, each copy with a name and with dates of its own."""
    name = job.airframe.name
    labels = _labels(name, request.copies)
    found = []
    for k, label in enumerate(labels):
        later = timedelta(days=k * request.every_days)
        one = replace(job.airframe, name=label, **_dates(job.airframe, later))
        first = labels[0] if k else ""
        found.append(
            replace(
                job,
                airframe=told_apart(one, name if len(labels) > 1 else "", first),
                meshes={named_of(label, mesh): body for mesh, body in job.meshes.items()},
                watertight={named_of(label, mesh): tight for mesh, tight in job.watertight.items()},
            )
        )
    return found


def _dates(airframe: Airframe, later: timedelta) -> dict[str, Any]:
    if not later:
        return {}
    if airframe.due is None and not airframe.section_dates:
        raise RecordError(
            f"{airframe.name!r} has no date that could be spread over its copies.",
            where="--every",
            next_step="Write due = 2026-12-24, the date of the first copy, under [airframe].",
        )
    dates: dict[str, date] = {key: day + later for key, day in airframe.section_dates.items()}
    return {"due": None if airframe.due is None else airframe.due + later, "section_dates": dates}
