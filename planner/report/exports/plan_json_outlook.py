"""What follows from a ledger for the airframe as a whole, for ``plan.json``; nothing where there is none."""

from __future__ import annotations

from typing import Any

from planner.model.first_plan import FirstPlan
from planner.model.learned import Spreads, Taught
from planner.model.outlook import Outlook
from planner.model.plan import Plan
from planner.plan_record.learned import (
    CourseRecord,
    FactorThenRecord,
    FirstRecord,
    GramsDrawnRecord,
    MinutesRecord,
    OutlookRecord,
    SpreadsRecord,
    TimedRecord,
    WeighNextRecord,
)
from planner.report.exports.plan_json_values import moment, moment_or_none, money, rounded
from planner.report.plain import clean


def more_of_ledger(plan: Plan, taught: Taught) -> dict[str, Any]:
    """Fields of the ledger that are there only where they tell something."""
    found: dict[str, Any] = {}
    if taught.fitted_from or taught.spreads != Spreads():
        found["spreads"] = _spreads(taught)
    if taught.minutes_on:
        found["minutes"] = [
            MinutesRecord(printer=clean(printer), filament=clean(filament), factor=rounded(factor, 6))
            for (printer, filament), factor in sorted(taught.minutes_on.items())
        ]
    if taught.timed:
        found["runs"] = [
            TimedRecord(
                bed=clean(one.bed),
                printer=clean(one.printer),
                measured=rounded(one.measured, 2),
                predicted=rounded(one.predicted, 2),
            )
            for one in taught.timed
        ]
    if taught.drawn:
        found["drawn"] = _grams(taught.drawn)
    if taught.outlook is not None:
        found["outlook"] = _outlook(plan, taught.outlook)
    if taught.first is not None:
        found["first"] = _first(plan, taught.first)
    return found


def _grams(by_spool: Any) -> list[GramsDrawnRecord]:
    return [
        GramsDrawnRecord(spool=clean(name), grams=rounded(grams, 2))
        for name, grams in sorted(by_spool.items())
    ]


def _spreads(taught: Taught) -> SpreadsRecord:
    one = taught.spreads
    keys = ("spool", "printer", "recipe", "times_filament", "times_rest")
    return SpreadsRecord(
        **{key: rounded(getattr(one, key), 5) for key in keys}, fitted_from=taught.fitted_from
    )


def _outlook(plan: Plan, one: Outlook) -> OutlookRecord:
    return OutlookRecord(
        foretold=one.foretold,
        inside=one.inside,
        target_chance=rounded(one.chance, 4),
        weigh_next=[
            WeighNextRecord(piece=clean(n.piece), low_g=rounded(n.low_g), high_g=rounded(n.high_g))
            for n in one.weigh_next
        ],
        course=[
            CourseRecord(
                after=clean(step.after),
                at=moment_or_none(step.at, plan),
                mass_g=rounded(step.mass_g),
                low_g=rounded(step.low_g),
                high_g=rounded(step.high_g),
                factors=[
                    FactorThenRecord(
                        name=clean(f.name),
                        factor=rounded(f.factor, 5),
                        low=rounded(f.low, 5),
                        high=rounded(f.high, 5),
                    )
                    for f in step.factors
                ],
            )
            for step in one.course
        ],
    )


def _first(plan: Plan, one: FirstPlan) -> FirstRecord:
    return FirstRecord(
        start=moment(one.start, plan),
        finish=moment(one.finish, plan),
        mass_g=rounded(one.mass_g),
        low_g=rounded(one.low_g),
        high_g=rounded(one.high_g),
        printed_g=rounded(one.printed_g),
        station_mm=rounded(one.station_mm),
        print_hours=rounded(one.print_hours),
        cost=money(one.cost_minor, plan.workshop.currency),
        beds=one.beds,
        spools=_grams(one.spools),
    )
