"""What one change alone would buy: the table of what-ifs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from planner.tradeoffs.alternatives import Alternative, Rest, by_part, together, totals
from planner.units import MINUTES_PER_HOUR

Price = Literal["hour", "money"]
COUNT = 10


@dataclass(frozen=True, slots=True)
class SingleChange:
    """A part, or two twins, printed otherwise; ``moves_mm`` is what it does to the balance, aft positive."""

    parts: tuple[str, ...]
    planned: str
    instead: str
    saves_g: float
    more_minutes: float
    more_cost_minor: int
    moves_mm: float | None

    @property
    def part(self) -> str:
        """The part in words; twins as one and the other."""
        return " and ".join(self.parts)

    @property
    def grams_per_hour(self) -> float:
        """Grams saved for an hour more; infinite when it takes no more hours."""
        return _per(self.saves_g, self.more_minutes / MINUTES_PER_HOUR)

    @property
    def grams_per_minor(self) -> float:
        """Grams saved for one minor unit of money more; infinite when it costs no more."""
        return _per(self.saves_g, self.more_cost_minor)


def single_changes(table: Sequence[Alternative], rest: Rest) -> tuple[SingleChange, ...]:
    """Every change of one part, or of two twins at once, in the order of the table."""
    parts = by_part(table)
    planned = {name: next(row for row in rows if row.planned) for name, rows in parts.items()}
    before = totals(rest, planned.values()).station_mm
    changes = []
    for names in together(parts):
        old = [planned[name] for name in names]
        for way in parts[names[0]]:
            new = [row for name in names for row in parts[name] if row.name == way.name]
            if way.planned or len(new) < len(names):
                continue
            after = totals(rest, {**planned, **{row.part: row for row in new}}.values()).station_mm
            changes.append(
                SingleChange(
                    parts=names,
                    planned=old[0].name,
                    instead=way.name,
                    saves_g=sum(row.mass_g for row in old) - sum(row.mass_g for row in new),
                    more_minutes=sum(row.minutes for row in new) - sum(row.minutes for row in old),
                    more_cost_minor=sum(row.cost_minor for row in new) - sum(row.cost_minor for row in old),
                    moves_mm=None if before is None or after is None else after - before,
                )
            )
    return tuple(changes)


def best_single_changes(
    table: Sequence[Alternative], rest: Rest, price: Price, count: int = COUNT
) -> tuple[SingleChange, ...]:
    """The changes that save most grams for an hour or for money; free ones first, largest first."""
    saving = [change for change in single_changes(table, rest) if change.saves_g > 0.0]

    def worth(change: SingleChange) -> tuple[float, float]:
        rate = change.grams_per_hour if price == "hour" else change.grams_per_minor
        return -rate, -change.saves_g

    return tuple(sorted(saving, key=worth)[:count])


def _per(saved: float, more: float) -> float:
    if more > 0.0:
        return saved / more
    return math.inf if saved > 0.0 else -math.inf
