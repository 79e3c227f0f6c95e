"""Whether a plan buys spools, as the workshop says: never, if needed, or for speed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from planner.errors import Infeasible
from planner.joint_search.beds import BedMaker
from planner.joint_search.candidate import Candidate, candidate
from planner.joint_search.composition import ComposeTask
from planner.joint_search.objectives import BUILT_IN, FINISH, SPOOLS
from planner.model.batch import Batch
from planner.model.schedule import Buying, SpoolUse
from planner.model.workshop import NEVER_BUY, SPEED, Workshop
from planner.scheduling.spools.reels import UNITS_PER_GRAM, units
from planner.scheduling.spools.shelf_search import ShelfTask, bought_of, least_by_grams, with_spools

BEDDINGS = 3  # ways to lay the beds for which few spools are tried


def settled(
    made: Candidate, found: Sequence[Candidate], order: Sequence[int], maker: BedMaker
) -> tuple[Candidate, Buying | None]:
    """The plan with no more new spools than the workshop's ``buy`` allows, and what buying brings.

    Raises
    ------
    Infeasible
        when nothing may be bought and the shelf does not suffice
    """
    task = maker.task
    workshop = task.workshop
    if workshop.buy == SPEED or (not workshop.spools and workshop.buy != NEVER_BUY):
        return made, None
    asked = _bought(made, task)
    least = least_by_grams(made.bedding.batches, workshop)
    if workshop.buy == NEVER_BUY and any(least.values()):
        raise _missing(made.bedding.batches, workshop, least)
    if asked.total() <= sum(least.values()):
        return made, None
    beds = _few_beds(made, found)
    sparing = _soonest(beds, least, task, maker)
    if sparing is None and workshop.buy == NEVER_BUY:
        raise _no_packing(made.bedding.batches, workshop)
    if workshop.buy == NEVER_BUY and sparing is not None:
        return sparing, _told(made, sparing, task, least, bought=False)
    first = list(order).index(FINISH) < list(order).index(SPOOLS)
    latest = BUILT_IN[FINISH].ceiling(made.values[FINISH]) + 1e-9 if first else math.inf
    if sparing is not None and sparing.values[FINISH] <= latest:
        return sparing, _told(made, sparing, task, least, bought=False)
    for new in _between(least, asked):
        some = _soonest(beds, new, task, maker)
        if some is not None and some.values[FINISH] <= latest:
            made = some
            break
    return made, _told(made, sparing, task, least, bought=True)


def _bought(made: Candidate, task: ComposeTask) -> Counter[str]:
    return bought_of(made.schedule, made.bedding.batches, task.workshop)


def _few_beds(made: Candidate, found: Sequence[Candidate]) -> list[Candidate]:
    """The plan itself, and others of as few beds as were found: one spool runs one bed after another."""
    others = sorted(
        (c for c in found if c is not made and c.bedding.misfits == made.bedding.misfits),
        key=lambda c: (len(c.bedding.batches), sum(b.minutes for b in c.bedding.batches), c.values),
    )
    return [made, *others[: BEDDINGS - 1]]


def _soonest(
    beds: Sequence[Candidate], new: Mapping[str, int], task: ComposeTask, maker: BedMaker
) -> Candidate | None:
    found = []
    for one in beds:
        asked = ShelfTask(
            one.bedding.batches, one.schedule, task.workshop, task.start, task.effort, task.seed
        )
        schedule = with_spools(asked, new)
        if schedule is not None:
            found.append(candidate(one.bedding, schedule, maker))
    return min(found, key=lambda c: c.values, default=None)


def _between(least: Mapping[str, int], asked: Mapping[str, int]) -> Iterator[dict[str, int]]:
    """More and more new spools, filament by filament, up to one less than are asked for."""
    now = dict(least)
    room = sum(max(0, asked[name] - now.get(name, 0)) for name in asked)
    for _ in range(room - 1):
        name = max(sorted(asked), key=lambda one: asked[one] - now.get(one, 0))
        now[name] = now.get(name, 0) + 1
        yield dict(now)


def _told(
    fast: Candidate, sparing: Candidate | None, task: ComposeTask, least: Mapping[str, int], *, bought: bool
) -> Buying | None:
    """What the spools beyond those that the grams need cost, and how much sooner the plan ends with them."""
    more = _bought(fast, task) - Counter(least)
    hours = 0.0 if sparing is None else sparing.values[FINISH] - fast.values[FINISH]
    if not more or (sparing is not None and hours <= 0.0):
        return None
    other = sparing if bought else fast
    return Buying(
        spools=more.total(),
        price_minor=price_of(more, task.workshop),
        sooner_h=hours,
        other_finish=None if other is None else other.schedule.finish,
        bought=bought,
    )


def counted(
    buying: Buying | None, uses: Sequence[SpoolUse], batches: Sequence[Batch], workshop: Workshop
) -> Buying | None:
    """What is told of spools that are bought beyond the grams, by what the runs draw from in the end."""
    if buying is None or not buying.bought:
        return buying
    more = Counter(use.filament for use in uses if use.bought) - Counter(least_by_grams(batches, workshop))
    if not more:
        return None
    return replace(buying, spools=more.total(), price_minor=price_of(more, workshop))


def price_of(spools: Mapping[str, int], workshop: Workshop) -> int | None:
    """What so many new spools of each filament cost; ``None`` where a price is not known."""
    prices = [(number, workshop.filament(name).price_minor) for name, number in spools.items()]
    known = [number * price for number, price in prices if price is not None]
    return sum(known) if len(known) == len(prices) else None


def _missing(batches: Sequence[Batch], workshop: Workshop, least: Mapping[str, int]) -> Infeasible:
    told = []
    for name in sorted(name for name, number in least.items() if number):
        need = sum(units(b.mass_g + workshop.run_purge_g) for b in batches if b.filament == name)
        there = sum(units(s.grams_left) for s in workshop.spools if s.filament == name)
        told.append(
            f"{math.ceil((need - there) / UNITS_PER_GRAM)} g of {name}"
            f" ({math.ceil(need / UNITS_PER_GRAM)} g are needed, {there // UNITS_PER_GRAM} g are there)"
        )
    return Infeasible(
        f'the shelf lacks {"; ".join(told)}, and buy = "never".',
        where="workshop.toml",
        next_step='Weigh the spools and add them as [[spool]], or write buy = "if needed".',
    )


def _no_packing(batches: Sequence[Batch], workshop: Workshop) -> Infeasible:
    names = ", ".join(sorted({b.filament for b in batches} & {s.filament for s in workshop.spools}))
    return Infeasible(
        f"the shelf holds the grams of {names}, but no order of the beds was found in which every bed gets"
        ' its own from the spools as they are, and buy = "never".',
        where="workshop.toml",
        next_step='Write buy = "if needed", or lengthen the attendance so that spools can be changed.',
    )
