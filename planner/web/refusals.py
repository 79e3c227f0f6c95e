"""Refusals in words for a person at the page, who has no options of a command line."""

from __future__ import annotations

from planner.errors import OutputError, PlannerError
from planner.web.words import say
from planner.web.workspace import FULL


def told_at_page(error: PlannerError) -> str:
    """The error in its words; where results cannot be written, with what can be done at the page."""
    if not isinstance(error, OutputError):
        return str(error)
    cause = error.__cause__
    if isinstance(cause, OSError) and cause.errno in FULL:
        return say("disk_full")
    return str(OutputError(error.what, where=error.where, next_step=say("results_place_next")))
