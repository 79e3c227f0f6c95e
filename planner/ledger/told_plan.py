"""What a fact keeps of the plan it is about, so that it can be understood without that plan later."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.model.batch import Batch
from planner.model.replan import EarlierPlan
from planner.model.schedule import Run

Data = dict[str, Any]


def run_of(plan: EarlierPlan, bed: str) -> tuple[Run, Batch] | None:
    """The run and the bed of that name, planned or over."""
    batches = {batch.name: batch for batch in plan.batches}
    for run in plan.runs:
        if run.batch == bed:
            return run, batches[bed]
    for past in reversed(plan.past):
        if past.batch.name == bed:
            return past.run, past.batch
    return None


def bed_of(plan: EarlierPlan, piece: str) -> str | None:
    """The bed on which a piece is to be printed, else the last one that had it."""
    open_beds = {run.batch for run in plan.runs}
    for batch in plan.batches:
        if batch.name in open_beds and any(placed.piece == piece for placed in batch.placed):
            return batch.name
    for past in reversed(plan.past):
        if any(placed.piece == piece for placed in past.batch.placed):
            return past.batch.name
    return None


def bed_data(plan: EarlierPlan, bed: str) -> Data:
    """Printer, planned times, draws and pieces of a bed."""
    found = run_of(plan, bed)
    if found is None:
        return {}
    run, batch = found
    draws = [
        {"spool": draw.spool, "grams": draw.grams, "purge_g": run.purge_g if n == 0 else 0.0}
        for n, draw in enumerate(run.draws)
    ]
    return {
        "printer": run.printer,
        "filament": batch.filament,
        "start": run.start.isoformat(),
        "minutes": batch.minutes,
        "taught_minutes": plan.taught.minutes_on.get(
            (run.printer, batch.filament), plan.taught.minutes.get(run.printer, 1.0)
        ),
        "mass_g": batch.mass_g,
        "draws": draws,
        "pieces": [piece_data(plan, placed.piece) for placed in batch.placed],
    }


def piece_data(plan: EarlierPlan, piece: str, supports_on: bool = False) -> Data:
    """What a piece is predicted to weigh by tables alone, in what, how, where and from which spool.

    With ``supports_on`` the prediction is that of all that is laid down for it.
    """
    part = plan.part_of.get(piece, "")
    made, design = plan.printed.get(piece), plan.parts.get(part)
    planned = plan.weights.get(piece, (design.mass_g if design else 0.0, None))[0]
    predicted = plan.taught.predicted.get(piece, planned)
    whole = design.mass_g / plan.taught.factors.get(part, 1.0) if design else predicted
    bed = bed_of(plan, piece)
    found = run_of(plan, bed) if bed is not None else None
    filament = made.filament if made else design.filament if design else ""
    density = plan.filaments.get(filament)
    return {
        "piece": piece,
        "part": part,
        "predicted_g": whole if supports_on else predicted,
        "flying_g": predicted,
        "factor": plan.taught.factors.get(part, 1.0),
        "filament": filament,
        "density": density.deposited_g_per_cm3 if density else None,
        "nozzle_c": density.nozzle_c if density else None,
        "recipe": made.recipe if made else design.recipe if design else "",
        "printer": found[0].printer if found else "",
        "spool": found[0].draws[0].spool if found and found[0].draws else "",
        "bed": bed or "",
    }


def pieces_of(plan: EarlierPlan) -> Sequence[str]:
    """Every piece of the plan."""
    return list(plan.part_of)
