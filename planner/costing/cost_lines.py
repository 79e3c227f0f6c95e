"""Making one line of the cost sheet, and adding lines up."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from planner.model.budget import Cost, CostLine
from planner.units import minor_digits, to_minor

_UNIT_PRICE_STEP = Decimal("0.000001")
QUANTITY_STEPS = {
    "g": Decimal("0.1"),
    "h": Decimal("0.01"),
    "kWh": Decimal("0.001"),
    "min": Decimal(1),
    "piece": Decimal(1),
    "spool": Decimal(1),
    "lot": Decimal(1),
}


def cost_line(
    what: str,
    quantity: float,
    unit: str,
    unit_price: Decimal | None,
    currency: str,
    kind: str,
    source: str,
    *,
    in_total: bool = True,
) -> CostLine:
    """One line; quantity and unit price are rounded first, so that the sheet can be checked by hand."""
    count = Decimal(repr(float(quantity))).quantize(QUANTITY_STEPS[unit], rounding=ROUND_HALF_UP)
    if unit_price is None:
        return CostLine(what, count, unit, None, None, kind, source, in_total)
    price = unit_price.quantize(_UNIT_PRICE_STEP, rounding=ROUND_HALF_UP).normalize()
    if price == price.to_integral_value():
        price = price.quantize(Decimal(1))
    return CostLine(what, count, unit, price, to_minor(count * price, currency), kind, source, in_total)


def major(minor: int, currency: str) -> Decimal:
    """Minor units as an amount: ``1450`` cents are ``14.50``."""
    return Decimal(minor).scaleb(-minor_digits(currency))


def sheet(currency: str, lines: Sequence[CostLine]) -> Cost:
    """Lines with their totals; what has no price is named, not counted as zero."""
    totals: dict[str, int] = {}
    apart: dict[str, int] = {}
    for line in lines:
        if line.amount_minor is not None:
            side = totals if line.in_total else apart
            side[line.kind] = side.get(line.kind, 0) + line.amount_minor
    return Cost(
        currency=currency,
        lines=tuple(lines),
        totals_minor=totals,
        total_minor=sum(totals.values()),
        left_out=tuple(line.what for line in lines if line.amount_minor is None and line.in_total),
        apart_minor=apart,
    )
