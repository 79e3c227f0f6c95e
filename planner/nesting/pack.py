"""Lay pieces on beds of several kinds."""

from __future__ import annotations

from dataclasses import replace

from planner.nesting.boxes.constructive import instant
from planner.nesting.improve.group_sections import MOST_QUESTIONS, QUESTION_STEPS, gathered
from planner.nesting.problem.item import Arrangement
from planner.nesting.problem.placement import filled_bed
from planner.nesting.problem.problem import NestingProblem


def fill(problem: NestingProblem) -> Arrangement:
    """Lay every piece that some bed takes on as few beds as can be found.

    Without steps boxes only are laid; else the true outlines are searched with, and then sections brought
    together where that takes no bed more.
    """
    beds, misfits = instant(problem)
    left_over = {misfit.piece for misfit in misfits}
    rest = replace(
        problem,
        items=[item for item in problem.items if item.piece not in left_over],
        steps=problem.budget,
    )
    if rest.budget > 0 and len(beds) > 1:
        from planner.nesting.improve.eliminate_bins import (
            fewer_beds,  # compiled code stays off the start-up path
        )

        beds = fewer_beds(rest, beds)
    more = len(beds) > 1 and len({item.group for item in rest.items}) > 1
    if rest.budget > 0 and more and not rest.stop(rest.budget):
        beds = gathered(rest, beds, questions=min(MOST_QUESTIONS, rest.budget // (8 * QUESTION_STEPS)))
    known = {item.piece: item for item in problem.items}
    return Arrangement(tuple(filled_bed(kind, placed, known) for kind, placed in beds), misfits)
