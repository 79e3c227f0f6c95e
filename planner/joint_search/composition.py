"""What the search over beds and sequence takes, and what it answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from planner.model.batch import Batch, Unplaced
from planner.model.deposit import Deposit
from planner.model.effort import NORMAL, Effort
from planner.model.goal import Goal
from planner.model.part import Part, Piece
from planner.model.risk import Chances
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop

# Called with the best finish so far, in hours after the start.
Progress = Callable[[float], None]
Steps = Callable[[int, int], None]  # how many steps of the search are done, of how many at most
# Called once, with the beds and runs of the first plan that was found.
First = Callable[[Sequence[Batch], Schedule], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComposeTask:
    """Pieces to print, what is known of each, and the workshop that prints them.

    ``rank`` is the place of a section in the build order, lowest first; ``due`` the moment by which a
    section shall be printed. ``prefer`` names goals that come first, in that order. ``unmixed`` names
    airframes whose pieces share no bed with those of another. With ``chances`` the plan that ends soonest in
    nine tenths of worlds is taken of those that are equal in finish.
    """

    pieces: tuple[Piece, ...]
    parts: Mapping[str, Part]
    deposits: Mapping[str, Deposit]
    workshop: Workshop
    start: datetime
    rank: Mapping[str, int]
    seed: int = 1
    effort: Effort = NORMAL
    prefer: tuple[str, ...] = ()
    due: Mapping[str, datetime] = field(default_factory=dict)
    unmixed: frozenset[str] = frozenset()
    chances: Chances | None = None


@dataclass(frozen=True, slots=True)
class Composition:
    """Beds, their runs and spools, the pieces that no bed takes, and the goals in their order.

    ``notes`` tell how the beds of several copies came about.
    """

    batches: tuple[Batch, ...]
    misfits: tuple[Unplaced, ...]
    schedule: Schedule
    spools: tuple[SpoolUse, ...]
    goals: tuple[Goal, ...] = ()
    notes: tuple[str, ...] = ()
