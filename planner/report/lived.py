"""What came of a plan in simulated worlds, in words that several faces share."""

from __future__ import annotations

from planner.model.plan import Plan
from planner.model.risk import Risk, RiskOfPlan
from planner.report.words import UNKNOWN, Told, day_time, short_time

ALONE = (
    "These are simulated figures, no promise, and no leave to let machines print alone: beds that fail"
    " unseen are part of them. Whether a machine may run while nobody is there is for local rules, and for"
    " those who answer for the building, to say."
)
IN_NINE_TENTHS = "90 % of worlds"


def told_of(plan: Plan) -> RiskOfPlan | None:
    """The risk that a plan was made with; ``None`` where it was not asked for."""
    if plan.risk is None:
        return None
    return RiskOfPlan(plan.risk, plan.start, plan.schedule.finish, plan.workshop.attendance.zone)


def finish_words(plan: RiskOfPlan) -> str:
    """The finish at 50 and 90 %, and how often the plan is kept."""
    risk = plan.risk
    half, most = (UNKNOWN if at is None else day_time(at, plan) for at in (risk.at(0.5), risk.at(0.9)))
    told = f"Half of the worlds are done by {half}, 90 % by {most}; {100.0 * risk.kept:.0f} % keep the plan."
    if risk.unfinished > 0.0:
        told += f" In {100.0 * risk.unfinished:.1f} % somebody is there too seldom to finish at all."
    return told


def nine_tenths(risk: Risk | None, plan: Told) -> str:
    """The finish in nine tenths of the worlds; empty where a plan was not lived through."""
    if risk is None:
        return ""
    at = risk.at(0.9)
    return f"{IN_NINE_TENTHS} {'never' if at is None else f'by {short_time(at, plan)}'}"
