"""What the plan was searched for, goal by goal, and what it reached."""

from __future__ import annotations

from planner.model.plan import Plan
from planner.report.layout.blocks import Block, Column, Heading, Row, Table


def goal_blocks(plan: Plan) -> list[Block]:
    """A table of the goals in their order; nothing where a plan was not searched for any."""
    if not plan.goals:
        return []
    columns = (Column("goal", 28.0), Column("reached", 142.0))
    rows = tuple(Row((f"{goal.place} {goal.name}", goal.told)) for goal in plan.goals)
    return [Heading("Goals, the one that counts most first"), Table(columns, rows)]
