"""Every independent check of a finished plan, by code that shares nothing with the search."""

from __future__ import annotations

from collections.abc import Iterator

from planner.arrange.item import BedKind, FilledBed
from planner.arrange.verify import verify_beds
from planner.budget.verify import budget_faults
from planner.compose.composition import ComposeTask
from planner.compose.pieces import families
from planner.flow.run import section_rank
from planner.model.plan import Plan
from planner.schedule.verify import verify_schedule


def faults(plan: Plan) -> tuple[str, ...]:
    """One sentence for everything that does not hold; empty for a sound plan."""
    return (
        *_beds(plan),
        *_alike(plan),
        *verify_schedule(plan.schedule, plan.spools, plan.batches, plan.workshop, plan.start),
        *budget_faults(plan.mass, plan.balance, plan.cost),
    )


def _beds(plan: Plan) -> tuple[str, ...]:
    task = ComposeTask(
        plan.pieces,
        {part.name: part for part in plan.parts},
        plan.deposits,
        plan.workshop,
        plan.start,
        section_rank(plan.airframe),
    )
    items = [item for group in families(task).values() for item in group]
    printers = {printer.kind: printer for printer in plan.workshop.printers}
    beds = [
        FilledBed(
            BedKind(
                batch.printer_kind,
                printers[batch.printer_kind].bed,
                printers[batch.printer_kind].clear_height_mm,
            ),
            batch.placed,
            batch.fill,
        )
        for batch in plan.batches
    ]
    return verify_beds(beds, items, plan.workshop.clearance_mm, plan.misfits)


def _alike(plan: Plan) -> Iterator[str]:
    """One filament, layer height and first layer height a bed; grams and height are the pieces' own."""
    part_of = {piece.name: piece.part for piece in plan.pieces}
    parts = {part.name: part for part in plan.parts}
    for batch in plan.batches:
        made = [parts[part_of[placed.piece]] for placed in batch.placed if placed.piece in part_of]
        kinds = {(p.filament, p.recipe.layer_height_mm, p.recipe.first_height_mm) for p in made}
        if len(kinds) != 1 or (batch.filament, batch.layer_height_mm) != next(iter(kinds))[:2]:
            yield f"{batch.name} mixes filaments or layer heights: {sorted(kinds)}"
        grams = sum(plan.deposits[part.name].mass_g for part in made)
        if abs(grams - batch.mass_g) > 1e-6 * max(1.0, grams):
            yield f"{batch.name}: {batch.mass_g} g is told, its pieces weigh {grams} g"
