"""Runs, spools and timetable of a plan as records."""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

from msgspec import UNSET

from planner.model.plan import Plan
from planner.model.schedule import Buying, Run
from planner.plan_record.runs import (
    AwayRecord,
    BuyingRecord,
    DrawRecord,
    DryerLoadRecord,
    LotRecord,
    RunRecord,
    ScheduleRecord,
    SpoolRecord,
    VisitRecord,
    Written,
)
from planner.report.absent import absent
from planner.report.exports.plan_json_values import (
    moment,
    moment_or_none,
    money,
    rounded,
    strings,
    text_or_none,
)
from planner.report.plain import clean
from planner.report.spool_colours import colours_of


def run_records(runs: Iterable[Run], plan: Plan) -> list[RunRecord]:
    """Every run with what it draws from which spool."""
    return [run_record(run, plan) for run in runs]


def run_record(run: Run, plan: Plan) -> RunRecord:
    """One run with what it draws from which spool."""
    return RunRecord(
        run=clean(run.name),
        batch=clean(run.batch),
        printer=clean(run.printer),
        start=moment(run.start, plan),
        end=moment(run.end, plan),
        attended_start=run.attended_start,
        spools=[
            DrawRecord(spool=clean(d.spool), grams=rounded(d.grams), before_g=rounded(d.before_g))
            for d in run.draws
        ],
        purge_g=rounded(run.purge_g),
        changed_from=text_or_none(run.changed_from),
        mark=cast("Written | None", run.mark or None),
        dry_at=moment_or_none(run.dry_at, plan),
        short_g=rounded(run.short_g),
    )


def spool_records(plan: Plan) -> list[SpoolRecord]:
    """What the plan does to each spool."""
    colours, lots = colours_of(plan), {spool.name: spool.lot for spool in plan.workshop.spools}
    return [
        SpoolRecord(
            spool=clean(u.spool),
            filament=clean(u.filament),
            bought=u.bought,
            grams_before=rounded(u.grams_before),
            grams_used=rounded(u.grams_used),
            grams_purged=rounded(u.grams_purged),
            grams_left=rounded(u.grams_left),
            price=money(u.price_minor, plan.workshop.currency),
            colour=clean(colours.get(u.spool, "")) or UNSET,
            lot=clean(lots.get(u.spool, "")) or UNSET,
        )
        for u in plan.spools
    ]


def schedule_record(plan: Plan) -> ScheduleRecord:
    """When all of it is done, what is proved about that, and the visits."""
    schedule = plan.schedule
    return ScheduleRecord(
        finish=moment(schedule.finish, plan),
        makespan_h=rounded(schedule.makespan_h),
        print_hours={clean(k): rounded(v) for k, v in schedule.print_hours.items()},
        lower_bound_h=rounded(schedule.lower_bound_h),
        proven_gap=rounded(schedule.proven_gap, 6),
        interventions=schedule.interventions,
        changeovers=schedule.changeovers,
        buying=UNSET if schedule.buying is None else _buying(schedule.buying, plan),
        away=_away(plan) or UNSET,
        drying=_drying(plan) or UNSET,
        lots=_lots(plan) or UNSET,
        visits=[
            VisitRecord(at=moment(v.at, plan), minutes=v.minutes, tasks=strings(v.tasks))
            for v in schedule.visits
        ],
    )


def _away(plan: Plan) -> list[AwayRecord]:
    return [
        AwayRecord(
            what=one.what,
            name=clean(one.name),
            since=moment(one.since, plan),
            until=moment_or_none(one.until, plan),
            why=clean(one.why),
        )
        for one in absent(plan)
    ]


def _drying(plan: Plan) -> list[DryerLoadRecord]:
    return [
        DryerLoadRecord(
            dryer=load.dryer,
            filament=clean(load.filament),
            spools=strings(load.spools),
            put_in=moment(load.put_in, plan),
            take_out=moment(load.take_out, plan),
        )
        for load in plan.schedule.drying
    ]


def _lots(plan: Plan) -> list[LotRecord]:
    return [
        LotRecord(
            section=clean(one.section), filament=clean(one.filament), lot=clean(lot), pieces=strings(pieces)
        )
        for one in plan.lots
        for lot, pieces in one.lots
    ]


def _buying(made: Buying, plan: Plan) -> BuyingRecord:
    return BuyingRecord(
        spools=made.spools,
        price_minor=made.price_minor,
        sooner_h=rounded(made.sooner_h),
        other_finish=moment_or_none(made.other_finish, plan),
        bought=made.bought,
    )
