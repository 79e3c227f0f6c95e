"""The first schedule: longest batch first, each to the printer on which it ends first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.scheduling.problem.problem import Ints, Tables


@dataclass(frozen=True, slots=True)
class Timing:
    """Of each batch its printer, its first tick of handling and its last tick of printing."""

    printer_of: Ints
    begin: Ints
    end: Ints

    def order(self, printer: int) -> list[int]:
        """The batches of one printer in the order they run."""
        mine = np.flatnonzero(self.printer_of == printer)
        return [int(batch) for batch in mine[np.argsort(self.begin[mine], kind="stable")]]

    @property
    def finish(self) -> int:
        """The tick at which the last run ends."""
        return int(self.end.max()) if len(self.end) else 0


def dispatch(tables: Tables) -> Timing | None:
    """Longest first (Source: Graham 1969, list scheduling by longest processing time).

    Returns
    -------
    the timing, or ``None`` when the attendance within the horizon has no room for all batches
    """
    from planner.scheduling.problem.decode_kernel import longest_first

    count = tables.duration.shape[0]
    usable = np.where(tables.duration < 0, np.iinfo(np.int32).max, tables.duration)
    shortest = usable.min(axis=1) if count else np.zeros(0, dtype=np.int32)
    order = np.lexsort((np.arange(count), -tables.early, -shortest)).astype(np.int32)
    busy = np.zeros(tables.window_at.shape[0] + 1, dtype=np.int32)
    timing = Timing(*(np.zeros(count, dtype=np.int32) for _ in range(3)))
    if not longest_first(tables, order, busy, timing.printer_of, timing.begin, timing.end):
        return None
    return timing
