"""Choices that an earlier plan hands on: they hold until something else is asked for."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from planner.api.request import PlanRequest
from planner.model.choices import Choices

if TYPE_CHECKING:  # help and bad input answer at once
    from planner.model.airframe import Airframe
    from planner.model.workshop import Workshop


def still_there(held: Choices, known: Collection[str]) -> tuple[str, ...]:
    """The printers of the earlier plan that the workshop or the built-in table still has."""
    return tuple(word for word in held.printers if word in known or _machine(word) in known)


def made_choices(request: PlanRequest, airframe: Airframe, workshop: Workshop) -> Choices:
    """What the plan was asked for, with what it was handed on; ``workshop`` as it is chosen already."""
    options = {**request.held.options, **request.options}
    names = {printer.name for printer in workshop.printers}
    machines = {name.rpartition(" ")[0] for name in names} | names
    return Choices(
        options={key: value for key, value in options.items() if airframe.options.get(key) == value},
        printers=request.printers or still_there(request.held, machines),
        filament=request.filament or request.held.filament,
        prefer=request.prefer or request.held.prefer,
        section_dates=airframe.section_dates,
    )


def held_notes(request: PlanRequest, airframe: Airframe, workshop: Workshop) -> tuple[str, ...]:
    """What holds because the earlier plan was chosen so, and what of it is gone; nothing in a first plan."""
    held = request.held
    words: list[str] = []
    gone: list[str] = []
    for key, value in held.options.items():
        if key not in request.options:
            (words if airframe.options.get(key) == value else gone).append(f"option {key} = {value}")
    if not request.printers:
        here = made_choices(request, airframe, workshop).printers
        words += [f"printer {word}" for word in here]
        gone += [f"printer {word}" for word in held.printers if word not in here]
    if held.filament and not request.filament:
        words.append(f"filament {held.filament}")
    if held.prefer and not request.prefer:
        words.append(f"prefer {', '.join(held.prefer)}")
    notes = [f"as chosen for the plan before, until you say otherwise: {'; '.join(words)}"] if words else []
    notes += [f"chosen for the plan before and no longer there: {'; '.join(gone)}"] if gone else []
    return tuple(notes)


def _machine(word: str) -> str:
    """The name in front of a count such as ``desk:2``."""
    return word.rpartition(":")[0] or word
