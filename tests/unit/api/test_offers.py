"""Changes that one press on the page makes: which parts, and which way an airframe lies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.api.offers import axes_offered, turns_offered
from planner.model.finding import Finding
from planner.pipeline.turning import LET_IT_TURN
from tests.plan_samples import sample_plan


def test_parts_that_would_hang_less_are_offered_in_the_order_of_the_plan() -> None:
    """Told of the part or of its mesh; another doubt about a part offers nothing."""
    found = (
        Finding("hatch", f"much hangs. Or {LET_IT_TURN}: 40 % less hangs then."),
        Finding("fin.stl", f"12 g of support as it stands: {LET_IT_TURN}, 9 g and 1 h less."),
        Finding("wing root", "a thin wall"),
        Finding("keel", f"of a part that is not there: {LET_IT_TURN}"),
    )
    assert turns_offered(replace(sample_plan(), findings=found)) == ("fin", "hatch")
    assert turns_offered(sample_plan()) == ()


@pytest.mark.parametrize("where", ["finding", "assumption"])
def test_which_way_it_lies_as_it_was_found_or_doubted(where: str) -> None:
    """As the key in the file would say it; a finding goes before an assumption."""
    told = 'write axes = { aft = "y", right = "-x", up = "z" } under [airframe].'
    plan = sample_plan()
    plan = (
        replace(plan, findings=(Finding("axes", told),))
        if where == "finding"
        else replace(plan, assumptions=("glue is guessed", told))
    )
    assert axes_offered(plan) == {"aft": "y", "right": "-x", "up": "z"}
    other = told.replace('"y"', '"-y"')
    both = replace(plan, findings=(Finding("axes", other),))
    assert axes_offered(both) == {"aft": "-y", "right": "-x", "up": "z"}


@pytest.mark.parametrize("about", ["hatch", "Axes"])
def test_no_other_finding_is_taken_for_one_about_axes(about: str) -> None:
    told = Finding(about, 'axes = { aft = "y", right = "-x", up = "z" }')
    assert axes_offered(replace(sample_plan(), findings=(told,))) is None
    broken = Finding("axes", 'axes = { aft = "w", right = "-x", up = "z" }')
    assert axes_offered(replace(sample_plan(), findings=(broken,))) is None
