"""Changes that a plan proposes and that one key in the airframe file makes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.model.plan import Plan


def turns_offered(plan: Plan) -> tuple[str, ...]:
    """Parts that would hang less, or need less support, if they might turn: ``may_turn = true`` lets them."""
    from planner.flow.turning import LET_IT_TURN

    told = {finding.about for finding in plan.findings if LET_IT_TURN in finding.text}
    return tuple(part.name for part in plan.parts if {part.name, part.mesh} & told)
