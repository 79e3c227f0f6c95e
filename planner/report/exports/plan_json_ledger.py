"""What a ledger had taught, for ``plan.json``."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from planner.model.plan import Plan
from planner.plan_record.learned import (
    FactorRecord,
    FailuresRecord,
    LedgerRecord,
    PartFactorRecord,
    PredictedRecord,
    PrinterFactorRecord,
    WeighInRecord,
)
from planner.report.exports.plan_json_outlook import more_of_ledger
from planner.report.exports.plan_json_values import moment, rounded
from planner.report.plain import clean


def ledger_record(plan: Plan) -> LedgerRecord | UnsetType:
    """Nothing at all where the plan knows no ledger."""
    taught = plan.taught
    if taught is None:
        return UNSET
    factors = {
        part.name: lesson.factor
        for part in plan.parts
        if (lesson := taught.lessons.get((part.filament, part.recipe.name))) is not None
    }
    return LedgerRecord(
        facts=taught.facts,
        parts=[PartFactorRecord(part=clean(name), factor=rounded(one, 6)) for name, one in factors.items()],
        printers=[
            PrinterFactorRecord(printer=clean(name), factor=rounded(one, 6))
            for name, one in sorted(taught.minutes.items())
        ],
        predicted=[
            PredictedRecord(piece=clean(name), grams=rounded(one, 6))
            for name, one in taught.predicted.items()
        ],
        factors=[
            FactorRecord(
                what=one.kind,
                name=clean(one.name),
                factor=rounded(one.factor, 5),
                low=rounded(one.low, 5),
                high=rounded(one.high, 5),
                facts=one.facts,
            )
            for one in taught.factors
        ],
        weigh_ins=[
            WeighInRecord(
                pieces=clean(one.weigh_in.name),
                at=None if one.weigh_in.at is None else moment(one.weigh_in.at, plan),
                grams=rounded(one.weigh_in.grams),
                predicted_g=rounded(one.weigh_in.predicted_g),
                expected_g=rounded(one.expected_g),
                believed=one.believed,
            )
            for one in taught.judged
        ],
        failures=[
            FailuresRecord(
                printer=clean(one.printer),
                per_hour=rounded(one.per_hour, 6),
                failures=one.failures,
                hours=rounded(one.hours, 2),
            )
            for one in taught.failures
        ],
        **more_of_ledger(plan, taught),
    )
