"""What the person does when: handling of every run, merged into visits, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from planner.model.batch import Batch
from planner.model.printer import Printer
from planner.model.schedule import Run, Visit
from planner.model.workshop import Workshop
from planner.schedule.calendar import LAST_HORIZON_DAYS, Window, at_minute, minute_of, windows, zone_of

VISIT_GAP_MINUTES = 15  # two tasks less than this apart are one walk to the printers


@dataclass(frozen=True, slots=True)
class Task:
    """One stretch of the person's time, in minutes after the start of the plan."""

    begin: int
    end: int
    words: tuple[str, ...]


def visits_of(
    runs: Sequence[Run], batches: Mapping[str, Batch], workshop: Workshop, start: datetime
) -> tuple[Visit, ...]:
    """The visits that the runs ask for, the last clearing of every bed included."""
    tasks = _start_tasks(runs, batches, workshop, start)
    tasks += _last_clearings(runs, workshop, start)
    zone = zone_of(workshop.attendance, start)
    visits: list[Visit] = []
    for group in _merged(sorted(tasks, key=lambda task: (task.begin, task.end, task.words))):
        words = tuple(word for task in group for word in task.words)
        last = max(task.end for task in group)
        visits.append(Visit(at_minute(start, group[0].begin, zone), last - group[0].begin, words))
    return tuple(visits)


def _start_tasks(
    runs: Sequence[Run], batches: Mapping[str, Batch], workshop: Workshop, start: datetime
) -> list[Task]:
    tasks: list[Task] = []
    before: dict[str, Run] = {}
    mounted: dict[str, str] = {}
    for run in runs:
        printer = _printer(workshop, run.printer)
        filament = workshop.filament(batches[run.batch].filament)
        minutes, words = workshop.start_minutes, []
        last = before.get(run.printer)
        if last is not None:
            minutes += workshop.clear_minutes
            words.append(f"clear {last.batch} from {printer.name}")
        loaded = batches[last.batch].filament if last is not None else printer.loaded
        if loaded != filament.name:
            minutes += workshop.change_minutes
            off = f" (take {loaded} off)" if loaded else ""
            words.append(f"put {filament.name} on {printer.name}{off}")
        if run.draws and mounted.get(run.printer) != run.draws[0].spool:
            words.append(f"put spool {run.draws[0].spool} on {printer.name}")
        words.append(f"start {run.batch} on {printer.name}")
        began = round(minute_of(start, run.start))
        length = round(minute_of(run.start, run.end))
        watch = min(filament.watch_minutes, length)
        if watch:
            words.append(f"watch the first layers of {run.batch} for {watch} min")
        tasks.append(Task(began - minutes, began + watch, tuple(words)))
        tasks += _spool_changes(run, start)
        before[run.printer] = run
        if run.draws:
            mounted[run.printer] = run.draws[-1].spool
    return tasks


def _spool_changes(run: Run, start: datetime) -> list[Task]:
    """Changes from one spool to the next in the middle of a run, where its grams say they fall."""
    total = sum(draw.grams for draw in run.draws)
    began, length = minute_of(start, run.start), minute_of(run.start, run.end)
    tasks, done = [], 0.0
    for taken, following in zip(run.draws, run.draws[1:], strict=False):
        done += taken.grams
        at = math.floor(began + length * done / total)
        words = (
            f"change from spool {taken.spool} to spool {following.spool} on {run.printer} during {run.batch}"
        )
        tasks.append(Task(at, at + 1, (words,)))
    return tasks


def _last_clearings(runs: Sequence[Run], workshop: Workshop, start: datetime) -> list[Task]:
    """Each printer's last bed is cleared when somebody is next there and the bed has cooled."""
    last = {run.printer: run for run in runs}
    if not last:
        return []
    ends = {name: math.ceil(minute_of(start, run.end)) for name, run in last.items()}
    days = min(LAST_HORIZON_DAYS, max(ends.values()) // (24 * 60) + 15)
    spans = windows(workshop.attendance, start, days)
    tasks = []
    for name, run in last.items():
        ready = ends[name] + math.ceil(_printer(workshop, name).cool_down_minutes)
        at = _attended_from(spans, ready)
        tasks.append(Task(at, at + workshop.clear_minutes, (f"clear {run.batch} from {name}",)))
    return tasks


def _attended_from(spans: Sequence[Window], ready: int) -> int:
    for since, until in spans:
        if until > ready:
            return max(since, ready)
    return ready


def _merged(tasks: Sequence[Task]) -> list[list[Task]]:
    groups: list[list[Task]] = []
    for task in tasks:
        if groups and task.begin - max(earlier.end for earlier in groups[-1]) < VISIT_GAP_MINUTES:
            groups[-1].append(task)
        else:
            groups.append([task])
    return groups


def _printer(workshop: Workshop, name: str) -> Printer:
    return next(printer for printer in workshop.printers if printer.name == name)
