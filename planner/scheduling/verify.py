"""An independent look at a finished schedule; it shares no code with the scheduler.

Attendance is judged minute by minute on the local clock, runs and spools by plain sums.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.model.attendance import Attendance
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.schedule import Run, Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.verify_away import away_faults
from planner.scheduling.verify_clearing import clearing_faults
from planner.scheduling.verify_drying import drying_faults
from planner.scheduling.verify_fit import changing_minutes, fit_faults
from planner.scheduling.verify_hours import MINUTE, persons_there, somebody_there

RUN_ROUNDING = timedelta(minutes=1)  # runs are given whole minutes
Block = tuple[datetime, datetime, str]
Span = tuple[datetime, datetime, str, bool]  # of a spool: since, until, printer, whether it prints already
HALF_A_HUNDREDTH_G = 0.0051  # grams are told in whole hundredths


def verify_schedule(
    schedule: Schedule,
    uses: Sequence[SpoolUse],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str] | None = None,
) -> tuple[str, ...]:
    """Everything that is wrong with the schedule, one sentence each; empty when it is sound.

    Runs that had begun before the plan was made are taken as they are; what follows them is judged.

    Parameters
    ----------
    on_bed : by printer, the bed of an earlier plan that must be cleared first
    """
    named = {batch.name: batch for batch in batches}
    faults = list(_missing(schedule, batches))
    known = [run for run in schedule.runs if run.batch in named]
    lines = _by_printer(known)
    covered = frozenset(on_bed or {})
    for name, line in lines.items():
        faults += _printer_faults(name, line, named, workshop, covered)
    blocks = handling_blocks(known, named, workshop, covered)
    mounted = {run.name: run.start.astimezone(UTC) for run in known}
    mounted |= {name: begin for begin, _, name in blocks}
    blocks += changing_blocks(known, workshop, start)
    faults += _attendance_faults(blocks, known, named, workshop, start)
    faults += _person_faults(blocks, workshop.attendance)
    faults += _visit_faults(blocks, schedule, workshop, start)
    faults += clearing_faults(lines, schedule, workshop, on_bed or {}, start)
    faults += _spool_faults(known, uses, named, workshop, mounted, start)
    faults += _early_draws(known, workshop, mounted, start)
    faults += away_faults(known, named, workshop, mounted, start)
    faults += drying_faults(schedule, named, workshop, mounted, start)
    return tuple(faults)


def _missing(schedule: Schedule, batches: Sequence[Batch]) -> Iterator[str]:
    counted: dict[str, int] = defaultdict(int)
    for run in schedule.runs:
        counted[run.batch] += 1
    for batch in batches:
        if counted.pop(batch.name, 0) != 1:
            yield f"batch {batch.name} does not run exactly once."
    for name in counted:
        yield f"a run prints {name}, which is no batch."
    last = max((run.end.astimezone(UTC) for run in schedule.runs), default=None)
    if last is not None and schedule.finish.astimezone(UTC) != last:
        yield "the finish is not the end of the last run."
    if len(schedule.visits) != schedule.interventions:
        yield "the interventions are not the visits."


def _filament(workshop: Workshop, name: str) -> Filament | None:
    return next((filament for filament in workshop.filaments if filament.name == name), None)


def _by_printer(runs: Sequence[Run]) -> dict[str, list[Run]]:
    lines: dict[str, list[Run]] = defaultdict(list)
    for run in sorted(runs, key=lambda run: run.start.astimezone(UTC)):
        lines[run.printer].append(run)
    return lines


def _printer_faults(
    name: str, line: Sequence[Run], named: dict[str, Batch], workshop: Workshop, covered: frozenset[str]
) -> Iterator[str]:
    printer = next((p for p in workshop.printers if p.name == name), None)
    if printer is None:
        yield f"{name} is no printer of the workshop."
        return
    loaded = printer.loaded
    for n, run in enumerate(line):
        batch = named[run.batch]
        if run.mark == "running":
            if n:
                yield f"{run.name} is said to run, but is not the first on {name}."
            loaded = batch.filament
            continue
        filament = _filament(workshop, batch.filament)
        if printer.kind != batch.printer_kind:
            yield f"{run.name}: {batch.name} is for {batch.printer_kind}, but {name} is a {printer.kind}."
        listed = batch.filament in printer.filaments
        if filament is None:
            yield f"{run.name}: {batch.filament} is no filament of the workshop."
        hot = filament is not None and (
            filament.nozzle_c > printer.nozzle_limit_c or filament.bed_c > printer.bed_limit_c
        )
        if not listed if printer.filaments else hot:
            yield f"{run.name}: {name} may not run {batch.filament}."
        yield from fit_faults(run, batch, printer)
        slack = elapsed(run.start, run.end) - timedelta(minutes=batch.minutes)
        if not -timedelta(seconds=1) <= slack <= RUN_ROUNDING:
            yield f"{run.name} does not last as long as {batch.name} takes."
        if run.changed_from != (loaded if loaded not in (None, batch.filament) else None):
            yield f"{run.name} names the wrong filament before the change."
        loaded = batch.filament
        if n:
            cold = line[n - 1].end.astimezone(UTC) + timedelta(minutes=printer.cool_down_minutes)
            if cold > _handling_begin(line, n, named, workshop, covered):
                yield f"{run.name} overlaps {line[n - 1].name} on {name}, or its bed is not cold and clear."


def _handling_begin(
    line: Sequence[Run], n: int, named: dict[str, Batch], workshop: Workshop, covered: frozenset[str]
) -> datetime:
    """When the person must begin so that the run can start when it does."""
    run = line[n]
    minutes = workshop.start_minutes
    minutes += workshop.clear_minutes if n or run.printer in covered else 0
    printer = next(p for p in workshop.printers if p.name == run.printer)
    loaded = named[line[n - 1].batch].filament if n else printer.loaded
    if loaded != named[run.batch].filament:
        minutes += workshop.change_minutes
    minutes += changing_minutes(line, n, named, printer)
    return run.start.astimezone(UTC) - timedelta(minutes=minutes)


def handling_blocks(
    runs: Sequence[Run], named: dict[str, Batch], workshop: Workshop, covered: frozenset[str]
) -> list[Block]:
    """When somebody makes a printer ready and starts a run on it, printer by printer."""
    printers = {printer.name for printer in workshop.printers}
    return [
        (_handling_begin(line, n, named, workshop, covered), run.start.astimezone(UTC), run.name)
        for name, line in _by_printer(runs).items()
        if name in printers
        for n, run in enumerate(line)
        if run.mark != "running"
    ]


def changing_blocks(runs: Sequence[Run], workshop: Workshop, start: datetime) -> Iterator[Block]:
    """Where the first spool of a run has given its grams, somebody must put on the next."""
    for run in runs:
        total = sum(draw.grams for draw in run.draws) + run.short_g
        given = 0.0
        for draw in run.draws[:-1]:
            given += draw.grams
            share = given / total if total > 0.0 else 0.0
            at = run.start.astimezone(UTC) + share * elapsed(run.start, run.end)
            whole = (at + timedelta(milliseconds=1)).replace(second=0, microsecond=0)
            if whole >= start.astimezone(UTC):
                yield (
                    whole,
                    whole + max(1, workshop.change_minutes) * MINUTE,
                    f"the change of spool in {run.name}",
                )


def _attendance_faults(
    blocks: Sequence[Block],
    runs: Sequence[Run],
    named: dict[str, Batch],
    workshop: Workshop,
    start: datetime,
) -> Iterator[str]:
    there = workshop.attendance
    for begin, end, name in blocks:
        if begin < start.astimezone(UTC):
            yield f"{name} asks for work before the plan begins."
        if not somebody_there(there, begin, end):
            yield f"{name} is handled while nobody is there."
    for run in runs:
        if run.mark == "running":
            continue
        filament = _filament(workshop, named[run.batch].filament)
        if filament is None:
            continue
        began, ends = run.start.astimezone(UTC), run.end.astimezone(UTC)
        if not somebody_there(there, began, min(ends, began + filament.watch_minutes * MINUTE)):
            yield f"{run.name}: nobody is there to watch its first layers."
        if not run.attended_start and not filament.unattended_start:
            yield f"{run.name} starts {filament.name} unattended, which that filament does not allow."
        if not filament.unattended_run and not somebody_there(there, began, ends):
            yield f"{run.name} prints {filament.name} unattended, which that filament does not allow."


def _person_faults(blocks: Sequence[Block], there: Attendance) -> Iterator[str]:
    """In no minute more hands than persons."""
    at_once: dict[datetime, list[str]] = defaultdict(list)
    for begin, end, name in blocks:
        moment = begin
        while moment < end:
            at_once[moment].append(name)
            moment += MINUTE
    told: set[str] = set()
    for moment, names in at_once.items():
        persons = persons_there(there, moment) if len(names) > 1 else 1
        if len(names) > persons and names[-1] not in told:
            told.add(names[-1])
            yield f"{names[-1]} needs a person while all {persons} are busy."


def _visit_faults(
    blocks: Sequence[Block], schedule: Schedule, workshop: Workshop, start: datetime
) -> Iterator[str]:
    """Every handling falls into a visit; visits last as long as their work, while somebody is there."""
    for visit in schedule.visits:
        at = visit.at.astimezone(UTC)
        if at < start.astimezone(UTC):
            yield f"the visit at {visit.at:%Y-%m-%d %H:%M} is before the plan begins."
        if not somebody_there(workshop.attendance, at, at + visit.minutes * MINUTE):
            yield f"the visit at {visit.at:%Y-%m-%d %H:%M} lasts beyond the hours in which somebody is there."
    spans = [(v.at.astimezone(UTC), v.at.astimezone(UTC) + v.minutes * MINUTE) for v in schedule.visits]
    work = [timedelta(0)] * len(spans)
    for begin, end, name in blocks:
        n = next((n for n, (at, until) in enumerate(spans) if at <= begin and end <= until), None)
        if n is None:
            yield f"{name} is handled outside of every visit."
        else:
            work[n] += end - begin
    most = len(workshop.attendance.named) + workshop.attendance.persons  # an upper limit will do here
    for n, (visit, (at, until)) in enumerate(zip(schedule.visits, spans, strict=True)):
        only = sum(task.startswith("clear ") for task in visit.tasks)
        only -= sum(task.startswith("start ") for task in visit.tasks)
        hands = work[n] + max(0, only) * workshop.clear_minutes * MINUTE
        if hands > most * (until - at):
            yield f"the visit at {visit.at:%Y-%m-%d %H:%M} is shorter than its work."


def _spool_faults(
    runs: Sequence[Run],
    uses: Sequence[SpoolUse],
    named: dict[str, Batch],
    workshop: Workshop,
    mounted: dict[str, datetime],
    start: datetime,
) -> Iterator[str]:
    drawn: dict[str, float] = defaultdict(float)
    purged: dict[str, float] = defaultdict(float)
    spans: dict[str, list[Span]] = defaultdict(list)
    filament_of = {use.spool: use.filament for use in uses}
    for run in runs:
        batch = named[run.batch]
        if run.short_g > 0.0 or run.dry_at is not None:
            yield from _dry(run, uses, start)
        if abs(sum(draw.grams for draw in run.draws) + run.short_g - batch.mass_g) > HALF_A_HUNDREDTH_G:
            yield f"{run.name} does not draw the grams of {batch.name}."
        for draw in run.draws:
            if draw.grams < 0 or draw.before_g > draw.grams or filament_of.get(draw.spool) != batch.filament:
                yield f"{run.name} draws from {draw.spool}, which has no {batch.filament} to give."
            if draw.before_g and run.mark != "running":
                yield f"{run.name} has drawn from {draw.spool} before it begins."
            drawn[draw.spool] += draw.grams - draw.before_g
            until = run.end.astimezone(UTC)
            spans[draw.spool].append((mounted[run.name], until, run.printer, run.mark == "running"))
        if run.draws and not run.draws[0].before_g:
            purged[run.draws[0].spool] += run.purge_g
        if run.mark == "running":
            continue
        least = workshop.run_purge_g + (workshop.change_purge_g if run.changed_from else 0.0)
        if abs(run.purge_g - least) > HALF_A_HUNDREDTH_G:
            yield f"{run.name} does not purge what a run and its changeover purge."
    shelf = {spool.name: spool.grams_left for spool in workshop.spools}
    full = {filament.name: filament.spool_g for filament in workshop.filaments}
    for use in uses:
        whole = full.get(use.filament, 0.0) if use.bought else shelf.get(use.spool, 0.0)
        if abs(use.grams_before - whole) > 2 * HALF_A_HUNDREDTH_G:
            yield f"spool {use.spool} begins with other grams than it has."
        rest = use.grams_before - drawn[use.spool] - purged[use.spool]
        if use.grams_left < -1e-9 or rest < -HALF_A_HUNDREDTH_G:
            yield f"spool {use.spool} is drawn below zero."
        sums = (
            drawn[use.spool] - use.grams_used,
            purged[use.spool] - use.grams_purged,
            rest - use.grams_left,
        )
        if max(map(abs, sums)) > HALF_A_HUNDREDTH_G:
            yield f"the grams of spool {use.spool} do not add up."
        if workshop.spools:  # where none is listed, nobody knows which is on which printer
            yield from _shared(use.spool, spans[use.spool])


def _early_draws(
    runs: Sequence[Run], workshop: Workshop, mounted: dict[str, datetime], start: datetime
) -> Iterator[str]:
    """No run draws from a spool before it is at hand."""
    there = workshop.attendance
    known = there.weekly or there.dates or there.zone != "UTC"
    zone = ZoneInfo(there.zone) if known else start.tzinfo or UTC
    since: dict[str, datetime] = {}
    for spool in workshop.spools:
        day: date | None = spool.at_hand_from
        if day is not None:
            clock = day if isinstance(day, datetime) else datetime(day.year, day.month, day.day)  # noqa: DTZ001
            since[spool.name] = clock if clock.tzinfo else clock.replace(tzinfo=zone)
    for run in runs:
        begins, rounding = mounted[run.name], timedelta(0)
        grams, given = sum(draw.grams for draw in run.draws) + run.short_g, 0.0
        for n, draw in enumerate(run.draws):
            if run.mark == "running":  # what is on it is there; what goes on later must be by then
                share = given / grams if grams > 0.0 else 0.0
                begins = run.start.astimezone(UTC) + share * elapsed(run.start, run.end)
                given, rounding = given + draw.grams, MINUTE
                if n == 0 or begins < start.astimezone(UTC):
                    continue
            if draw.spool in since and begins + rounding < since[draw.spool]:
                yield f"{run.name} draws from {draw.spool}, which is at hand only from {since[draw.spool]}."


def _dry(run: Run, uses: Sequence[SpoolUse], start: datetime) -> Iterator[str]:
    """Only a run that had begun runs dry, at the moment that is told, and with nothing left on its spool.

    What ran dry before the plan begins is told of its beginning.
    """
    given = sum(draw.grams for draw in run.draws)
    share = given / (given + run.short_g) if run.short_g > 0.0 else 1.0
    at = max(run.start.astimezone(UTC) + share * elapsed(run.start, run.end), start.astimezone(UTC))
    if run.mark != "running" or run.dry_at is None or run.short_g <= 0.0:
        yield f"{run.name} lacks {run.short_g} g, and it is not told when it runs dry."
    elif abs(run.dry_at.astimezone(UTC) - at) > 2 * MINUTE:
        yield f"{run.name} runs dry at another moment than is told."
    last = next((use for use in uses if run.draws and use.spool == run.draws[-1].spool), None)
    if last is not None and last.grams_left > 1.0:
        yield f"{run.name} is told to run dry, but {last.spool} holds {last.grams_left} g more."


def _shared(spool: str, spans: list[Span]) -> Iterator[str]:
    """One printer at a time; two beds that print already are what is, whatever spool is noted for them."""
    spans.sort()
    for n, (_, end, printer, runs) in enumerate(spans):
        for begin, _, other, runs_too in spans[n + 1 :]:
            if begin >= end:
                break
            if printer != other and not (runs and runs_too):
                yield f"spool {spool} is on {printer} and {other} at the same time."


def elapsed(begin: datetime, end: datetime) -> timedelta:
    """Time that passes, whatever the clocks on the wall do."""
    return end.astimezone(UTC) - begin.astimezone(UTC)
