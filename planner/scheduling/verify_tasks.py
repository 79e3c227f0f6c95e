"""Whether the tasks of the visits, done in order, give what the runs need; shares no code with them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from planner.model.batch import Batch
from planner.model.printer import Printer
from planner.model.schedule import Run, Schedule, Visit
from planner.model.workshop import Workshop
from planner.scheduling.verify import changing_blocks, handling_blocks
from planner.scheduling.verify_drying import dryer_words
from planner.scheduling.verify_fit import Pair, on_now, put_on
from planner.scheduling.verify_hours import MINUTE
from planner.scheduling.verify_last import Clearing, last_clearings

Words = dict[str, tuple[str, str, str]]  # of a task: what is done, to what, on which printer


def task_faults(
    schedule: Schedule,
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str] | None = None,
) -> tuple[str, ...]:
    """One sentence for each run that whoever does the tasks in their order would begin otherwise.

    Spools go on and come off only in visits; what is on a printer when a bed is started is what it draws
    from. Where the workshop lists no spools, several printers draw from one that is only counted: then the
    filament is looked at, not the spool.

    Parameters
    ----------
    on_bed : by printer, the bed of an earlier plan that must be cleared first
    """
    named = {batch.name: batch for batch in batches}
    runs = [run for run in schedule.runs if run.batch in named]
    runs.sort(key=lambda run: run.start.timestamp())
    needs = list(_needs(runs, named, workshop, start, on_bed or {}))
    kinds = {filament.name: filament for filament in workshop.filaments}
    drying = list(dryer_words(schedule.drying, kinds, runs, start))
    dryers = frozenset(words for _, words in drying)
    lies = on_bed or {}
    blocks = [
        *handling_blocks(runs, named, workshop, frozenset(lies)),
        *changing_blocks(runs, workshop, start),
    ]
    hands = [(begin, until) for begin, until, _ in blocks]
    last = list(last_clearings(runs, hands, workshop, start, lies))
    return (
        *_told(needs, schedule.visits),
        *_strange(schedule.visits, runs, named, workshop, needs, on_bed or {}, dryers),
        *_mounted(schedule.visits, runs, named, workshop),
        *_longer(schedule.visits, needs, workshop, {run.name: run for run in runs}, drying, last),
    )


Need = tuple[datetime, str, str]  # at what moment, which words, for what


def _needs(
    runs: Sequence[Run],
    named: Mapping[str, Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str],
) -> Iterator[Need]:
    """Words that must stand in the visit that holds the moment; spools are looked at apart."""
    lies, thread = dict(on_bed), {printer.name: printer.loaded for printer in workshop.printers}
    printers = {printer.name: printer for printer in workshop.printers}
    tools = {name: on_now(printer) for name, printer in printers.items()}
    for run in runs:
        filament = named[run.batch].filament
        yield from _mid_run(run, start)
        if run.mark != "running":
            at = run.start.astimezone(UTC)
            if run.printer in lies:
                yield at, f"clear {lies[run.printer]} from {run.printer}", run.name
            before = thread.get(run.printer)
            if before not in (None, filament):
                yield at, f"purge {before} until {filament} comes", run.name
            yield at, f"start {run.batch} on {run.printer}", run.name
            for old, new, words in zip(
                tools.get(run.printer, ()),
                _tools(run, named, printers) or (),
                ("put the {} nozzle on {}", "put the plate {} on {}"),
                strict=False,
            ):
                if old != new:
                    yield at, words.format(new, run.printer), run.name
            watch = next((f.watch_minutes for f in workshop.filaments if f.name == filament), 0)
            minutes = min(watch, round((run.end.timestamp() - run.start.timestamp()) / 60.0))
            if minutes:
                yield at, f"watch the first layers of {run.batch} for {minutes} min", run.name
        lies[run.printer], thread[run.printer] = run.batch, filament
        tools[run.printer] = _tools(run, named, printers) or tools.get(run.printer, ("", ""))


def _tools(run: Run, named: Mapping[str, Batch], printers: Mapping[str, Printer]) -> Pair | None:
    """Nozzle and plate that are on a printer for a run."""
    printer = printers.get(run.printer)
    return None if printer is None else put_on(printer, named[run.batch].fit)


def _mid_run(run: Run, start: datetime) -> Iterator[Need]:
    """One spool comes off and the next goes on where the first has given its grams."""
    whole, given = sum(draw.grams for draw in run.draws) + run.short_g, 0.0
    began, length = run.start.astimezone(UTC), run.end.timestamp() - run.start.timestamp()
    for old, new in pairwise(run.draws):
        given += old.grams
        at = began + timedelta(seconds=length * given / whole if whole > 0.0 else 0.0, milliseconds=1)
        at = at.replace(second=0, microsecond=0)
        if at >= start.astimezone(UTC):
            yield at, f"during {run.batch}: take {_called(old.spool)} off {run.printer}", run.name
            yield at, f"put {_called(new.spool)} on {run.printer} and see that it goes on printing", run.name


def _called(spool: str) -> str:
    """A spool in words: one of the shelf is told as such."""
    return spool if spool[:4] == "new " else f"spool {spool}"


def _until(visit: Visit) -> datetime:
    return visit.at.astimezone(UTC) + visit.minutes * MINUTE


def _longer(
    visits: Sequence[Visit],
    needs: Sequence[Need],
    workshop: Workshop,
    runs: Mapping[str, Run],
    drying: Sequence[tuple[datetime, str]],
    last: Sequence[Clearing],
) -> Iterator[str]:
    """A visit is over with the last thing done in it; last beds are cleared as soon as they can be."""
    ends: list[tuple[datetime, str, datetime]] = [(at, words, at + MINUTE) for at, words in drying]
    for at, words, name in needs:
        until = at
        if words.startswith("watch the first layers"):
            until += int(words.split()[-2]) * MINUTE
        elif words.startswith(("during", "put")) and at != runs[name].start:
            until += max(1, workshop.change_minutes) * MINUTE
        ends.append((at, words, until))
    cleared = {one.words: one.until for one in last}
    asked = {words for _, words, _ in ends} | set(cleared)
    for visit in visits:
        if not any(task.startswith("clear ") and task not in asked for task in visit.tasks):
            begin, end = visit.at.astimezone(UTC), _until(visit)
            own = [until for at, words, until in ends if begin <= at <= end and words in visit.tasks]
            own += [cleared[task] for task in visit.tasks if task in cleared]
            if own and max(own) != end:
                yield f"the visit at {visit.at:%Y-%m-%d %H:%M} ends at another time than its work."


def _told(needs: Sequence[Need], visits: Sequence[Visit]) -> Iterator[str]:
    for at, words, name in needs:
        there = [visit for visit in visits if visit.at.astimezone(UTC) <= at <= _until(visit)]
        if not any(words in visit.tasks for visit in there):
            yield f"{name}: no visit at {at:%Y-%m-%d %H:%M} says {words!r}."


def _strange(
    visits: Sequence[Visit],
    runs: Sequence[Run],
    named: Mapping[str, Batch],
    workshop: Workshop,
    needs: Sequence[Need],
    on_bed: Mapping[str, str],
    dryers: frozenset[str],
) -> Iterator[str]:
    """Tasks that nothing asks for, and those that are told twice."""
    known = {words for _, words, _ in needs} | set(_spool_words(runs, named, workshop))
    known |= dryers
    last = {**on_bed, **{run.printer: run.batch for run in runs}}
    known |= {f"clear {bed} from {printer}" for printer, bed in last.items()}
    told = Counter(task for visit in visits for task in visit.tasks)
    for task, times in told.items():
        if task not in known:
            yield f"a visit says {task!r}, which no run asks for."
        elif times > 1 and task.startswith(("start ", "clear ")):
            yield f"{times} visits say {task!r}."


def _spool_words(runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop) -> Words:
    """All that can be done with what the runs draw from, and what it means."""
    spools = {_called(draw.spool) for run in runs for draw in run.draws}
    spools |= {batch.filament for batch in named.values()}
    spools |= {printer.loaded for printer in workshop.printers if printer.loaded is not None}
    spools |= {_called(printer.mounted) for printer in workshop.printers if printer.mounted}
    found: Words = {}
    for printer in {run.printer for run in runs}:
        for spool in spools:
            for verb, join in (("put", "on"), ("take", "off"), ("see that", "is on")):
                found[f"{verb} {spool} {join} {printer}"] = (verb, spool, printer)
            found[f"put {spool} on {printer} and see that it goes on printing"] = ("put", spool, printer)
    return found


def _mounted(
    visits: Sequence[Visit], runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop
) -> Iterator[str]:
    """What is on a printer, task by task, against what its runs draw from."""
    words = _spool_words(runs, named, workshop)
    starts = {f"start {run.batch} on {run.printer}": run for run in runs if run.mark != "running"}
    thread: dict[str, str | None] = {printer.name: printer.loaded for printer in workshop.printers}
    on = thread | {printer.name: _called(printer.mounted) for printer in workshop.printers if printer.mounted}
    off: dict[str, str | None] = {}
    for run in runs:
        if run.mark == "running":
            on[run.printer] = _called(run.draws[-1].spool) if run.draws else named[run.batch].filament
            thread[run.printer] = named[run.batch].filament
    for visit in sorted(visits, key=lambda visit: visit.at.timestamp()):
        for task in visit.tasks:
            verb, spool, printer = words.get(task, ("", "", ""))
            if verb == "take" and spool not in (on.get(printer), thread.get(printer)):
                yield f"{task!r} at {visit.at:%Y-%m-%d %H:%M}: {on.get(printer) or 'nothing'} is on it."
            was = on.get(printer), off.pop(printer, None)
            again = verb == "put" and spool in was and not task.endswith("goes on printing")
            if again and workshop.spools:  # one that is only counted may be any of its kind
                yield f"{task!r} at {visit.at:%Y-%m-%d %H:%M}: that was on it before."
            if verb == "take":
                off[printer] = on.get(printer)
            if verb:
                on[printer] = None if verb == "take" else spool
            if task in starts:
                run = starts[task]
                filament = named[run.batch].filament
                wanted = {_called(draw.spool) for draw in run.draws[:1]} or {filament}
                wanted |= set() if workshop.spools else {filament}
                if on.get(run.printer) not in wanted and not _goes_on(on, thread, run, filament, workshop):
                    have = on.get(run.printer) or "nothing"
                    yield f"{run.name} starts with {have} on {run.printer}, and draws from {min(wanted)}."
                if run.draws[1:]:
                    on[run.printer] = _called(run.draws[0].spool)
                thread[run.printer] = filament


def _goes_on(
    on: Mapping[str, str | None],
    thread: Mapping[str, str | None],
    run: Run,
    filament: str,
    workshop: Workshop,
) -> bool:
    """Whether a spool that is only counted stays on: of the right filament, whichever of its spools it is."""
    counted = not workshop.spools and thread.get(run.printer) == filament
    return counted and on.get(run.printer) is not None
