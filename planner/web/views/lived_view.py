"""The plan that the page shows, with what came of it in simulated worlds once it was made."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.model.risk import RiskOfPlan
from planner.report.answers import FINISHED
from planner.report.lived import IN_NINE_TENTHS, nine_tenths
from planner.web.views.plan_view import risk_view


def lived_view(view: Mapping[str, Any], found: RiskOfPlan) -> dict[str, Any]:
    """The record of the plan with these worlds in the place of others; all else stays as it was made."""
    told = nine_tenths(found.risk, found)
    return {
        **view,
        "risk": {**risk_view(found), "after": True},
        "answers": [
            {**answer, "more": _more(answer["more"], told)} if answer["label"] == FINISHED else answer
            for answer in view["answers"]
        ],
    }


def _more(before: list[str], told: str) -> list[str]:
    return [told, *(words for words in before if not words.startswith(IN_NINE_TENTHS))]
