"""Lay pieces on beds of several kinds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from planner.errors import InputError
from planner.model.effort import Effort
from planner.nesting.boxes.constructive import instant
from planner.nesting.improve.group_sections import MOST_QUESTIONS, QUESTION_STEPS, gathered
from planner.nesting.problem.item import Arrangement, BedKind, Item
from planner.nesting.problem.placement import filled_bed


def fill(
    items: Sequence[Item],
    kinds: Sequence[BedKind],
    clearance_mm: float,
    *,
    effort: Effort,
    seed: int,
    steps: int | None = None,
    inside_rings: bool = True,
    stop: Callable[[int], bool] | None = None,
) -> Arrangement:
    """Lay every piece that some bed takes on as few beds as can be found.

    Parameters
    ----------
    items : pieces with different names
    kinds : kinds of bed with how many there are of each
    clearance_mm : distance kept between pieces
    effort : without steps for nesting boxes only are laid; else the true outlines are searched with, and
        then sections brought together where that takes no bed more
    seed : same inputs and seed, same answer
    steps : placements that the search may judge, None for what the effort stands for
    inside_rings : whether pieces may lie in the openings of others
    stop : asked again and again with the steps so far; True ends the search and the best so far is kept

    Raises
    ------
    InputError
        when the clearance is negative, or two pieces have one name
    """
    if not 0.0 <= clearance_mm <= 1000.0:
        raise InputError(f"clearance_mm = {clearance_mm!r} is not between 0 and 1000.")
    known = {item.piece: item for item in items}
    if len(known) != len(items):
        raise InputError("two pieces have the same name; each piece needs its own.")
    beds, misfits = instant(items, kinds, clearance_mm)
    budget = effort.nesting_steps * len(items) if steps is None else steps
    ask = stop or (lambda _: False)
    lying = [item for item in items if item.piece not in {m.piece for m in misfits}]
    if budget > 0 and len(beds) > 1:
        from planner.nesting.improve.eliminate_bins import (
            fewer_beds,  # compiled code stays off the start-up path
        )

        beds = fewer_beds(
            lying, beds, kinds, clearance_mm, budget, seed=seed, inside_rings=inside_rings, stop=stop
        )
    if budget > 0 and len(beds) > 1 and len({item.group for item in lying}) > 1 and not ask(budget):
        beds = gathered(
            known,
            beds,
            clearance_mm,
            seed=seed,
            inside_rings=inside_rings,
            questions=min(MOST_QUESTIONS, budget // (8 * QUESTION_STEPS)),
            stop=lambda: ask(budget),
        )
    return Arrangement(tuple(filled_bed(kind, placed, known) for kind, placed in beds), misfits)
