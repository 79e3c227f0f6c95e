"""Whether what must be dry is dry, and dryers hold what they can; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

from planner.model.batch import Batch
from planner.model.drying import DryerLoad
from planner.model.filament import Filament
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.verify_away import away_of
from planner.scheduling.verify_hours import MINUTE, somebody_there

SLACK = timedelta(seconds=1)
Use = tuple[str, datetime, datetime, str, bool]  # spool, since, until, run, whether it had begun before


def drying_faults(
    schedule: Schedule,
    named: Mapping[str, Batch],
    workshop: Workshop,
    mounted: Mapping[str, datetime],
    start: datetime,
) -> Iterator[str]:
    """One sentence for each rule of drying that does not hold.

    Runs that had begun before the plan are taken as they are.

    Parameters
    ----------
    mounted : by run, when somebody begins to make its printer ready
    """
    kinds = {filament.name: filament for filament in workshop.filaments}
    known = [load for load in schedule.drying if load.filament in kinds]
    if len(known) < len(schedule.drying):
        yield "a dryer holds a filament that the workshop does not know."
    uses = list(_uses([run for run in schedule.runs if run.batch in named], mounted))
    for load in known:
        yield from _load_faults(load, kinds[load.filament], workshop, start)
        yield from _spool_faults(load, uses, workshop, named, schedule.runs, start)
    yield from _full(known, kinds, workshop, start)
    yield from _visits(known, kinds, schedule, start)
    if workshop.dryer is not None and workshop.spools:
        for run in schedule.runs:
            filament = kinds.get(named[run.batch].filament) if run.batch in named else None
            if filament is not None and filament.needs_drying and run.mark != "running":
                yield from _wet(run, filament, known, workshop, mounted[run.name], start)


def _uses(runs: Sequence[Run], mounted: Mapping[str, datetime]) -> Iterator[Use]:
    for run in runs:
        for draw in run.draws:
            yield draw.spool, mounted[run.name], run.end.astimezone(UTC), run.name, run.mark == "running"


def _at(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def _load_faults(load: DryerLoad, filament: Filament, workshop: Workshop, start: datetime) -> Iterator[str]:
    """The dryer is there, it dries for as long as the filament asks, and somebody is there at both ends."""
    over = load.take_out.astimezone(UTC) <= start.astimezone(UTC)
    if not over and (workshop.dryer is None or not 1 <= load.dryer <= workshop.dryer.count):
        yield f"there is no dryer {load.dryer}."
    hours = (load.take_out.timestamp() - load.put_in.timestamp()) / 3600.0
    asked = filament.dry_hours or 0.0
    if hours < asked - SLACK / timedelta(hours=1):
        since = _at(load.put_in)
        yield f"{load.filament} is in the dryer from {since} for {hours:.2f} h, it asks for {asked:g} h."
    for what, moment in (("put into", load.put_in), ("taken out of", load.take_out)):
        at = moment.astimezone(UTC)
        if at >= start.astimezone(UTC) and not somebody_there(workshop.attendance, at, at + MINUTE):
            yield f"{load.filament} is {what} the dryer at {_at(moment)} while nobody is there."


def _spool_faults(
    load: DryerLoad,
    uses: Sequence[Use],
    workshop: Workshop,
    named: Mapping[str, Batch],
    runs: Sequence[Run],
    start: datetime,
) -> Iterator[str]:
    """A spool in a dryer holds that filament, is there, and is on no printer."""
    begin, end = load.put_in.astimezone(UTC), load.take_out.astimezone(UTC)
    shelf = {spool.name: spool for spool in workshop.spools}
    prints = {run.name: named[run.batch].filament for run in runs if run.batch in named}
    for name in load.spools:
        drawn = {prints[run] for spool, _, _, run, _ in uses if spool == name}
        holds = {shelf[name].filament} if name in shelf else drawn
        if holds - {load.filament}:
            yield f"{name} is dried as {load.filament}, it holds {min(holds)}."
        for spool, since, until, run, _ in uses:
            if spool == name and since < end and until > begin:
                yield f"{name} is in the dryer from {_at(load.put_in)}, and on a printer for {run}."
        if name in shelf and begin >= start.astimezone(UTC):
            since_when = _moment(shelf[name].at_hand_from, workshop, start)
            gone = away_of(shelf[name].away, workshop, start)
            if (since_when and since_when > begin) or any(a <= end and b > begin for a, b in gone):
                yield f"{name} is dried from {_at(load.put_in)}, when it is not at hand."


def _full(
    loads: Sequence[DryerLoad], kinds: Mapping[str, Filament], workshop: Workshop, start: datetime
) -> Iterator[str]:
    """No dryer holds more than it takes, nor what asks for two temperatures; no spool lies in two slots."""
    most = workshop.dryer.spools if workshop.dryer is not None else 0
    for load in loads:
        at = load.put_in.timestamp()
        if load.take_out <= start:
            continue
        beside = [o for o in loads if o.dryer == load.dryer and _holds(o, at)]
        count = sum(len(one.spools) for one in beside)
        if count > most:
            yield f"dryer {load.dryer} holds {count} spools at {_at(load.put_in)}, it takes {most}."
    for one, other in combinations(loads, 2):
        if _holds(one, other.put_in.timestamp()) or _holds(other, one.put_in.timestamp()):
            twice = set(one.spools) & set(other.spools)
            if twice:
                yield f"{min(twice)} is in two slots at once."
            warm = {kinds[load.filament].dry_c for load in (one, other)}
            differ = len(warm) > 1 or (None in warm and one.filament != other.filament)
            if one.dryer == other.dryer and differ:
                both = f"{one.filament} and {other.filament}"
                yield f"dryer {one.dryer} dries {both} at once, which ask for other temperatures."


def _holds(load: DryerLoad, at: float) -> bool:
    return load.put_in.timestamp() <= at < load.take_out.timestamp()


def _visits(
    loads: Sequence[DryerLoad], kinds: Mapping[str, Filament], schedule: Schedule, start: datetime
) -> Iterator[str]:
    """A visit at either moment says so."""
    for at, words in dryer_words(loads, kinds, schedule.runs, start):
        there = [v for v in schedule.visits if v.at.astimezone(UTC) <= at < _until(v.at, v.minutes)]
        if not any(words in visit.tasks for visit in there):
            yield f"no visit at {at:%Y-%m-%d %H:%M} says {words!r}."


def _until(at: datetime, minutes: int) -> datetime:
    return at.astimezone(UTC) + minutes * MINUTE


def dryer_words(
    loads: Sequence[DryerLoad], kinds: Mapping[str, Filament], runs: Sequence[Run], start: datetime
) -> Iterator[tuple[datetime, str]]:
    """What a visit must say of each spool that goes in or comes out, and when."""
    for load in loads:
        filament = kinds.get(load.filament)
        if filament is None:
            continue
        told = f"into dryer {load.dryer} for {filament.dry_hours or 0:g} h or more"
        told += f" at {filament.dry_c:g} °C" if filament.dry_c is not None else ""
        for name in load.spools:
            spool = name if name[:4] == "new " else f"spool {name}"
            if load.put_in.astimezone(UTC) >= start.astimezone(UTC):
                yield load.put_in.astimezone(UTC), f"put {spool} {told}"
            if load.take_out.astimezone(UTC) <= start.astimezone(UTC):
                continue
            home = _home(name, load, runs)
            back = f" and put it back on {home}" if home else ""
            yield load.take_out.astimezone(UTC), f"take {spool} out of dryer {load.dryer}{back}"


def _home(name: str, load: DryerLoad, runs: Sequence[Run]) -> str:
    """The printer that a spool was on before it went in, if nothing was begun there before it came out."""
    until = load.take_out.timestamp()
    begun = sorted((r for r in runs if r.start.timestamp() <= until), key=lambda run: run.start.timestamp())
    own = [run for run in begun if any(draw.spool == name for draw in run.draws)]
    if not own or own[-1].draws[-1].spool != name:
        return ""
    there = [run for run in begun if run.printer == own[-1].printer]
    return own[-1].printer if there[-1] == own[-1] else ""


def _wet(
    run: Run,
    filament: Filament,
    loads: Sequence[DryerLoad],
    workshop: Workshop,
    mounted: datetime,
    start: datetime,
) -> Iterator[str]:
    """Each of its spools was dried before it goes on, and is not open for too long before the run ends."""
    shelf = {spool.name: spool for spool in workshop.spools}
    for draw in run.draws:
        out = [load.take_out.astimezone(UTC) for load in loads if draw.spool in load.spools]
        told = _moment(shelf[draw.spool].dried, workshop, start) if draw.spool in shelf else None
        dry = [at for at in (*out, *([told] if told is not None else [])) if at <= mounted]
        if not dry:
            yield f"{run.name} draws from {draw.spool}, which was not dried before."
        elif filament.open_hours is not None:
            hours = (run.end.timestamp() - max(dry).timestamp()) / 3600.0
            if hours > filament.open_hours + SLACK / timedelta(hours=1):
                yield f"{run.name} draws from {draw.spool}, which is open for {hours:.1f} h by its end."


def _moment(day: date | None, workshop: Workshop, start: datetime) -> datetime | None:
    """A moment as it is; of a day its beginning on the clock of the workshop."""
    if day is None:
        return None
    there = workshop.attendance
    told = there.weekly or there.dates or there.zone != "UTC"
    zone = ZoneInfo(there.zone) if told else start.tzinfo or UTC
    clock = day if isinstance(day, datetime) else datetime(day.year, day.month, day.day)  # noqa: DTZ001
    return (clock if clock.tzinfo else clock.replace(tzinfo=zone)).astimezone(UTC)
