"""Goals that other packages add, as arrays for the compiled search: what each visit and run counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.joint_search.composition import ComposeTask
from planner.joint_search.objective import Sums, price
from planner.joint_search.objectives import objectives
from planner.scheduling.problem.calendar import at_minute, zone_of

Floats = NDArray[np.float64]


def minutes_of(days: int) -> int:
    """How many minutes a calendar of so many days is looked at, its end included."""
    return days * 24 * 60 + 2


def price_arrays(task: ComposeTask, filaments: Sequence[str], days: int) -> dict[str, Floats]:
    """One row a goal: prices of each minute, and of each filament (one a family) on each printer.

    Raises
    ------
    InputError
        when a goal gives what is no price
    """
    sums = [one.measure for one in objectives() if isinstance(one.measure, Sums)]
    zone = zone_of(task.workshop.attendance, task.start)
    moments = [at_minute(task.start, minute, zone) for minute in range(minutes_of(days) if sums else 0)]
    made = [task.workshop.filament(name) for name in filaments]
    printers = task.workshop.printers
    beds = [[[price(one.bed, f, p) for p in printers] for f in made] for one in sums]
    return {
        "visit_price": _by_minute([one.visit for one in sums], moments),
        "start_price": _by_minute([one.start for one in sums], moments),
        "end_price": _by_minute([one.end for one in sums], moments),
        "bed_price": np.array(beds, dtype=np.float64).reshape(len(sums), len(made), len(printers)),
    }


def _by_minute(parts: Sequence[Callable[[datetime], float] | None], moments: Sequence[datetime]) -> Floats:
    rows = [[price(part, moment) for moment in moments] if part else [0.0] * len(moments) for part in parts]
    return np.array(rows, dtype=np.float64).reshape(len(parts), len(moments))
