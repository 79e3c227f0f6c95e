"""``plan.json`` of an earlier plan, read back as far as a later plan goes on from it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import NoReturn

from planner.errors import InputError, RecordError
from planner.io.results.plan_beds import batch_of, past_run_of, run_of
from planner.io.results.plan_printed import earlier_part, printed_piece, weights
from planner.model.choices import Choices
from planner.model.drying import DryerLoad
from planner.model.replan import Changed, EarlierFilament, EarlierPlan, EarlierTaught
from planner.model.schedule import SpoolUse, Visit
from planner.plan_record.faults import Fault
from planner.plan_record.head import ChoicesRecord
from planner.plan_record.plan import PlanRecord
from planner.plan_record.reading import read_record
from planner.plan_record.runs import DryerLoadRecord, SpoolRecord
from planner.plan_record.values import given
from planner.units import to_minor

LIMIT_BYTES = 100_000_000
SERIES = 16  # digits that name the first of a series of plans


def read_plan(path: Path) -> EarlierPlan:
    """Read a plan back.

    Raises
    ------
    RecordError
        naming the file and the field that cannot be used
    """
    text = _text(path)
    try:
        return _plan(str(path), read_record(text))
    except Fault as fault:
        _refuse(path, fault)
    except (ValueError, RecursionError) as error:
        raise _unreadable(path, "it is no JSON") from error


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LIMIT_BYTES:
            raise RecordError(f"the file is larger than {LIMIT_BYTES} bytes.", where=str(path))
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise _unreadable(path, str(error.strerror)) from error
    except ValueError as error:
        raise _unreadable(path, "it is no JSON") from error


def _unreadable(path: Path, reason: str) -> RecordError:
    return RecordError(
        f"the earlier plan cannot be read ({reason}).",
        where=str(path),
        next_step="Give the plan.json of a results folder.",
    )


def _refuse(path: Path, fault: Fault) -> NoReturn:
    raise RecordError(
        f"{fault.place or 'the file'} = {str(fault.value)[:60]!r} must be {fault.wanted}.",
        where=str(path),
        next_step="Give the plan.json of an earlier plan, unchanged but for its marks.",
    )


def _plan(source: str, told: PlanRecord) -> EarlierPlan:
    """The record as the values that a later plan goes on from."""
    spools = tuple(_spool(one, told.currency, f"spools[{n}]") for n, one in enumerate(told.spools))
    before = given(told.replan, None)
    shelf = {use.spool: use.grams_before for use in spools if not use.bought}
    changed: tuple[Changed, ...] = ()
    gone: set[datetime] = set()
    if before is not None:
        shelf = {one.spool: one.grams for one in before.told}
        gone = {one.at.at for one in before.visits_gone}
        changed = tuple(
            Changed(one.printer, one.filament, one.spool, one.purged_g) for one in given(before.changed, [])
        )
    visits = tuple(Visit(one.at.at, one.minutes, tuple(one.tasks)) for one in told.schedule.visits)
    plan = EarlierPlan(
        source=source,
        identification=told.identification,
        airframe=told.airframe.name,
        start=told.start.at,
        finish=told.schedule.finish.at,
        parts={one.part: earlier_part(one, f"parts[{n}]") for n, one in enumerate(told.parts)},
        part_of={one.piece: one.part for one in told.pieces},
        batches=tuple(map(batch_of, told.batches)),
        runs=tuple(run_of(one, f"runs[{n}]") for n, one in enumerate(told.runs)),
        past=tuple(past_run_of(one, f"past[{n}]") for n, one in enumerate(given(told.past, []))),
        spools=spools,
        told_g=shelf,
        handled=visits,
        changed=changed,
        visits=tuple(sorted({*(visit.at for visit in visits), *gone})),
        series=told.identification[:SERIES] if before is None else before.series,
        generation=0 if before is None else before.generation,
        choices=_choices(given(told.choices, None)),
        again=tuple(one.piece for one in told.pieces if given(one.again, False)),
        drying=tuple(
            _load(one, f"schedule.drying[{n}]") for n, one in enumerate(given(told.schedule.drying, []))
        ),
        last_bed=0 if before is None else given(before.last_bed, 0),
        printed={
            one.piece: printed_piece(one, f"printed[{n}]") for n, one in enumerate(given(told.printed, []))
        },
        weights=weights(told.mass),
        filaments={
            one.filament: EarlierFilament(
                one.deposited_g_per_cm3, one.nozzle_c, given(one.colour, ""), given(one.of, "")
            )
            for one in given(told.filaments, [])
        },
    )
    return _whole(replace(plan, taught=_taught(told)))


def _taught(told: PlanRecord) -> EarlierTaught:
    """What a ledger had taught; nothing where the plan knew none."""
    ledger = given(told.ledger, None)
    if ledger is None:
        return EarlierTaught()
    return EarlierTaught(
        facts=ledger.facts,
        factors={one.part: one.factor for one in given(ledger.parts, [])},
        minutes={one.printer: one.factor for one in given(ledger.printers, [])},
        predicted={one.piece: one.grams for one in given(ledger.predicted, [])},
        minutes_on={(one.printer, one.filament): one.factor for one in given(ledger.minutes, [])},
    )


def _load(told: DryerLoadRecord, place: str) -> DryerLoad:
    """A slot of a dryer."""
    if told.take_out.at < told.put_in.at:
        raise Fault(f"{place}.take_out", told.take_out, "after its put_in")
    return DryerLoad(told.dryer, told.filament, tuple(told.spools), told.put_in.at, told.take_out.at)


def _choices(made: ChoicesRecord | None) -> Choices:
    """What the earlier plan was asked for; nothing in one that does not tell it."""
    if made is None:
        return Choices()
    return Choices(
        options=made.options,
        printers=tuple(made.printers),
        filament=given(made.filament, None),
        prefer=tuple(made.prefer),
        section_dates=made.section_dates,
    )


def _whole(plan: EarlierPlan) -> EarlierPlan:
    """Every run has its batch and its spools, and every bed runs once."""
    batches = {batch.name for batch in plan.batches}
    spools = {use.spool for use in plan.spools}
    for n, run in enumerate(plan.runs):
        if run.batch not in batches:
            raise Fault(f"runs[{n}].batch", run.batch, "one of the batches")
        if any(draw.spool not in spools for draw in run.draws):
            raise Fault(f"runs[{n}].spools", [draw.spool for draw in run.draws], "among the spools")
    twice = [run.batch for n, run in enumerate(plan.runs) if run.batch in {r.batch for r in plan.runs[:n]}]
    if twice:
        raise Fault("runs", twice[0], "a batch that runs only once")
    return plan


def _spool(use: SpoolRecord, currency: str, place: str) -> SpoolUse:
    price = given(use.price, None)
    try:
        minor = None if price is None else to_minor(Decimal(price), currency)
    except (ArithmeticError, InputError) as error:
        raise Fault(f"{place}.price", price, "an amount") from error
    return SpoolUse(
        spool=use.spool,
        filament=use.filament,
        bought=use.bought,
        grams_before=use.grams_before,
        grams_used=use.grams_used,
        grams_purged=use.grams_purged,
        grams_left=use.grams_left,
        price_minor=minor,
    )
