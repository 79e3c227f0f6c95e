"""Several airframe folders, or copies of one: what is asked for, and whether it can be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

from planner.api.request import MOST_COPIES, PlanRequest
from planner.errors import InputError


def is_several(request: PlanRequest) -> bool:
    """Whether more than one airframe is asked for: two folders, or copies of one."""
    return request.copies != 1 or len(folders_of(request)) > 1


def refuse_several(request: PlanRequest, command: str) -> None:
    """For what looks at one airframe at a time.

    Raises
    ------
    InputError
        when several folders or copies are asked for
    """
    if is_several(request):
        raise InputError(
            f"{command} looks at one airframe at a time.",
            where=", ".join(map(str, request.sources)),
            next_step="Name one folder; `planner plan` takes several.",
        )


def shared_workshop(request: PlanRequest) -> Path | None:
    """The one workshop file of several folders: as named, else the one that they all find.

    Raises
    ------
    InputError
        when two of them find different ones
    """
    from planner.api.reading import beside

    if request.workshop_file is not None or not is_several(request):
        return beside(request, request.workshop_file, "workshop.toml")
    found = [beside(replace(request, sources=one), None, "workshop.toml") for one in groups_of(request)]
    different = {path.resolve(): path for path in found if path is not None}
    if len(different) > 1:
        raise InputError(
            "the folders find different workshops.",
            where=", ".join(map(str, different.values())),
            next_step="Name the one to print in: --workshop FILE.",
        )
    return next(iter(different.values()), None)


def own_ledgers(request: PlanRequest, name: str) -> tuple[Path, ...]:
    """Ledgers that lie in single folders of several, where they are no ledger of all."""
    shared = shared_workshop(request)
    home = None if shared is None else shared.resolve().parent
    inside = (folder / name for folder in folders_of(request))
    return tuple(path for path in inside if path.is_file() and path.resolve().parent != home)


def name_of_all(request: PlanRequest) -> str:
    """What the plan of all of them is called."""
    from planner.api.ledger_plan import airframe_name
    from planner.model.airframe import Airframe
    from planner.model.several import told_together

    names = [airframe_name(replace(request, sources=one, copies=1)) for one in groups_of(request)]
    kinds = [Airframe(name, (), copy_of=name) for name in names for _ in range(request.copies)]
    return told_together(kinds)


def folders_of(request: PlanRequest) -> list[Path]:
    """The folders that are named."""
    return [source for source in request.sources if source.is_dir()]


def groups_of(request: PlanRequest) -> list[tuple[Path, ...]]:
    """What makes one airframe each: every folder; else all that is named."""
    if len(folders_of(request)) > 1:
        return [(source,) for source in request.sources]
    return [request.sources]


def check_several(request: PlanRequest) -> None:
    """Folders that can be told apart, each an airframe of its own, and a count of copies that is one.

    Raises
    ------
    InputError
        when they are not
    """
    if not 1 <= request.copies <= MOST_COPIES:
        raise InputError(
            f"{request.copies} copies cannot be planned.",
            where="--copies",
            next_step=f"Give a number from 1 to {MOST_COPIES}.",
        )
    folders = folders_of(request)
    if len(folders) > 1:
        _refuse_shared(request, folders)


def _refuse_shared(request: PlanRequest, folders: Sequence[Path]) -> None:
    loose = [source for source in request.sources if not source.is_dir()]
    if loose:
        raise InputError(
            "this is no folder: with several airframes, each has a folder of its own.",
            where=str(loose[0]),
            next_step="Put the file into the folder of its airframe.",
        )
    one = request.airframe_file is not None or request.own.airframe is not None
    if one:
        raise InputError(
            "one airframe file cannot hold for several folders.",
            where="--airframe",
            next_step="Put an airframe.toml into each folder.",
        )
    for at, folder in enumerate(folders):
        for other in folders[at + 1 :]:
            a, b = folder.resolve(), other.resolve()
            if a == b:
                _refuse(other, "this folder is named twice.", "Name it once; --copies 2 plans two of it.")
            if a in b.parents or b in a.parents:
                inner, outer = (other, folder) if a in b.parents else (folder, other)
                _refuse(
                    inner,
                    f"this folder lies within {outer}, which is another airframe.",
                    "Move one of them, so that they lie beside each other.",
                )


def _refuse(where: Path, what: str, next_step: str) -> NoReturn:
    raise InputError(what, where=str(where), next_step=next_step)
