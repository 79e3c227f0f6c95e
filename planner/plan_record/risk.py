"""What may go wrong with a plan: when it ends, how many grams it takes, and on which beds that hangs."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from planner.plan_record.values import Amount, Count, Moment, Name, Ordinal, Record, says

Share = Annotated[float, Meta(ge=0, le=1)]


class FinishShareRecord(Record, frozen=True, kw_only=True):
    """A moment until which all is printed in that share of the worlds; null: never."""

    share: Share
    at: Moment | None


class FilamentRiskRecord(Record, frozen=True, kw_only=True):
    """Grams of a filament with its purges: as planned, and what suffices in half and in 90 % of worlds."""

    filament: Name
    planned_g: Amount
    half_g: Amount
    most_g: Amount


class BedRiskRecord(Record, frozen=True, kw_only=True):
    """A bed, and how far the finish hangs on it."""

    batch: Name
    decides: Annotated[Share, says("Share of worlds in which it lies on the chain that decides the finish.")]
    fails: Annotated[Share, says("Share of worlds in which it fails at least once.")]
    sooner_h: Annotated[float, says("How much sooner the finish would be on average without its trouble.")]


class PrinterChancesRecord(Record, frozen=True, kw_only=True):
    """What is taken to be likely of a printer."""

    printer: Name
    failures_per_hour: Amount
    spread: Annotated[
        Amount, says("Standard deviation of ln(minutes / planned) that its beds have in common.")
    ]


class RiskRecord(Record, frozen=True, kw_only=True):
    """The plan lived through in simulated worlds."""

    worlds: Ordinal
    seed: Count
    missed: Annotated[Share, says("Chance that a visit is missed.")]
    printers: list[PrinterChancesRecord]
    rest: Annotated[Amount, says("Standard deviation of ln(minutes / planned) of each bed by itself.")]
    kept: Annotated[Share, says("Share of worlds that end as planned or before.")]
    unfinished: Annotated[Share, says("Share of worlds that never end.")]
    finish: list[FinishShareRecord]
    filaments: list[FilamentRiskRecord]
    beds: list[BedRiskRecord]
