"""What a plan says of its beds, for machine files that are held against them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.model.batch import Batch
    from planner.model.replan import EarlierPlan
    from planner.model.workshop import Workshop
    from planner.readback.planned import Planned
    from planner.readback.reading import MachineOf


def batches_in_order(plan: EarlierPlan) -> list[Batch]:
    """Beds that are to run, in their order, then all that ran before."""
    batches = {batch.name: batch for batch in plan.batches}
    order = [batches[run.batch] for run in sorted(plan.runs, key=lambda run: run.start)]
    names = {batch.name for batch in order}
    return [*order, *(past.batch for past in plan.past if past.batch.name not in names)]


def machine_for(shop: Workshop, printer: str | None = None) -> MachineOf:
    """That of a printer, else of the first; the map is as large as the largest bed: one for all files."""
    from planner.readback.reading import MachineOf

    known = {one.name: one for one in shop.printers}
    widest = max(max(one.bed.width_mm, one.bed.depth_mm) for one in shop.printers)
    return replace(MachineOf.of(known.get(printer or "", shop.printers[0])), widest_mm=widest)


def planned_bed(plan: EarlierPlan, shop: Workshop, bed: str) -> Planned:
    """What the plan says of a bed.

    Raises
    ------
    RecordError
        where the workshop has no printer of its kind any more, or not its filament
    """
    from planner.joint_search.limits import longest_minutes
    from planner.ledger.told_plan import run_of
    from planner.readback.planned import Planned

    here = run_of(plan, bed)
    if here is None:  # pragma: no cover - every bed of a plan runs
        raise RecordError(f"{bed} has no run.", where=plan.source)
    run, batch = here
    printer = next(
        (p for p in shop.printers if p.name == run.printer),
        next((p for p in shop.printers if p.kind == batch.printer_kind), None),
    )
    if printer is None:
        raise RecordError(
            f"{bed} runs on {run.printer!r}, which the workshop has no more.",
            where=plan.source,
            next_step="Name the printer in workshop.toml again, or plan anew.",
        )
    grams = {p.piece: plan.parts[part].mass_g for p in batch.placed if (part := plan.part_of.get(p.piece))}
    whole = plan.taught.minutes.get(printer.name, 1.0)
    known = plan.filaments.get(batch.filament)
    filament = shop.filament(batch.filament if known is None else known.of or batch.filament)
    longest = longest_minutes(shop, printer.kind, filament)
    return Planned(
        batch,
        printer,
        filament,
        grams,
        shop.filaments,
        plan.taught.minutes_on.get((printer.name, batch.filament), whole),
        (longest.value, longest.said_by),
        max(1, len({draw.spool for draw in run.draws})),
    )
