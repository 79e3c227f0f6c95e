"""Whether spools are bought as the workshop says; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from planner.model.batch import Batch
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.verify import HALF_A_HUNDREDTH_G, elapsed

FINISH_TOLERANCE = 1.01  # a plan that ends so much later is as good


def verify_buying(
    schedule: Schedule,
    uses: Sequence[SpoolUse],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    *,
    goes_on: bool = False,
) -> tuple[str, ...]:
    """Where spools are bought otherwise than the workshop says; one beyond the grams needs a reason.

    Parameters
    ----------
    goes_on : the plan goes on from another: its beds keep their times, and spools follow them
    """
    return tuple(_buy_faults(schedule, uses, batches, workshop, start, goes_on=goes_on))


def _buy_faults(
    schedule: Schedule,
    uses: Sequence[SpoolUse],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    *,
    goes_on: bool,
) -> Iterator[str]:
    bought = [use for use in uses if use.bought]
    if workshop.buy == "never":
        yield from (f"{use.spool} is bought, and nothing may be bought." for use in bought)
    if workshop.buy != "if needed" or not workshop.spools or goes_on:
        return
    for filament in workshop.filaments:
        need = sum(b.mass_g + workshop.run_purge_g for b in batches if b.filament == filament.name)
        shelf = sum(s.grams_left for s in workshop.spools if s.filament == filament.name)
        mine = [use for use in bought if use.filament == filament.name]
        least = least_spools(need - HALF_A_HUNDREDTH_G * len(batches), shelf, filament.spool_g)
        told = schedule.buying
        if len(mine) > least and (told is None or not told.bought):
            yield f"{mine[-1].spool} is bought, and the shelf covers the grams of {filament.name}."
        elif len(mine) > least and told is not None and told.other_finish is not None:
            with_them, without = (elapsed(start, end) for end in (schedule.finish, told.other_finish))
            if without <= FINISH_TOLERANCE * with_them:
                yield f"{mine[-1].spool} is bought, but the plan without it ends hardly later."


def least_spools(need: float, shelf: float, spool_g: float) -> int:
    """How many new ones the grams ask for beside what is on the shelf."""
    least = 0
    while shelf + least * spool_g < need:
        least += 1
    return least
