"""Farms in parts: every printer, batch and person in one of them, and the parts put together are sound."""

from __future__ import annotations

import numpy as np
import pytest

from planner.scheduling.annealing.parts import Work, in_turns, parts_of, search_in_parts, searched
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.problem.dispatch import dispatch
from tests.unit.scheduling.large_shops import drawn, faults_of


@pytest.mark.parametrize("seed", range(4))
def test_parts_share_everything_between_them(seed: int) -> None:
    tables = drawn(30 + 7 * seed, 200, seed, persons=5)
    parts = parts_of(tables)
    assert len(parts) == min((30 + 7 * seed) // 12, 5)
    assert sorted(np.concatenate([one.printers for one in parts]).tolist()) == list(range(30 + 7 * seed))
    assert sorted(np.concatenate([one.batches for one in parts]).tolist()) == list(range(200))
    assert sum(one.persons for one in parts) == 5
    for one in parts:
        assert (tables.duration[np.ix_(one.batches, one.printers)] >= 0).any(axis=1).all()


@pytest.mark.parametrize("seed", range(4))
def test_parts_put_together_are_sound(seed: int) -> None:
    tables = drawn(25, 150, seed)
    found = search_in_parts(tables, goal=area_bound(tables), steps=2000, rest=500, seed=1)
    assert found is not None
    assert faults_of(tables, found) == []


def test_who_searches_the_parts_and_in_which_order_changes_nothing() -> None:
    tables = drawn(40, 200, 5)

    def backwards(works: list[Work]) -> tuple:  # type: ignore[type-arg]
        return tuple(reversed([searched(work) for work in reversed(works)]))

    found = [
        search_in_parts(tables, goal=1500, steps=1000, rest=200, seed=2, each=each)
        for each in (None, in_turns, backwards)
    ]
    assert len({(one.begin.tobytes(), one.printer_of.tobytes()) for one in found if one is not None}) == 1
    assert None not in found


def test_few_printers_or_one_person_are_not_divided() -> None:
    assert len(parts_of(drawn(23, 50, 0))) == 1
    assert len(parts_of(drawn(60, 50, 0, persons=1))) == 1
    assert search_in_parts(drawn(23, 50, 0), goal=1000, steps=10, rest=10, seed=1) is None


def test_a_part_without_room_in_the_calendar_is_none() -> None:
    tables = drawn(24, 60, 1)
    short = tables._replace(
        window_at=tables.window_at[:400], opens=tables.opens[:1], closes=tables.closes[:1]
    )
    assert dispatch(short) is None
    assert search_in_parts(short, goal=1000, steps=10, rest=10, seed=1) is None
