"""Spools that came out of a dryer, or are not dry, as facts; and what they say to a plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from planner.errors import RecordError

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.ledger.fact import Fact
    from planner.model.replan import EarlierPlan
    from planner.pipeline.job import Job


def told_dry(
    kind: str, names: Sequence[str], plan: EarlierPlan, fact_of: Callable[[str, str], Fact]
) -> list[tuple[Fact, str]]:
    """A fact and a sentence for each spool that is told to be dried, or wet.

    Parameters
    ----------
    fact_of : makes a fact of a kind about a spool

    Raises
    ------
    RecordError
        where no spool is named, or one that the plan does not know
    """
    from planner.ledger.names import nearest

    if not names:
        raise RecordError(
            f"no spool is named that is {kind}.",
            where=f"planner record {kind}",
            next_step=f'Write it like: planner record {kind} "PA 1"',
        )
    known = list(dict.fromkeys([*(use.spool for use in plan.spools), *_in_dryers(plan)]))
    found = []
    for name in names:
        spool = nearest(name, known, "spool")
        line = (
            f"{spool} is out of the dryer" if kind == "dried" else f"{spool} is to be dried before it is used"
        )
        found.append((fact_of(kind, spool), line))
    return found


def _in_dryers(plan: EarlierPlan) -> list[str]:
    return [name for load in plan.drying for name in load.spools]


def last_told(facts: Iterable[Fact]) -> dict[str, tuple[datetime, bool]]:
    """By spool, when it was last told to be dry (true) or wet; the last fact counts."""
    from planner.ledger.fact import DRIED, WET

    return {fact.about: (fact.at, fact.kind == DRIED) for fact in facts if fact.kind in (DRIED, WET)}


def with_dried(
    job: Job, earlier: EarlierPlan | None, facts: Iterable[Fact]
) -> tuple[Job, EarlierPlan | None]:
    """The shelf, and the earlier plan, with what the ledger tells of drying."""
    last = last_told(facts)
    if not last:
        return job, earlier
    spools = tuple(
        replace(spool, dried=last[spool.name][0] if last[spool.name][1] else None)
        if spool.name in last
        else spool
        for spool in job.workshop.spools
    )
    job = replace(job, workshop=replace(job.workshop, spools=spools))
    return job, None if earlier is None else replace(earlier, told_dry=last)
