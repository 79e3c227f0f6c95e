"""What a ledger had taught the plan, and how far it has been read."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.plan_record.values import (
    Amount,
    Count,
    Later,
    Moment,
    Money,
    Positive,
    Record,
    Seldom,
    SeldomLater,
    Text,
    Told,
    says,
)


class PartFactorRecord(Record, frozen=True, kw_only=True):
    """What the grams of a part are, times those of the tables."""

    part: Text
    factor: Positive


class PrinterFactorRecord(Record, frozen=True, kw_only=True):
    """What the minutes of a printer are, times those without any timed run."""

    printer: Text
    factor: Positive


class MinutesRecord(Record, frozen=True, kw_only=True):
    """What the minutes of a filament on a printer are, times those without any timed run."""

    printer: Text
    filament: Text
    factor: Positive


class PredictedRecord(Record, frozen=True, kw_only=True):
    """What a piece flies with by the tables alone."""

    piece: Text
    grams: Amount


class FactorRecord(Record, frozen=True, kw_only=True):
    """A learned factor with its 10 and 90 % values, and from how many weigh-ins or runs."""

    what: str
    name: str
    factor: float
    low: float
    high: float
    facts: Count


class WeighInRecord(Record, frozen=True, kw_only=True):
    """A weigh-in, what the tables say and what was expected; one that is not believed taught nothing."""

    pieces: str
    at: Moment | None
    grams: Amount
    predicted_g: Amount
    expected_g: Amount
    believed: bool


class FailuresRecord(Record, frozen=True, kw_only=True):
    """Failures of a printer and the hours in which they came."""

    printer: str
    per_hour: float
    failures: Count
    hours: Amount


class FactorThenRecord(Record, frozen=True, kw_only=True):
    """A filament's factor with its 10 and 90 % values, as it was known then."""

    name: str
    factor: float
    low: float
    high: float


class CourseRecord(Record, frozen=True, kw_only=True):
    """What the airframe was expected to weigh after a weigh-in; the first row stands before all of them."""

    after: str
    at: Moment | None
    mass_g: float
    low_g: float
    high_g: float
    factors: list[FactorThenRecord]


class WeighNextRecord(Record, frozen=True, kw_only=True):
    """A printed piece that was not weighed, and the range of the mass once it will have been."""

    piece: str
    low_g: float
    high_g: float


class OutlookRecord(Record, frozen=True, kw_only=True):
    """What the weigh-ins tell of the airframe as a whole."""

    foretold: Annotated[Count, says("Weigh-ins that had a range of 80 % before they were made.")]
    inside: Annotated[Count, says("Of these, those that lay in theirs.")]
    target_chance: Annotated[float | None, says("How likely the target mass is kept; null without a target.")]
    weigh_next: Annotated[list[WeighNextRecord], says("The one that narrows the range most comes first.")]
    course: list[CourseRecord]


class SpreadsRecord(Record, frozen=True, kw_only=True):
    """Standard deviations of ln that were learned with, and how many weigh-ins they were fitted to."""

    spool: Amount
    printer: Amount
    recipe: Amount
    times_filament: Amount
    times_rest: Amount
    fitted_from: Count


class TimedRecord(Record, frozen=True, kw_only=True):
    """A run of the airframe whose minutes were measured."""

    bed: str
    printer: str
    measured: Amount
    predicted: Amount


class GramsDrawnRecord(Record, frozen=True, kw_only=True):
    """Grams that the airframe drew, or was to draw, from a spool."""

    spool: str
    grams: Amount


class FirstRecord(Record, frozen=True, kw_only=True):
    """What the first plan of the build promised."""

    start: Moment
    finish: Moment
    mass_g: float | None
    low_g: float | None
    high_g: float | None
    printed_g: float | None
    station_mm: float | None
    print_hours: float | None
    cost: Money | None
    beds: Count
    spools: list[GramsDrawnRecord]


class LedgerRecord(Record, frozen=True, kw_only=True):
    """What the plan took from a ledger."""

    facts: Annotated[Count, says("Place of the last fact that the plan counts.")]
    parts: Later[list[PartFactorRecord]] = UNSET
    printers: Later[list[PrinterFactorRecord]] = UNSET
    minutes: SeldomLater[list[MinutesRecord]] = UNSET
    predicted: Later[list[PredictedRecord]] = UNSET
    factors: Told[list[FactorRecord]] = UNSET
    weigh_ins: Told[list[WeighInRecord]] = UNSET
    failures: Told[list[FailuresRecord]] = UNSET
    spreads: Seldom[SpreadsRecord] = UNSET
    runs: Seldom[list[TimedRecord]] = UNSET
    drawn: Seldom[list[GramsDrawnRecord]] = UNSET
    outlook: Seldom[OutlookRecord] = UNSET
    first: Seldom[FirstRecord] = UNSET
