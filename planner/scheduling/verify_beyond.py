"""What spools beyond those that the grams need bring and cost; shares no code with the search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from planner.model.batch import Batch
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.verify import HALF_A_HUNDREDTH_G
from planner.scheduling.verify_buying import least_spools

_TOLD_H = 1e-6


def beyond_faults(
    schedule: Schedule, uses: Sequence[SpoolUse], batches: Sequence[Batch], workshop: Workshop
) -> tuple[str, ...]:
    """One sentence for each number of the spools beyond the grams that spools and prices do not make."""
    return (*_sooner(schedule), *_beyond(schedule, uses, batches, workshop))


def _sooner(schedule: Schedule) -> Iterator[str]:
    """How much sooner the plan ends with the spools beyond the grams than without."""
    told = schedule.buying
    if told is not None and told.other_finish is not None:
        later = (told.other_finish.timestamp() - schedule.finish.timestamp()) / 3600.0
        sooner = later if told.bought else -later
        if abs(sooner - told.sooner_h) > _TOLD_H:
            yield f"the spools beyond need save {told.sooner_h:g} h as told, {sooner:g} h in truth."


def _beyond(
    schedule: Schedule, uses: Sequence[SpoolUse], batches: Sequence[Batch], workshop: Workshop
) -> Iterator[str]:
    """How many spools are bought beyond the grams, and for how much; of those that are not, what can be said.

    Of spools that are not bought nobody knows here of which filaments they would be: only that they are of
    filaments that the beds ask for, so many in all.
    """
    told = schedule.buying
    if told is None:
        return
    used = {batch.filament for batch in batches}
    prices = {f.name: f.price_minor for f in workshop.filaments if f.name in used}
    if not told.bought:
        if not _made_of(told.price_minor, told.spools, list(prices.values())):
            yield f"{told.spools} spools are told to cost {told.price_minor}, which no prices make."
        return
    counts = [_more(uses, batches, workshop, slack) for slack in (HALF_A_HUNDREDTH_G, -HALF_A_HUNDREDTH_G)]
    if told.spools not in [count.total() for count in counts]:
        yield f"{told.spools} spools are told to be bought beyond need, {counts[0].total()} are."
        return
    own = [_price(count, prices) for count in counts]
    if told.price_minor not in own:
        yield f"{told.spools} spools are told to cost {told.price_minor}, their prices make {own[0]}."


def _more(
    uses: Sequence[SpoolUse], batches: Sequence[Batch], workshop: Workshop, slack: float
) -> Counter[str]:
    """New spools of each filament beyond those that the grams ask for, rounded so far per bed."""
    found: Counter[str] = Counter()
    for filament in workshop.filaments:
        own = [b.mass_g + workshop.run_purge_g - slack for b in batches if b.filament == filament.name]
        shelf = sum(s.grams_left for s in workshop.spools if s.filament == filament.name)
        bought = sum(use.bought and use.filament == filament.name for use in uses)
        found[filament.name] = max(0, bought - least_spools(sum(own), shelf, filament.spool_g))
    return +found


def _price(spools: Counter[str], prices: Mapping[str, int | None]) -> int | None:
    each = [(number, prices.get(name)) for name, number in spools.items()]
    known = [number * price for number, price in each if price is not None]
    return sum(known) if len(known) == len(each) else None


def _made_of(total: int | None, spools: int, prices: Sequence[int | None]) -> bool:
    """Whether so many spools can cost that; no price is told where that of one is not known."""
    if total is None:
        return None in prices
    sums = {0}
    for _ in range(spools):
        sums = {one + price for one in sums for price in set(prices) if price is not None}
    return total in sums
