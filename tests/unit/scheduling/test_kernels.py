"""The compiled parts of the search over lists, by hand on small workshops and against plain code."""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.attendance import Attendance
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.annealing.anneal_kernel import (
    anneal,
    change_tick,
    choose,
    scratch_for,
    settle,
    take_back,
    touched,
    unchanged_since,
)
from planner.scheduling.annealing.moves_kernel import across, draw, exchange, pick, seeded, within
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.decode_kernel import (
    NEVER,
    first_free,
    handling_ticks,
    longest_first,
    mark,
    place,
)
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.problem.state_kernel import (
    BEYOND,
    GENTLE,
    State,
    line_cost,
    line_end,
    put_back,
    retime,
    soonest,
    steep,
    take_off,
)
from tests.unit.scheduling.workshops import (
    MONDAY,
    evenings_and_mornings,
    make_batch,
    make_workshop,
    random_case,
)

DAYS = 28
N = np.int32  # as the search itself passes numbers on: nothing is compiled for the tests alone
PRINTERS = (
    Printer("one", "desk", loaded="PLA", cool_down_minutes=15.0),
    Printer("two", "desk", loaded="PLA"),
)


def tables_for(batches: list, workshop: Workshop) -> Tables:  # type: ignore[type-arg]
    return compile_tables(batches, workshop, windows(workshop.attendance, MONDAY, DAYS), DAYS * 1440, {}, {})


def case(*minutes: float, attendance: Attendance | None = None, filaments: str = "") -> Tables:
    """Batches of so many minutes for two printers; P is PLA, F foaming PLA, T a filament that is attended."""
    names = {"P": "PLA", "F": "foaming PLA", "T": "TPU"}
    kinds = filaments or "P" * len(minutes)
    batches = [
        make_batch(f"bed {n}", m, filament=names[k])
        for n, (m, k) in enumerate(zip(minutes, kinds, strict=True))
    ]
    return tables_for(batches, make_workshop(attendance or evenings_and_mornings(), *PRINTERS))


def state_of(t: Tables, *lines: list[int]) -> State:
    """Lists that are timed as the search times them, from an empty calendar."""
    count, printers = t.duration.shape
    s = State(
        lines=np.zeros((printers, count), dtype=np.int32),
        lengths=np.array([len(line) for line in lines], dtype=np.int32),
        busy=np.zeros(t.window_at.shape[0] + 1, dtype=np.int32),
        begin=np.zeros(count, dtype=np.int32),
        block=np.zeros(count, dtype=np.int32),
        end=np.zeros(count, dtype=np.int32),
        printer_of=np.zeros(count, dtype=np.int32),
    )
    for p, line in enumerate(lines):
        s.lines[p, : len(line)] = line
        s.printer_of[line] = p
    k = scratch_for(s)
    k.who[:], k.since[:] = np.arange(printers), 0
    assert retime(t, s, k, printers, weights(), math.inf)
    return s


def weights(
    scale: float = 1000.0, *, change: float = 0.0, power: float = 4.0, wall: float = 0.0
) -> np.ndarray:
    return np.array([change, 0.0, 0.0, scale, power, wall])


def sound(t: Tables, s: State) -> None:
    """Judged anew: handling within a window, a person for each, printers one run after another."""
    busy = np.zeros_like(s.busy)
    for p, length in enumerate(s.lengths):
        ready, before = int(t.release[p]), -1
        for batch in s.lines[p, :length]:
            handling = t.start + (t.clear if before >= 0 else 0)
            loaded = t.material[before] if before >= 0 else t.loaded[p]
            handling += t.change if loaded != t.material[batch] else 0
            assert s.block[batch] == handling
            assert s.begin[batch] >= ready
            assert s.end[batch] == s.begin[batch] + handling + t.duration[batch, p]
            assert any(
                a <= s.begin[batch] and s.begin[batch] + handling <= b
                for a, b in zip(t.opens, t.closes, strict=True)
            )
            busy[s.begin[batch] : s.begin[batch] + handling] += 1
            ready, before = int(s.end[batch] + t.cool[p]), int(batch)
            assert s.printer_of[batch] == p
    assert busy.max(initial=0) <= t.persons
    assert busy.tolist() == s.busy.tolist()


def test_handling_by_hand() -> None:
    """5 minutes to start, 10 to clear unless the printer is empty, 10 to change the filament."""
    t = case(60.0, 60.0, filaments="PF")
    assert (t.start, t.clear, t.change) == (5, 10, 10)
    assert handling_ticks(t, 0, N(0), -1) == 5
    assert handling_ticks(t, 0, N(1), -1) == 15
    assert handling_ticks(t, 0, N(1), 0) == 25
    assert handling_ticks(t, 0, N(0), 0) == 15
    t.covered[0] = 1
    assert handling_ticks(t, 0, N(0), -1) == 15


@pytest.mark.parametrize(
    ("ready", "block", "inside", "found"),
    [
        (0, 5, 5, 0),  # Monday 18:00
        (100, 5, 5, 100),
        (297, 5, 5, 720),  # not before 23:00 any more: Tuesday 06:00
        (295, 5, 5, 295),
        (0, 5, 400, NEVER),  # no window is as long
        (300, 5, 5, 720),
        (0, 0, 130, 0),
        (700, 5, 130, 1440),  # two hours in the morning are too short: Tuesday 18:00
    ],
)
def test_the_first_free_tick(ready: int, block: int, inside: int, found: int) -> None:
    """06:00 to 08:00 and 18:00 to 23:00; the plan begins at 18:00."""
    t = case(60.0)
    assert first_free(t, np.zeros(t.window_at.shape[0] + 1, dtype=np.int32), N(ready), block, inside) == found


def test_a_busy_person_is_waited_for() -> None:
    """Occupied from 10 to 20: a block of 5 fits before, one of 12 only after; two persons do not wait."""
    t = case(60.0)
    busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
    mark(busy, 10, 10, 1)
    assert busy.sum() == 10
    assert first_free(t, busy, N(0), 5, 5) == 0
    assert first_free(t, busy, N(6), 5, 5) == 20
    assert first_free(t, busy, N(0), 12, 12) == 20
    two = case(60.0, attendance=evenings_and_mornings(2))
    assert first_free(two, busy, N(6), 5, 5) == 6
    assert first_free(t, busy, N(10**7), 5, 5) == NEVER
    mark(busy, 10, 10, -1)
    assert busy.sum() == 0


def test_placing_one_run() -> None:
    """Handling first, then the run; one that must be attended ends within the window."""
    t = case(200.0, 120.0, filaments="PT")
    busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
    assert place(t, busy, 0, N(0), -1, N(0)) == (0, 5, 205)
    assert place(t, busy, 0, N(1), -1, N(0)) == (0, 15, 135)
    assert place(t, busy, 0, N(1), -1, N(170)) == (1440, 15, 1575)
    assert place(t, busy, 0, N(0), -1, N(10**7))[2] == NEVER


def test_longest_first_gives_each_to_the_printer_where_it_ends_first() -> None:
    """300, 200 and 100 minutes on two printers, in that order."""
    t = case(300.0, 200.0, 100.0)
    printer_of, begin, end = (np.zeros(3, dtype=np.int32) for _ in range(3))
    busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
    assert longest_first(t, np.array([0, 1, 2], dtype=np.int32), busy, printer_of, begin, end)
    assert printer_of.tolist() == [0, 1, 1]
    assert begin.tolist() == [0, 5, 220]  # two cools for 10 minutes
    assert end.tolist() == [305, 210, 335]
    nobody = case(
        300.0, filaments="P", attendance=Attendance(weekly=evenings_and_mornings().weekly[:1], zone="UTC")
    )
    t = nobody._replace(duration=np.full((1, 2), 10**6, dtype=np.int32), attended=np.ones(1, dtype=np.int32))
    assert not longest_first(t, np.zeros(1, dtype=np.int32), busy, printer_of[:1], begin[:1], end[:1])


@pytest.mark.parametrize(("power", "cost"), [(1.0, 0.5), (2.0, 0.25), (4.0, 0.0625), (32.0, 0.5**32)])
def test_ends_are_priced_by_a_steep_power(power: float, cost: float) -> None:
    """Of a relative end; up to a wall gently, beyond it more than all else."""
    assert steep(500.0, weights(1000.0, power=power)) == pytest.approx(cost)
    assert steep(500.0, weights(1000.0, power=power, wall=500.0)) == pytest.approx(GENTLE * cost)
    assert steep(501.0, weights(1000.0, power=power, wall=500.0)) == BEYOND


def test_the_cost_of_a_list() -> None:
    """Its end, 0.1 for each change, what is early and late, and a pair that is parted."""
    t = case(60.0, 60.0, 60.0, filaments="PFP")
    s = state_of(t, [0, 1, 2], [])
    end = line_end(s, 0)
    assert end == s.end[2]
    assert line_end(s, 1) == 0
    plain = (end / 1000.0) ** 4
    assert line_cost(t, s, 0, weights()) == pytest.approx(plain)
    assert line_cost(t, s, 0, weights(change=0.1)) == pytest.approx(plain + 0.2)
    assert line_cost(t, s, 1, weights(change=0.1)) == 0.0
    t.early[1], t.partner[0], t.partner[1] = 2.0, 1, 0
    priced = np.array([0.1, 0.5, 7.0, 1000.0, 4.0, 0.0])
    assert line_cost(t, s, 0, priced) == pytest.approx(plain + 0.2 + 0.5 * 2.0 * s.end[1] / 1000.0)
    parted = state_of(t, [0, 2], [1])
    assert line_cost(t, parted, 1, priced) >= 7.0


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 400))
def test_timed_lists_hold(seed: int) -> None:
    """Random lists on random workshops, judged run by run."""
    batches, workshop = random_case(seed)
    t = tables_for(batches, workshop)
    rng = np.random.default_rng(seed)
    lines: list[list[int]] = [[] for _ in t.release]
    for batch in rng.permutation(len(batches)):
        lines[int(rng.choice(np.flatnonzero(t.duration[batch] >= 0)))].append(int(batch))
    if not t.attended.any():
        sound(t, state_of(t, *lines))


def test_no_room_or_no_hope_ends_the_timing() -> None:
    """A limit below the least cost is told before everything is timed."""
    t = case(300.0, 300.0)
    s = state_of(t, [0], [1])
    k = scratch_for(s)
    k.who[:], k.since[:] = np.arange(2), 0
    for p in range(2):
        take_off(s, k, s.lines[p], N(0), s.lengths[p])
    assert not retime(t, s, k, 2, weights(), 0.001)


def test_tails_come_off_and_go_back() -> None:
    """Times, printers and the person's occupation as before."""
    t = case(100.0, 50.0, 70.0)
    s = state_of(t, [0, 1, 2], [])
    k = scratch_for(s)
    before = [column.copy() for column in (s.begin, s.block, s.end, s.busy)]
    take_off(s, k, s.lines[0], N(1), N(3))
    assert s.busy.sum() == s.block[0]
    s.begin[1:], s.end[1:], s.block[1:] = 9, 9, 9
    put_back(s, k, N(0), N(1))
    assert [column.tolist() for column in (s.begin, s.block, s.end, s.busy)] == [
        column.tolist() for column in before
    ]


def test_somebody_is_there_soonest() -> None:
    """Now, at 06:00, and after the last window never: then at once."""
    t = case(60.0)
    assert [soonest(t, N(tick)) for tick in (0, 299, 300, 719, 721)] == [0, 299, 720, 720, 721]
    assert soonest(t, N(10**7)) == 10**7


def test_random_numbers_of_a_seed() -> None:
    """Even over [0, 1), whole numbers below their limit, the same for the same seed only."""
    one, same, other = seeded(7), seeded(7), seeded(8)
    row = [draw(one) for _ in range(4000)]
    assert row == [draw(same) for _ in range(4000)]
    assert row[:10] != [draw(other) for _ in range(10)]
    assert 0.0 <= min(row) < 0.01 < 0.99 < max(row) < 1.0
    assert np.mean(row) == pytest.approx(0.5, abs=0.02)
    assert np.histogram(row, 10, (0.0, 1.0))[0].min() > 320
    assert {pick(one, 3) for _ in range(100)} == {0, 1, 2}


def test_moves_within_a_list() -> None:
    """A permutation each time; the first place that changed is told; in time every order of four is met."""
    random, at = seeded(1), np.zeros(2, dtype=np.int32)
    line = np.array([0, 1, 2, 3, 9], dtype=np.int32)
    met = set()
    for _ in range(3000):
        before = line.copy()
        if within(line, N(4), random, at):
            changed = np.flatnonzero(line != before)
            assert at[0] == changed[0]
        else:
            assert line.tolist() == before.tolist()
        assert sorted(line[:4].tolist()) == [0, 1, 2, 3]
        assert line[4] == 9
        met.add(tuple(line[:4].tolist()))
    assert met == set(permutations(range(4)))
    assert not within(line, N(1), random, at)


def test_parts_exchanged_by_hand() -> None:
    """Two of one list against one of another; tails; a batch that the other printer cannot take."""
    t = case(*[60.0] * 6)
    s = state_of(t, [0, 1, 2, 3], [4, 5])
    assert exchange(t, s, 0, 1, 2, 1, 0, 1)
    assert s.lines[0, :3].tolist() == [0, 4, 3]
    assert s.lines[1, :3].tolist() == [1, 2, 5]
    assert s.lengths.tolist() == [3, 3]
    assert exchange(t, s, 0, 0, 1, 1, 2, 1)
    assert (s.lines[0, 0], s.lines[1, 2]) == (5, 0)
    t.duration[3, 1] = -1
    assert not exchange(t, s, 0, 2, 1, 1, 0, 0)
    assert s.lines[0, :3].tolist() == [5, 4, 3]


def test_moves_across_keep_every_batch() -> None:
    """Thousands of moves between two lists: each batch stays on one of them; both ways happen."""
    t = case(*[60.0] * 5)
    s, random, at = state_of(t, [0, 1, 2], [3, 4]), seeded(2), np.zeros(2, dtype=np.int32)
    sizes = set()
    for n in range(3000):
        before = s.lines.copy(), s.lengths.copy()
        moved = across(t, s, n % 2, 1 - n % 2, random, at)
        here = [s.lines[p, : s.lengths[p]].tolist() for p in range(2)]
        assert sorted(here[0] + here[1]) == [0, 1, 2, 3, 4]
        if not moved:
            assert (s.lines[:, :1].tolist(), s.lengths.tolist()) == (
                before[0][:, :1].tolist(),
                before[1].tolist(),
            )
        sizes.add(len(here[0]))
    assert sizes == set(range(6))


def test_from_where_times_may_differ() -> None:
    """The list was changed at its second place, whose batch began at its tick; or behind its end."""
    t = case(100.0, 50.0, 70.0)
    s = state_of(t, [0, 1, 2], [])
    line = s.lines[0]
    assert change_tick(s, line, N(3), N(1)) == s.begin[1]
    assert change_tick(s, line, N(3), N(3)) == s.end[2]
    assert change_tick(s, line, N(0), N(0)) == 0
    assert unchanged_since(s, line, N(3), int(s.begin[1])) == 1
    assert unchanged_since(s, line, N(3), int(s.end[2])) == 3
    assert unchanged_since(s, line, N(3), 0) == 0


def test_printers_of_a_move() -> None:
    """About half of the moves touch the one that ends last, three in ten stay in one list."""
    random = seeded(3)
    pairs = [choose(random, 2, 4) for _ in range(4000)]
    assert sum(2 in pair for pair in pairs) / 4000 > 0.5
    assert sum(p == q for p, q in pairs) / 4000 == pytest.approx(0.3 + 0.7 / 4, abs=0.04)
    assert {p for p, _ in pairs} == {q for _, q in pairs} == {0, 1, 2, 3}


@pytest.mark.parametrize("everyone", [True, False])
def test_a_move_that_is_taken_back_leaves_no_trace(everyone: bool) -> None:
    """Lists, times and occupation, whether all printers or only the two are timed again."""
    t = case(100.0, 50.0, 70.0, 90.0, 30.0)
    s = state_of(t, [0, 1, 2], [3, 4])
    before = [column.copy() for column in s]
    k = scratch_for(s)
    k.line_p[:3], k.line_q[:2] = s.lines[0, :3], s.lines[1, :2]
    at = np.array([1, 0], dtype=np.int32)
    assert exchange(t, s, 0, 1, 2, 1, 0, 1)
    count = touched(s, k, 0, 1, N(3), N(2), at, everyone)
    assert count == 2
    assert retime(t, s, k, count, weights(), math.inf)
    new = np.zeros(2)
    assert settle(t, s, k, count, weights(), math.inf, new)
    sound(t, s)
    assert new.tolist() == [line_cost(t, s, p, weights()) for p in k.who[:2]]
    assert not settle(t, s, k, count, weights(), 0.5 * float(new.sum()), new)
    take_back(s, k, count, 0, 1, N(3), N(2))
    for p, length in enumerate((3, 2)):
        assert s.lengths[p] == length
        assert s.lines[p, :length].tolist() == before[0][p, :length].tolist()
    assert [column.tolist() for column in s[2:]] == [column.tolist() for column in before[2:]]


def best_of_all(t: Tables) -> int:
    """The earliest finish over all ways to deal five batches to two printers, in all orders."""
    count, best = t.duration.shape[0], 1 << 30
    for order in permutations(range(count)):
        for cut in range(count + 1):
            s = state_of(t, list(order[:cut]), list(order[cut:]))
            best = min(best, int(s.end.max()))
    return best


def annealed(t: Tables, steps: int, seed: int, *lines: list[int]) -> tuple[State, tuple[np.ndarray, ...]]:
    s = state_of(t, *lines)
    best = s.printer_of.copy(), s.begin.copy(), s.end.copy()
    anneal(t, s, weights(1.0, change=0.005), True, steps, 0.03, 0.001, seed, best)
    return s, best


def test_annealing_finds_the_best_of_all_orders() -> None:
    """Four batches, two printers, one person: as good as trying every way, from the worst start."""
    t = case(410.0, 260.0, 180.0, 120.0)
    s, best = annealed(t, 4000, 1, [0, 1, 2, 3], [])
    assert int(best[2].max()) == best_of_all(t)
    sound(t, s)


def test_annealing_never_leaves_a_worse_plan_and_repeats_itself() -> None:
    """No steps: the start itself. Same seed: the same plan."""
    t = case(410.0, 260.0, 180.0, 120.0, 90.0, 60.0)
    start = state_of(t, [0, 1, 2], [3, 4, 5])
    _, none = annealed(t, 0, 1, [0, 1, 2], [3, 4, 5])
    assert none[2].tolist() == start.end.tolist()
    _, one = annealed(t, 800, 5, [0, 1, 2], [3, 4, 5])
    _, same = annealed(t, 800, 5, [0, 1, 2], [3, 4, 5])
    assert [column.tolist() for column in one] == [column.tolist() for column in same]
    assert one[2].max() <= start.end.max()


def test_kernels_are_compiled_without_the_interpreter() -> None:
    """Lean and owning kernels let go of the interpreter, keep their code, and count owners or do not."""

    def plain(x: int) -> int:
        return x + 1

    for how, counted in ((jit_no_refcount, False), (jit_refcount, True)):
        options = how(plain).targetoptions  # type: ignore[attr-defined]
        assert options["nogil"]
        assert options["_nrt"] == counted
        assert how(plain).py_func is plain  # type: ignore[attr-defined]
