"""The whole of ``plan.json``."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta

from planner.plan_record.balance import BalanceRecord
from planner.plan_record.beds import BatchRecord
from planner.plan_record.build import BuildRecord
from planner.plan_record.head import (
    AirframeRecord,
    AsideRecord,
    ChoicesRecord,
    FindingRecord,
    GoalRecord,
    MisfitRecord,
)
from planner.plan_record.learned import LedgerRecord
from planner.plan_record.parts import PartRecord, PieceRecord
from planner.plan_record.risk import RiskRecord
from planner.plan_record.runs import RunRecord, ScheduleRecord, SpoolRecord
from planner.plan_record.series import FilamentRecord, PastRecord, PrintedRecord, ReplanRecord
from planner.plan_record.several import OneOfSeveralRecord
from planner.plan_record.sums import CostRecord, MassRecord
from planner.plan_record.values import (
    Currency,
    Digest,
    Later,
    Moment,
    Record,
    Seldom,
    SeldomLater,
    Told,
    says,
)

SCHEMA: Literal[1] = 1


class PlanRecord(Record, frozen=True, kw_only=True):
    """The plan of one airframe: bed plans, schedule, spool usage, mass, balance and cost.

    Lengths mm, masses g, angles degrees, times ISO 8601 with offset, money as decimal strings in `currency`.
    null means not known, never zero.
    """

    schema: Annotated[Literal[1], Meta(extra={"wanted": f"{SCHEMA}, the only one that this version reads"})]
    planner: Told[Annotated[str, says("Version that made the plan.")]] = UNSET
    airframe: AirframeRecord
    start: Moment
    seed: Told[int] = UNSET
    effort: Told[str] = UNSET
    currency: Currency
    choices: Later[ChoicesRecord] = UNSET
    assumptions: Told[list[str]] = UNSET
    cautions: Told[list[str]] = UNSET
    findings: Told[list[FindingRecord]] = UNSET
    set_aside: Told[list[AsideRecord]] = UNSET
    parts: list[PartRecord]
    pieces: list[PieceRecord]
    fits_nowhere: Told[list[MisfitRecord]] = UNSET
    batches: list[BatchRecord]
    runs: list[RunRecord]
    spools: list[SpoolRecord]
    schedule: ScheduleRecord
    goals: Told[
        Annotated[
            list[GoalRecord],
            says("What the plan was searched for, the goal that counts most first; less is better."),
        ]
    ] = UNSET
    mass: MassRecord
    balance: Told[BalanceRecord] = UNSET
    cost: Told[CostRecord] = UNSET
    airframes: Seldom[
        Annotated[
            list[OneOfSeveralRecord],
            says("What each airframe comes to, where several are planned together; sums of all are above."),
        ]
    ] = UNSET
    risk: Seldom[
        Annotated[RiskRecord, says("What may go wrong; there where the plan was asked to be lived through.")]
    ] = UNSET
    build_order: Told[BuildRecord] = UNSET
    past: Later[
        Annotated[
            list[PastRecord],
            says(
                "Runs that were over when the plan was made;"
                " their spools are the grams really taken, as far as known."
            ),
        ]
    ] = UNSET
    printed: Later[
        Annotated[
            list[PrintedRecord],
            says(
                "Every piece that is printed or being printed, as it was made: mass and balance tell these."
            ),
        ]
    ] = UNSET
    filaments: Later[Annotated[list[FilamentRecord], says("What was known of each filament in use.")]] = UNSET
    ledger: SeldomLater[
        Annotated[LedgerRecord, says("What was taken from a ledger; not there where none was read.")]
    ] = UNSET
    replan: Later[
        Annotated[
            ReplanRecord | None,
            says("How the plan differs from the one that it goes on from; null where it goes on from none."),
        ]
    ] = UNSET
    identification: Annotated[
        Digest,
        says("SHA-256 of all other fields, written compactly in the order they have here."),
    ]
