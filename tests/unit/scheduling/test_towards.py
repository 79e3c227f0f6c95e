"""The search of large workshops: what it counts, what it never does, and that it gets where it is sent."""

from __future__ import annotations

import numpy as np
import pytest

from planner.scheduling.annealing.anneal_kernel import scratch_for, touched
from planner.scheduling.annealing.improve import changes_of, state_of
from planner.scheduling.annealing.late_kernel import (
    LATE,
    late_cost,
    late_until,
    prepare_late,
    retime_late,
    settle_late,
    still_late,
)
from planner.scheduling.annealing.like_kernel import of_like_length, pick_like, place_of, swap
from planner.scheduling.annealing.moves_kernel import seeded
from planner.scheduling.annealing.target_kernel import choose_late, target_at
from planner.scheduling.annealing.towards import towards
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.problem.dispatch import Timing, dispatch
from planner.scheduling.problem.problem import Tables
from tests.unit.scheduling.large_shops import drawn, faults_of

N = np.int32


def first_of(tables: Tables) -> Timing:
    first = dispatch(tables)
    assert first is not None
    assert faults_of(tables, first) == []
    return first


def late(tables: Tables, timing: Timing, target: int) -> int:
    """Work beyond a tick in plain code."""
    ticks = tables.duration[np.arange(len(timing.end)), timing.printer_of]
    return int(np.minimum(np.maximum(0, timing.end - target), ticks).sum())


@pytest.mark.parametrize("seed", range(6))
def test_what_is_found_is_sound_and_ends_no_later(seed: int) -> None:
    tables = drawn(7 + seed, 50, seed)
    first = first_of(tables)
    found = towards(tables, first, goal=area_bound(tables), steps=4000, seed=seed)
    assert faults_of(tables, found) == []
    assert found.finish <= first.finish


def test_the_same_seed_gives_the_same_timing() -> None:
    tables = drawn(8, 60, 1)
    first = first_of(tables)
    found = [towards(tables, first, goal=2000, steps=3000, seed=3) for _ in range(2)]
    assert (found[0].begin == found[1].begin).all()
    assert (found[0].printer_of == found[1].printer_of).all()


def test_it_ends_hours_before_the_longest_first() -> None:
    """Eight printers, 160 batches, a goal close to what printers can do at all: a tenth sooner and more."""
    tables = drawn(8, 160, 4)
    first = first_of(tables)
    found = towards(tables, first, goal=round(1.04 * area_bound(tables)), steps=40_000, seed=1)
    assert found.finish < 0.9 * first.finish
    assert faults_of(tables, found) == []


def test_a_goal_that_is_never_reached_gives_way() -> None:
    """The target rises to the best finish in the last steps, and is always below it."""
    ticks = [target_at(N(step), N(1000), N(500), N(900)) for step in (0, 500, 850, 925, 999)]
    assert ticks[:3] == [500, 500, 500]
    assert 500 < ticks[3] < ticks[4] < 900
    assert target_at(N(0), N(1000), N(500), N(450)) == 449


def test_late_work_is_what_plain_code_counts() -> None:
    tables = drawn(7, 40, 2)
    first = first_of(tables)
    state = state_of(tables, first)
    for target in (0, 700, 1500, first.finish - 1, first.finish):
        counted = [late_until(tables, state, N(p), state.lengths[p], N(target)) for p in range(7)]
        assert sum(counted) == late(tables, first, target)


def test_the_cost_of_a_list_by_hand() -> None:
    """Late ticks at their price over the scale, early weights times ends, a price for each change."""
    tables = drawn(7, 40, 2)
    first = first_of(tables)
    state = state_of(tables, first)
    weights = np.array([0.5, 0.25, 0.0, 100.0, 1.0, 0.0])
    costs = sum(late_cost(tables, state, N(p), weights, N(900)) for p in range(7))
    early = float((tables.early * first.end).sum())
    by_hand = (LATE * late(tables, first, 900) + 0.25 * early) / 100.0 + 0.5 * changes_of(tables, first)
    assert costs == pytest.approx(by_hand)


def test_lists_that_did_not_change_are_timed_as_they_were() -> None:
    tables = drawn(7, 40, 5)
    first = first_of(tables)
    state = state_of(tables, first)
    scratch = scratch_for(state)
    weights = np.array([0.0, 0.0, 0.0, 100.0, 1.0, 0.0])
    for n in range(state.lengths[0]):
        scratch.line_p[n] = state.lines[0, n]
    at = np.zeros(2, np.int32)
    count = touched(state, scratch, N(0), N(0), state.lengths[0], state.lengths[0], at, False)
    least = prepare_late(tables, state, scratch, count, N(600))
    assert least <= late_until(tables, state, N(0), state.lengths[0], N(600))
    assert retime_late(tables, state, scratch, count, weights, N(600), 1e9)
    assert (state.begin == first.begin).all()
    assert (state.end == first.end).all()
    new = np.zeros(7)
    assert settle_late(tables, state, scratch, count, weights, N(600), 1e9, new)
    assert new[0] == pytest.approx(late_cost(tables, state, N(0), weights, N(600)))
    assert not settle_late(tables, state, scratch, count, weights, N(0), new[0] - 1.0, new)


def test_a_move_that_must_be_too_late_is_given_up() -> None:
    tables = drawn(7, 40, 5)
    state = state_of(tables, first_of(tables))
    scratch = scratch_for(state)
    count = touched(
        state, scratch, N(0), N(0), state.lengths[0], state.lengths[0], np.zeros(2, np.int32), False
    )
    weights = np.array([0.0, 0.0, 0.0, 100.0, 1.0, 0.0])
    assert not retime_late(tables, state, scratch, count, weights, N(0), 0.5)


def test_work_that_is_left_lies_beyond_the_target_by_what_has_no_room() -> None:
    assert [still_late(N(100), N(ready), N(500)) for ready in (300, 450, 500, 700)] == [0, 50, 100, 100]


def test_like_batches_are_near_in_length_and_swapped_where_both_may_be() -> None:
    tables = drawn(7, 60, 6)
    state = state_of(tables, first_of(tables))
    least = np.where(tables.duration < 0, 10**6, tables.duration).min(axis=1)
    by_length = np.argsort(least, kind="stable").astype(np.int32)
    rank = np.empty_like(by_length)
    rank[by_length] = np.arange(60, dtype=np.int32)
    random, at = seeded(N(1)), np.zeros(2, np.int32)
    near = [of_like_length(by_length, rank, by_length[30], random) for _ in range(200)]
    assert -1 not in near
    assert by_length[30] not in near
    assert np.median([abs(rank[other] - 30) for other in near]) <= 6
    refused = made = 0
    for _ in range(200):
        p = int(random[0] % np.uint64(7))
        q = pick_like(state, by_length, rank, N(p), random, at)
        if q < 0:
            continue
        one, other = int(state.lines[p, at[0]]), int(state.lines[q, at[1]])
        assert state.printer_of[other] == q
        assert place_of(state.lines[q], state.lengths[q], N(other)) == at[1]
        may = tables.duration[one, q] >= 0 and tables.duration[other, p] >= 0
        a, b = at.tolist()
        assert swap(tables, state, N(p), q, at) == may
        made, refused = made + may, refused + (not may)
        if may:
            assert (state.lines[p, a], state.lines[q, b]) == (other, one)
            state.lines[p, a], state.lines[q, b] = one, other
            assert at.tolist() == ([min(a, b), 0] if p == q else [a, b])
    assert made
    assert refused


def test_moves_begin_at_printers_that_are_late() -> None:
    random, ends = seeded(N(2)), np.array([100, 100, 100, 900, 100, 100, 100, 100], dtype=np.int32)
    drawn_printers = [choose_late(random, ends, N(500)) for _ in range(400)]
    assert sum(3 in pair for pair in drawn_printers) > 200


def test_nothing_to_do_is_left_as_it_is() -> None:
    tables = drawn(8, 20, 0)
    first = first_of(tables)
    assert towards(tables, first, goal=100, steps=0, seed=1) is first
