"""Finished pieces that must be printed once more: broken since, or of a design that is no longer wanted."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import replace

from planner.errors import RecordError
from planner.model.replan import EarlierPlan, PastRun
from planner.pipeline.replan.outcomes import Outcomes

MOST_NAMED = 12  # pieces in one refusal


def printed_again(became: Outcomes, earlier: EarlierPlan, pieces: Sequence[str]) -> Outcomes:
    """The outcomes without these pieces among what is there to be used.

    Raises
    ------
    RecordError
        for a piece that no bed which is over has left for use
    """
    wanted = dict.fromkeys((*pieces, *earlier.again))
    there = [piece for past in became.past for piece in past.delivered]
    for piece in wanted:
        if piece not in there:
            _refuse(piece, there, became, earlier)
    past = tuple(_less(one, wanted) for one in became.past)
    return replace(became, past=past, newly=past[len(earlier.past) :])


def _less(past: PastRun, wanted: dict[str, None]) -> PastRun:
    lost = tuple(piece for piece in past.delivered if piece in wanted)
    return replace(past, scrapped=(*past.scrapped, *lost)) if lost else past


def _refuse(piece: str, there: Sequence[str], became: Outcomes, earlier: EarlierPlan) -> None:
    bed = next((b.name for b in earlier.batches for placed in b.placed if placed.piece == piece), None)
    if bed is not None and bed in {run.batch for run in became.running}:
        told = f"{piece!r} is on {bed}, which prints now."
        hint = f'Mark {bed} as done first, or as failed with its --good pieces: --failed "{bed}".'
    else:
        told = f"{piece!r} is not printed yet; it is on {bed}." if bed else f"there is no piece {piece!r}."
        near = difflib.get_close_matches(piece, there, n=1)
        listed = ", ".join(there[:MOST_NAMED]) + (" ..." if len(there) > MOST_NAMED else "")
        hint = (f"Did you mean {near[0]!r}? " if near else "") + f"Printed: {listed or 'none'}."
    raise RecordError(told, where=f"--again, {earlier.source}", next_step=hint)
