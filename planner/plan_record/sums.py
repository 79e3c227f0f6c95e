"""What the airframe weighs, and what it costs."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.plan_record.values import Amount, Later, Money, Record, Text, Told, says


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
