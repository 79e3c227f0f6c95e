"""What became of an earlier plan, as records."""

from __future__ import annotations

from planner.model.plan import Plan
from planner.model.replan import Change, Slot
from planner.plan_record.head import ChoicesRecord
from planner.plan_record.series import (
    ChangedRecord,
    ChangeRecord,
    GoneRecord,
    PastRecord,
    ReplanRecord,
    SlotRecord,
    ToldRecord,
)
from planner.report.exports.plan_json_beds import batch_record
from planner.report.exports.plan_json_runs import run_record
from planner.report.exports.plan_json_values import moment, strings, text_or_none
from planner.report.lookup import Lookup
from planner.report.plain import clean


def choices_record(plan: Plan) -> ChoicesRecord:
    """What the plan was asked for beside its files."""
    made = plan.choices
    return ChoicesRecord(
        options={clean(key): clean(value) for key, value in made.options.items()},
        printers=strings(made.printers),
        filament=text_or_none(made.filament),
        prefer=strings(made.prefer),
        section_dates={clean(name): day for name, day in made.section_dates.items()},
    )


def past_records(look: Lookup) -> list[PastRecord]:
    """Runs that are over, with their beds."""
    return [
        PastRecord(
            outcome=one.outcome,
            good=strings(one.good),
            on_bed=one.on_bed,
            scrapped=strings(one.scrapped),
            run=run_record(one.run, look.plan),
            batch=batch_record(one.batch, look),
        )
        for one in look.plan.past
    ]


def replan_record(plan: Plan) -> ReplanRecord | None:
    """How the plan differs from the one that it goes on from; ``None`` where it goes on from none."""
    made = plan.replan
    if made is None:
        return None
    return ReplanRecord(
        since=clean(made.since),
        tolerance_h=round(made.tolerance_h, 3),
        earlier_finish=moment(made.earlier_finish, plan),
        best_finish=moment(made.best, plan),
        open=made.open_batches,
        moved=made.moved,
        proved_fewest=made.proved,
        changes=[_change(change, plan) for change in made.changes],
        series=clean(made.series),
        generation=made.generation,
        last_bed=made.last_bed,
        visits_gone=[GoneRecord(at=moment(at, plan)) for at in made.visits_gone],
        changed=[
            ChangedRecord(
                printer=clean(one.printer),
                filament=clean(one.filament),
                spool=clean(one.spool),
                purged_g=round(one.purged_g, 3),
            )
            for one in made.changed
        ],
        told=[ToldRecord(spool=clean(name), grams=round(grams, 3)) for name, grams in made.told_g.items()],
    )


def _change(change: Change, plan: Plan) -> ChangeRecord:
    return ChangeRecord(
        batch=clean(change.batch),
        what=change.kind,
        was=_slot(change.was, plan),
        now=_slot(change.now, plan),
        note=clean(change.note),
    )


def _slot(slot: Slot | None, plan: Plan) -> SlotRecord | None:
    if slot is None:
        return None
    return SlotRecord(printer=clean(slot.printer), start=moment(slot.start, plan), end=moment(slot.end, plan))
