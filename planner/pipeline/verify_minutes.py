"""Whether every bed takes the minutes that its layers ask for; it shares no code with the search.

Plain sums over layers (Source: the model of a bed's minutes), with ramps of its own (Source: kinematics).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from planner.model.batch import Batch
from planner.model.part import Part
from planner.model.plan import Plan
from planner.model.printer import Printer

_TOLD_MIN = 0.011  # minutes are told to a hundredth


def minutes_faults(plan: Plan, skip: frozenset[str]) -> Iterator[str]:
    """One sentence for each bed whose minutes are not those of its pieces on its printer kind.

    ``skip`` names beds that had begun before the plan was made.
    """
    part_of = {piece.name: piece.part for piece in plan.pieces}
    parts = {part.name: part for part in plan.parts}
    printers = {printer.kind: printer for printer in plan.workshop.printers}
    for batch in plan.batches:
        printer = printers.get(batch.printer_kind)
        own = [parts[part_of[p.piece]] for p in batch.placed if p.piece in part_of]
        if batch.name in skip or printer is None or len(own) < len(batch.placed):
            continue
        if plan.taught is not None and batch.name in plan.taught.files:
            seconds = 60.0 * plan.taught.files[batch.name].minutes
        else:
            seconds = _bed_seconds(plan, batch, own, printer)
        reckoned = printer.heat_up_minutes + _times(printer, batch.filament) * seconds / 60.0
        if abs(reckoned - batch.minutes) > _TOLD_MIN + 1e-6 * reckoned:
            yield f"{batch.name}: {batch.minutes:.2f} minutes are told, its layers take {reckoned:.2f}"


def _times(printer: Printer, filament: str) -> float:
    """What the printer takes, times what is reckoned; a filament of its own, times that."""
    own = [times for name, times in printer.minutes_of if name == filament]
    return printer.minutes_factor * (own[0] if own else 1.0)


def _bed_seconds(plan: Plan, batch: Batch, own: Sequence[Part], printer: Printer) -> float:
    """Seconds of printing at a factor of 1: side by side, or one after another with the ways between."""
    if not printer.one_at_a_time:
        return _grown_together(plan, batch, own, printer)
    alone = sum(_grown_together(plan, batch, [part], printer) for part in own)
    reach = [_reach(plan, part) for part in own]
    return alone + sum(_hop(plan, batch, printer, (a + b) / 2.0) for a, b in pairwise(reach))


def _grown_together(plan: Plan, batch: Batch, own: Sequence[Part], printer: Printer) -> float:
    motion = printer.motion
    columns = [plan.deposits[part.name].seconds[batch.printer_kind].tolist() for part in own]
    change = [0.0 if part.recipe.spiral else motion.layer_change_s for part in own]
    least = max(
        motion.least_layer_s if p.recipe.least_layer_s is None else p.recipe.least_layer_s for p in own
    )
    last = max(range(len(own)), key=lambda n: len(columns[n]))  # the first of the tallest
    total = 0.0
    for layer in range(len(columns[last])):
        there = [n for n in range(len(own)) if layer < len(columns[n])]
        seconds = sum(columns[n][layer] - change[n] for n in there)
        if len(there) == 1:
            seconds += change[last]
        else:
            apart = sum(_reach(plan, own[n]) for n in there) / len(there)
            seconds += (len(there) - 1) * _hop(plan, batch, printer, apart) + motion.layer_change_s
        total += max(seconds, least)
    return total


def _reach(plan: Plan, part: Part) -> float:
    """How far a like point of a neighbour is: a square of the same base, and the clearance."""
    width, depth, _ = plan.deposits[part.name].extents_mm
    return math.sqrt(width * depth) + plan.workshop.clearance_mm


def _hop(plan: Plan, batch: Batch, printer: Printer, way_mm: float) -> float:
    """From rest to rest, and the retraction: up to speed and down again, or half the way each."""
    speed, pull = printer.motion.travel_speed, printer.motion.travel_acceleration
    ramps = speed * speed / pull
    seconds = 2.0 * math.sqrt(way_mm / pull) if way_mm < ramps else speed / pull + way_mm / speed
    return seconds + (0.0 if plan.workshop.filament(batch.filament).foaming else printer.motion.retract_s)
