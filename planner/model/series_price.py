"""What one more of the same airframe costs, and what a series of them comes to."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.budget import CostLine

COPIES = (1, 5, 20, 50)


@dataclass(frozen=True, slots=True)
class SeriesRow:
    """So many airframes, one after the other on the same beds.

    ``total_minor`` is the first and so many further ones, exactly; ``each_minor`` that divided, rounded half
    up. ``spools`` are bought whole at least, and ``left_g`` is what is left on them; ``left_minor`` is its
    worth by the gram, and ``whole_each_minor`` one airframe where that counts, too. Hours are those of
    all: printing, of the printer that prints longest, and lost to failures; minutes those of a person.
    """

    copies: int
    total_minor: int
    each_minor: int
    spools: int
    left_g: float
    left_minor: int
    whole_each_minor: int
    print_hours: float
    busiest_hours: float
    lost_hours: float
    person_minutes: int


@dataclass(frozen=True, slots=True)
class SeriesPrice:
    """One more airframe, line by line, and rows for several numbers of them.

    ``lines`` are those of the cost sheet that are in its total, as the beds cost when they are printed once
    more; ``one_more_minor`` is their sum. What has no price has none here, either.
    """

    lines: tuple[CostLine, ...]
    one_more_minor: int
    busiest: str
    rows: tuple[SeriesRow, ...]
