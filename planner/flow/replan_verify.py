"""Whether a plan goes on rightly from an earlier one; it shares no code with what made it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from planner.model.plan import Plan
from planner.model.replan import EarlierPlan, Marks

HALF_A_HUNDREDTH_G = 0.0051


def since_faults(plan: Plan, earlier: EarlierPlan, marks: Marks) -> tuple[str, ...]:
    """One sentence for everything that does not hold between the two plans and the marks."""
    return (
        *_fates(plan, earlier, marks),
        *_running(plan, earlier),
        *_pieces(plan, earlier),
        *_moves(plan, earlier),
        *_shelf(plan, earlier),
    )


def _fates(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """Every marked bed is what its mark says; every bed is over, runs, is planned, or was dropped."""
    over = {past.batch.name: past.outcome for past in plan.past}
    runs = {run.batch: run.mark for run in plan.schedule.runs}
    dropped = (
        {change.batch for change in plan.replan.changes if change.kind == "dropped"} if plan.replan else set()
    )
    for name in marks.done:
        if over.get(name) != "done":
            yield f"{name} is done, but not in the plan"
    for name in marks.failed:
        if over.get(name) != "failed":
            yield f"{name} failed, but not in the plan"
    for name in marks.running:
        if runs.get(name) != "running":
            yield f"{name} is running, but not in the plan"
    for run in earlier.runs:
        places = (run.batch in over) + (run.batch in runs) + (run.batch in dropped)
        if places != 1:
            yield f"{run.batch} of the earlier plan is in {places} places of the new one"


def _running(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """What runs keeps its bed, printer, spools, and its end where that is still to come."""
    was = {run.batch: run for run in earlier.runs}
    beds = {batch.name: batch for batch in earlier.batches}
    now = {batch.name: batch for batch in plan.batches}
    for run in plan.schedule.runs:
        if run.mark != "running":
            continue
        old = was[run.batch]
        if (run.printer, run.draws) != (old.printer, old.draws) or beds[run.batch] != now[run.batch]:
            yield f"{run.batch} runs, and its bed, printer or spool was changed"
        if old.start <= plan.start <= old.end and (run.start, run.end) != (old.start, old.end):
            yield f"{run.batch} runs, and its times were changed"


def _pieces(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """What failed is printed again, what is there is not, and nothing is forgotten."""
    wanted = {piece.name for piece in plan.pieces}
    coming: dict[str, int] = defaultdict(int)
    for batch in plan.batches:
        for placed in batch.placed:
            coming[placed.piece] += 1
    there: set[str] = set()
    for past in plan.past:
        for placed in past.batch.placed:
            if past.outcome == "done" or placed.piece in past.good:
                there.add(placed.piece)
    nowhere = {misfit.piece for misfit in plan.misfits}
    for name in sorted(wanted):
        if coming[name] + (name in there) + (name in nowhere) != 1:
            yield f"{name} is there or printed {coming[name] + (name in there)} times"


def _moves(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """The number of beds that moved, counted anew."""
    was = {run.batch: (run.printer, run.start) for run in earlier.runs}
    moved = sum(
        run.batch in was and (run.printer, run.start) != was[run.batch]
        for run in plan.schedule.runs
        if not run.mark
    )
    if plan.replan is None or moved != plan.replan.moved:
        yield f"{moved} beds moved, which is not what the plan tells"


def _shelf(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """Of a spool that nobody weighed, what was drawn since is gone."""
    known = {past.run.name for past in earlier.past}
    drawn: dict[str, float] = defaultdict(float)
    for past in plan.past[len(earlier.past) :]:
        for n, draw in enumerate(past.run.draws):
            drawn[draw.spool] += draw.grams + (past.run.purge_g if n == 0 else 0.0)
    if len(known) > len(plan.past):
        yield "runs that were over are forgotten"
    before = {use.spool: use for use in earlier.spools}
    told = plan.replan.told_g if plan.replan else {}
    for spool in plan.workshop.spools:
        use = before.get(spool.name)
        weighed = spool.name in told and abs(told[spool.name] - earlier.told_g.get(spool.name, -1.0)) > 0.005
        if use is None or weighed:
            continue
        left = max(0.0, use.grams_before - drawn[spool.name])
        running = any(
            draw.spool == spool.name for run in plan.schedule.runs if run.mark for draw in run.draws
        )
        if abs(left - spool.grams_left) > HALF_A_HUNDREDTH_G and not (running and spool.grams_left > left):
            yield f"spool {spool.name} holds {spool.grams_left} g, but {left:.2f} g are left"
