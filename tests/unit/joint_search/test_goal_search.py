"""The search goal by goal, and whether a plan buys: small workshops, every answer looked at."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from functools import cache

import pytest

from planner.errors import Infeasible
from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.buying import price_of, settled
from planner.joint_search.candidate import Candidate, candidate, start_of
from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.goal_search import LATER_ROUNDS, GoalSearch, _worse, rounds_of, starts_of
from planner.joint_search.instance import Instance, instance_of
from planner.joint_search.joint import (
    NO_LIMIT,
    NO_ROOM,
    LexicographicLevel,
    search_jointly,
    timed_start,
)
from planner.joint_search.objectives import FINISH, SPOOLS, objectives, order_of, place_of
from planner.joint_search.oracle import Oracle
from planner.joint_search.search import compose
from planner.model.attendance import Attendance, DateWindow
from planner.model.effort import NORMAL, QUICK
from planner.model.filament import Spool
from planner.nesting.problem.item import FilledBed
from planner.nesting.verify import verify_beds
from planner.scheduling.spools.shelf_search import bought_of
from tests.unit.joint_search.tasks import make_task
from tests.unit.scheduling.workshops import MONDAY

SMALL = replace(QUICK, goal_rounds=2, first_goal_steps=4000, later_goal_steps=1000)


def test_rounds_of_a_search() -> None:
    """Those of the first goal from each start, and two of each goal that follows it, if any."""
    assert LATER_ROUNDS == 2
    first = NORMAL.first_goal_starts * NORMAL.goal_rounds
    assert rounds_of(NORMAL, 1) == first
    assert rounds_of(NORMAL, 4) == first + 6
    assert rounds_of(NORMAL, 0) == first
    assert rounds_of(QUICK, 1) == QUICK.goal_rounds


@pytest.mark.parametrize(("beds", "starts"), [(0, 3), (20, 3), (21, 2), (30, 2), (31, 1), (400, 1)])
def test_many_beds_are_searched_from_fewer_starts(beds: int, starts: int) -> None:
    """Each step takes longer there; one start is left in any case."""
    assert starts_of(replace(QUICK, first_goal_starts=3), beds) == starts
    assert starts_of(replace(QUICK, first_goal_starts=0), beds) == 1


def test_more_starts_end_no_later_and_some_end_sooner() -> None:
    """The first of them is the one that is searched alone, and the best of all goes on."""
    gains = []
    for seed in range(4):
        task = replace(make_task(seed, parts=14, printers=2), effort=replace(SMALL, first_goal_steps=400))
        first, _, instance, _ = searched(task)
        ends = []
        for starts in (1, 3):
            maker = BedMaker(replace(task, effort=replace(task.effort, first_goal_starts=starts)))
            oracle = Oracle(instance.items, task.workshop.clearance_mm, task.effort, task.seed)
            for batch in first.bedding.batches:
                oracle.know(batch.printer_kind, batch.placed)
            found = [first]
            GoalSearch(maker, instance, oracle, (FINISH,), found.append, lambda: False).run(first)
            ends.append(min(plan.values[FINISH] for plan in found))
        gains.append(ends[0] - ends[1])
    assert min(gains) >= 0.0
    assert max(gains) > 0.0


def searched(
    task: ComposeTask, stop: bool = False
) -> tuple[Candidate, list[Candidate], Instance, GoalSearch]:
    """The plan of boxes and whatever a search from it found."""
    made = compose(task)
    maker = BedMaker(task)
    instance = instance_of(maker, 40)
    oracle = Oracle(instance.items, task.workshop.clearance_mm, task.effort, task.seed)
    for batch in made.batches:
        oracle.know(batch.printer_kind, batch.placed)
    first = candidate(Bedding(made.batches, ()), made.schedule, maker)
    found: list[Candidate] = []
    search = GoalSearch(maker, instance, oracle, order_of(task.prefer), found.append, lambda: stop)
    search.run(first)
    return first, found, instance, search


def test_every_plan_that_is_found_is_sound_and_none_is_worse() -> None:
    """Beds lie by the slow check; each value is that of the arrays; the first goal never gets worse."""
    prefer = ("visits",)
    task = replace(make_task(3, parts=6, printers=2), effort=SMALL, prefer=prefer)
    first, found, instance, _ = searched(task)
    goal = order_of(prefer)[0]
    items = {item.piece: item for item in instance.items}
    best = first.values[goal]
    for plan in found:
        for batch in plan.bedding.batches:
            own = [items[p.piece] for p in batch.placed]
            bed = FilledBed(instance.kinds[0], batch.placed, 0.0)
            assert verify_beds([bed], own, task.workshop.clearance_mm) == ()
        assert sorted(p.piece for b in plan.bedding.batches for p in b.placed) == sorted(items)
        again = timed_start(instance.table, instance.goal_data, start_of(plan, instance))
        for name in ("finish", "sections", "visits", "hands"):
            assert again.values[place_of(name)] == pytest.approx(plan.values[place_of(name)], abs=1e-6)
        ceiling = objectives()[goal].ceiling(best)
        assert plan.values[goal] <= ceiling + 1e-6
        best = min(best, plan.values[goal])


def test_beds_that_do_not_lie_are_learned_and_split() -> None:
    """All pieces of a family on one bed: none lies so; the parts do, and the set is never tried again."""
    task = replace(make_task(4, parts=10, printers=2), effort=SMALL)
    _, found, instance, search = searched(task, stop=True)
    assert found == []  # stopped before its first round
    family = max(set(instance.family), key=instance.family.count)
    whole = [n for n, own in enumerate(instance.family) if own == family]
    before = len(search.no_goods)
    mended, sound = search._mended([(whole, 0)])
    assert not sound
    assert len(mended) > 1
    assert sorted(piece for pieces, _ in mended for piece in pieces) == whole
    assert {printer for _, printer in mended} == {0}
    (learned,) = search.no_goods[before:]
    assert sum(many for _, many in learned.least) == len(whole)
    assert all(search.oracle.places(pieces, instance.kinds[0]) is not None for pieces, _ in mended)
    again, sound = search._mended(mended)
    assert sound
    assert again == mended


def test_beds_without_room_in_the_calendar_are_never_a_plan() -> None:
    """Two beds fit the only hour of four weeks; four do not, and are worse than anything that was found."""
    hour = Attendance(dates=(DateWindow(MONDAY.date(), time(18), time(19)),))
    task = replace(make_task(4, parts=6, printers=2), effort=SMALL)
    task = replace(task, workshop=replace(task.workshop, attendance=hour))
    instance = instance_of(BedMaker(task), 28)
    rest = [([n], k % 2) for k, n in enumerate(range(len(instance.items)))]
    crowded = timed_start(instance.table, instance.goal_data, rest)
    assert set(crowded.values) == {NO_ROOM}
    level = LexicographicLevel(FINISH, (1.0,), (NO_LIMIT,), steps=50)
    assert search_jointly(instance.table, instance.goal_data, rest, level, seed=1).values[FINISH] == NO_ROOM
    assert _worse(crowded, replace(crowded, values=(5.0,) * len(crowded.values)), level)


def shelved(task: ComposeTask, *spools: Spool, buy: str = "if needed", **prices: int) -> ComposeTask:
    filaments = tuple(replace(f, price_minor=prices.get(f.name.split()[0])) for f in task.workshop.filaments)
    return replace(task, workshop=replace(task.workshop, spools=spools, buy=buy, filaments=filaments))


@cache
def bought_freely() -> Composition:
    return compose(replace(base(), workshop=replace(base().workshop, spools=(), buy="for speed")))


def plain(task: ComposeTask) -> tuple[Candidate, BedMaker]:
    """A plan that was made as if everything could be bought."""
    made, maker = bought_freely(), BedMaker(task)
    return candidate(Bedding(made.batches, ()), made.schedule, maker), maker


@cache
def base() -> ComposeTask:
    return make_task(3, parts=7, printers=3)


@pytest.fixture(name="task")
def _task() -> ComposeTask:
    return base()


def grams(task: ComposeTask, filament: str) -> float:
    return sum(task.deposits[p.part].mass_g for p in task.pieces if task.parts[p.part].filament == filament)


def test_for_speed_and_without_a_shelf_nothing_is_settled(task: ComposeTask) -> None:
    """The plan as it is, and nothing told."""
    for asked in (shelved(task, buy="for speed"), shelved(task)):
        made, maker = plain(asked)
        assert settled(made, [made], order_of(()), maker) == (made, None)


def test_what_the_shelf_lacks_is_told_by_the_gram(task: ComposeTask) -> None:
    """Nothing may be bought and half of the grams are there: refused with both numbers."""
    have = tuple(Spool(name, name, round(0.5 * grams(task, name))) for name in ("PLA", "foaming PLA"))
    made, maker = plain(shelved(task, *have, buy="never"))
    with pytest.raises(Infeasible) as told:
        settled(made, [made], order_of(()), maker)
    words = str(told.value)
    assert 'buy = "never"' in words
    assert f"g are needed, {round(0.5 * grams(task, 'PLA'))} g are there)" in words
    assert "of foaming PLA" in words


def test_one_spool_each_is_made_to_do(task: ComposeTask) -> None:
    """Enough grams on one spool of each: none is bought; what more would bring is told with its price."""
    have = tuple(Spool(name, name, grams(task, name) + 200.0) for name in ("PLA", "foaming PLA"))
    asked = shelved(task, *have, buy="never", PLA=2000, foaming=3000)
    made, maker = plain(asked)
    assert bought_of(made.schedule, made.bedding.batches, asked.workshop).total() > 0
    kept, told = settled(made, [made], order_of(()), maker)
    assert bought_of(kept.schedule, kept.bedding.batches, asked.workshop).total() == 0
    assert kept.values[FINISH] >= made.values[FINISH]
    assert told is not None
    assert not told.bought
    assert told.sooner_h == pytest.approx(kept.values[FINISH] - made.values[FINISH])
    assert told.price_minor is not None
    assert told.price_minor >= 2000 * told.spools


def test_whether_a_later_finish_is_taken_depends_on_the_order_of_the_goals(task: ComposeTask) -> None:
    """Spools before the finish: as few as can be. Finish first: only while it stays within its tolerance."""
    have = tuple(Spool(name, name, grams(task, name) + 200.0) for name in ("PLA", "foaming PLA"))
    asked = shelved(task, *have)
    made, maker = plain(asked)
    sparing, _ = settled(made, [made], (SPOOLS, FINISH), maker)
    assert bought_of(sparing.schedule, sparing.bedding.batches, asked.workshop).total() == 0
    quick, told = settled(made, [made], (FINISH, SPOOLS), maker)
    assert quick.values[FINISH] <= objectives()[FINISH].ceiling(made.values[FINISH]) + 1e-9
    if told is not None and told.bought:
        assert bought_of(quick.schedule, quick.bedding.batches, asked.workshop).total() == told.spools


def test_prices_of_new_spools(task: ComposeTask) -> None:
    """Number times price; one price that is not known leaves the sum open."""
    workshop = shelved(task, PLA=2000).workshop
    assert price_of({"PLA": 3}, workshop) == 6000
    assert price_of({}, workshop) == 0
    assert price_of({"PLA": 1, "foaming PLA": 1}, workshop) is None
    both = shelved(task, PLA=2000, foaming=3500).workshop
    assert price_of({"PLA": 2, "foaming PLA": 1}, both) == 7500
