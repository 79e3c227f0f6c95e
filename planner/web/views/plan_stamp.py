"""Names of what is kept of plans; which plan a sheet shows, told to other tabs when a new one is made."""

from __future__ import annotations

from typing import Any

PLAN = "plan.json"
ONWARD = "onward.json"
CARD = "card.json"


def plan_stamp(plan: dict[str, Any] | None) -> str:
    """Changes with every plan that is made; empty while there is none."""
    if plan is None:
        return ""
    return f"{plan.get('identification', '')} {plan.get('made', '')}".strip()
