"""Changes that a plan proposes and that one key in the airframe file makes."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.model.plan import Plan

_AXES = re.compile(r'axes = \{ aft = "(-?[xyz])", right = "(-?[xyz])", up = "(-?[xyz])" \}')


def turns_offered(plan: Plan) -> tuple[str, ...]:
    """Parts that would hang less, or need less support, if they might turn: ``may_turn = true`` lets them."""
    from planner.pipeline.turning import LET_IT_TURN

    told = {finding.about for finding in plan.findings if LET_IT_TURN in finding.text}
    return tuple(part.name for part in plan.parts if {part.name, part.mesh} & told)


def axes_offered(plan: Plan) -> dict[str, str] | None:
    """Which way an airframe lies whose file does not say it: as it was found, or as it is doubted to be.

    ``aft``, ``right`` and ``up`` as axes of the meshes.
    """
    told = [*(finding.text for finding in plan.findings if finding.about == "axes"), *plan.assumptions]
    found = next((match for match in map(_AXES.search, told) if match), None)
    return None if found is None else dict(zip(("aft", "right", "up"), found.groups(), strict=True))
