"""What the person does when: handling of every run, merged into visits, in words."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from planner.model.batch import Batch
from planner.model.drying import DryerLoad
from planner.model.printer import Printer
from planner.model.schedule import RUNNING, Run, Visit
from planner.model.workshop import Workshop
from planner.scheduling.problem.away_spans import minutes_away
from planner.scheduling.problem.calendar import (
    LAST_HORIZON_DAYS,
    Segment,
    Window,
    at_minute,
    minute_of,
    persons_by_window,
    windows,
    zone_of,
)

VISIT_GAP_MINUTES = 15  # two tasks less than this apart are one walk to the printers
MINUTES_PER_DAY = 24 * 60
EVER = 2 * LAST_HORIZON_DAYS * MINUTES_PER_DAY
LOOK_AHEAD_DAYS = (
    15,
    120,
    LAST_HORIZON_DAYS,
)  # how far beyond the last run a window to clear it is looked for


@dataclass(frozen=True, slots=True)
class Task:
    """One stretch of a person's time, in minutes after the start; hands are needed until ``busy``."""

    begin: int
    busy: int
    end: int
    words: tuple[str, ...]


def visits_of(
    runs: Sequence[Run],
    batches: Mapping[str, Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str] | None = None,
    drying: Sequence[DryerLoad] = (),
) -> tuple[Visit, ...]:
    """The visits that the runs ask for, the last clearing of every bed included.

    A visit is over when its window is: what falls into two windows is two visits. A last bed for which nobody
    is ever there long enough is not cleared in any visit.

    Parameters
    ----------
    on_bed : by printer, the bed of an earlier plan that still lies on it
    drying : spools that are put into a dryer and taken out; that takes a minute, and no hands from the rest
    """
    lying = dict(on_bed or {})
    tasks = _start_tasks(runs, batches, workshop, start, lying)
    tasks += _last_clearings(runs, workshop, start, lying, tasks)
    tasks += dryer_tasks(drying, runs, workshop, start)
    zone = zone_of(workshop.attendance, start)
    visits: list[Visit] = []
    tasks.sort(key=lambda task: (task.begin, task.end, _goes_in(task), task.words))
    for group in _merged(tasks, _windows_until(max((t.end for t in tasks), default=0), workshop, start)):
        words = tuple(word for task in group for word in task.words)
        last = max(task.end for task in group)
        visits.append(Visit(at_minute(start, group[0].begin, zone), last - group[0].begin, words))
    return tuple(visits)


def _start_tasks(
    runs: Sequence[Run],
    batches: Mapping[str, Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str],
) -> list[Task]:
    tasks: list[Task] = []
    anywhere = _anywhere(runs, workshop)
    before: dict[str, Run] = {}
    mounted = {printer.name: printer.mounted for printer in workshop.printers}
    for run in runs:
        tasks += _spool_changes(run, workshop, start)
        last = before.get(run.printer)
        before[run.printer], drawn = run, run.draws
        if run.mark != RUNNING:
            printer = _printer(workshop, run.printer)
            lies = last.batch if last is not None else on_bed.get(run.printer)
            loaded = batches[last.batch].filament if last is not None else printer.loaded
            on = mounted.get(run.printer, "")
            fitted = printer.fitted if last is None else printer.fit_for(batches[last.batch].fit)
            if run.draws and run.draws[0].spool in anywhere:
                run = replace(run, draws=())  # which spool it is, is not known
            tasks.append(_start_task(run, batches[run.batch], workshop, start, lies, loaded, on, fitted))
        if drawn:
            mounted[run.printer] = "" if drawn[-1].spool in anywhere else drawn[-1].spool
    return tasks


def _anywhere(runs: Sequence[Run], workshop: Workshop) -> frozenset[str]:
    """Spools that are only counted, where the workshop lists none: several printers draw from one of them."""
    if workshop.spools:
        return frozenset()
    on: dict[str, set[str]] = {}
    for run in runs:
        for draw in run.draws:
            on.setdefault(draw.spool, set()).add(run.printer)
    return frozenset(spool for spool, printers in on.items() if len(printers) > 1)


def _start_task(
    run: Run,
    batch: Batch,
    workshop: Workshop,
    start: datetime,
    lies: str | None,
    loaded: str | None,
    mounted: str,
    fitted: tuple[int, int] | None,
) -> Task:
    """Clear, change, start: what lies on the bed, the filament that is on the printer, the spool if known."""
    filament = workshop.filament(batch.filament)
    minutes, words = workshop.start_minutes, []
    if lies is not None:
        minutes += workshop.clear_minutes
        words.append(f"clear {lies} from {run.printer}")
    if loaded != batch.filament:
        minutes += workshop.change_minutes
    printer = _printer(workshop, run.printer)
    fit = printer.fit_for(batch.fit)
    if fit is not None and fitted is not None and fit != fitted:
        minutes += printer.refit_minutes(fitted, fit)
        words += _fit_words(printer, fitted, fit)
    words += _spool_words(run, batch.filament, loaded, mounted)
    words.append(f"start {run.batch} on {run.printer}")
    began = round(minute_of(start, run.start))
    watch = min(filament.watch_minutes, round(minute_of(run.start, run.end)))
    if watch:
        words.append(f"watch the first layers of {run.batch} for {watch} min")
    return Task(began - minutes, began, began + watch, tuple(words))


def _fit_words(printer: Printer, before: tuple[int, int], after: tuple[int, int]) -> list[str]:
    """Which nozzle and which plate go on."""
    words = []
    if before[0] != after[0]:
        words.append(f"put the {printer.own_nozzles[after[0]]} nozzle on {printer.name}")
    if before[1] != after[1]:
        words.append(f"put the plate {printer.own_plates[after[1]]} on {printer.name}")
    return words


def _spool_words(run: Run, filament: str, loaded: str | None, mounted: str) -> list[str]:
    """Which spool comes off and which goes on, as far as it is known."""
    wanted = run.draws[0].spool if run.draws else ""
    if wanted == mounted if wanted else loaded == filament:
        return []
    words = []
    if mounted:
        words.append(f"take {spool_name(mounted)} off {run.printer}")
    elif loaded is not None and (loaded != filament or _is_new(wanted)):
        words.append(f"take {loaded} off {run.printer}")
    if wanted and not mounted and loaded == filament and not _is_new(wanted):
        words.append(f"see that {spool_name(wanted)} is on {run.printer}")
    elif wanted:
        words.append(f"put {spool_name(wanted)} on {run.printer}")
    elif loaded != filament:
        words.append(f"put {filament} on {run.printer}")
    if loaded is not None and loaded != filament:
        words.append(f"purge {loaded} until {filament} comes")
    return words


def spool_name(spool: str) -> str:
    """A spool in the middle of a sentence: one of the shelf by its name, a new one as it is called."""
    return spool if _is_new(spool) else f"spool {spool}"


def _is_new(spool: str) -> bool:
    return spool.startswith("new ")


def dryer_tasks(
    loads: Sequence[DryerLoad], runs: Sequence[Run], workshop: Workshop, start: datetime
) -> list[Task]:
    """Every spool into its dryer, and out of it; what happened before the plan begins is over."""
    tasks = []
    for load in loads:
        filament = workshop.filament(load.filament)
        warm = "" if filament.dry_c is None else f" at {filament.dry_c:g} °C"
        put_in, take_out = (round(minute_of(start, at)) for at in (load.put_in, load.take_out))
        if put_in >= 0:
            told = f"into dryer {load.dryer} for {filament.dry_hours or 0:g} h or more{warm}"
            words = tuple(f"put {spool_name(spool)} {told}" for spool in load.spools)
            tasks.append(Task(put_in, put_in + 1, put_in + 1, words))
        if take_out <= 0:
            continue
        words = tuple(
            f"take {spool_name(spool)} out of dryer {load.dryer}{_back_on(spool, load, runs)}"
            for spool in load.spools
        )
        tasks.append(Task(take_out, take_out + 1, take_out + 1, words))
    return tasks


def _goes_in(task: Task) -> bool:
    """Whether spools go into a dryer: after others have come out of it."""
    return task.words[0].startswith("put ") and " into dryer " in task.words[0]


def _back_on(spool: str, load: DryerLoad, runs: Sequence[Run]) -> str:
    """Where it goes back to: the printer that drew from it last, if that prints nothing meanwhile."""
    begun = [run for run in runs if run.start.timestamp() <= load.take_out.timestamp()]
    begun.sort(key=lambda run: run.start.timestamp())
    last = next((run for run in reversed(begun) if any(draw.spool == spool for draw in run.draws)), None)
    if last is None or last.draws[-1].spool != spool:
        return ""
    newest = next(run for run in reversed(begun) if run.printer == last.printer)
    return f" and put it back on {last.printer}" if newest is last else ""


def _spool_changes(run: Run, workshop: Workshop, start: datetime) -> list[Task]:
    """Changes from one spool to the next in the middle of a run, where its grams say they fall."""
    total = run.total_g
    began, length = minute_of(start, run.start), minute_of(run.start, run.end)
    tasks, done = [], 0.0
    for taken, following in zip(run.draws, run.draws[1:], strict=False):
        done += taken.grams
        at = math.floor(began + length * done / total + 1e-9)
        words = (
            f"during {run.batch}: take {spool_name(taken.spool)} off {run.printer}",
            f"put {spool_name(following.spool)} on {run.printer} and see that it goes on printing",
        )
        if at >= 0:
            last = at + max(1, workshop.change_minutes)
            tasks.append(Task(at, last, last, words))
    return tasks


def _last_clearings(
    runs: Sequence[Run], workshop: Workshop, start: datetime, on_bed: Mapping[str, str], tasks: Sequence[Task]
) -> list[Task]:
    """Each printer's last bed is cleared when it has cooled and somebody is there with free hands."""
    last = {run.printer: (run.batch, math.ceil(minute_of(start, run.end))) for run in runs}
    last = {**{printer: (bed, 0) for printer, bed in on_bed.items() if printer not in last}, **last}
    if not last:
        return []
    found: list[Task] = []
    ready = {
        name: end + math.ceil(_printer(workshop, name).cool_down_minutes) for name, (_, end) in last.items()
    }
    for name in sorted(ready, key=lambda name: (ready[name], name)):
        gone = minutes_away(_printer(workshop, name).away, workshop, start, EVER)
        at = _clearing(workshop, start, [*tasks, *found], ready[name], gone)
        if at is not None:
            until = at + workshop.clear_minutes
            found.append(Task(at, until, until, (f"clear {last[name][0]} from {name}",)))
    return found


def _clearing(
    workshop: Workshop, start: datetime, tasks: Sequence[Task], ready: int, gone: Sequence[Window]
) -> int | None:
    """The first minute from which a bed can be cleared; ``None`` where nobody is ever there long enough."""
    for ahead in LOOK_AHEAD_DAYS:
        days = min(LAST_HORIZON_DAYS, ready // MINUTES_PER_DAY + ahead)
        there = persons_by_window(workshop.attendance, start, days)
        at = _free_from(there, tasks, ready, max(1, workshop.clear_minutes), gone)
        if at is not None:
            return at
    return None


def _free_from(
    there: Sequence[Segment], tasks: Sequence[Task], ready: int, minutes: int, gone: Sequence[Window] = ()
) -> int | None:
    """The first minute, ready or later, from which a person has free hands for so long.

    Parameters
    ----------
    gone : minutes in which the printer is away
    """
    near = [task for task in tasks if task.busy > ready]
    for since, until, persons in there:
        at = max(since, ready)
        while at + minutes <= until:
            busy = [task for task in near if task.begin < at + minutes and task.busy > at]
            back = max((until for since, until in gone if since < at + minutes and until > at), default=at)
            if len(busy) < persons and back == at:
                return at
            at = back if back > at else min(task.busy for task in busy)
    return None


def _windows_until(minute: int, workshop: Workshop, start: datetime) -> tuple[Window, ...]:
    days = min(LAST_HORIZON_DAYS, minute // MINUTES_PER_DAY + 2)
    return windows(workshop.attendance, start, days)


def _merged(tasks: Sequence[Task], there: Sequence[Window]) -> list[list[Task]]:
    """Tasks that follow one another closely, in one window."""
    closes = [until for _, until in there]
    groups: list[list[Task]] = []
    last, window = 0, -1
    for task in tasks:
        now = bisect_right(closes, task.begin)
        if groups and task.begin - last < VISIT_GAP_MINUTES and now == window:
            groups[-1].append(task)
        else:
            groups.append([task])
        last, window = max(last, task.end), now
    return groups


def _printer(workshop: Workshop, name: str) -> Printer:
    return next(printer for printer in workshop.printers if printer.name == name)
