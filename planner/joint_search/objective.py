"""One goal of the search: what it is called, how it is measured, and how it is told."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from planner.errors import InputError
from planner.joint_search.composition import ComposeTask
from planner.joint_search.sections import section_of
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.schedule import Schedule
from planner.scheduling.problem.calendar import minute_of

_NAME = re.compile(r"[a-z][a-z0-9-]{0,19}")
_LONGEST_UNIT = 8


@dataclass(frozen=True)
class TimedPlan:
    """Beds and their runs, as goals measure them; ``bought`` is how many spools are to buy."""

    task: ComposeTask
    batches: Mapping[str, Batch]
    schedule: Schedule
    bought: int = 0

    @cached_property
    def ready_hours(self) -> dict[str, float]:
        """Hours after the start until the last piece of each section is printed."""
        home = {piece.name: section_of(piece, self.task) for piece in self.task.pieces}
        ready: dict[str, float] = {}
        for run in self.schedule.runs:
            hours = minute_of(self.task.start, run.end) / 60.0
            for placed in self.batches[run.batch].placed:
                section = home[placed.piece]
                ready[section] = max(ready.get(section, 0.0), hours)
        return ready


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far above the best a goal may end for the sake of a later one: a share of it, and a fixed part."""

    share: float = 0.0
    fixed: float = 0.0

    def __post_init__(self) -> None:
        if not (0.0 <= self.share < math.inf and 0.0 <= self.fixed < math.inf):
            raise InputError(f"a tolerance of {self.share!r} and {self.fixed!r} is none: both are 0 or more.")


@dataclass(frozen=True, slots=True)
class Sums:
    """A measure that is a sum over visits and runs; the compiled search counts it from arrays.

    Every part is a price of 0 or more, or ``None`` where that part does not count.

    Parameters
    ----------
    visit : of each visit, by the moment at which it begins, on the clock of the workshop
    start : of each run, by the moment at which printing begins
    end : of each run, by the moment at which printing ends
    bed : of each run, by what is printed on which printer
    """

    visit: Callable[[datetime], float] | None = None
    start: Callable[[datetime], float] | None = None
    end: Callable[[datetime], float] | None = None
    bed: Callable[[Filament, Printer], float] | None = None

    def __call__(self, plan: TimedPlan) -> float:
        """The sum of a finished plan."""
        total, workshop = 0.0, plan.task.workshop
        printers = {printer.name: printer for printer in workshop.printers}
        for visit in plan.schedule.visits if self.visit is not None else ():
            total += price(self.visit, visit.at)
        for run in plan.schedule.runs:
            total += price(self.start, run.start) + price(self.end, run.end)
            filament = workshop.filament(plan.batches[run.batch].filament)
            total += price(self.bed, filament, printers[run.printer])
        return total


def price(part: Callable[..., float] | None, *asked: object) -> float:
    """What one visit or run counts.

    Raises
    ------
    InputError
        when a goal of another package fails, or gives what is no number of 0 or more
    """
    if part is None:
        return 0.0
    name = getattr(part, "__name__", "a part of it")
    try:
        value = float(part(*asked))
    except Exception as error:  # whatever another package does
        raise InputError(f"{name} of a goal could not be asked ({type(error).__name__}: {error}).") from error
    if not 0.0 <= value < math.inf:
        raise InputError(f"{name} of a goal gave {value!r}, which is no price of 0 or more.")
    return value


@dataclass(frozen=True, slots=True)
class Objective:
    """One goal of a plan; less is better.

    Parameters
    ----------
    name : by which ``--prefer`` and the plan know it: small letters, digits and dashes
    unit : of its value, empty for counts
    tolerance : how far above its best it may end for the sake of a later goal
    measure : its value of a finished plan, 0 or more
    words : that value as a reader wants it told
    """

    name: str
    unit: str
    tolerance: Tolerance
    measure: Callable[[TimedPlan], float]
    words: Callable[[TimedPlan, float], str]

    def __post_init__(self) -> None:
        if not _NAME.fullmatch(self.name):
            raise InputError(
                f"{self.name!r} is no name of a goal: at most 20 small letters, digits and dashes."
            )
        if len(self.unit) > _LONGEST_UNIT or not self.unit.isprintable():
            raise InputError(f"goal {self.name!r}: its unit is longer than {_LONGEST_UNIT} signs.")

    def ceiling(self, best: float) -> float:
        """The value that the goal may reach when its best is known."""
        return best * (1.0 + self.tolerance.share) + self.tolerance.fixed
