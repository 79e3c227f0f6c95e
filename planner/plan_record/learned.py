"""What a ledger had taught the plan, and how far it has been read."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.plan_record.values import Amount, Count, Later, Moment, Positive, Record, Text, Told, says


class PartFactorRecord(Record, frozen=True, kw_only=True):
    """What the grams of a part are, times those of the tables."""

    part: Text
    factor: Positive


class PrinterFactorRecord(Record, frozen=True, kw_only=True):
    """What the minutes of a printer are, times those without any timed run."""

    printer: Text
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


class LedgerRecord(Record, frozen=True, kw_only=True):
    """What the plan took from a ledger."""

    facts: Annotated[Count, says("Place of the last fact that the plan counts.")]
    parts: Later[list[PartFactorRecord]] = UNSET
    printers: Later[list[PrinterFactorRecord]] = UNSET
    predicted: Later[list[PredictedRecord]] = UNSET
    factors: Told[list[FactorRecord]] = UNSET
    weigh_ins: Told[list[WeighInRecord]] = UNSET
    failures: Told[list[FailuresRecord]] = UNSET
