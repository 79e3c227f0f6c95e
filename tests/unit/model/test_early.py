"""The first answer belongs to the stage in which it is found."""

from __future__ import annotations

from planner.model.early import EARLY
from planner.web.share import PLAN


def test_it_is_a_word_of_the_search() -> None:
    """A page that shares out the work by stages knows it."""
    stage, _, words = EARLY.partition(": ")
    assert all(stage in weights for weights in PLAN.values())
    assert words
