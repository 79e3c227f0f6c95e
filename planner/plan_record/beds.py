"""Beds: which pieces lie on them, and where."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta

from planner.model.printer import Shape
from planner.plan_record.values import (
    Amount,
    Digest,
    Later,
    Name,
    Outline,
    Positive,
    Record,
    Seldom,
    SeldomLater,
    Text,
    Told,
    says,
)


class BedRecord(Record, frozen=True, kw_only=True):
    """The bed of a kind of printer, origin in the front left corner of its bounding box."""

    shape: Shape
    width_mm: Amount | None
    depth_mm: Amount | None
    margin_mm: Amount | None
    keep_outs: list[Outline]
    outline_mm: Seldom[Outline] = UNSET


class PlacedRecord(Record, frozen=True, kw_only=True):
    """A piece where it lies: its own corner, its turn, and its true outline without clearance."""

    piece: Name
    x_mm: float
    y_mm: float
    turn_deg: float
    height_mm: Amount
    outline_mm: Outline


class FitRecord(Record, frozen=True, kw_only=True):
    """Nozzle and plate that a bed asks for; null or empty: as its printer has them."""

    nozzle_mm: Positive | None
    hardened: bool
    plate: Text


class BatchRecord(Record, frozen=True, kw_only=True):
    """Pieces of one filament and one layer height that are printed together."""

    batch: Name
    printer_kind: Name
    bed: Told[BedRecord] = UNSET
    filament: Name
    layer_height_mm: Positive
    minutes: Amount
    mass_g: Amount
    height_mm: Amount
    placed: Annotated[list[PlacedRecord], Meta(min_length=1, extra={"wanted": "a list with a piece in it"})]
    fill: Amount
    repeats: SeldomLater[
        Annotated[str, says("The bed that lies alike, with the pieces of another copy of the airframe.")]
    ] = UNSET
    model_sha256: Later[Annotated[Digest | None, says("SHA-256 of 3D/3dmodel.model in the bed file.")]] = (
        UNSET
    )
    fit: SeldomLater[Annotated[FitRecord, says("Nozzle and plate that its parts ask for.")]] = UNSET
    colour: Seldom[Annotated[Text, says("The colour that all its pieces are asked for in.")]] = UNSET
    machine_file: SeldomLater[
        Annotated[Text, says("File that was read back, whose grams and minutes these are; else estimated.")]
    ] = UNSET
