"""What may go wrong: values that are none are refused."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from planner.errors import PlannerError
from planner.model.risk import MOST_WORLDS, Chances, FinishShare, Risk, RiskAsked


@pytest.mark.parametrize(
    ("worlds", "missed"), [(0, 0.0), (MOST_WORLDS + 1, 0.0), (10, -0.1), (10, 0.91), (10, float("nan"))]
)
def test_no_worlds_and_no_chances_are_refused(worlds: int, missed: float) -> None:
    """The limits themselves are allowed."""
    with pytest.raises(PlannerError):
        RiskAsked(worlds, missed)
    assert RiskAsked(MOST_WORLDS, 0.9).missed == 0.9


@pytest.mark.parametrize("wrong", [{"failures": {"a": 1.1}}, {"spreads": {"a": -0.1}}, {"rest": 1.5}])
def test_rates_and_spreads_have_limits(wrong: dict[str, object]) -> None:
    """A rate is at most one an hour, a spread at most one of the logarithm."""
    with pytest.raises(PlannerError):
        Chances(RiskAsked(), 1, **wrong)  # type: ignore[arg-type]


def test_a_share_is_asked_by_itself() -> None:
    """One that is not told is no answer of nothing."""
    at = datetime(2026, 12, 1, tzinfo=UTC)
    told = (FinishShare(0.5, at), FinishShare(0.9, None))
    risk = Risk(Chances(RiskAsked(), 1), told, 0.5, 0.2, (), ())
    assert (risk.at(0.5), risk.at(0.9)) == (at, None)
    with pytest.raises(KeyError):
        risk.at(0.7)
