"""Independent checks of mass, balance and cost: exact fractions, no code shared with what is checked."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from planner.model.airframe import Finish
from planner.model.budget import Balance, Cost, Mass, MassItem
from planner.units import minor_digits

_MASS_TOLERANCE_G = Fraction(1, 10**6)  # sums of floats against exact sums
_STATION_TOLERANCE_MM = Fraction(1, 10**6)
_GLUE_OF_PRINTED = Fraction(25, 1000)


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


def finish_faults(finish: Finish, mass: Mass) -> tuple[str, ...]:
    """Whether the sections' glue and paint make the totals that were asked for, where they may be."""
    lines = [item for item in mass.items if item.kind == "finish"]
    printed = [item for item in mass.items if item.kind == "printed"]
    faults: list[str] = []
    told = {"glue": finish.glue_g, "primer and paint": finish.paint_g}
    wanted = {what: Fraction(grams) for what, grams in told.items() if grams is not None}
    if finish.glue_g is None and finish.glue_g_per_cm2 is None:
        wanted["glue"] = _GLUE_OF_PRINTED * sum((Fraction(item.mass_g) for item in printed), Fraction(0))
    for what, grams in wanted.items():
        exact = sum((Fraction(item.mass_g) for item in lines if item.finish == what), Fraction(0))
        if abs(exact - grams) > _MASS_TOLERANCE_G:
            faults.append(f"{what}: the sections add up to {float(exact)} g instead of {float(grams)} g.")
    for item in lines:
        if not item.finish.startswith("glue") and not _may_be_painted(finish, item, printed):
            faults.append(f"{item.what}: {item.section or 'no section'} is not painted.")
        if finish.station_mm is not None and item.station_mm != finish.station_mm:
            faults.append(f"{item.what} is not at the station that is given for it.")
        placed = {(i.finish, i.section) for i in lines if i.station_mm is not None}
        name = item.finish + (f", {item.section}" if item.section else "")
        if item.station_mm is None and (item.finish, item.section) in placed:
            name += " (no station)"  # the rest of a section of which some has its place
        if item.what != name:
            faults.append(f"{item.what} is told of {name}.")
    if len({item.what for item in lines}) < len(lines):
        faults.append("Two lines of glue or paint have one name.")
    return tuple(faults)


def _may_be_painted(finish: Finish, item: MassItem, printed: Sequence[MassItem]) -> bool:
    """A painted section, or paint for which there is no piece and no place."""
    if not finish.painted or item.section in finish.painted:
        return True
    return not any(piece.section in finish.painted for piece in printed)


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
