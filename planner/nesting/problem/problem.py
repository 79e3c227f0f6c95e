"""What is asked of the nesting: pieces, beds, how far apart, and how hard to search."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from planner.errors import InputError
from planner.model.effort import Effort
from planner.nesting.problem.item import BedKind, Item

MOST_SPACING_MM = 1000.0


def never(steps: int) -> bool:
    """A search that nobody stops."""
    return False


MANY = 24  # pieces; the steps of more are those of so many, for each is tried on more beds


@dataclass(frozen=True, slots=True)
class NestingProblem:
    """Pieces to lay on beds; same problem, same answer.

    Parameters
    ----------
    items : pieces with different names
    containers : kinds of bed with how many there are of each
    spacing_mm : distance kept between pieces
    seed : of the search
    effort : how many placements are judged for every piece
    steps : placements that the search may judge in all, None for what the effort stands for
    inside_rings : whether pieces may lie in the openings of others
    stop : asked again and again with the steps so far; True ends the search and the best so far is kept

    Raises
    ------
    InputError
        when the spacing is negative, there are no steps, or two pieces have one name
    """

    items: Sequence[Item]
    containers: Sequence[BedKind]
    spacing_mm: float
    seed: int = field(kw_only=True)
    effort: Effort = field(kw_only=True)
    steps: int | None = None
    inside_rings: bool = True
    stop: Callable[[int], bool] = never

    def __post_init__(self) -> None:
        object.__setattr__(self, "items", tuple(self.items))
        object.__setattr__(self, "containers", tuple(self.containers))
        if not 0.0 <= self.spacing_mm <= MOST_SPACING_MM:
            raise InputError(f"clearance_mm = {self.spacing_mm!r} is not between 0 and {MOST_SPACING_MM:g}.")
        if self.steps is not None and self.steps < 0:
            raise InputError(f"steps = {self.steps!r} is below 0.")
        if len({item.piece for item in self.items}) != len(self.items):
            raise InputError("two pieces have the same name; each piece needs its own.")

    @property
    def budget(self) -> int:
        """Placements that the search may judge."""
        return self.effort.nesting_steps * min(len(self.items), MANY) if self.steps is None else self.steps
