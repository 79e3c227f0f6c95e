"""Proved lower bounds on the finish of any schedule."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem.problem import Tables


def area_bound(tables: Tables) -> int:
    """No schedule ends before this tick: machine time by group of printers, and the longest batch.

    Source: the elementary bounds of parallel machine scheduling (Graham 1969): the mean load and the
    longest job; every run but the first of a printer adds its cooling, clearing and starting. The first run
    starts when somebody is there for it.

    Assumes batches that can use the same set of printers are one group; the mean is taken over the
    union of the printers of all groups that overlap.
    """
    count = tables.duration.shape[0]
    if count == 0:
        return 0
    earliest = earliest_start(tables)
    usable = tables.duration >= 0
    ticks = np.where(usable, tables.duration, np.iinfo(np.int32).max)
    longest = int((np.where(usable, earliest[None, :] + ticks, np.iinfo(np.int32).max)).min(axis=1).max())
    best = longest
    for batches, printers in _groups(usable):
        least = int(ticks[batches][:, printers].min(axis=1).sum())
        between = int(tables.cool[printers].min()) + tables.clear + tables.start
        opening = np.cumsum(np.sort(earliest[printers]))
        used = np.arange(1, min(len(printers), len(batches)) + 1)
        load = least + (len(batches) - used) * between + opening[used - 1]
        best = max(best, int((-(-load // used)).min()))
    return best


def earliest_start(tables: Tables) -> NDArray[np.int64]:
    """First tick at which a run may begin on each printer, persons taken to be free."""
    result = np.zeros(len(tables.release), dtype=np.int64)
    for printer, release in enumerate(tables.release):
        need = tables.start + (tables.clear if tables.covered[printer] else 0)
        for opens, closes in zip(tables.opens, tables.closes, strict=True):
            at = max(int(opens), int(release))
            if at + need <= closes:
                result[printer] = at + need
                break
    return result


def _groups(usable: NDArray[np.bool_]) -> list[tuple[list[int], list[int]]]:
    """Batches and printers that hang together by use, as connected groups."""
    groups: list[tuple[list[int], set[int]]] = []
    for batch in range(usable.shape[0]):
        printers = set(np.flatnonzero(usable[batch]).tolist())
        batches = [batch]
        apart = []
        for others, theirs in groups:
            if theirs & printers:
                batches = others + batches
                printers |= theirs
            else:
                apart.append((others, theirs))
        groups = [*apart, (batches, printers)]
    return [(batches, sorted(printers)) for batches, printers in groups]
