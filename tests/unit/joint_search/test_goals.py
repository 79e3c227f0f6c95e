"""Words for what is proved of a finish."""

from __future__ import annotations

from dataclasses import replace

from planner.joint_search.measures import LOOSE, proved
from tests.plan_samples import sample_plan


def test_a_gap_that_proves_nothing_is_told_as_a_bound() -> None:
    """No "within 119.9 %": the hours before which none can end, instead."""
    made = sample_plan().schedule
    loose = replace(
        made, lower_bound_h=made.makespan_h / 2.199, proven_gap=1.199, beds_bound_h=made.makespan_h
    )
    assert loose.proven_gap is not None
    assert loose.proven_gap > LOOSE
    told = proved(loose)
    assert "119.9" not in told
    assert f"none ends before {made.makespan_h / 2.199:.0f} h" in told
    assert "none is sooner on these" in told
    near = replace(made, lower_bound_h=made.makespan_h / 1.05, proven_gap=0.05, beds_bound_h=made.makespan_h)
    assert proved(near).startswith("proved within 5.0 % on whatever beds")
