"""Deposits in memory before others: found again, let go in order, and handed on."""

from __future__ import annotations

from planner.estimate.cache import MemoryCache
from planner.estimate.recent import RecentDeposits
from tests.plan_samples import sample_plan


def test_what_was_asked_for_longest_ago_goes() -> None:
    """Two are kept: the third takes the place of the one that nobody asked for."""
    one = next(iter(sample_plan().deposits.values()))
    kept = RecentDeposits(2)
    kept.put("a", one)
    kept.put("b", one)
    assert kept.get("a") is one
    kept.put("c", one)
    assert kept.get("b") is None
    assert kept.get("a") is kept.get("c") is one


def test_others_are_looked_for_and_told_further_on() -> None:
    """What a further cache has is found; what is new is kept there, too."""
    one = next(iter(sample_plan().deposits.values()))
    further = MemoryCache()
    further.put("there", one)
    kept = RecentDeposits(1, further)
    assert kept.get("there") is one
    assert kept.get("nowhere") is None
    kept.put("new", one)
    assert further.get("new") is one
