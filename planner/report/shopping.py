"""What is to be bought: one list for terminal, report and workbook."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.plan import Plan

FILAMENT, FITTING = "filament", "fitting"


@dataclass(frozen=True, slots=True)
class ToBuy:
    """One line: what, of which kind, how many, and the price of one (``None``: nobody gave it)."""

    what: str
    kind: str
    number: int
    price_minor: int | None

    @property
    def amount_minor(self) -> int | None:
        """What all of them cost together."""
        return None if self.price_minor is None else self.price_minor * self.number


def spools_to_buy(plan: Plan) -> tuple[tuple[str, float, int, int | None], ...]:
    """Spools to buy: filament, grams on a spool, how many, price of one (``None``: not known)."""
    found: dict[tuple[str, float, int | None], int] = {}
    for use in plan.spools:
        if use.bought:
            key = (use.filament, use.grams_before, use.price_minor)
            found[key] = found.get(key, 0) + 1
    return tuple((name, size, number, price) for (name, size, price), number in found.items())


def shopping_list(plan: Plan) -> tuple[ToBuy, ...]:
    """Whole spools, then the fittings of the options that are chosen."""
    spools = [
        ToBuy(f"{name}, spool of {size:.0f} g", FILAMENT, number, price)
        for name, size, number, price in spools_to_buy(plan)
    ]
    fittings = [
        ToBuy(fitting.name, FITTING, fitting.count, fitting.price_minor)
        for fitting in plan.airframe.fittings
        if fitting.count and plan.airframe.chosen(fitting.option)
    ]
    return (*spools, *fittings)


def total_minor(items: tuple[ToBuy, ...]) -> int:
    """The sum of what has a price."""
    return sum(item.amount_minor or 0 for item in items)


def without_price(items: tuple[ToBuy, ...]) -> tuple[str, ...]:
    """What the sum leaves out."""
    return tuple(item.what for item in items if item.price_minor is None)
