"""The beds of a plan as records."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import UNSET, UnsetType

from planner.model.batch import Batch
from planner.model.fit import ANY
from planner.model.printer import Bed
from planner.plan_record.beds import BatchRecord, BedRecord, FitRecord, PlacedRecord
from planner.report.exports.plan_json_values import ring, rounded
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.report.spool_colours import colour_of


def batch_records(batches: Iterable[Batch], look: Lookup) -> list[BatchRecord]:
    """Every bed with its pieces where they lie."""
    return [batch_record(batch, look) for batch in batches]


def batch_record(batch: Batch, look: Lookup) -> BatchRecord:
    """One bed with its pieces where they lie."""
    return BatchRecord(
        batch=clean(batch.name),
        printer_kind=clean(batch.printer_kind),
        bed=_bed(look.bed(batch.printer_kind)),
        filament=clean(batch.filament),
        layer_height_mm=rounded(batch.layer_height_mm, 4),
        minutes=rounded(batch.minutes, 2),
        mass_g=rounded(batch.mass_g),
        height_mm=rounded(batch.height_mm),
        placed=[
            PlacedRecord(
                piece=clean(p.piece),
                x_mm=rounded(p.x_mm),
                y_mm=rounded(p.y_mm),
                turn_deg=rounded(p.turn_deg),
                height_mm=rounded(p.height_mm),
                outline_mm=ring(p.outline_mm),
            )
            for p in batch.placed
        ],
        fill=rounded(batch.fill, 4),
        repeats=clean(batch.repeats) or UNSET,
        model_sha256=batch.digest or None,
        fit=_fit(batch),
        colour=clean(colour_of(look.plan, batch.filament)) or UNSET,
        machine_file=clean(batch.machine_file) if batch.machine_file else UNSET,
    )


def _fit(batch: Batch) -> FitRecord | UnsetType:
    if batch.fit == ANY:
        return UNSET
    nozzle = batch.fit.nozzle_mm
    return FitRecord(
        nozzle_mm=None if nozzle is None else rounded(nozzle, 4),
        hardened=batch.fit.hardened,
        plate=clean(batch.fit.plate),
    )


def _bed(bed: Bed | None) -> BedRecord:
    """The bed of a kind of printer; a kind that is not known any more has no sizes."""
    if bed is None:
        return BedRecord(shape="rectangle", width_mm=None, depth_mm=None, margin_mm=None, keep_outs=[])
    return BedRecord(
        shape=bed.shape,
        width_mm=rounded(bed.width_mm),
        depth_mm=rounded(bed.depth_mm),
        margin_mm=rounded(bed.margin_mm),
        keep_outs=[ring(one) for one in bed.keep_outs],
        outline_mm=ring(bed.outline) if bed.outline else UNSET,
    )
