"""Deposit, make and findings of a part: the small plan, broken in one way."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from planner.model.finding import Finding
from planner.pipeline.verify_deposits import deposit_faults
from tests.sound_plan import put, small_plan
from tests.unit.pipeline.test_verify_rules import Step, says, up

ROWS: list[tuple[Sequence[Step], str]] = [
    ([("deposits.fuselage.extents_mm", lambda e: (*e[:2], e[2] + 0.3))],
     "{} is told to be {} mm high, its layers reach {}"),
    ([("makes.fuselage.recipe_sha256", "0" * 64)], "{} is told to be made by another recipe than it is"),
    ([("deposits.fuselage.findings", (Finding("fuselage", "it is thin."),))],
     "what was found of {} is not told among the findings"),
]  # fmt: skip


def test_what_is_told_of_the_parts_of_a_sound_plan_holds() -> None:
    """Also where a layer is cut: heights differ by less than one."""
    assert tuple(deposit_faults(small_plan())) == ()
    less = put(small_plan(), "deposits.fuselage.extents_mm", lambda e: (*e[:2], e[2] - 0.15))
    assert tuple(deposit_faults(less)) == ()
    both = put(small_plan(), "deposits.fuselage.findings", (Finding("fuselage", "it is thin."),))
    both = put(both, "findings", up((Finding("fuselage", "it is thin."),)))
    assert tuple(deposit_faults(both)) == ()


@pytest.mark.parametrize(("steps", "sentence"), ROWS, ids=[row[-1] for row in ROWS])
def test_what_is_told_otherwise_is_said(steps: Sequence[Step], sentence: str) -> None:
    """One sentence each."""
    plan = small_plan()
    for path, new in steps:
        plan = put(plan, path, new)
    assert says(tuple(deposit_faults(plan)), sentence)
