"""What may go wrong with a plan, for ``plan.json``; nothing where it was not asked."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from planner.model.plan import Plan
from planner.model.risk import Risk
from planner.plan_record.risk import (
    BedRiskRecord,
    FilamentRiskRecord,
    FinishShareRecord,
    PrinterChancesRecord,
    RiskRecord,
)
from planner.report.exports.plan_json_values import moment_or_none, rounded
from planner.report.plain import clean
from planner.report.words import Told


def risk_record(plan: Plan) -> RiskRecord | UnsetType:
    """Chances, and what comes of them."""
    return UNSET if plan.risk is None else record_of(plan.risk, plan)


def record_of(risk: Risk, plan: Told) -> RiskRecord:
    """The same of a plan that is there."""
    chances = risk.chances
    return RiskRecord(
        worlds=chances.asked.worlds,
        seed=chances.seed,
        missed=rounded(chances.asked.missed, 6),
        printers=[
            PrinterChancesRecord(
                printer=clean(name),
                failures_per_hour=rounded(rate, 6),
                spread=rounded(chances.spreads.get(name, 0.0), 5),
            )
            for name, rate in chances.failures.items()
        ],
        rest=rounded(chances.rest, 5),
        kept=rounded(risk.kept, 5),
        unfinished=rounded(risk.unfinished, 5),
        finish=[
            FinishShareRecord(share=rounded(one.share, 4), at=moment_or_none(one.at, plan))
            for one in risk.finish
        ],
        filaments=[
            FilamentRiskRecord(
                filament=clean(one.filament),
                planned_g=rounded(one.planned_g, 2),
                half_g=rounded(one.half_g, 2),
                most_g=rounded(one.most_g, 2),
            )
            for one in risk.filaments
        ],
        beds=[
            BedRiskRecord(
                batch=clean(one.bed),
                decides=rounded(one.decides, 5),
                fails=rounded(one.fails, 5),
                sooner_h=rounded(one.sooner_h, 3),
            )
            for one in risk.beds
        ],
    )
