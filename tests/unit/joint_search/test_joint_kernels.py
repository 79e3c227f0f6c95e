"""The compiled parts of the joint search: sums of beds, moves, values of goals, and the search itself."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.estimate.time.bed_kernel import bed_seconds
from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.candidate import Candidate, candidate, start_of
from planner.joint_search.instance import Instance, instance_of
from planner.joint_search.joint import (
    MEMO,
    LexicographicLevel,
    NoGood,
    _beds,
    _bench,
    _no_good_arrays,
    _objective_data,
    _pieces,
    _tables,
    greedy_start,
    lines_of,
    search_jointly,
    timed_start,
)
from planner.joint_search.kernels.bed_kernel import (
    Beds,
    Memo,
    NoGoodArrays,
    Pieces,
    bed_ticks,
    carries,
    drop,
    insert,
    keep,
    lay,
    lift,
    locate,
    restore,
    spare,
)
from planner.joint_search.kernels.joint_kernel import HOPELESS, p_norm, timed
from planner.joint_search.kernels.move_kernel import (
    another,
    exchange_tails,
    merge_beds,
    move,
    move_bed,
    move_piece,
    new_bed,
    swap_pieces,
)
from planner.joint_search.kernels.objective_kernel import ObjectiveData, section_hours
from planner.joint_search.measures import LATE
from planner.joint_search.objectives import BUILT_IN, FINISH, place_of
from planner.joint_search.search import compose
from planner.scheduling.annealing.moves_kernel import seeded
from tests.unit.joint_search.tasks import make_task

DAYS = 40


@cache
def instance(seed: int = 1, parts: int = 9, printers: int = 3) -> Instance:
    return instance_of(BedMaker(make_task(seed, parts=parts, printers=printers)), DAYS)


def laid(one: Instance, no_goods: tuple[NoGood, ...] = ()) -> tuple[Pieces, NoGoodArrays, Beds]:
    """The greedy start on its beds."""
    pieces = _pieces(one.table, 1)
    return pieces, _no_good_arrays(no_goods), _beds(one.table, pieces, greedy_start(one.table))


def memo() -> Memo:
    return Memo(np.zeros(MEMO, dtype=np.uint64), np.zeros(MEMO, dtype=np.int32))


def data(one: Instance, level: LexicographicLevel | None = None, hours: float = 10.0) -> ObjectiveData:
    prices = tuple(1.0 if goal == FINISH else 0.0 for goal in range(len(BUILT_IN)))
    return _objective_data(one.table, one.goal_data, level or LexicographicLevel(FINISH, prices), hours)


def hold(c: Pieces, b: Beds) -> None:
    """Sums of every bed are those of its pieces; every bed in use stands once in one list."""
    used = set()
    for bed in range(len(b.members)):
        own = np.flatnonzero(b.bed_of == bed)
        assert b.members[bed] == len(own)
        assert b.share[bed].tolist() == c.share[:, own].sum(axis=1).tolist()
        assert b.barred[bed].tolist() == c.barred[:, own].sum(axis=1).tolist()
        assert b.tally[bed].tolist() == np.bincount(c.shape_class[own], minlength=b.tally.shape[1]).tolist()
        assert b.word[bed] == np.add.reduce(c.word[own], dtype=np.uint64)
        if len(own):
            used.add(bed)
            assert {int(f) for f in c.family[own]} == {int(b.family[bed])}
    listed = [int(bed) for p in range(len(b.lengths)) for bed in b.lines[p, : b.lengths[p]]]
    assert sorted(listed) == sorted(used)


def test_pieces_come_and_go() -> None:
    """On a bed and off again: all its sums as before."""
    c, _, b = laid(instance())
    hold(c, b)
    before = [column.copy() for column in b]
    bed = int(b.bed_of[0])
    lift(c, b, 0)
    assert b.members[bed] == before[1][bed] - 1
    assert (b.share[bed] < before[3][bed]).all()
    lay(c, b, 0, bed)
    assert [column.tolist() for column in b] == [column.tolist() for column in before]


def test_what_was_remembered_comes_back() -> None:
    """After a hundred moves, allowed or not."""
    c, u, b = laid(instance())
    old = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    keep(b, *old)
    random, tail = seeded(3), np.zeros(len(b.members), dtype=np.int32)
    for _ in range(100):
        move(c, u, b, random, tail)
        restore(c, b, *old)
    hold(c, b)
    assert b.bed_of.tolist() == old[0].tolist()
    for p, length in enumerate(old[2]):
        assert b.lines[p, :length].tolist() == old[1][p, :length].tolist()


def test_lists_of_beds() -> None:
    """Drop, insert, locate; the first bed without a piece is spare."""
    _, _, b = laid(instance())
    p = int(np.argmax(b.lengths))
    line = b.lines[p, : b.lengths[p]].tolist()
    assert locate(b, line[0]) == (p, 0)
    bed = drop(b, p, 0)
    assert (bed, b.lines[p, : b.lengths[p]].tolist()) == (line[0], line[1:])
    assert locate(b, line[0]) == (-1, -1)
    insert(b, p, b.lengths[p], bed)
    assert b.lines[p, : b.lengths[p]].tolist() == [*line[1:], line[0]]
    assert b.members[spare(b)] == 0
    assert (b.members[: spare(b)] > 0).all()
    b.members[:] = 1
    assert spare(b) == -1


def test_what_a_printer_may_take() -> None:
    """Number of pieces, shares of the bed, pieces that are barred, and sets that are known not to lie."""
    one = instance()
    c, u, b = laid(one)
    bed = int(np.argmax(b.members))
    p, _ = locate(b, bed)
    kind = int(c.kind_of[p])
    assert carries(c, u, b, bed, p)
    c.most[kind, b.family[bed]] = b.members[bed] - 1
    assert not carries(c, u, b, bed, p)
    c.most[kind, b.family[bed]] = b.members[bed]
    room = int(c.capacity[kind])
    c.capacity[kind] = b.share[bed, kind]
    assert carries(c, u, b, bed, p)
    c.capacity[kind] = b.share[bed, kind] - 1
    assert not carries(c, u, b, bed, p)
    c.capacity[kind] = room
    own = np.flatnonzero(b.bed_of == bed)
    counted = tuple(sorted(Counter(c.shape_class[own].tolist()).items()))
    assert not carries(c, _no_good_arrays([NoGood(kind, counted)]), b, bed, p)
    more = tuple((shape, many + 1) for shape, many in counted)
    assert carries(c, _no_good_arrays([NoGood(kind, more)]), b, bed, p)
    assert carries(c, _no_good_arrays([NoGood(kind + 1, counted)]), b, bed, p)
    b.barred[bed, p] = 1
    assert not carries(c, u, b, bed, p)


def test_ticks_of_a_bed_are_its_minutes_rounded_up_and_kept() -> None:
    """Heat-up and the seconds of the estimate; a second question is answered from what is kept."""
    one = instance()
    c, _, b = laid(one)
    kept = memo()
    for bed in np.flatnonzero(b.members > 0).tolist():
        own = np.flatnonzero(b.bed_of == bed)
        seconds = bed_seconds(
            c.seconds[0], c.starts, c.reach, c.change[0], c.least[0], own, c.travel[0, b.family[bed]]
        )
        wanted = int(np.ceil(c.heat_up[0] + seconds / 60.0 - 1e-6))
        assert bed_ticks(c, b, kept, bed, 0) == wanted
        c.heat_up[0] += 1000.0  # asked again it is not reckoned anew
        assert bed_ticks(c, b, kept, bed, 0) == wanted
        c.heat_up[0] -= 1000.0
    assert np.count_nonzero(kept.word) == np.count_nonzero(b.members > 0)


def test_another_piece_is_of_the_same_family() -> None:
    """Each of them in time."""
    c, _, _ = laid(instance())
    random = seeded(1)
    for piece in range(len(c.family)):
        met = {another(c, random, piece) for _ in range(300)}
        assert met == set(np.flatnonzero(c.family == c.family[piece]).tolist())


@pytest.mark.parametrize("kind", [move_piece, new_bed, merge_beds, swap_pieces])
def test_moves_of_pieces_keep_the_sums(kind: object) -> None:
    """Beds that are allowed hold; what is not done or not allowed is taken back."""
    c, u, b = laid(instance(2, parts=12, printers=2))
    old = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    random, done = seeded(5), 0
    for _ in range(60):
        if kind(c, u, b, random):  # type: ignore[operator]
            hold(c, b)
            done += 1
            for p in range(2):
                assert all(carries(c, u, b, bed, p) for bed in b.lines[p, : b.lengths[p]].tolist())
            keep(b, *old)
        restore(c, b, *old)
        hold(c, b)
    assert done > 0


@pytest.mark.parametrize("swap", [True, False])
def test_moves_of_beds_change_no_bed(swap: bool) -> None:
    """Their order and printers change, their pieces do not."""
    c, u, b = laid(instance(2, parts=12, printers=2))
    random, tail, of = seeded(6), np.zeros(len(b.members), dtype=np.int32), b.bed_of.copy()
    orders = set()
    for n in range(80):
        move_bed(c, u, b, random, swap)
        if n % 10 == 0:
            exchange_tails(c, u, b, random, tail)
        hold(c, b)
        orders.add(tuple(tuple(b.lines[p, : b.lengths[p]].tolist()) for p in range(2)))
    assert b.bed_of.tolist() == of.tolist()
    assert len(orders) > 10


def test_values_of_the_search_are_those_of_the_finished_plan() -> None:
    """Compiled sums against the plain measures of the runs; spools are counted before they are dealt out."""
    task = make_task(4, parts=6, printers=2)
    made = compose(task)
    maker = BedMaker(task)
    one = instance_of(maker, DAYS)
    plan = Candidate(Bedding(made.batches, ()), made.schedule, ())
    found = timed_start(one.table, one.goal_data, start_of(plan, one))
    told = candidate(plan.bedding, made.schedule, maker).values
    for name in ("finish", "sections", "visits", "hands", "pairs", "changeovers"):
        assert found.values[place_of(name)] == pytest.approx(told[place_of(name)], abs=1e-9)
    risk = place_of("risk")  # of whole minutes here, of the true ones there
    assert found.values[risk] == pytest.approx(told[risk], rel=0.02)
    loaded: dict[str, set[str]] = {}
    kinds = {batch.name: batch.filament for batch in made.batches}
    for run in made.schedule.runs:
        loaded.setdefault(run.printer, set()).add(kinds[run.batch])
    assert found.values[place_of("spools")] == sum(map(len, loaded.values()))
    ends = {run.batch: run.end for run in made.schedule.runs}
    assert max(bed.end for bed in found.beds) == round(
        (max(ends.values()) - task.start).total_seconds() / 60.0
    )


def test_sections_count_by_their_weight_and_late_ones_more() -> None:
    """Two sections, ready after 2 and 5 hours, the first weighing 3 in 4; a date missed by an hour."""
    c, _, b = laid(instance())
    j = data(instance())
    b.end[:] = 120
    last = int(b.bed_of[-1])
    b.end[last] = 300
    section = np.zeros(len(b.bed_of), dtype=np.int32)
    section[b.bed_of == last] = 1
    j = j._replace(section=section, weight=np.array([0.75, 0.25]), due=np.array([-1, -1], dtype=np.int32))
    assert section_hours(c, b, j) == pytest.approx(0.75 * 2.0 + 0.25 * 5.0)
    late = j._replace(due=np.array([-1, 240], dtype=np.int32))
    assert section_hours(c, b, late) == pytest.approx(0.75 * 2.0 + 0.25 * 5.0 + LATE * 1.0)
    on_time = j._replace(due=np.array([-1, 300], dtype=np.int32))
    assert section_hours(c, b, on_time) == pytest.approx(0.75 * 2.0 + 0.25 * 5.0)


def test_ends_are_priced_by_a_power_of_two() -> None:
    """Half of the scale to the sixteenth; the scale itself counts as 1."""
    j = data(instance(), hours=10.0)
    assert p_norm(600.0, j) == 1.0
    assert p_norm(300.0, j) == pytest.approx(0.5**16)
    assert p_norm(300.0, j._replace(power=2.0)) == pytest.approx(0.25)


def costs(one: Instance, level: LexicographicLevel, limit: float = HOPELESS) -> tuple[float, list[float]]:
    c, _, b = laid(one)
    bench, tables = _bench(one.table, one.goal_data.goals), _tables(one.table)
    cost = float(timed(tables, c, b, data(one, level), memo(), bench, limit))
    assert not bench.busy.any()
    return cost, bench.values.tolist()


def test_ceilings_and_limits_make_a_plan_hopeless() -> None:
    """A finish above its ceiling, visits above theirs, a cost above the limit; nobody stays occupied."""
    one = instance()
    prices = tuple(1.0 if goal == FINISH else 0.01 for goal in range(len(BUILT_IN)))
    cost, values = costs(one, LexicographicLevel(FINISH, prices))
    assert 0.0 < cost < HOPELESS
    assert costs(one, LexicographicLevel(FINISH, prices), cost * 1.001)[0] == cost
    assert costs(one, LexicographicLevel(FINISH, prices), cost * 0.999)[0] == HOPELESS
    for goal in (FINISH, place_of("visits")):
        for share, sound in ((1.0, True), (0.99, False)):
            ceiling = [1e12] * len(BUILT_IN)
            ceiling[goal] = values[goal] * share
            found, _ = costs(one, LexicographicLevel(FINISH, prices, tuple(ceiling)))
            assert (found < HOPELESS) == sound


def test_a_bed_that_lasts_too_long_is_hopeless() -> None:
    """One minute less than the longest bed takes."""
    one = instance()
    prices = tuple(1.0 if goal == FINISH else 0.0 for goal in range(len(BUILT_IN)))
    c, _, b = laid(one)
    bench, tables = _bench(one.table, one.goal_data.goals), _tables(one.table)
    j = data(one, LexicographicLevel(FINISH, prices))
    assert timed(tables, c, b, j, memo(), bench, HOPELESS) < HOPELESS
    longest = int(bench.length.max())
    limit = np.full_like(c.longest, longest)
    assert timed(tables, c._replace(longest=limit), b, j, memo(), bench, HOPELESS) < HOPELESS
    assert timed(tables, c._replace(longest=limit - 1), b, j, memo(), bench, HOPELESS) == HOPELESS


@settings(max_examples=3, deadline=None)
@given(seed=st.integers(1, 50), goal=st.sampled_from(["finish", "visits", "changeovers", "spools"]))
def test_a_search_is_never_worse_than_its_start_and_repeats_itself(seed: int, goal: str) -> None:
    """Whatever goal comes first: less or equal, within the ceilings, all pieces once, the same again."""
    one = instance(seed % 5 + 1)
    first = place_of(goal)
    start = timed_start(one.table, one.goal_data, greedy_start(one.table))
    prices = tuple(1.0 if k == first else 0.001 for k in range(len(BUILT_IN)))
    ceiling = tuple(value * 1.5 + 1.0 for value in start.values)
    level = LexicographicLevel(first, prices, ceiling, steps=800)
    found, again = (
        search_jointly(one.table, one.goal_data, lines_of(start), level, seed=seed, chains=1)
        for _ in range(2)
    )
    assert found == again
    assert found.values[first] <= start.values[first] + 1e-9
    assert all(v <= c + 1e-6 for v, c in zip(found.values, ceiling, strict=True))
    assert sorted(piece for bed in found.beds for piece in bed.pieces) == list(range(len(one.items)))
    assert timed_start(one.table, one.goal_data, lines_of(found)).values == pytest.approx(found.values)
