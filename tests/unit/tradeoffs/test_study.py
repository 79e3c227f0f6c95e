"""What a trade-off is asked for, and what it holds."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from typing import Any

import pytest

from planner.tradeoffs.study import Study, Wishes
from tests.plan_samples import sample_plan

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("asked", "anything"),
    [
        ({}, False),
        ({"mass_g": 400.0}, True),
        ({"mass_g": 0.0}, True),
        ({"finish": NOON}, True),
        ({"cost_minor": 0}, True),
        ({"balance_inside": True}, True),
        ({"balance_inside": False, "mass_g": None}, False),
    ],
)
def test_any_wish_counts_also_one_of_nought(asked: dict[str, Any], anything: bool) -> None:
    """A wish for 0 g cannot be met, but it is one; None leaves a measure open."""
    assert Wishes(**asked).any == anything


def test_a_study_without_wishes_has_no_proposal() -> None:
    """Nothing is asked for, so nothing is proposed or refused; tables of studies are their own."""
    one, other = (Study(sample_plan(), Wishes(), {}, (), ()) for _ in range(2))
    assert (one.proposal, one.after, one.refusal, one.fewest) == (None, None, "", 0)
    assert one.fronts == {}
    assert one.fronts is not other.fronts
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.refusal = "no"  # type: ignore[misc]
