"""The compiled skyline: by hand on small bins, legal on any, and searches that must find known answers."""

from __future__ import annotations

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.nesting.boxes.rectangles_kernel import fill_bin, refill, squeeze

Ints = NDArray[np.int64]
Sides = list[tuple[int, int]]


def split(sides: Sides) -> tuple[Ints, Ints]:
    pairs = np.array(sides, dtype=np.int64).reshape(-1, 2)
    return pairs[:, 0].copy(), pairs[:, 1].copy()


def chain(seed: int) -> NDArray[np.uint64]:
    return np.random.SeedSequence(seed).generate_state(1, np.uint64).astype(np.uint64)


def filled(
    sides: Sides,
    room: tuple[int, int],
    order: list[int] | None = None,
    *,
    eager: list[int] = [],  # noqa: B006
    flat: list[int] = [],  # noqa: B006
    rotate: bool = False,
) -> tuple[int, Ints, NDArray[np.bool_]]:
    """Area laid, x, y, width and height of each, and which lie."""
    w, h = split(sides)
    n = len(w)
    marks = [np.isin(np.arange(n), which) for which in (eager, flat)]
    taken, at = np.zeros(n, dtype=np.bool_), np.zeros((n, 4), dtype=np.int64)
    sky = np.zeros((n + 2, 3), dtype=np.int64)
    ranks = np.array(order if order is not None else range(n), dtype=np.int64)
    area = fill_bin(*room, w, h, ranks, *marks, rotate, taken, at, sky)
    return int(area), at, taken


def legal(at: Ints, lie: NDArray[np.bool_], sides: Sides, room: tuple[int, int], *, rotate: bool) -> bool:
    rows = [tuple(int(v) for v in row) for row, one in zip(at, lie, strict=True) if one]
    for (x, y, w, h), pair in zip(rows, [s for s, one in zip(sides, lie, strict=True) if one], strict=True):
        if (w, h) != pair and not (rotate and (h, w) == pair):
            return False
        if x < 0 or y < 0 or x + w > room[0] or y + h > room[1]:
            return False
    return not any(
        ax < bx + bw and bx < ax + aw and ay < by + bh and by < ay + ah
        for (ax, ay, aw, ah), (bx, by, bw, bh) in combinations(rows, 2)
    )


def test_both_walls_then_the_pit_between_them() -> None:
    """Widths 4, 3, 3 in 10: left edge, right edge, then the pit of 3, in which the next lies on top."""
    area, at, taken = filled([(4, 5), (3, 4), (3, 1), (3, 2)], (10, 10), eager=[0, 1, 2])
    assert at.tolist() == [[0, 0, 4, 5], [7, 0, 3, 4], [4, 0, 3, 1], [4, 1, 3, 2]]
    assert taken.all()
    assert area == 20 + 12 + 3 + 6


def test_the_rectangle_that_fills_the_gap_goes_first() -> None:
    """10 wide beats 9 wide at the bottom; of two narrower ones the wider is laid."""
    _, at, _ = filled([(9, 1), (10, 2)], (10, 5))
    assert at.tolist() == [[0, 2, 9, 1], [0, 0, 10, 2]]
    _, at, _ = filled([(3, 1), (4, 1)], (10, 5))
    assert at[1].tolist() == [0, 0, 4, 1]


def test_one_that_ends_level_with_a_wall_is_preferred_to_a_wider_one() -> None:
    """Beside a wall of 5 a 3 x 5 is laid before a 4 x 4, as it leaves no step."""
    _, at, _ = filled([(5, 5), (4, 4), (3, 5)], (10, 9), order=[0, 1, 2], eager=[0])
    assert at[2].tolist() == [7, 0, 3, 5]


def test_an_eager_one_is_laid_at_once() -> None:
    """The first eager rectangle of the order that fits goes before any that would fit better."""
    _, at, _ = filled([(10, 1), (2, 2), (3, 3)], (10, 10), order=[0, 2, 1], eager=[1, 2])
    assert at.tolist()[2] == [0, 0, 3, 3]
    assert at.tolist()[1] == [8, 0, 2, 2]


def test_it_lies_beside_the_higher_wall() -> None:
    """In a pit with a wall of 3 to its left and the bin's edge to its right, the edge is the higher one."""
    _, at, _ = filled([(4, 3), (2, 1)], (10, 6), eager=[0])
    assert at.tolist() == [[0, 0, 4, 3], [8, 0, 2, 1]]


@pytest.mark.parametrize(("flat", "sides"), [([], (2, 6)), ([0], (6, 2))])
def test_a_flat_one_is_tried_turned_first(flat: list[int], sides: tuple[int, int]) -> None:
    """An eager rectangle that fits both ways keeps its sides, or lies turned where it is marked."""
    _, at, _ = filled([(2, 6)], (10, 10), eager=[0], flat=flat, rotate=True)
    assert tuple(at[0, 2:]) == sides


def test_turned_only_where_turns_are_allowed() -> None:
    """A 6 x 2 stands in a bin of 3 x 7 only when it may be turned."""
    assert filled([(6, 2)], (3, 7))[0] == 0
    area, at, _ = filled([(6, 2)], (3, 7), rotate=True)
    assert (area, at[0].tolist()) == (12, [0, 0, 2, 6])


def test_nothing_above_the_rim() -> None:
    """Three slabs of height 2 in a bin of 5: two lie, the third is left out."""
    area, _, taken = filled([(4, 2)] * 3, (4, 5))
    assert (area, int(taken.sum())) == (16, 2)


def test_what_is_taken_stays_where_it_is() -> None:
    """A rectangle marked as taken is neither laid nor counted."""
    w, h = split([(5, 5), (5, 5)])
    none, at = np.zeros(2, dtype=np.bool_), np.full((2, 4), -1, dtype=np.int64)
    taken, sky = np.array([True, False]), np.zeros((4, 3), dtype=np.int64)
    order = np.arange(2, dtype=np.int64)
    assert fill_bin(10, 5, w, h, order, none, none.copy(), False, taken, at, sky) == 25
    assert at.tolist() == [[-1] * 4, [0, 0, 5, 5]]


@settings(max_examples=25, deadline=None)
@given(
    sides=st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=14),
    room=st.tuples(st.integers(3, 16), st.integers(3, 16)),
    rotate=st.booleans(),
    seed=st.integers(0, 999),
)
def test_any_order_is_laid_legally(sides: Sides, room: tuple[int, int], rotate: bool, seed: int) -> None:
    """No overlap, nothing outside, the area is that of what lies; what was left has no place on top."""
    rng = np.random.default_rng(seed)
    n = len(sides)
    chosen = [np.flatnonzero(rng.random(n) < 0.4).tolist() for _ in range(2)]
    area, at, taken = filled(
        sides, room, rng.permutation(n).tolist(), eager=chosen[0], flat=chosen[1], rotate=rotate
    )
    assert legal(at, taken, sides, room, rotate=rotate)
    assert area == sum(w * h for (w, h), one in zip(sides, taken, strict=True) if one)
    top = int((at[taken, 1] + at[taken, 3]).max(initial=0))
    over = [(w, h) for (w, h), one in zip(sides, taken, strict=True) if not one]
    ways = over + [(h, w) for w, h in over if rotate]
    assert not any(w <= room[0] and top + h <= room[1] for w, h in ways)


def test_squeeze_finds_the_pinwheel() -> None:
    """Four 2 x 3 about a 1 x 1 fill 5 x 5 exactly; no fixed order of the plain rule has to find that."""
    sides = [(2, 3), (3, 2), (2, 3), (3, 2), (1, 1)]
    w, h = split(sides)
    order, none = np.arange(5, dtype=np.int64), np.zeros(5, dtype=np.bool_)
    at = np.zeros((5, 4), dtype=np.int64)
    left, used = squeeze(5, 5, w, h, order, none, none.copy(), True, 40_000, 0.0, chain(1), at)
    assert left == 0
    assert 1 <= used <= 40_000
    assert legal(at, np.ones(5, dtype=bool), sides, (5, 5), rotate=True)


def test_squeeze_leaves_out_no_more_than_the_best_of_all_orders() -> None:
    """Of six rectangles too many for the bin it loses at most what trying all 720 orders loses."""
    sides, room = [(5, 4), (4, 4), (3, 6), (6, 2), (2, 5), (3, 3)], (8, 8)
    w, h = split(sides)
    whole = int((w * h).sum())
    every = range(6)
    best = min(
        whole - filled(sides, room, list(order), eager=list(every))[0] for order in permutations(every)
    )
    order, none = np.arange(6, dtype=np.int64), np.zeros(6, dtype=np.bool_)
    left, used = squeeze(
        *room, w, h, order, none, none.copy(), False, 3000, 0.0, chain(2), np.zeros((6, 4), dtype=np.int64)
    )
    assert 0 < left <= best
    assert whole - left <= room[0] * room[1]
    assert used == 3000
    assert sorted(order) == list(every)


def test_squeeze_ends_at_once_where_all_fit() -> None:
    """One round; the marks and the order stay as they were given."""
    w, h = split([(2, 2), (2, 2)])
    order, none = np.array([1, 0], dtype=np.int64), np.zeros(2, dtype=np.bool_)
    at = np.zeros((2, 4), dtype=np.int64)
    assert squeeze(4, 2, w, h, order, none, none.copy(), False, 10, 0.0, chain(3), at) == (0, 1)
    assert order.tolist() == [1, 0]
    assert at.tolist() == [[2, 0, 2, 2], [0, 0, 2, 2]]


def test_refill_empties_a_bin() -> None:
    """Two halves of a bin that lie in a bin each come together in one; numbers have no gap."""
    sides = [(10, 5), (10, 5), (10, 10)]
    w, h = split(sides)
    bin_of = np.array([0, 2, 1], dtype=np.int64)
    at = np.array([[0, 0, 10, 5], [0, 0, 10, 5], [0, 0, 10, 10]], dtype=np.int64)
    bins, used = refill(10, 10, w, h, bin_of, 3, False, 400, 2, chain(1), at)
    assert bins == 2
    assert used < 400
    assert bin_of[0] == bin_of[1] != bin_of[2]
    assert sorted(set(bin_of.tolist())) == [0, 1]
    assert sorted(at[:2, 1].tolist()) == [0, 5]


@settings(max_examples=15, deadline=None)
@given(
    sides=st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=2, max_size=18),
    rotate=st.booleans(),
    seed=st.integers(0, 99),
)
def test_refilled_bins_stay_legal(sides: Sides, rotate: bool, seed: int) -> None:
    """Starting with a bin for each: never more bins, each legal, none empty, none below the area's bound."""
    room, n = (12, 10), len(sides)
    w, h = split(sides)
    goal = -(-int((w * h).sum()) // (room[0] * room[1]))
    bin_of, at = np.arange(n, dtype=np.int64), np.column_stack([np.zeros((n, 2), dtype=np.int64), w, h])
    bins, used = refill(*room, w, h, bin_of, n, rotate, 150, goal, chain(seed), at)
    assert goal <= bins <= n
    assert used <= 150
    assert sorted(set(bin_of.tolist())) == list(range(bins))
    for b in range(bins):
        assert legal(at, bin_of == b, sides, room, rotate=rotate)
    assert bins < n or n == goal
