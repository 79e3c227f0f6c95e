"""What a plan is lived through with, as a file beside ``plan.json`` keeps it; minutes from the start."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from msgspec import Meta

from planner.plan_record.values import Count, Name, Record

SCHEMA = 1
LONGEST = 100.0 * 366.0 * 24.0 * 60.0  # minutes; worlds reach three times as far as the plan
HEAVIEST_G = 1e6
YEARS = (1900, 9000)  # between which a plan starts, with room for all its minutes
Instant = Annotated[datetime, Meta(tz=True)]
Minutes = Annotated[float, Meta(ge=0, le=LONGEST)]
At = Annotated[float, Meta(ge=-LONGEST, le=LONGEST)]  # before or after the start
Grams = Annotated[float, Meta(ge=0, le=HEAVIEST_G)]
Number = Annotated[int, Meta(ge=0, le=1_000_000)]  # of a bed, a load, a printer, a material


class LivedPrinterRecord(Record, frozen=True, kw_only=True):
    """A printer: what is on it, what is likely of it, minutes from each nozzle and plate to each."""

    name: Name
    failures_per_hour: Annotated[float, Meta(ge=0, le=1)]
    spread: Annotated[float, Meta(ge=0, le=1)]
    loaded: Annotated[int, Meta(ge=-1, le=1_000_000)]
    fitted: Number
    covered: bool
    cool_minutes: Minutes
    refit_minutes: list[list[Minutes]]


class LivedBedRecord(Record, frozen=True, kw_only=True):
    """A bed that runs: its printer, filament, nozzle and plate by number, grams and minutes as planned."""

    name: Name
    printer: Number
    filament: Name
    material: Number
    fit: Number
    grams: Grams
    purge_g: Grams
    begins: At
    minutes: Minutes
    heat_up_minutes: Minutes
    watch_minutes: Minutes
    attended: bool
    running: bool
    needs_loads: list[Number]
    frees_loads: list[Number]


class LoadRecord(Record, frozen=True, kw_only=True):
    """Spools that are in a dryer together, and the loads that are out of it before them, by number."""

    put_in: At
    take_out: At
    dry_minutes: Minutes
    follows: list[Number]


class WorldsRecord(Record, frozen=True, kw_only=True):
    """A timed plan, its workplace and its chances.

    ``there`` has since, until and persons; ``shut`` printer or -1, material or -1, since and until;
    ``visits`` begin, and until when nobody is there where one is missed. Beds name the loads of dryers that
    they need dry, and those that wait for their spools.
    """

    schema: int
    start: Instant
    finish: Instant
    zone: Name
    local: bool
    seed: Count
    rest: Annotated[float, Meta(ge=0, le=1)]
    printers: list[LivedPrinterRecord]
    beds: list[LivedBedRecord]
    start_minutes: Minutes
    clear_minutes: Minutes
    change_minutes: Minutes
    run_purge_g: Grams
    change_purge_g: Grams
    there: list[tuple[At, At, At]]
    shut: list[tuple[At, At, At, At]]
    visits: list[tuple[At, At]]
    loads: list[LoadRecord]


def wrong_in(told: WorldsRecord) -> str:
    """What a world cannot be lived through with, in words; empty where all of it fits together."""
    fits = len(told.printers[0].refit_minutes) if told.printers else 0
    square = [fits] * fits
    if told.schema != SCHEMA:
        return f"schema {told.schema} is not known"
    if not all(YEARS[0] <= at.year <= YEARS[1] for at in (told.start, told.finish)):
        return f"it starts or ends before {YEARS[0]} or after {YEARS[1]}"
    if not told.beds:
        return "no bed is told"
    if fits == 0 or any([len(row) for row in one.refit_minutes] != square for one in told.printers):
        return "printers do not have minutes from each nozzle and plate to each"
    if any(one.fitted >= fits for one in told.printers) or any(one.fit >= fits for one in told.beds):
        return "a nozzle and plate is told that no printer has"
    if any(one.printer >= len(told.printers) for one in told.beds):
        return "a bed is told on a printer that is not there"
    if any(since >= until for since, until, _ in told.there):
        return "a window of attendance ends before it begins"
    if any(one[1] > other[0] for one, other in zip(told.there, told.there[1:], strict=False)):
        return "windows of attendance overlap"
    return _wrong_loads(told)


def _wrong_loads(told: WorldsRecord) -> str:
    """Each is in before it is out, and follows one of those before it; beds name loads that are there."""
    for n, load in enumerate(told.loads):
        if load.dry_minutes > load.take_out - load.put_in or any(one >= n for one in load.follows):
            return "a load of a dryer is told that cannot be"
    if any(load >= len(told.loads) for bed in told.beds for load in (*bed.needs_loads, *bed.frees_loads)):
        return "a load of a dryer is told that is not there"
    return ""
