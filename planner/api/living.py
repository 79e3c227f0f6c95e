"""The plan that is there, lived through in simulated worlds: nothing is planned, nothing is written."""

from __future__ import annotations

from pathlib import Path

from planner.model.risk import RiskAsked, RiskOfPlan


def lived_through(folder: Path, asked: RiskAsked) -> RiskOfPlan:
    """What may go wrong with the plan in a results folder, in the numbers that planning would have told.

    Raises
    ------
    RecordError
        where the folder keeps nothing to live through the plan with, or it cannot be used
    """
    from planner.io.results.worlds_file import read_worlds
    from planner.pipeline.risk import risk_in

    plan = read_worlds(folder)
    return RiskOfPlan(risk_in(plan, asked), plan.start, plan.finish, plan.zone)


def risk_text(found: RiskOfPlan, *, as_json: bool) -> str:
    """For the terminal: in words, or as ``risk`` of ``plan.json``."""
    if as_json:
        from planner.report.exports.plan_json import record_json
        from planner.report.exports.plan_json_risk import record_of
        from planner.report.exports.plan_json_values import builtins

        return record_json(builtins(record_of(found.risk, found)))
    from planner.report.text.risk_text import risk_words

    return risk_words(found)
