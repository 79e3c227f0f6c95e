"""What lists cost by the work that they leave beyond a tick, and their tails timed under a limit (compiled).

Where printers stand idle half of a night, ends say little of how far a plan is from a sooner finish: a run
that ends at dawn and one that ends at dusk may be the same few minutes apart. Work beyond the tick says it.
"""

from __future__ import annotations

from planner.scheduling.problem.jit_no_refcount import jit_no_refcount
from planner.scheduling.problem.problem import Tables
from planner.scheduling.problem.state_kernel import (
    CHANGE,
    EARLY,
    PAIR,
    SCALE,
    Floats,
    Scratch,
    State,
    claim,
    counts,
    next_ready,
    timed,
)

LATE = 32.0  # price of work as long as a whole line; the slope at the finish of the power that prices ends


@jit_no_refcount
def late_until(t: Tables, s: State, printer: int, places: int, target: int) -> int:
    """Ticks of printing beyond the target, of so many first places of a list."""
    late = 0
    n = places - 1
    while n >= 0 and s.end[s.lines[printer, n]] > target:
        batch = s.lines[printer, n]
        late += min(s.end[batch] - target, t.duration[batch, printer])
        n -= 1
    return int(late)


@jit_no_refcount
def late_cost(t: Tables, s: State, printer: int, weights: Floats, target: int) -> float:
    """Cost of one list: work beyond the target, changes of filament, early sections late, parted pairs."""
    changes, early, parted = counts(t, s, printer)
    late = LATE * late_until(t, s, printer, s.lengths[printer], target)
    cost = (late + weights[EARLY] * early) / weights[SCALE]
    return float(cost + weights[CHANGE] * changes + weights[PAIR] * parted)


@jit_no_refcount
def still_late(rest: int, ready: int, target: int) -> int:
    """The least of so many ticks of printing that lies beyond the target, begun no sooner than ready."""
    return max(0, rest - max(0, target - ready))


@jit_no_refcount
def prepare_late(t: Tables, s: State, k: Scratch, count: int, target: int) -> int:
    """Set the lists of ``who`` to their ``since``; returns the least work left after the target."""
    least = 0
    for m in range(count):
        printer, since = k.who[m], k.since[m]
        k.done[m], k.ready[m] = since, t.release[printer]
        if since > 0:
            k.ready[m] = s.end[s.lines[printer, since - 1]] + t.cool[printer]
        rest = 0
        for n in range(since, s.lengths[printer]):
            rest += t.duration[s.lines[printer, n], printer]
        k.rest[m] = rest
        least += late_until(t, s, printer, since, target) + still_late(rest, k.ready[m], target)
    return int(least)


@jit_no_refcount
def retime_late(
    t: Tables, s: State, k: Scratch, count: int, weights: Floats, target: int, limit: float
) -> bool:
    """Time the tails of the lists of ``who`` again, the printer that is ready first going first.

    False as soon as there is no room, or the work beyond the target must cost more than the limit.
    """
    most = limit * weights[SCALE] / LATE
    least = prepare_late(t, s, k, count, target)
    while least <= most:
        first = next_ready(s, k, count)
        if first < 0:
            return True
        if not timed(t, s, k, first):
            return False
        printer, n = k.who[first], k.done[first]
        batch = s.lines[printer, n]
        end = s.end[batch]
        ticks = t.duration[batch, printer]
        least -= still_late(k.rest[first], k.ready[first], target)
        k.done[first], k.ready[first] = n + 1, end + t.cool[printer]
        k.rest[first] -= ticks
        least += min(max(0, end - target), ticks) + still_late(k.rest[first], k.ready[first], target)
    return False


@jit_no_refcount
def settle_late(
    t: Tables, s: State, k: Scratch, count: int, weights: Floats, target: int, allowed: float, new: Floats
) -> bool:
    """Whether the timed move costs no more than allowed; ``new`` receives the costs of its lists."""
    claim(s, k, count)
    total = 0.0
    for m in range(count):
        new[m] = late_cost(t, s, k.who[m], weights, target)
        total += new[m]
    return total <= allowed
