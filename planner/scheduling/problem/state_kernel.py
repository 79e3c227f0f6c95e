"""The lists and times that the search changes in place (compiled)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem.decode_kernel import NEVER, mark, place
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount
from planner.scheduling.problem.problem import Ints, Tables

Floats = NDArray[np.float64]
CHANGE, EARLY, PAIR, SCALE, POWER, WALL = 0, 1, 2, 3, 4, 5  # places in the weights
BEYOND = 1e6  # price of an end beyond the wall
GENTLE = 0.2  # price of an end at the wall
WEIGHTS = 5


class State(NamedTuple):
    """One ordered list of batches per printer, and the times that follow from them."""

    lines: Ints  # (printers, width)
    lengths: Ints  # (printers,)
    busy: Ints  # (ticks,) persons occupied
    begin: Ints  # (batches,) first tick of handling
    block: Ints  # (batches,) ticks of handling
    end: Ints  # (batches,) last tick of printing
    printer_of: Ints  # (batches,)


class Scratch(NamedTuple):
    """Room for what one move must be able to take back."""

    who: Ints  # (printers,) printers that are timed again
    since: Ints  # (printers,) first place of each list that is timed again
    done: Ints  # (printers,) how far each list has been timed again
    ready: Ints  # (printers,)
    rest: Ints  # (printers,) ticks of printing that are still to be placed
    least: Floats  # (printers,) cost that the list cannot go below
    line_p: Ints  # (width,) the list of the first printer before the move
    line_q: Ints
    begin: Ints  # (batches,) times before the move
    block: Ints
    end: Ints


@jit_no_refcount
def steep(end: float, weights: Floats) -> float:
    """A steep power (a power of two) of a relative end: near the largest of several, but smooth.

    With a wall ends up to it cost next to nothing, those beyond it more than all else.
    """
    x = float(end / weights[SCALE])
    power = 1.0
    while power < weights[POWER]:
        x = x * x
        power = power + power
    if weights[WALL] > 0.0:
        return BEYOND if end > weights[WALL] else GENTLE * x
    return x


@jit_no_refcount
def line_end(s: State, printer: int) -> int:
    """Tick at which the last run of a printer ends, 0 when it has none."""
    length = s.lengths[printer]
    return int(s.end[s.lines[printer, length - 1]]) if length > 0 else 0


@jit_no_refcount
def counts(t: Tables, s: State, printer: int) -> tuple[int, float, int]:
    """Of one printer's list: changes of filament, how late early sections end, parted pairs."""
    changes, parted = 0, 0
    early = 0.0
    loaded = t.loaded[printer]
    for n in range(s.lengths[printer]):
        batch = s.lines[printer, n]
        if t.material[batch] != loaded:
            changes += 1
            loaded = t.material[batch]
        early += t.early[batch] * s.end[batch]
        other = t.partner[batch]
        if other >= 0 and s.printer_of[other] != printer:
            parted += 1
    return changes, early, parted


@jit_no_refcount
def line_cost(t: Tables, s: State, printer: int, weights: Floats) -> float:
    """Cost of one printer's list: its end, changes of filament, early sections late, parted pairs."""
    changes, early, parted = counts(t, s, printer)
    cost = steep(line_end(s, printer), weights)
    cost += weights[CHANGE] * changes + weights[EARLY] * early / weights[SCALE] + weights[PAIR] * parted
    return float(cost)


@jit_no_refcount
def take_off(s: State, k: Scratch, line: Ints, since: int, length: int) -> None:
    """Free the person from a tail, and remember its times."""
    for n in range(since, length):
        batch = line[n]
        k.begin[batch], k.block[batch], k.end[batch] = s.begin[batch], s.block[batch], s.end[batch]
        mark(s.busy, s.begin[batch], s.block[batch], -1)


@jit_no_refcount
def put_back(s: State, k: Scratch, printer: int, since: int) -> None:
    """Restore the times of a tail as they were before the move."""
    for n in range(since, s.lengths[printer]):
        batch = s.lines[printer, n]
        s.begin[batch], s.block[batch], s.end[batch] = k.begin[batch], k.block[batch], k.end[batch]
        s.printer_of[batch] = printer
        mark(s.busy, s.begin[batch], s.block[batch], 1)


@jit_no_refcount
def soonest(t: Tables, ready: int) -> int:
    """First tick, ready or later, at which somebody is there."""
    if ready >= t.window_at.shape[0] or t.window_at[ready] >= t.opens.shape[0]:
        return ready
    return max(ready, int(t.opens[t.window_at[ready]]))


@jit_no_refcount
def prepare(t: Tables, s: State, k: Scratch, count: int, weights: Floats) -> float:
    """Set the lists of ``who`` to their ``since``; returns the cost that they cannot go below."""
    total = 0.0
    for m in range(count):
        printer, since = k.who[m], k.since[m]
        k.done[m] = since
        end, k.ready[m] = 0, t.release[printer]
        if since > 0:
            end = s.end[s.lines[printer, since - 1]]
            k.ready[m] = end + t.cool[printer]
        rest = 0
        for n in range(since, s.lengths[printer]):
            rest += t.duration[s.lines[printer, n], printer] + t.start + (t.clear if n > 0 else 0)
            rest += t.cool[printer] if n > since else 0
        k.rest[m] = rest
        k.least[m] = steep(soonest(t, k.ready[m]) + rest if since < s.lengths[printer] else end, weights)
        total += k.least[m]
    return total


@jit_no_refcount
def next_ready(s: State, k: Scratch, count: int) -> int:
    """Place in ``who`` of the printer that is ready first of those with something left; -1 where none has."""
    first = -1
    for m in range(count):
        if k.done[m] < s.lengths[k.who[m]] and (first < 0 or k.ready[m] < k.ready[first]):
            first = m
    return first


@jit_no_refcount
def timed(t: Tables, s: State, k: Scratch, at: int) -> bool:
    """Time the next batch of a list, as soon as its printer is ready; False where there is no room."""
    printer, n = k.who[at], k.done[at]
    batch = s.lines[printer, n]
    before = s.lines[printer, n - 1] if n > 0 else -1
    begin, block, end = place(t, s.busy, printer, batch, before, k.ready[at])
    if begin == NEVER:
        return False
    mark(s.busy, begin, block, 1)
    s.begin[batch], s.block[batch], s.end[batch] = begin, block, end
    return True


@jit_no_refcount
def claim(s: State, k: Scratch, count: int) -> None:
    """Give the batches of the lists that were timed to their printers."""
    for m in range(count):
        printer = k.who[m]
        for n in range(k.since[m], s.lengths[printer]):
            s.printer_of[s.lines[printer, n]] = printer


@jit_no_refcount
def retime(t: Tables, s: State, k: Scratch, count: int, weights: Floats, limit: float) -> bool:
    """Time the tails of the lists of ``who`` again, the printer that is ready first going first.

    False as soon as there is no room, or the cost must exceed the limit.
    """
    least = prepare(t, s, k, count, weights)
    while least <= limit:
        first = next_ready(s, k, count)
        if first < 0:
            return True
        if not timed(t, s, k, first):
            return False
        printer, n = k.who[first], k.done[first]
        batch = s.lines[printer, n]
        end = s.end[batch]
        k.done[first] = n + 1
        k.ready[first] = end + t.cool[printer]
        k.rest[first] -= t.duration[batch, printer] + t.start + (t.clear if n > 0 else 0)
        now = steep(end, weights)
        if n + 1 < s.lengths[printer]:
            k.rest[first] -= t.cool[printer] if n + 1 > k.since[first] else 0
            now = steep(soonest(t, k.ready[first]) + k.rest[first], weights)
        least += now - k.least[first]
        k.least[first] = now
    return False
