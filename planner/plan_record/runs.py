"""Runs, spools and visits: when each bed is printed, from what, and what there is to do."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta

from planner.model.replan import OUTCOMES
from planner.plan_record.values import (
    Amount,
    Count,
    Later,
    Minutes,
    Moment,
    Money,
    Name,
    Ordinal,
    Record,
    Seldom,
    SeldomLater,
    Text,
    Told,
    says,
)

Written = Literal["done", "failed", "running", ""]  # by hand: nothing between the quotes is no mark
_MARKS = Meta(
    extra_json_schema={"enum": [None, *OUTCOMES]}, extra={"wanted": f"one of: {', '.join(OUTCOMES)}"}
)


class DrawRecord(Record, frozen=True, kw_only=True):
    """Grams that a run takes from one spool."""

    spool: Name
    grams: Amount
    before_g: Later[
        Annotated[Amount, says("Of these, grams that were drawn before the spool was weighed.")]
    ] = UNSET


class RunRecord(Record, frozen=True, kw_only=True):
    """One bed on one printer, from heat-up to the end of printing."""

    run: Name
    batch: Name
    printer: Name
    start: Moment
    end: Moment
    attended_start: bool
    spools: list[DrawRecord]
    purge_g: Amount
    changed_from: Later[Text | None] = UNSET
    mark: Later[
        Annotated[
            Written | None,
            _MARKS,
            says(
                "null: planned; running: had begun before the plan was made. Write done, failed"
                " or running before planning again with --since."
            ),
        ]
    ] = UNSET
    dry_at: Later[
        Annotated[
            Moment | None,
            says(
                "When a run that had begun runs dry, nobody being there to change its spool;"
                " null where it does not."
            ),
        ]
    ] = UNSET
    short_g: Later[Annotated[Amount, says("Grams that it lacks then.")]] = UNSET


class SpoolRecord(Record, frozen=True, kw_only=True):
    """What the plan does to one spool."""

    spool: Name
    filament: Name
    bought: bool
    grams_before: Amount
    grams_used: Amount
    grams_purged: Amount
    grams_left: Amount
    price: Later[Money | None] = UNSET
    colour: Seldom[Annotated[Text, says("Its colour, where that is told.")]] = UNSET
    lot: Seldom[Annotated[Text, says("Its lot, where that is told.")]] = UNSET


class BuyingRecord(Record, frozen=True, kw_only=True):
    """What new spools beyond those that the grams need do to the plan."""

    spools: Ordinal
    price_minor: Count | None
    sooner_h: Amount
    other_finish: Moment | None
    bought: bool


class VisitRecord(Record, frozen=True, kw_only=True):
    """A time at which somebody has something to do, in the order to do it."""

    at: Moment
    minutes: Minutes
    tasks: list[str]


class AwayRecord(Record, frozen=True, kw_only=True):
    """What is not to be had for a while; null: until told otherwise."""

    what: Literal["printer", "filament", "spool"]
    name: Name
    since: Moment
    until: Moment | None
    why: str


class DryerLoadRecord(Record, frozen=True, kw_only=True):
    """Spools of one filament that go into a dryer, and come out of it, together."""

    dryer: Ordinal
    filament: Name
    spools: list[Name]
    put_in: Moment
    take_out: Moment


class LotRecord(Record, frozen=True, kw_only=True):
    """Pieces of a section that come from one lot of a filament."""

    section: Name
    filament: Name
    lot: Annotated[Text, says("As told, else by the spool; new: what is bought for the plan.")]
    pieces: list[str]


class ScheduleRecord(Record, frozen=True, kw_only=True):
    """When all of it is done, what is proved about that, and the visits."""

    finish: Moment
    makespan_h: Told[Amount] = UNSET
    print_hours: Told[dict[str, Amount]] = UNSET
    lower_bound_h: Told[Amount | None] = UNSET
    proven_gap: Told[Amount | None] = UNSET
    interventions: Told[Count] = UNSET
    changeovers: Told[Count] = UNSET
    buying: Seldom[BuyingRecord] = UNSET
    away: Seldom[
        Annotated[
            list[AwayRecord], says("Printers, filaments and spools that are away while the plan lasts.")
        ]
    ] = UNSET
    drying: SeldomLater[
        Annotated[list[DryerLoadRecord], says("Which spools are in which dryer, from when until when.")]
    ] = UNSET
    lots: Seldom[
        Annotated[list[LotRecord], says("Of sections that ask for one lot; that with most pieces first.")]
    ] = UNSET
    visits: list[VisitRecord]
