"""Beds and runs of an earlier plan, as the values that a later plan goes on from."""

from __future__ import annotations

from dataclasses import replace

from msgspec import UnsetType

from planner.model.batch import Batch, Placed
from planner.model.fit import ANY, Fit
from planner.model.printer import Outline
from planner.model.replan import PastRun
from planner.model.schedule import Draw, Run
from planner.plan_record.beds import BatchRecord, PlacedRecord
from planner.plan_record.faults import Fault
from planner.plan_record.runs import RunRecord
from planner.plan_record.series import PastRecord
from planner.plan_record.values import Ring, given


def batch_of(told: BatchRecord) -> Batch:
    """A bed with its pieces where they lie."""
    return Batch(
        name=told.batch,
        printer_kind=told.printer_kind,
        filament=told.filament,
        layer_height_mm=told.layer_height_mm,
        placed=tuple(map(_placed, told.placed)),
        minutes=told.minutes,
        mass_g=told.mass_g,
        height_mm=told.height_mm,
        fill=told.fill,
        digest=given(told.model_sha256, None) or "",
        fit=ANY
        if isinstance(told.fit, UnsetType)
        else Fit(told.fit.nozzle_mm, told.fit.hardened, told.fit.plate),
        machine_file=given(told.machine_file, None) or "",
        repeats=given(told.repeats, ""),
    )


def run_of(told: RunRecord, place: str) -> Run:
    """A run; ``place`` is where it stands in the file.

    Raises
    ------
    Fault
        where it ends before it starts
    """
    dry = given(told.dry_at, None)
    run = Run(
        name=told.run,
        batch=told.batch,
        printer=told.printer,
        start=told.start.at,
        end=told.end.at,
        attended_start=told.attended_start,
        draws=tuple(Draw(one.spool, one.grams, given(one.before_g, 0.0)) for one in told.spools),
        purge_g=told.purge_g,
        changed_from=given(told.changed_from, None),
        mark=given(told.mark, None) or "",
        dry_at=None if dry is None else dry.at,
        short_g=given(told.short_g, 0.0),
    )
    if run.end < run.start:
        raise Fault(f"{place}.end", told.end, "after its start")
    return run


def past_run_of(told: PastRecord, place: str) -> PastRun:
    """A run that is over; ``place`` is where it stands in the file."""
    run = replace(run_of(told.run, f"{place}.run"), mark="")
    scrapped = tuple(given(told.scrapped, []))
    return PastRun(run, batch_of(told.batch), told.outcome, tuple(told.good), told.on_bed, scrapped)


def _placed(told: PlacedRecord) -> Placed:
    return Placed(told.piece, told.x_mm, told.y_mm, told.turn_deg, _outline(told.outline_mm), told.height_mm)


def _outline(ring: Ring) -> Outline:
    return tuple((x, y) for x, y in ring)
