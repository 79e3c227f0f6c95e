"""What became of an earlier plan, as JSON types."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.model.replan import Change, Slot
from planner.model.schedule import Run
from planner.report.plain import clean
from planner.report.words import local

Record = dict[str, Any]


def choices_record(plan: Plan) -> Record:
    """What the plan was asked for beside its files."""
    made = plan.choices
    return {
        "options": {clean(key): clean(value) for key, value in made.options.items()},
        "printers": [clean(word) for word in made.printers],
        "filament": None if made.filament is None else clean(made.filament),
        "prefer": [clean(word) for word in made.prefer],
        "section_dates": {clean(name): day.isoformat() for name, day in made.section_dates.items()},
    }


def past_records(
    plan: Plan, run_record: Callable[[Run], Record], batch_record: Callable[[Batch], Record]
) -> list[Record]:
    """Runs that are over, with their beds."""
    return [
        {
            "outcome": one.outcome,
            "good": [clean(piece) for piece in one.good],
            "on_bed": one.on_bed,
            "scrapped": [clean(piece) for piece in one.scrapped],
            "run": run_record(one.run),
            "batch": batch_record(one.batch),
        }
        for one in plan.past
    ]


def replan_record(plan: Plan) -> Record | None:
    """How the plan differs from the one that it goes on from; ``None`` where it goes on from none."""
    made = plan.replan
    if made is None:
        return None
    return {
        "since": clean(made.since),
        "tolerance_h": round(made.tolerance_h, 3),
        "earlier_finish": _when(made.earlier_finish, plan),
        "best_finish": _when(made.best, plan),
        "open": made.open_batches,
        "moved": made.moved,
        "proved_fewest": made.proved,
        "changes": [_change(change, plan) for change in made.changes],
        "series": clean(made.series),
        "generation": made.generation,
        "last_bed": made.last_bed,
        "visits_gone": [{"at": _when(at, plan)} for at in made.visits_gone],
        "changed": [
            {
                "printer": clean(one.printer),
                "filament": clean(one.filament),
                "spool": clean(one.spool),
                "purged_g": round(one.purged_g, 3),
            }
            for one in made.changed
        ],
        "told": [{"spool": clean(name), "grams": round(grams, 3)} for name, grams in made.told_g.items()],
    }


def _change(change: Change, plan: Plan) -> Record:
    return {
        "batch": clean(change.batch),
        "what": change.kind,
        "was": _slot(change.was, plan),
        "now": _slot(change.now, plan),
        "note": clean(change.note),
    }


def _slot(slot: Slot | None, plan: Plan) -> Record | None:
    if slot is None:
        return None
    return {"printer": clean(slot.printer), "start": _when(slot.start, plan), "end": _when(slot.end, plan)}


def _when(moment: datetime, plan: Plan) -> str:
    return local(moment, plan).isoformat(timespec="seconds")
