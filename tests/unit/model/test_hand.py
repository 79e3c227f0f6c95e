"""Sides of an airframe."""

from __future__ import annotations

from typing import get_args

from planner.model.hand import HANDS, Hand


def test_the_list_is_the_type() -> None:
    """What is checked is what is declared."""
    assert get_args(Hand) == HANDS
