"""Whether the proved bound is no less than plain sums; shares no code with the search."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.model.plan import Plan
from planner.model.printer import Printer

ROUNDING_H = 1.0 / 60.0  # runs are given whole minutes


def bound_faults(plan: Plan) -> Iterator[str]:
    """One sentence where less is proved than what anybody can add up.

    Source: the elementary bounds of parallel machine scheduling (Graham 1969): the longest job, and the mean
    load of the machines. In a plan that goes on the beds are the jobs, as they are; in a first plan pieces
    are, as they could lie otherwise: of each its bare layers, on the printer where they take least.
    """
    told, reached = plan.schedule.lower_bound_h, plan.schedule.makespan_h
    if told is None or not plan.schedule.runs:
        return
    jobs = _pieces(plan) if plan.replan is None else _beds(plan)
    ends = [
        (run.end.timestamp() - plan.start.timestamp()) / 3600.0
        for run in plan.schedule.runs
        if run.mark == "running"
    ]
    start = plan.workshop.start_minutes
    if jobs:
        longest, mean = max(alone for _, alone in jobs), sum(own for own, _ in jobs)
        ends += [(start + longest) / 60.0, (start + mean / len(plan.workshop.printers)) / 60.0]
    least = min(reached, max(ends, default=0.0))
    if told < least - ROUNDING_H:
        yield f"nothing is told to end before {told:g} h, and plain sums show {least:g} h."


def _beds(plan: Plan) -> list[tuple[float, float]]:
    """Minutes of each bed that has not begun, beside others and alone."""
    open_beds = {run.batch for run in plan.schedule.runs if run.mark != "running"}
    return [(batch.minutes, batch.minutes) for batch in plan.batches if batch.name in open_beds]


def _pieces(plan: Plan) -> list[tuple[float, float]]:
    """Minutes that each piece adds to any bed, and those of a bed of its own."""
    parts = {part.name: part for part in plan.parts}
    part_of = {piece.name: piece.part for piece in plan.pieces}
    placed = [part_of[one.piece] for batch in plan.batches for one in batch.placed if one.piece in part_of]
    found: dict[str, tuple[float, float]] = {}
    for name in set(placed):
        times = []
        for printer in plan.workshop.printers:
            seconds = plan.deposits[name].seconds.get(printer.kind)
            if seconds is not None:
                change = 0.0 if parts[name].recipe.spiral else printer.motion.layer_change_s
                bare = max(0.0, math.fsum(seconds.tolist()) - change * len(seconds)) / 60.0
                times.append((_times(printer, parts[name].filament) * bare, printer.heat_up_minutes))
        if times:
            found[name] = min(own for own, _ in times), min(own + heat for own, heat in times)
    return [found[name] for name in placed if name in found]


def _times(printer: Printer, filament: str) -> float:
    """What the printer takes, times what is reckoned; a filament of its own, times that."""
    own = [times for name, times in printer.minutes_of if name == filament]
    return printer.minutes_factor * (own[0] if own else 1.0)
