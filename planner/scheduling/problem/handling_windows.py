"""What handling and attendance ask of a run, in plain code; for replanning, where few runs move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem.problem import Tables

Span = tuple[int, int]
NO_BATCH = -1


@dataclass(frozen=True, slots=True)
class Desk:
    """The tables, and how many persons are there in each tick.

    What follows from the tables is asked for a million times and kept: ``_handling`` by printer, batch and
    the batch before, ``_shut`` by printer and batch.
    """

    tables: Tables
    there: NDArray[np.int32]
    _handling: dict[tuple[int, int, int], int] = field(default_factory=dict, compare=False, repr=False)
    _shut: dict[tuple[int, int], list[Span]] = field(default_factory=dict, compare=False, repr=False)

    def handling(self, printer: int, batch: int, before: int) -> int:
        """Ticks of the person before the run begins; ``before`` is the batch before on that printer."""
        key = printer, batch, before
        if key not in self._handling:
            self._handling[key] = self._ticks(printer, batch, before)
        return self._handling[key]

    def _ticks(self, printer: int, batch: int, before: int) -> int:
        t = self.tables
        ticks = t.start
        if before != NO_BATCH or t.covered[printer]:
            ticks += t.clear
        loaded = t.loaded[printer] if before == NO_BATCH else t.material[before]
        if len(t.refit):
            on = t.fitted[printer] if before == NO_BATCH else t.fit[before, printer]
            ticks += t.refit[printer, on, t.fit[batch, printer]]
        return int(ticks + (t.change if loaded != t.material[batch] else 0))

    def watched(self, printer: int, batch: int) -> int:
        """Ticks after the start in which somebody must be there."""
        t = self.tables
        ticks = int(t.duration[batch, printer])
        return ticks if t.attended[batch] else min(int(t.watch[batch]), ticks)

    def starts(self, handling: int, watched: int, last: int) -> list[Span]:
        """First and last ticks at which a run may start: handled before and watched after in one window."""
        t = self.tables
        return [
            (int(opens) + handling, min(int(closes) - watched, last))
            for opens, closes in zip(t.opens, t.closes, strict=True)
            if opens + handling <= min(closes - watched, last)
        ]

    def shut(self, printer: int, batch: int) -> list[Span]:
        """Ticks in which the printer, or the filament of the batch, is away."""
        if (printer, batch) not in self._shut:
            rows, material = self.tables.shut, self.tables.material[batch]
            mine = (rows[:, 0] == printer) | (rows[:, 1] == material)
            self._shut[printer, batch] = [(int(row[2]), int(row[3])) for row in rows[mine]]
        return self._shut[printer, batch]

    def free_at(self, free: NDArray[np.int32], printer: int, batch: int, handling: int, ready: int) -> int:
        """First tick, ready or later, at which handling can begin and the run follow it; -1: none."""
        ticks = handling + int(self.tables.duration[batch, printer])
        inside = handling + self.watched(printer, batch)
        spans = self.shut(printer, batch)
        at = self.first_free(free, ready, handling, inside)
        while at >= 0:
            back = max((until for since, until in spans if since < at + ticks and until > at), default=-1)
            if back < 0:
                return at
            at = self.first_free(free, back, handling, inside)
        return -1

    def first_free(self, free: NDArray[np.int32], ready: int, block: int, inside: int) -> int:
        """First tick, ready or later, with a free person for ``block`` ticks; -1 when there is none.

        ``inside`` ticks from there lie in one window.
        """
        t = self.tables
        if ready >= len(t.window_at):
            return -1
        for window in range(int(t.window_at[ready]), len(t.opens)):
            tick = max(ready, int(t.opens[window]))
            while tick + inside <= t.closes[window]:
                taken = np.flatnonzero(free[tick : tick + block] <= 0)
                if len(taken) == 0:
                    return tick
                tick += int(taken[-1]) + 1
        return -1


def persons_there(tables: Tables, there: Sequence[tuple[int, int, int]] | None = None) -> NDArray[np.int32]:
    """Persons in each tick: those of the segments ``(since, until, persons)``, else of the windows."""
    found = np.zeros(len(tables.window_at) + 1, dtype=np.int32)
    if there is None:
        there = [
            (int(a), int(b), int(tables.persons)) for a, b in zip(tables.opens, tables.closes, strict=True)
        ]
    for since, until, persons in there:
        found[since:until] = persons
    return found
