"""Independent checks of mass, balance and cost: exact fractions, no code shared with what is checked."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from planner.model.budget import Balance, Cost, Mass
from planner.units import minor_digits

_MASS_TOLERANCE_G = Fraction(1, 10**6)  # sums of floats against exact sums
_STATION_TOLERANCE_MM = Fraction(1, 10**6)


def budget_faults(mass: Mass, balance: Balance, cost: Cost) -> tuple[str, ...]:
    """One sentence for each thing that does not add up; empty when all does."""
    return (*mass_faults(mass), *balance_faults(mass, balance), *cost_faults(cost))


def mass_faults(mass: Mass) -> tuple[str, ...]:
    """Whether kinds add up to their totals, and the range holds the expected value."""
    faults: list[str] = []
    kinds = {"printed": mass.printed_g, "fitting": mass.fittings_g, "finish": mass.finish_g}
    for kind, told in kinds.items():
        exact = sum((Fraction(i.mass_g) for i in mass.items if i.kind == kind), Fraction(0))
        if abs(exact - Fraction(told)) > _MASS_TOLERANCE_G:
            faults.append(f"Mass of kind {kind}: {told} g is told, the items add up to {float(exact)} g.")
    strange = sorted({item.kind for item in mass.items} - set(kinds))
    faults += [f"Mass items of kind {kind} belong to no total." for kind in strange]
    exact = sum((Fraction(item.mass_g) for item in mass.items), Fraction(0))
    if abs(exact - Fraction(mass.total_g)) > _MASS_TOLERANCE_G:
        faults.append(f"Total mass: {mass.total_g} g is told, the items add up to {float(exact)} g.")
    if not mass.low_g <= mass.total_g <= mass.high_g:
        faults.append(f"Total mass {mass.total_g} g lies outside its range {mass.low_g} to {mass.high_g} g.")
    faults += [f"{item.what} has a negative mass." for item in mass.items if item.mass_g < 0]
    return tuple(faults)


def balance_faults(mass: Mass, balance: Balance) -> tuple[str, ...]:
    """Whether the moments about the told centre of gravity cancel, and nothing is lost."""
    faults: list[str] = []
    placed = [(Fraction(i.mass_g), Fraction(i.station_mm)) for i in mass.items if i.station_mm is not None]
    grams = sum((m for m, _ in placed), Fraction(0))
    whole = Fraction(balance.placed_g) + Fraction(balance.unplaced_g)
    if abs(whole - Fraction(mass.total_g)) > _MASS_TOLERANCE_G:
        faults.append(f"Placed and unplaced make {float(whole)} g of a total of {mass.total_g} g.")
    if (balance.station_mm is None) != (grams == 0):
        faults.append("A balance is told without placed mass, or none although there is some.")
    if balance.station_mm is not None and grams:
        left_over = sum((m * (x - Fraction(balance.station_mm)) for m, x in placed), Fraction(0))
        if abs(left_over) > _STATION_TOLERANCE_MM * grams:
            faults.append(
                f"About station {balance.station_mm} mm a moment of {float(left_over)} g mm is left."
            )
        if balance.window_mm is not None:
            fore, aft = balance.window_mm
            if balance.inside is not (fore <= balance.station_mm <= aft):
                faults.append(f"Inside the window is told as {balance.inside} for {balance.station_mm} mm.")
    return tuple(faults)


def cost_faults(cost: Cost) -> tuple[str, ...]:
    """Whether each line, each kind and the total add up to the last minor unit."""
    faults: list[str] = []
    kinds: dict[tuple[bool, str], int] = {}
    for line in cost.lines:
        if (line.unit_price is None) != (line.amount_minor is None):
            faults.append(f"{line.what}: a price without an amount, or an amount without a price.")
        if line.amount_minor is not None:
            exact = (
                Fraction(line.quantity) * Fraction(line.unit_price or 0) * 10 ** minor_digits(cost.currency)
            )
            if abs(exact - line.amount_minor) > Fraction(1, 2):
                faults.append(f"{line.what}: {line.quantity} x {line.unit_price} is not {line.amount_minor}.")
            key = (line.in_total, line.kind)
            kinds[key] = kinds.get(key, 0) + line.amount_minor
    for in_total, told in ((True, cost.totals_minor), (False, cost.apart_minor)):
        summed = {kind: amount for (inside, kind), amount in kinds.items() if inside is in_total}
        if summed != dict(told):
            faults.append(f"Totals by kind are told as {dict(told)}, the lines add up to {summed}.")
    total = sum(amount for (inside, _), amount in kinds.items() if inside)
    if total != cost.total_minor:
        faults.append(f"The total is told as {cost.total_minor}, the lines add up to {total} minor units.")
    unpriced: Sequence[str] = [li.what for li in cost.lines if li.amount_minor is None and li.in_total]
    if sorted(unpriced) != sorted(cost.left_out):
        faults.append("The lines without a price are not those that are named as left out.")
    return tuple(faults)
