"""Plans in which filaments are dried: the search round the dryers, and what is told of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.objective import TimedPlan
from planner.joint_search.objectives import measured, order_of, told
from planner.model.filament import Filament
from planner.model.workshop import Workshop
from planner.scheduling.drying import Timed, dried, first_rooms, with_drying
from planner.scheduling.problem.dry_spans import Asked


def rooms_of(task: ComposeTask) -> dict[str, int]:
    """For how many spools of each filament that is dried there is room at first."""
    found: dict[str, tuple[float, int]] = {}
    for piece in task.pieces:
        name = task.parts[piece.part].filament
        grams, number = found.get(name, (0.0, 0))
        found[name] = (grams + task.deposits[piece.part].mass_g, number + 1)
    return first_rooms(found, task.workshop)


def composed_dry(task: ComposeTask, search: Callable[[ComposeTask], Composition]) -> Composition:
    """What a search finds while nothing wet is printed, with the slots of the dryers and their visits.

    Raises
    ------
    Infeasible
        where there is no time for the slots, or none that the runs fit
    """
    rooms = rooms_of(task)
    if not rooms:
        return search(task)
    seen = [task.workshop]

    def attempt(shop: Workshop) -> Composition:
        seen.append(shop)
        return search(replace(task, workshop=shop))

    made, loads = dried(
        task.workshop,
        task.start,
        Asked(rooms),
        attempt,
        lambda found: Timed(found.schedule.runs, found.batches),
    )
    schedule = with_drying(made.schedule, loads, made.batches, task.workshop, task.start)
    if seen[-1].printers != task.workshop.printers:  # what is proved of fewer printers is not of all
        schedule = replace(schedule, lower_bound_h=None, proven_gap=None, beds_bound_h=None)
    named = {batch.name: batch for batch in made.batches}
    timed = TimedPlan(task, named, schedule, sum(use.bought for use in made.spools))
    goals = told(order_of(task.prefer), measured(timed), timed) if made.goals else ()
    return replace(made, schedule=schedule, goals=goals)


def drying_notes(used: Sequence[Filament], workshop: Workshop) -> tuple[str, ...]:
    """How each filament is dried, or why no slot is planned for it."""
    notes = []
    for filament in used:
        if not filament.needs_drying:
            continue
        how = f"{filament.name} is dried for {filament.dry_hours or 0:g} h"
        how += f" at {filament.dry_c:g} °C" if filament.dry_c is not None else ""
        how += " (its maker's sheet counts)"
        if workshop.dries(filament):
            lasts = filament.open_hours
            notes.append(
                how + (", once" if lasts is None else f", and again once it was open for {lasts:g} h")
            )
        else:
            lacks = "no dryer is named" if workshop.dryer is None else "no spool is listed"
            notes.append(f"{how}: {lacks} in workshop.toml, so no slot is planned and no run waits for it")
    return tuple(notes)
