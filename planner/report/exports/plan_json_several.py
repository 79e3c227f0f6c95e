"""The airframes of a plan of several as records."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from planner.model.plan import Plan
from planner.model.several import BETWEEN, AirframeSums
from planner.plan_record.several import OneOfSeveralRecord
from planner.report.exports.plan_json_sums import balance_of, mass_of
from planner.report.exports.plan_json_values import moment, money, rounded, strings
from planner.report.plain import clean


def airframes_record(plan: Plan) -> list[OneOfSeveralRecord] | UnsetType:
    """One for each airframe; not told in a plan of one alone."""
    if not plan.airframes:
        return UNSET
    return [_record(one, plan) for one in plan.airframes]


def _record(one: AirframeSums, plan: Plan) -> OneOfSeveralRecord:
    frame, currency = one.airframe, plan.cost.currency
    own = [e for e in plan.option_effects if e.option.startswith(frame.name + BETWEEN)]
    return OneOfSeveralRecord(
        airframe=clean(frame.name),
        copy_of=clean(frame.copy_of) or None,
        priority=frame.priority,
        due=frame.due,
        finish=None if one.finish is None else moment(one.finish, plan),
        late=one.late,
        datum=clean(frame.datum),
        options={clean(key): clean(value) for key, value in frame.options.items()},
        pieces=one.pieces,
        beds=strings(one.beds),
        minutes=rounded(one.minutes, 2),
        mass=mass_of(one.mass, one.balance),
        balance=balance_of(one.balance, own),
        cost=money(one.cost_minor, currency),
        cost_by_kind={clean(kind): money(minor, currency) for kind, minor in one.by_kind_minor.items()},
    )
