"""Compiled kernels that time ordered lists of batches on printers against attendance and persons."""

from __future__ import annotations

import numpy as np

from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Ints, Tables

NEVER = -1


@jit_no_refcount
def handling_ticks(t: Tables, printer: int, batch: int, before: int) -> int:
    """Ticks of the person before the run begins; ``before`` is the batch before on that printer or -1."""
    if t.setup.shape[0] > 0:
        return int(t.setup[printer, before, batch]) if before >= 0 else 0
    ticks = t.start
    if before >= 0 or t.covered[printer] == 1:
        ticks += t.clear
    loaded = t.material[before] if before >= 0 else t.loaded[printer]
    if loaded != t.material[batch]:
        ticks += t.change
    if t.refit.shape[0] > 0:
        on = t.fit[before, printer] if before >= 0 else t.fitted[printer]
        ticks += t.refit[printer, on, t.fit[batch, printer]]
    return ticks


@jit_no_refcount
def first_free(t: Tables, busy: Ints, ready: int, block: int, inside: int) -> int:
    """The first tick, ready or later, at which a person is free for ``block`` ticks within one window.

    ``inside`` (at least ``block``) ticks from there must lie in the same window.
    """
    if ready >= t.window_at.shape[0]:
        return NEVER
    window = t.window_at[ready]
    tick = ready
    while window < t.opens.shape[0]:
        tick = max(tick, int(t.opens[window]))
        if tick + inside > t.closes[window]:
            window += 1
            continue
        last = tick + block - 1
        while last >= tick and busy[last] < t.persons:
            last -= 1
        if last < tick:
            return tick
        tick = last + 1
    return NEVER


@jit_no_refcount
def back_from(t: Tables, printer: int, batch: int, since: int, until: int) -> int:
    """The tick at which what is away between two ticks is back; NEVER where nothing is."""
    back = NEVER
    for n in range(t.shut.shape[0]):
        mine = t.shut[n, 0] == printer or t.shut[n, 1] == t.material[batch]
        if mine and t.shut[n, 2] < until and t.shut[n, 3] > since:
            back = max(back, int(t.shut[n, 3]))
    return back


@jit_no_refcount
def place(t: Tables, busy: Ints, printer: int, batch: int, before: int, ready: int) -> tuple[int, int, int]:
    """Start of handling, its block of ticks, and the end of the run; NEVER when there is no room."""
    ticks = t.duration[batch, printer]
    handling = handling_ticks(t, printer, batch, before)
    inside = handling + (ticks if t.attended[batch] == 1 else min(t.watch[batch], ticks))
    block = handling if t.setup.shape[0] == 0 else 0
    at = first_free(t, busy, ready, block, inside)
    while at != NEVER:
        back = back_from(t, printer, batch, at, at + handling + ticks)
        if back == NEVER:
            return at, block, at + handling + ticks
        at = first_free(t, busy, back, block, inside)
    return NEVER, block, NEVER


@jit_no_refcount
def mark(busy: Ints, at: int, block: int, by: int) -> None:
    """Add or take away one person's occupation."""
    for tick in range(at, at + block):
        busy[tick] += by


@jit_refcount
def longest_first(t: Tables, order: Ints, busy: Ints, printer_of: Ints, begin: Ints, end: Ints) -> bool:
    """Give each batch, in the given order, to the printer on which it ends first; False if one has no room.

    Fills ``printer_of``, ``begin`` (of handling) and ``end`` per batch.
    """
    printers = t.release.shape[0]
    ready = t.release.copy()
    before = np.full(printers, -1, np.int32)
    for batch in order:
        best = -1
        best_at, best_block, best_end = 0, 0, 0
        for printer in range(printers):
            if t.duration[batch, printer] < 0:
                continue
            at, block, ends = place(t, busy, printer, batch, before[printer], ready[printer])
            if at != NEVER and (best < 0 or ends < best_end):
                best, best_at, best_block, best_end = printer, at, block, ends
        if best < 0:
            return False
        mark(busy, best_at, best_block, 1)
        printer_of[batch], begin[batch], end[batch] = best, best_at, best_end
        ready[best] = best_end + t.cool[best]
        before[best] = batch
    return True
