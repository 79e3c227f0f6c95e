"""What may go wrong, as it is told: shares and orders that hold whatever worlds were drawn."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from planner.model.plan import Plan
from planner.model.risk import Risk

SLACK_G = 1e-6
MINUTE = timedelta(minutes=1)  # moments are told in whole ones, rounded up


def risk_faults(plan: Plan) -> Iterator[str]:
    """Nothing where no worlds were asked for."""
    if plan.risk is None:
        return
    if not plan.schedule.runs:
        yield "worlds are told of a plan in which nothing runs"
        return
    yield from _finish(plan, plan.risk)
    yield from _beds(plan, plan.risk)
    yield from _grams(plan, plan.risk)


def _finish(plan: Plan, risk: Risk) -> Iterator[str]:
    last = max(run.start for run in plan.schedule.runs)
    shares = [one.share for one in risk.finish]
    if (
        shares != sorted(set(shares))
        or not {0.5, 0.9} <= set(shares)
        or not 0.0 < shares[0] <= shares[-1] < 1
    ):
        yield "the shares of worlds do not rise from above 0 to below 1 with half and nine tenths among them"
    for one, following in pairwise(risk.finish):
        if following.at is not None and (one.at is None or one.at > following.at):
            yield f"{following.share:.0%} of worlds end before {one.share:.0%} of them do"
    for one in risk.finish:
        if one.at is not None and one.at < last:
            yield f"{one.share:.0%} of worlds are told to end before the last bed is to begin"
        if (one.at is None) != (risk.unfinished > 1.0 - one.share + 1e-9):
            yield f"{risk.unfinished:.1%} of worlds never end, which does not go with {one.share:.0%} of them"
        if one.at is not None and one.share <= risk.kept - 1e-9 and one.at >= plan.schedule.finish + MINUTE:
            yield f"{risk.kept:.1%} of worlds are told to keep the finish, {one.share:.0%} end after it"
        if one.at is not None and one.share > risk.kept + 1e-9 and one.at < plan.schedule.finish:
            yield f"{risk.kept:.1%} of worlds are told to keep the finish, {one.share:.0%} end before it"
    if min(risk.kept, risk.unfinished) < 0.0 or (risk.kept + risk.unfinished > 1.0 + 1e-9):
        yield "shares of worlds that keep the finish, and that never end, do not add up"


def _beds(plan: Plan, risk: Risk) -> Iterator[str]:
    if sorted(one.bed for one in risk.beds) != sorted(run.batch for run in plan.schedule.runs):
        yield "the beds that the finish may hang on are not those that run"
    if [one.decides for one in risk.beds] != sorted((one.decides for one in risk.beds), reverse=True):
        yield "the bed that decides the finish in most worlds does not come first"
    if risk.beds and sum(one.decides for one in risk.beds) + risk.unfinished < 1.0 - 1e-9:
        yield "the finish of some worlds hangs on no bed"
    for one in risk.beds:
        if not (0.0 <= one.decides <= 1.0 and 0.0 <= one.fails <= 1.0):
            yield f"{one.bed} decides or fails in a share of worlds that is none"
        if one.decides == 0.0 and one.sooner_h != 0.0:
            yield f"{one.bed} decides no finish, and is told to make it later"


def _grams(plan: Plan, risk: Risk) -> Iterator[str]:
    filament = {batch.name: batch.filament for batch in plan.batches}
    planned: dict[str, float] = {}
    for run in plan.schedule.runs:
        name = filament[run.batch]
        planned[name] = planned.get(name, 0.0) + sum(d.grams for d in run.draws) + run.short_g + run.purge_g
    if {one.filament for one in risk.filaments} != planned.keys():
        yield "the filaments that may be needed are not those of the beds"
    for one in risk.filaments:
        if abs(planned.get(one.filament, one.planned_g) - one.planned_g) > SLACK_G * max(1.0, one.planned_g):
            yield f"{one.filament}: {one.planned_g} g are told as planned, the runs take others"
        if not one.planned_g - SLACK_G <= one.half_g <= one.most_g:
            yield f"{one.filament}: grams as planned, in half and in nine tenths of worlds do not rise"
