"""What a series is told for."""

from __future__ import annotations

import dataclasses

import pytest

from planner.model.series_price import COPIES, SeriesPrice


def test_a_series_begins_with_one_and_is_frozen() -> None:
    """The first row is the plan itself; numbers rise."""
    assert COPIES[0] == 1
    assert list(COPIES) == sorted(set(COPIES))
    with pytest.raises(dataclasses.FrozenInstanceError):
        SeriesPrice((), 0, "desk", ()).one_more_minor = 1  # type: ignore[misc]
