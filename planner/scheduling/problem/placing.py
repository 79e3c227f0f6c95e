"""Ordered lists of batches timed in plain code, each where it was if that can be; for few runs that move."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.scheduling.problem.handling_windows import NO_BATCH, Desk

Was = Sequence[tuple[int, int] | None]
Lines = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Placing:
    """Order on every printer, and of each batch its handling, its start and whether it stays where it was."""

    lines: Lines
    begin: tuple[int, ...]
    start: tuple[int, ...]
    kept: tuple[bool, ...]
    finish: int

    @property
    def moved(self) -> int:
        """Batches that do not stay, new ones included."""
        return self.kept.count(False)


def place(desk: Desk, lines: Lines, was: Was) -> Placing | None:
    """Time the lists: every batch where it was if that can be, else as early as it can be.

    ``None`` when the calendar has no room.
    """
    tables, free = desk.tables, desk.there.copy()
    count = len(was)
    begin, start, kept = [0] * count, [0] * count, [False] * count
    for printer, line in enumerate(lines):
        for n, batch in enumerate(line):
            old = was[batch]
            if old is not None and old[0] == printer:
                kept[batch] = _reserve(desk, free, printer, batch, line[n - 1] if n else NO_BATCH, old[1])
    queue = [(int(tables.release[p]), p, 0) for p, line in enumerate(lines) if line]
    heapq.heapify(queue)
    finish = 0
    while queue:
        ready, printer, n = heapq.heappop(queue)
        line = lines[printer]
        batch, before = line[n], line[n - 1] if n else NO_BATCH
        block = desk.handling(printer, batch, before)
        old = was[batch]
        if kept[batch] and old is not None and old[1] - block < ready:
            free[old[1] - block : old[1]] += 1
            kept[batch] = False
        if kept[batch] and old is not None:
            at = old[1] - block
        else:
            at = desk.free_at(free, printer, batch, block, ready)
            if at < 0:
                return None
            free[at : at + block] -= 1
            kept[batch] = old == (printer, at + block)
        begin[batch], start[batch] = at, at + block
        end = at + block + int(tables.duration[batch, printer])
        finish = max(finish, end)
        if n + 1 < len(line):
            heapq.heappush(queue, (end + int(tables.cool[printer]), printer, n + 1))
    return Placing(lines, tuple(begin), tuple(start), tuple(kept), finish)


def _reserve(desk: Desk, free: np.ndarray, printer: int, batch: int, before: int, start: int) -> bool:
    """Take the person's time for a batch that stays; False where it cannot."""
    block = desk.handling(printer, batch, before)
    at = start - block
    if at < 0 or desk.free_at(free, printer, batch, block, at) != at:
        return False
    free[at:start] -= 1
    return True
