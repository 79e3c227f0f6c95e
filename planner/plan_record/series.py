"""The memory of a series of plans: what is over, what is printed, what has changed."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.model.replan import ChangeKind, Outcome
from planner.plan_record.beds import BatchRecord
from planner.plan_record.parts import Rotation
from planner.plan_record.runs import RunRecord
from planner.plan_record.values import (
    Amount,
    Count,
    Digest,
    Later,
    Moment,
    Ordinal,
    Positive,
    Record,
    SeldomLater,
    Text,
    Told,
    says,
)


class PastRecord(Record, frozen=True, kw_only=True):
    """A run that is over, and its bed."""

    outcome: Outcome
    good: list[str]
    on_bed: bool
    scrapped: Later[
        Annotated[
            list[str],
            says("Pieces that it had left for use and that are printed once more."),
        ]
    ] = UNSET
    run: RunRecord
    batch: BatchRecord


class PrintedRecord(Record, frozen=True, kw_only=True):
    """A piece that is printed or being printed, as it was made."""

    piece: Text
    bed: Text
    filament: Text
    recipe: Text
    mass_g: Amount
    flying_g: Amount
    mesh_sha256: Later[Digest | None] = UNSET
    recipe_sha256: Later[Digest | None] = UNSET
    rotation: Later[Rotation | None] = UNSET
    station_mm: Later[float | None] = UNSET
    across_mm: Later[float | None] = UNSET
    up_mm: Later[float | None] = UNSET


class FilamentRecord(Record, frozen=True, kw_only=True):
    """What was known of a filament in use."""

    filament: Text
    deposited_g_per_cm3: Positive
    nozzle_c: Amount
    of: SeldomLater[Annotated[Text, says("The stock item, where this is one colour of it.")]] = UNSET
    colour: SeldomLater[Annotated[Text, says("The colour that is asked for.")]] = UNSET


class SlotRecord(Record, frozen=True, kw_only=True):
    """Where and when a bed runs."""

    printer: str
    start: Moment
    end: Moment


class ChangeRecord(Record, frozen=True, kw_only=True):
    """What became of one bed since the earlier plan."""

    batch: str
    what: ChangeKind
    was: SlotRecord | None
    now: SlotRecord | None
    note: str


class GoneRecord(Record, frozen=True, kw_only=True):
    """A visit of the earlier plan that nobody need come to any more."""

    at: Moment


class ChangedRecord(Record, frozen=True, kw_only=True):
    """A printer that was made ready for a bed that has not begun."""

    printer: Text
    filament: Text
    spool: Text
    purged_g: Amount


class ToldRecord(Record, frozen=True, kw_only=True):
    """What the shelf is told to hold of a spool."""

    spool: Text
    grams: Amount


class ReplanRecord(Record, frozen=True, kw_only=True):
    """How the plan differs from the one that it goes on from."""

    since: Told[str] = UNSET
    tolerance_h: Told[Amount] = UNSET
    earlier_finish: Told[Moment] = UNSET
    best_finish: Told[Moment] = UNSET
    open: Told[Count] = UNSET
    moved: Told[Count] = UNSET
    proved_fewest: Told[bool] = UNSET
    changes: Told[list[ChangeRecord]] = UNSET
    series: Annotated[
        Text,
        says("Identification of the first plan of the series, shortened; calendar events carry it."),
    ]
    generation: Ordinal
    last_bed: Later[Annotated[Count, says("The highest number that a bed of the series ever had.")]] = UNSET
    visits_gone: list[GoneRecord]
    changed: Later[
        Annotated[
            list[ChangedRecord],
            says(
                "Printers that have the filament of a bed on that has not begun,"
                " and what was purged for it from its spool."
            ),
        ]
    ] = UNSET
    told: Annotated[
        list[ToldRecord],
        says("What the shelf is told to hold now, so that a later plan sees what was weighed anew."),
    ]
