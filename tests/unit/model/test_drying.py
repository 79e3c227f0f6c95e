"""Dryers, and filaments and spools that are dried: what is refused, and when slots are planned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import RecordError
from planner.model.drying import MOST_DRYERS, MOST_SPOOLS, Dryer
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.workshop import Workshop

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, needs_drying=True, open_hours=24.0)


def test_dryers_take_so_many_spools_together() -> None:
    """All of them are alike."""
    assert Dryer(2, 3).room == 6
    assert Dryer().room == 1


@pytest.mark.parametrize(
    "wrong", [{"count": 0}, {"count": MOST_DRYERS + 1}, {"spools": 0}, {"spools": MOST_SPOOLS + 1}]
)
def test_numbers_of_a_dryer_have_limits(wrong: dict[str, int]) -> None:
    """None is no dryer."""
    with pytest.raises(RecordError, match="limit"):
        Dryer(**wrong)


def test_a_filament_that_is_dried_says_for_how_long() -> None:
    """And one that is not dried has no hours in which it may be open."""
    with pytest.raises(RecordError, match="nothing says for how long"):
        replace(NYLON, dry_hours=None)
    with pytest.raises(RecordError, match="nothing says for how long"):
        replace(NYLON, dry_hours=0.0)
    with pytest.raises(RecordError, match="says when to dry it again, and it is not dried"):
        replace(NYLON, needs_drying=False)
    with pytest.raises(RecordError, match="open_hours = 0 must be more than 0"):
        replace(NYLON, open_hours=0.0)


def test_slots_are_planned_with_a_dryer_and_spools_that_are_told_one_by_one() -> None:
    """Else drying is only told."""
    shop = Workshop((Printer("one", "desk"),), (NYLON,), (Spool("A", "PA", 500.0),), dryer=Dryer())
    assert shop.dries(NYLON)
    assert not replace(shop, dryer=None).dries(NYLON)
    assert not replace(shop, spools=()).dries(NYLON)
    assert not shop.dries(replace(NYLON, needs_drying=False, open_hours=None))
