"""Dryers in a world: a load goes in late, comes out late, and beds wait for its spools (compiled)."""

from __future__ import annotations

from planner.compiled.jit import compiled
from planner.scheduling.simulation.presence_kernel import (
    CLOSE,
    NEVER,
    NOBODY,
    Dryers,
    Floats,
    Ints,
    Workplace,
    gap_end,
)

UNKNOWN = -1.0  # a load whose spools are still printed from, or whose dryer is full
A_MINUTE = 1.0  # of a person, to put in or to take out


@compiled(nogil=True)
def somebody_from(work: Workplace, missed: Ints, at: float) -> float:
    """The first moment, then or later, at which somebody is there for a minute."""
    while at < NEVER:
        back = gap_end(work, missed, at, at + A_MINUTE)
        if back < 0.0:
            return at
        at = back
    return NEVER


@compiled(nogil=True)
def waited_for(dryers: Dryers, left: Ints) -> None:
    """How many beds each load waits for, since they draw from its spools before it is put in."""
    for bed in range(len(dryers.frees)):
        for n in range(dryers.frees.shape[1]):
            if dryers.frees[bed, n] >= 0:
                left[dryers.frees[bed, n]] += 1


@compiled(nogil=True)
def freed(dryers: Dryers, bed: int, end: float, count: int, left: Ints, free: Floats, by: Ints) -> None:
    """A bed has ended, the ``count``th that was printed: its spools may go into a dryer."""
    for n in range(dryers.frees.shape[1]):
        load = dryers.frees[bed, n]
        if load >= 0:
            left[load] -= 1
            if end > max(free[load], dryers.loads[load, 0]) + CLOSE:
                free[load], by[load] = end, count


@compiled(nogil=True)
def taken_out(
    work: Workplace, dryers: Dryers, missed: Ints, left: Ints, free: Floats, by: Ints, out: Floats
) -> None:
    """When each load is out, as far as that is known; ``by`` becomes the bed that made it late, or nobody.

    What is out at the start is out, what is in the dryer then is in. All else is put in as planned, or as
    soon after as its spools are free, what was to be out of that dryer is out and somebody is there; it comes
    out dry, as planned or when somebody is there next.
    """
    for load in range(len(dryers.loads)):
        if out[load] != UNKNOWN or left[load] > 0:
            continue
        if dryers.loads[load, 1] <= 0.0:
            out[load] = 0.0
            continue
        put_in = dryers.loads[load, 0]
        if put_in >= 0.0:
            full = False
            for n in range(dryers.follows.shape[1]):
                before = dryers.follows[load, n]
                if before < 0:
                    break
                if out[before] == UNKNOWN:
                    full = True
                elif out[before] > max(put_in, free[load]) + CLOSE:
                    free[load], by[load] = out[before], by[before]
            if full:
                continue
            put_in = somebody_from(work, missed, max(put_in, free[load]))
        dry = put_in + dryers.loads[load, 2]
        if dry <= dryers.loads[load, 1] + CLOSE:
            dry, by[load] = dryers.loads[load, 1], NOBODY
        out[load] = somebody_from(work, missed, dry)


@compiled(nogil=True)
def dry_from(dryers: Dryers, bed: int, out: Floats) -> tuple[float, int]:
    """When all spools of a bed are out of the dryer, and the load that is out last; else `UNKNOWN`."""
    dry, last = 0.0, NOBODY
    for n in range(dryers.needs_dry.shape[1]):
        load = dryers.needs_dry[bed, n]
        if load >= 0:
            if out[load] == UNKNOWN:
                return UNKNOWN, load
            if out[load] > dry:
                dry, last = out[load], load
    return dry, last
