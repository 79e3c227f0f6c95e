"""What a plan is lived through with, as a file beside ``plan.json`` keeps it; minutes from the start."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from msgspec import Meta

from planner.plan_record.values import Amount, Count, Name, Record

SCHEMA = 1
Instant = Annotated[datetime, Meta(tz=True)]


class LivedPrinterRecord(Record, frozen=True, kw_only=True):
    """A printer: what is on it, what is likely of it, minutes from each nozzle and plate to each."""

    name: Name
    failures_per_hour: Annotated[float, Meta(ge=0, le=1)]
    spread: Annotated[float, Meta(ge=0, le=1)]
    loaded: Annotated[int, Meta(ge=-1)]
    fitted: Count
    covered: bool
    cool_minutes: Amount
    refit_minutes: list[list[Amount]]


class LivedBedRecord(Record, frozen=True, kw_only=True):
    """A bed that runs: its printer, filament, nozzle and plate by number, grams and minutes as planned."""

    name: Name
    printer: Count
    filament: Name
    material: Count
    fit: Count
    grams: Amount
    purge_g: Amount
    begins: float
    minutes: Amount
    heat_up_minutes: Amount
    watch_minutes: Amount
    attended: bool
    running: bool
    needs_loads: list[Count]
    frees_loads: list[Count]


class LoadRecord(Record, frozen=True, kw_only=True):
    """Spools that are in a dryer together, and the loads that are out of it before them, by number."""

    put_in: float
    take_out: float
    dry_minutes: Amount
    follows: list[Count]


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
    start_minutes: Amount
    clear_minutes: Amount
    change_minutes: Amount
    run_purge_g: Amount
    change_purge_g: Amount
    there: list[tuple[float, float, float]]
    shut: list[tuple[float, float, float, float]]
    visits: list[tuple[float, float]]
    loads: list[LoadRecord]


def wrong_in(told: WorldsRecord) -> str:
    """What a world cannot be lived through with, in words; empty where all of it fits together."""
    fits = len(told.printers[0].refit_minutes) if told.printers else 0
    square = [fits] * fits
    if told.schema != SCHEMA:
        return f"schema {told.schema} is not known"
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
