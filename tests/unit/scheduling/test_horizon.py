"""The horizon in parts: every batch in one of them, never later than before, the same whoever does it."""

from __future__ import annotations

import numpy as np
import pytest

from planner.scheduling.annealing.horizon import (
    LEAST,
    horizon_parts,
    last_ends,
    search_horizon,
    timed_lists,
)
from planner.scheduling.annealing.parts import Searched, Work, searched
from planner.scheduling.problem.dispatch import dispatch
from tests.unit.scheduling.large_shops import drawn, faults_of


@pytest.mark.parametrize("seed", range(4))
def test_a_horizon_in_parts_is_sound_and_ends_no_later(seed: int) -> None:
    tables = drawn(8, 170, seed)
    first = dispatch(tables)
    assert first is not None
    parts = horizon_parts(tables, first)
    assert len(parts) == 170 // LEAST
    assert sorted(np.concatenate(parts).tolist()) == list(range(170))
    found = search_horizon(tables, first, steps=2000, rest=1000, seed=1)
    assert faults_of(tables, found) == []
    assert found.finish <= first.finish


def test_each_part_goes_on_from_a_sound_timing_of_its_own() -> None:
    """Printers are free, loaded and covered as those before leave them; what a part finds ends no later."""
    tables = drawn(8, 170, 3)
    first = dispatch(tables)
    assert first is not None
    told: list[Work] = []

    def each(works: list[Work]) -> Searched:
        told.extend(works)
        return tuple(searched(work) for work in works)

    found = search_horizon(tables, first, steps=3000, rest=500, seed=1, each=each)
    assert len(told) == 4
    for work in told:
        assert work.first is not None
        assert faults_of(work.tables, work.first) == []
        better = searched(work)
        assert better is not None
        assert faults_of(work.tables, better) == []
        assert better.finish <= work.first.finish
    assert found.finish < first.finish


def test_who_does_the_parts_and_in_which_order_changes_nothing() -> None:
    tables = drawn(9, 130, 5)
    first = dispatch(tables)
    assert first is not None

    def backwards(works: list[Work]) -> Searched:
        return tuple(reversed([searched(work) for work in reversed(works)]))

    found = [
        search_horizon(tables, first, steps=1000, rest=200, seed=2, each=each) for each in (None, backwards)
    ]
    assert (found[0].begin == found[1].begin).all()
    assert (found[0].printer_of == found[1].printer_of).all()


def test_a_part_that_nobody_could_do_stays_as_it_is() -> None:
    tables = drawn(8, 120, 1)
    first = dispatch(tables)
    assert first is not None
    found = search_horizon(tables, first, steps=10, rest=0, seed=1, each=lambda works: (None,) * len(works))
    assert found.finish <= first.finish
    assert faults_of(tables, found) == []


def test_few_batches_are_one_part() -> None:
    tables = drawn(8, 2 * LEAST - 1, 1)
    first = dispatch(tables)
    assert first is not None
    assert search_horizon(tables, first, steps=10, rest=10, seed=1) is first


def test_lists_are_timed_as_the_first_timing_has_them() -> None:
    """The ends of what is timed again from its own lists are sound, and each printer keeps its order."""
    tables = drawn(7, 60, 2)
    first = dispatch(tables)
    assert first is not None
    lists = [first.order(p) for p in range(7)]
    again = timed_lists(tables, lists)
    assert again is not None
    assert [again.order(p) for p in range(7)] == lists
    assert faults_of(tables, again) == []
    assert last_ends(tables, again).max() == again.finish
    short = tables._replace(
        window_at=tables.window_at[:300], opens=tables.opens[:1], closes=tables.closes[:1]
    )
    assert timed_lists(short, lists) is None
