"""What the airframe weighs, and what it costs."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.plan_record.values import (
    Amount,
    Count,
    Later,
    Money,
    Ordinal,
    Record,
    Seldom,
    Text,
    Told,
    says,
)


class MassItemRecord(Record, frozen=True, kw_only=True):
    """A piece, a fitting or a finish item, and where its mass sits."""

    what: Text
    kind: Text
    finish: Told[
        Annotated[
            str,
            says(
                "Which finish: glue, primer, paint; a kind has one item for each section. Empty for all else."
            ),
        ]
    ] = UNSET
    section: Told[str] = UNSET
    mass_g: Amount
    station_mm: Later[float | None] = UNSET
    across_mm: Later[float | None] = UNSET
    up_mm: Later[float | None] = UNSET
    ten_g_moves_mm: Told[
        Annotated[float | None, says("How far aft ten grams more there move the balance.")]
    ] = UNSET


class MassRecord(Record, frozen=True, kw_only=True):
    """Sums, their range, and every item."""

    printed_g: Told[Amount] = UNSET
    fittings_g: Told[Amount] = UNSET
    finish_g: Told[Amount] = UNSET
    total_g: Told[Amount] = UNSET
    low_g: Told[Amount] = UNSET
    high_g: Told[Amount] = UNSET
    target_g: Told[Amount | None] = UNSET
    notes: Told[list[str]] = UNSET
    items: list[MassItemRecord]


class CostLineRecord(Record, frozen=True, kw_only=True):
    """One line of the cost sheet; amounts that are not known are null."""

    what: str
    quantity: float
    unit: str
    unit_price: Money | None
    amount: Money | None
    kind: str
    source: str
    in_total: bool


class SeriesRowRecord(Record, frozen=True, kw_only=True):
    """So many of the same airframe, one after the other on the same beds."""

    copies: Ordinal
    total: Annotated[Money, says("The first, and so many further ones.")]
    each: Annotated[Money, says("The total divided by the copies, rounded half up.")]
    spools: Annotated[Count, says("Spools to buy whole, at least.")]
    left_g: Annotated[Amount, says("What is left on these spools.")]
    left: Annotated[Money, says("What that is worth by the gram, as far as prices are known.")]
    each_with_spools: Annotated[Money, says("One airframe, what is left on these spools counted, too.")]
    print_hours: Amount
    busiest_hours: Annotated[Amount, says("Those of the printer that prints longest.")]
    lost_hours: Annotated[Amount, says("Hours that failures are expected to take beside these.")]
    person_minutes: Count


class SeriesRecord(Record, frozen=True, kw_only=True):
    """What one more of the same airframe costs, and what several come to."""

    one_more: Money
    lines: Annotated[list[CostLineRecord], says("What one more costs that is not the first.")]
    busiest: Annotated[Text, says("The printer that prints longest.")]
    rows: list[SeriesRowRecord]


class CostRecord(Record, frozen=True, kw_only=True):
    """What it costs, line by line, by kind and by section."""

    lines: list[CostLineRecord]
    totals: dict[str, Money]
    total: Money
    left_out: list[str]
    apart: dict[str, Money]
    by_section: Annotated[
        dict[str, Money],
        says("The total divided among the sections; what belongs to none has an empty name."),
    ]
    series: Seldom[
        Annotated[SeriesRecord, says("Of a first plan of one whole airframe: what more of it cost.")]
    ] = UNSET
