"""What became of every bed of an earlier plan: done, failed, running or open."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from planner.errors import RecordError
from planner.model.batch import Batch
from planner.model.finding import Finding
from planner.model.moments import minutes_after, told_in
from planner.model.replan import EarlierPlan, Marks, PastRun
from planner.model.schedule import RUNNING, Draw, Run

Fate = Literal["done", "failed", "running", "open"]
FATES: tuple[Fate, ...] = ("done", "failed", "running")
MOST_NAMED = 6  # beds in one finding
LONGER = 0.1  # share of its time that a late run is taken to last on, where nobody says; assumption
LEAST_LONGER = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Outcomes:
    """The beds of an earlier plan by what became of them.

    ``past`` are those that are over, with those of plans before; ``newly`` the ones of this plan among them.
    ``running`` go on, their end corrected where it lay in the past; ``open`` have not begun.
    """

    past: tuple[PastRun, ...]
    newly: tuple[PastRun, ...]
    running: tuple[Run, ...]
    open: tuple[Run, ...]
    findings: tuple[Finding, ...]


def outcomes(
    earlier: EarlierPlan, marks: Marks, now: datetime, starting: Mapping[str, int] | None = None
) -> Outcomes:
    """Sort the beds of an earlier plan by their marks; what is not marked and has no end yet is open.

    Parameters
    ----------
    starting : by printer, the minutes of a start; a bed that is being started there just now, as planned,
        counts as running from its hour on

    Raises
    ------
    RecordError
        for a bed or piece that the plan does not know, two marks on one bed, two runs on one printer
    """
    batches = {batch.name: batch for batch in earlier.batches}
    _refuse_unknown(earlier, marks)
    fates = _fates(earlier, marks, now, starting or {})
    findings = _late([run for run in earlier.runs if fates[run.batch] == "open" and run.start < now])
    running = []
    for run in (run for run in earlier.runs if fates[run.batch] == "running"):
        asked = run.batch in marks.running or run.mark == RUNNING or run.start <= now
        if not asked:
            running.append(_local(run, now))  # being started just now, as planned
            continue
        kept, found = _going_on(run, batches[run.batch], now, marks.at.get(run.batch))
        running.append(kept)
        findings += found
    _refuse_two_at_once(earlier, running)
    findings += _on_one_spool(running)
    over = [
        _over(run, batches[run.batch], fates[run.batch], marks, now)
        for run in earlier.runs
        if fates[run.batch] in ("done", "failed")
    ]
    past = _named(_on_beds(earlier.past, over, {run.printer for run in running}))
    return Outcomes(
        past,
        past[len(earlier.past) :],
        tuple(running),
        tuple(run for run in earlier.runs if fates[run.batch] == "open"),
        tuple(findings),
    )


def _fates(earlier: EarlierPlan, marks: Marks, now: datetime, starting: Mapping[str, int]) -> dict[str, Fate]:
    """What became of every bed. What prints by its mark holds its printer and its spools.

    Whatever was to come after it there has not begun, although it should have as planned.
    """
    fates = {
        run.batch: _fate(run, marks, now, timedelta(minutes=starting.get(run.printer, 0)))
        for run in earlier.runs
    }
    holding = [run for run in earlier.runs if run.batch in marks.running]
    marked = {name for fate in FATES for name in getattr(marks, fate)}
    for run in earlier.runs:
        told = run.batch in marked or run.mark != ""
        if not told and any(_waits(run, other) for other in holding):
            fates[run.batch] = "open"
    return fates


def _waits(run: Run, other: Run) -> bool:
    """Whether a run was to begin after another, on its printer or with a spool of it."""
    spools = {draw.spool for draw in run.draws} & {draw.spool for draw in other.draws}
    return run.start > other.start and (run.printer == other.printer or bool(spools))


def _fate(run: Run, marks: Marks, now: datetime, starting: timedelta) -> Fate:
    """The mark of a bed: as given now, else as the file says, else as planned where that is said."""
    given: list[Fate] = [fate for fate in FATES if run.batch in getattr(marks, fate)]
    if given:
        return given[0]
    if run.mark in ("done", "failed"):
        return run.mark  # type: ignore[return-value]
    if marks.as_planned and run.end <= now:
        return "done"
    if run.mark == RUNNING or (marks.as_planned and run.start - starting < now):
        return "running"
    return "open"


def _refuse_unknown(earlier: EarlierPlan, marks: Marks) -> None:
    beds = [run.batch for run in earlier.runs]
    for fate in FATES:
        _refuse(getattr(marks, fate), beds, f"--{fate}", "bed", earlier)
    everything = (*marks.done, *marks.failed, *marks.running)
    twice = next((bed for bed in everything if everything.count(bed) > 1), None)
    if twice is not None:
        raise RecordError(f"{twice!r} is marked twice.", where=f"marks of {earlier.source}")
    failed = {
        placed.piece
        for batch in earlier.batches
        for placed in batch.placed
        if batch.name in marks.failed
        or any(r.mark == "failed" for r in earlier.runs if r.batch == batch.name)
    }
    _refuse(marks.good, sorted(failed), "--good", "piece of a failed bed", earlier)


def _refuse(given: Iterable[str], known: list[str], option: str, what: str, earlier: EarlierPlan) -> None:
    for name in given:
        if name not in known:
            over = next((past for past in earlier.past if past.batch.name == name), None)
            told = f"{name!r} is already {over.outcome} in" if over else f"there is no {what} {name!r} in"
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"Did you mean {near[0]!r}? " if near else ""
            listed = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
            raise RecordError(
                f"{told} {earlier.source}.", where=option, next_step=f"{hint}Known: {listed or 'none'}."
            )


def _going_on(run: Run, batch: Batch, now: datetime, ends: datetime | None) -> tuple[Run, list[Finding]]:
    """A run that goes on: until it is told to end, as it was planned, or a while longer where it is late."""
    if ends is not None and ends <= now:
        raise RecordError(
            f"{batch.name!r} is marked as running until {ends:%Y-%m-%d %H:%M}, and the plan starts at"
            f" {now:%Y-%m-%d %H:%M}.",
            where="--running",
            next_step="Give a later end, or mark it done or failed.",
        )
    kept = _local(run, now)
    if run.start > now:
        text = "it was to begin later: taken to have begun just now."
        ends = ends or minutes_after(now, (run.end - run.start) / timedelta(minutes=1))
        return replace(kept, start=told_in(now, now.tzinfo), end=told_in(ends, now.tzinfo)), [
            Finding(batch.name, text)
        ]
    if ends is not None:
        return replace(kept, end=told_in(ends, now.tzinfo)), []
    if run.end <= now:
        more = max(LEAST_LONGER, LONGER * (now - run.start))
        ends = minutes_after(now, round(more / timedelta(minutes=1)))
        text = (
            f"it was to end {kept.end:%Y-%m-%d %H:%M} and is marked as running: taken to end"
            f" {ends:%Y-%m-%d %H:%M}, a guess. Say when it ends, as its printer tells:"
            f' --running "{batch.name}={ends:%Y-%m-%dT%H:%M}".'
        )
        return replace(kept, end=ends), [Finding(batch.name, text)]
    return kept, []


def _local(run: Run, now: datetime) -> Run:
    """Running, its times in the zone of the plan."""
    return replace(run, mark=RUNNING, start=told_in(run.start, now.tzinfo), end=told_in(run.end, now.tzinfo))


def _late(runs: list[Run]) -> list[Finding]:
    """One finding for all beds that should have begun and carry no mark."""
    if not runs:
        return []
    told = ", ".join(f"{run.batch} ({run.start:%Y-%m-%d %H:%M})" for run in runs[:MOST_NAMED])
    more = f" and {len(runs) - MOST_NAMED} more" if len(runs) > MOST_NAMED else ""
    text = (
        f"{told}{more}: to have begun, without a mark, and taken as not begun."
        " Mark them done, failed or running, or say --as-planned."
    )
    return [Finding("beds without a mark", text)]


def _refuse_two_at_once(earlier: EarlierPlan, running: list[Run]) -> None:
    for n, run in enumerate(running):
        for other in running[:n]:
            if other.printer == run.printer:
                raise RecordError(
                    f"{other.batch!r} and {run.batch!r} are both marked as running on {run.printer!r}.",
                    where=f"marks of {earlier.source}",
                    next_step="Mark the one that is over as done or failed.",
                )


def _on_one_spool(running: Sequence[Run]) -> list[Finding]:
    """Two beds that run by their marks with one spool on two printers: somebody took another one."""
    found = []
    for n, run in enumerate(running):
        for other in running[:n]:
            for spool in sorted({draw.spool for draw in run.draws} & {draw.spool for draw in other.draws}):
                text = (
                    f"run now, both with spool {spool!r}, which hangs on one printer at a time: one of them"
                    " prints from another spool. Weigh the spools, and set their grams_left in workshop.toml."
                )
                found.append(Finding(f"{other.batch} and {run.batch}", text))
    return found


def _over(run: Run, batch: Batch, fate: Fate, marks: Marks, now: datetime) -> PastRun:
    """A run that is over. One that failed has drawn what it could have drawn until it did, at most all of it.

    Where nobody says when that was, it is now.
    """
    ended_at = marks.at.get(run.batch, now)
    if ended_at > now:
        raise RecordError(
            f"{run.batch!r} is marked {fate} at {ended_at:%Y-%m-%d %H:%M}, and the plan starts at"
            f" {now:%Y-%m-%d %H:%M}.",
            where=f"--{fate}",
            next_step="Give a moment before the start of the plan.",
        )
    told = run.batch in marks.at
    share = 1.0
    if fate == "failed" and run.end > run.start:
        share = min(1.0, max(0.0, (ended_at - run.start) / (run.end - run.start)))
    left = share * run.total_g
    draws = []
    for draw in run.draws:
        grams = round(min(left, draw.grams), 2)
        draws.append(Draw(draw.spool, grams, min(draw.before_g, grams)))
        left = max(0.0, left - draw.grams)
    begun = share > 0.0
    ended = replace(
        run,
        mark="",
        start=min(run.start, ended_at),
        end=ended_at if told else min(run.end, now),
        draws=tuple(draws),
        purge_g=run.purge_g if begun else 0.0,
        dry_at=None,
        short_g=0.0,
    )
    good = tuple(placed.piece for placed in batch.placed if placed.piece in marks.good)
    return PastRun(ended, batch, "failed" if fate == "failed" else "done", good if fate == "failed" else ())


def _named(past: tuple[PastRun, ...]) -> tuple[PastRun, ...]:
    """Names that no run of the new plan has."""
    return tuple(replace(one, run=replace(one.run, name=f"past {n}")) for n, one in enumerate(past, start=1))


def _on_beds(before: Sequence[PastRun], over: Sequence[PastRun], busy: set[str]) -> tuple[PastRun, ...]:
    """The last bed of a printer still lies there, unless something runs there now or it was cleared."""
    past = (*before, *(replace(one, on_bed=True) for one in over))
    last: Mapping[str, int] = {
        one.run.printer: n for n, one in sorted(enumerate(past), key=lambda pair: (pair[1].run.end, pair[0]))
    }
    return tuple(
        replace(one, on_bed=one.on_bed and last[one.run.printer] == n and one.run.printer not in busy)
        for n, one in enumerate(past)
    )
