"""Lists with setups between batches: sums by hand, and moves that keep them true."""

from __future__ import annotations

from itertools import chain, pairwise, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.scheduling.annealing.moves_kernel import seeded
from planner.scheduling.annealing.setup_kernel import (
    Lists,
    anneal_setups,
    at,
    cheapest,
    gain,
    move,
    price,
    put,
    replaced,
    shift,
    step,
    swap,
    take,
)
from planner.scheduling.annealing.setups import setup_chain
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables, tables_of_windows

pytestmark = pytest.mark.slow  # published instances alone have setups: nothing else compiles these kernels
N = np.int32  # as the search itself passes numbers on
FREE = 1e300


def tables(duration: np.ndarray, setup: np.ndarray) -> Tables:
    """Nobody is needed: durations by batch and printer, setups by printer, batch before and batch."""
    count, printers = duration.shape
    zeros = np.zeros(count, dtype=np.int32)
    opens, closes, window_at = tables_of_windows([(0, 10_000)], 10_000)
    return Tables(
        duration.astype(np.int32), zeros, zeros.copy(), zeros.copy(), np.zeros(count), zeros - 1,
        *(np.zeros(printers, dtype=np.int32) for _ in range(4)), 0, 0, 0, 1,
        opens, closes, window_at, setup.astype(np.int32),
    )  # fmt: skip


def drawn(seed: int, count: int = 6, printers: int = 2) -> Tables:
    rng = np.random.default_rng(seed)
    return tables(rng.integers(5, 60, (count, printers)), rng.integers(0, 40, (printers, count, count)))


def end(t: Tables, p: int, line: list[int]) -> int:
    """Sum of runs and setups of a list."""
    return sum(int(t.duration[b, p]) for b in line) + sum(int(t.setup[p, a, b]) for a, b in pairwise(line))


def lists(t: Tables, *lines: list[int]) -> Lists:
    width = t.duration.shape[0]
    rows = np.zeros((len(lines), width), dtype=np.int32)
    for p, line in enumerate(lines):
        rows[p, : len(line)] = line
    ends = np.array([end(t, p, line) for p, line in enumerate(lines)], dtype=np.int32)
    return Lists(rows, np.array([len(line) for line in lines], dtype=np.int32), ends, np.array([100.0]))


def lines_of(s: Lists) -> list[list[int]]:
    return [s.lines[p, : s.lengths[p]].tolist() for p in range(len(s.lengths))]


def hold(t: Tables, s: Lists) -> None:
    """The ends are the sums of the lists, and every batch is on one of them."""
    assert s.ends.tolist() == [end(t, p, line) for p, line in enumerate(lines_of(s))]
    assert sorted(chain(*lines_of(s))) == list(range(t.duration.shape[0]))


def test_places_and_setups_by_hand() -> None:
    """None before the first batch and after the last."""
    t = tables(np.array([[10], [20], [30]]), np.array([[[0, 1, 2], [3, 0, 4], [5, 6, 0]]]))
    line = np.array([2, 0, 1], dtype=np.int32)
    assert [at(line, N(3), n) for n in (-1, 0, 2, 3)] == [-1, 2, 1, -1]
    assert [step(t, 0, a, b) for a, b in ((2, 0), (0, 1), (-1, 2), (1, -1))] == [5, 1, 0, 0]
    # without the one in the middle: its 10 ticks and setups 5 and 1 go, one of 6 comes
    assert gain(t, 0, line, N(3), 1) == 10 + 5 + 1 - 6
    assert gain(t, 0, line, N(3), 0) == 30 + 5
    assert gain(t, 0, line, N(3), 2) == 20 + 1


def test_lists_open_and_close() -> None:
    """A batch goes, comes, and changes places."""
    line = np.array([5, 6, 7, 8, 0], dtype=np.int32)
    take(line, N(4), 1)
    assert line[:3].tolist() == [5, 7, 8]
    put(line, N(3), 0, N(9))
    assert line[:4].tolist() == [9, 5, 7, 8]
    replaced(line, N(4), 0, 3, N(9))  # before the one that is at 3 now
    assert line[:4].tolist() == [5, 7, 9, 8]
    replaced(line, N(4), 3, 0, N(8))
    assert line[:4].tolist() == [8, 5, 7, 9]


def test_ends_are_priced_by_their_eighth_power() -> None:
    assert price(50.0, 100.0) == pytest.approx(0.5**8)
    assert price(200.0, 100.0) == 256.0


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 9999))
def test_the_cheapest_place_is_the_cheapest_of_all(seed: int) -> None:
    """Also where one batch of the list is taken to be gone."""
    t = drawn(seed)
    line = [0, 3, 1, 4]
    row = np.array([*line, 0, 0], dtype=np.int32)
    where, adds = cheapest(t, 1, row, N(4), N(5), -1)
    ways = [end(t, 1, [*line[:n], 5, *line[n:]]) - end(t, 1, line) for n in range(5)]
    assert (adds, ways[where]) == (min(ways), min(ways))
    for skip in range(4):
        left = [b for n, b in enumerate(line) if n != skip]
        _, adds = cheapest(t, 1, row, N(4), N(5), skip)
        assert adds == min(end(t, 1, [*left[:n], 5, *left[n:]]) - end(t, 1, left) for n in range(4))


def test_a_batch_to_another_printer() -> None:
    """Put where it adds least; not where the printer cannot take it, nor above the limit."""
    t = drawn(3)
    s = lists(t, [0, 1, 2], [3, 4, 5])
    assert shift(t, s, 0, 1, 1, FREE)
    hold(t, s)
    assert s.lengths.tolist() == [2, 4]
    before = lines_of(s)
    assert not shift(t, s, 0, 0, 1, -FREE)
    t.duration[0, 1] = -1
    assert not shift(t, s, 0, 0, 1, FREE)
    assert lines_of(s) == before


def test_two_batches_change_printers() -> None:
    """Each to its best place among those that stay."""
    t = drawn(4)
    s = lists(t, [0, 1, 2], [3, 4, 5])
    assert swap(t, s, 0, 2, 1, 0, FREE)
    hold(t, s)
    assert sorted(lines_of(s)[0]) == [0, 1, 3]
    assert not swap(t, s, 0, 0, 1, 0, -FREE)
    t.duration[lines_of(s)[1][0], 0] = -1
    assert not swap(t, s, 0, 0, 1, 0, FREE)
    assert sorted(chain(*lines_of(s))) == [0, 1, 2, 3, 4, 5]


def test_any_moves_keep_the_sums_true() -> None:
    """Two thousand moves at random; lists grow and shrink; those above the limit change nothing."""
    t = drawn(5, count=7, printers=3)
    s, random = lists(t, [0, 1, 2], [3, 4], [5, 6]), seeded(1)
    sizes = set()
    for n in range(2000):
        before = lines_of(s)
        done = move(t, s, random, FREE if n % 3 else -FREE)
        if not done:
            assert lines_of(s) == before
        sizes |= set(s.lengths.tolist())
    hold(t, s)
    assert sizes >= set(range(6))


def best_of_all(t: Tables) -> int:
    count = t.duration.shape[0]
    return min(
        max(end(t, 0, list(order[:cut])), end(t, 1, list(order[cut:])))
        for order in permutations(range(count))
        for cut in range(count + 1)
    )


@pytest.mark.parametrize("number", range(2))
def test_annealing_finds_the_best_of_all_lists(number: int) -> None:
    """Five batches on two printers against all 720 ways, from one list that holds them all; four seeds."""
    t = drawn(number, count=5)
    found = []
    for seed in range(4):
        s = lists(t, list(range(5)), [])
        kept, lengths = s.lines.copy(), s.lengths.copy()
        found.append(int(anneal_setups(t, s, 3000, 0.05, 0.001, seed, kept, lengths)))
        lines = [kept[p, : lengths[p]].tolist() for p in range(2)]
        assert sorted(chain(*lines)) == list(range(5))
        assert found[-1] == max(end(t, p, line) for p, line in enumerate(lines))
    assert min(found) == best_of_all(t)
    assert max(found) <= 1.15 * best_of_all(t)


def test_a_chain_gives_times_one_after_another() -> None:
    """From a timing to one that ends no later: begins and ends follow from the lists."""
    t = drawn(7, count=5)
    first = Timing(*(np.zeros(5, dtype=np.int32) for _ in range(3)))
    ready = 0
    for batch in range(5):
        first.begin[batch] = ready + (int(t.setup[0, batch - 1, batch]) if batch else 0)
        ready = first.end[batch] = first.begin[batch] + int(t.duration[batch, 0])
    made = setup_chain(t, first, 3000, 1, 0.05, 0.001)
    assert best_of_all(t) <= made.finish < first.finish
    for p in range(2):
        line = made.order(p)
        assert int(made.end[line[-1]]) == end(t, p, line)
        for before, after in pairwise(line):
            assert made.begin[after] == made.end[before] + t.setup[p, before, after]
        assert all(made.end[b] - made.begin[b] == t.duration[b, p] for b in line)
    assert setup_chain(t, first, 0, 1, 0.05, 0.001) is first
    again = setup_chain(t, first, 500, 2, 0.05, 0.001)
    assert again.end.tolist() == setup_chain(t, first, 500, 2, 0.05, 0.001).end.tolist()
