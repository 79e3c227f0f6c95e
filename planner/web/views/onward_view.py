"""A plan that goes on, before it is taken: what it would change, and what the page shows once it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.model.plan import Plan
from planner.report.lookup import Lookup
from planner.report.sheets.sheet_list import sheets_of
from planner.report.words import day_time
from planner.web.views.card import card
from planner.web.views.plan_stamp import plan_stamp
from planner.web.views.plan_view import markup, plan_view
from planner.web.words import say

NONE = "\N{EN DASH}"
_MEASURES = {
    "beds": "onward_beds",
    "print_h": "onward_hours",
    "printed_g": "onward_printed",
    "total_g": "onward_total",
    "cost": "onward_cost",
}


def onward_record(plan: Plan, before: Mapping[str, Any] | None, made: str, revision: str) -> dict[str, Any]:
    """What is kept until it is taken or refused.

    Parameters
    ----------
    before : the record of the plan that holds now, as the page keeps it
    made : when, ISO 8601
    """
    view = {**plan_view(plan), "revision": revision, "made": made, "stopped": False}
    return {
        "base": plan_stamp(dict(before) if before is not None else None),
        "facts": plan.taught.facts if plan.taught is not None else 0,
        "view": view,
        "card": card(plan),
        "shown": {"rows": rows(plan, before, view), "changes": _changes(plan)},
    }


def rows(plan: Plan, before: Mapping[str, Any] | None, view: Mapping[str, Any]) -> list[list[str]]:
    """What, before, now: finish, beds moved, grams, money."""
    was: Mapping[str, Any] = (before or {}).get("measures", {})
    now: Mapping[str, Any] = view["measures"]
    found = []
    replan = plan.replan
    if replan is not None:
        found.append([say("onward_finish"), day_time(replan.earlier_finish, plan), str(view["finish"])])
        found.append([say("onward_moved"), NONE, f"{replan.moved} / {replan.open_batches}"])
    for key, label in _MEASURES.items():
        found.append([say(label), written(key, was), written(key, now)])
    return found


def written(key: str, measures: Mapping[str, Any]) -> str:
    """A measure of a plan with its unit; a dash where a plan of before does not tell it."""
    value = measures.get(key)
    if value is None:
        return NONE
    if isinstance(value, float):
        return f"{value:.1f} {'h' if key.endswith('_h') else 'g'}"
    return str(value)


def _changes(plan: Plan) -> str:
    """Bed by bed, as the report tells it."""
    return markup(list(sheets_of(Lookup(plan), "changes")), level=3)
