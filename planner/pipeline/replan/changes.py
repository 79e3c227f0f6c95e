"""What became of each bed since the earlier plan."""

from __future__ import annotations

from datetime import datetime

from planner.model.moments import told_in
from planner.model.replan import Change, EarlierPlan, Slot
from planner.model.schedule import Run, Schedule
from planner.pipeline.replan.beds import BedsLeft
from planner.pipeline.replan.outcomes import Outcomes
from planner.units import hours_text


def changes_of(
    earlier: EarlierPlan, became: Outcomes, left: BedsLeft, schedule: Schedule, now: datetime
) -> tuple[Change, ...]:
    """One change for each bed: what is over and what runs, then what is left in the order of its runs."""
    was = {run.batch: _slot(run, now) for run in earlier.runs}
    open_ = {run.batch for run in became.open}
    spools = {run.batch: tuple(draw.spool for draw in run.draws) for run in earlier.runs}
    found = [
        Change(past.batch.name, past.outcome, was.get(past.batch.name), None, _good(past.good))
        for past in became.newly
    ]
    for run in schedule.runs:
        new = _slot(run, now)
        if run.mark:
            found.append(Change(run.batch, "running", was.get(run.batch), new))
        elif run.batch not in open_:
            found.append(Change(run.batch, "new", None, new, left.notes.get(run.batch, "new bed")))
        else:
            old = was[run.batch]
            stays = (old.printer, old.start) == (new.printer, new.start)
            note = "" if stays else _moved(old, new)
            drawn = tuple(draw.spool for draw in run.draws)
            if drawn != spools[run.batch]:
                note = "; ".join(filter(None, [note, f"spool {' and '.join(drawn)}"]))
            found.append(Change(run.batch, "stays" if stays else "moved", old, new, note))
    found += [Change(name, "dropped", was.get(name), None, why) for name, why in left.dropped.items()]
    return tuple(found)


def _slot(run: Run, now: datetime) -> Slot:
    return Slot(run.printer, told_in(run.start, now.tzinfo), told_in(run.end, now.tzinfo))


def _good(pieces: tuple[str, ...]) -> str:
    return f"good: {', '.join(pieces)}" if pieces else ""


def _moved(old: Slot, new: Slot) -> str:
    """To another printer, later, earlier."""
    minutes = (new.start - old.start).total_seconds() / 60.0
    words = [f"from {old.printer} to {new.printer}"] if old.printer != new.printer else []
    if minutes:
        words.append(f"{hours_text(abs(minutes))} {'later' if minutes > 0 else 'earlier'}")
    return ", ".join(words)
