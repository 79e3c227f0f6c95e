"""One world after another: beds are handled, print, fail and are printed again (compiled)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]
CLOSE = 1e-9  # minutes
NEVER = np.inf
NOBODY = -1


class Workplace(NamedTuple):
    """A timed plan as arrays; times are minutes after its start."""

    queue: Ints  # (printers, beds) beds in their order, -1 behind the last
    minutes: Floats  # (beds,) that a bed is to last; of one that prints already, those that are left
    heat_up: Floats  # (beds,) of these, minutes that are the same in every world
    begins: Floats  # (beds,) planned begin of printing
    running: Ints  # (beds,) 1: it prints already
    material: Ints  # (beds,)
    fit: Ints  # (beds,)
    attended: Ints  # (beds,) 1: somebody must be there during the whole run
    watch: Floats  # (beds,) minutes of watching after the start
    loaded: Ints  # (printers,) material at the start, -1: none
    fitted: Ints  # (printers,)
    covered: Ints  # (printers,) 1: a bed must be cleared before the first run
    cool: Floats  # (printers,)
    refit: Floats  # (printers, fits, fits)
    clear: float
    change: float
    start: float
    there: Floats  # (segments, 3) since, until, persons
    shut: Floats  # (spans, 4) printer or -1, material or -1, since, until
    visits: Floats  # (visits, 2) begin, and until when nobody is there where it is missed


class Fate(NamedTuple):
    """What happens in each world."""

    times: Floats  # (worlds, beds) how many times as long as planned a bed prints
    fails: Floats  # (worlds, beds, tries) minutes of printing after which it fails, if it lasts so long
    missed: Ints  # (worlds, visits) 1: nobody comes


class Lived(NamedTuple):
    """What comes of it."""

    finish: Floats  # (worlds,) minutes; infinite where not all is ever printed
    spoilt: Floats  # (worlds, beds) whole beds' worth that failed
    changes: Ints  # (worlds, beds) changes of filament before a bed that is printed again
    tries: Ints  # (worlds, beds)
    decides: Ints  # (worlds, beds) 1: on the chain that decides the finish
    sooner: Floats  # (worlds, beds) minutes sooner without the trouble of that bed; 0 off the chain


@compiled(nogil=True)
def gap_end(work: Workplace, missed: Ints, at: float, until: float) -> float:
    """Where nobody is there for all of a stretch: the moment before which no other one can begin, else -1."""
    n = len(work.there)
    low, high = 0, n
    while low < high:
        middle = (low + high) // 2
        if work.there[middle, 1] > at + CLOSE:
            high = middle
        else:
            low = middle + 1
    if low == n:
        return NEVER
    if work.there[low, 0] > at + CLOSE:
        return float(work.there[low, 0])
    while work.there[low, 1] < until - CLOSE:
        if low + 1 == n:
            return NEVER
        if work.there[low + 1, 0] > work.there[low, 1] + CLOSE:
            return float(work.there[low + 1, 0])
        low += 1
    for visit in range(len(missed)):
        if missed[visit] == 1:
            since, back = work.visits[visit, 0], work.visits[visit, 1]
            if since < max(until, at + 2.0 * CLOSE) - CLOSE and back > at + CLOSE:
                return float(back)
    return -1.0


@compiled(nogil=True)
def hands(work: Workplace, at: float, until: float) -> float:
    """The fewest persons who are there in a stretch that is attended."""
    fewest = NEVER
    for n in range(len(work.there)):
        if work.there[n, 0] > max(until - CLOSE, at):
            break
        if work.there[n, 1] > at + CLOSE:
            fewest = min(fewest, work.there[n, 2])
    return float(fewest)


@compiled(nogil=True)
def first_time(
    work: Workplace, missed: Ints, busy: Floats, ready: float, needs: Floats, bed: int, printer: int
) -> tuple[float, int]:
    """Minute at which handling can begin, ready or later, and the handling that it waits for (-1: none).

    ``needs``: minutes of hands, minutes for which somebody is there, minutes until the bed is cold.
    """
    at, waits = ready, NOBODY
    while at < NEVER:
        back = gap_end(work, missed, at, at + needs[1])
        if back >= 0.0:
            at, waits = back, NOBODY
            continue
        away = -1.0
        for n in range(len(work.shut)):
            mine = work.shut[n, 0] == printer or work.shut[n, 1] == work.material[bed]
            if mine and work.shut[n, 2] < at + needs[2] - CLOSE and work.shut[n, 3] > at + CLOSE:
                away = max(away, work.shut[n, 3])
        if away >= 0.0:
            at, waits = away, NOBODY
            continue
        taken, free, who = 0, NEVER, NOBODY
        for n in range(len(busy)):
            if busy[n] > at + CLOSE:
                taken += 1
                if busy[n] < free:
                    free, who = busy[n], n
        if taken == 0 or taken < hands(work, at, at + needs[0]):
            return at, waits
        at, waits = free, who
    return NEVER, NOBODY


@compiled(nogil=True)
def handling(work: Workplace, printer: int, bed: int, lies: int, on: int, fitted: int) -> float:
    """Minutes of hands before a bed: clearing, changing, fitting, starting."""
    minutes = work.start + work.refit[printer, fitted, work.fit[bed]]
    if lies == 1:
        minutes += work.clear
    if on != work.material[bed]:
        minutes += work.change
    return float(minutes)


@compiled(nogil=True)
def live(
    work: Workplace,
    times: Floats,
    fails: Floats,
    missed: Ints,
    spared: int,
    spoilt: Floats,
    changes: Ints,
    tries: Ints,
    decides: Ints,
) -> float:
    """The finish of one world; the bed ``spared`` has no trouble in it. Fills what is handed in."""
    printers, beds, most = len(work.queue), len(work.minutes), fails.shape[1]
    line = np.full((printers, beds * most), NOBODY, dtype=np.int32)
    length, done = np.zeros(printers, dtype=np.int32), np.zeros(printers, dtype=np.int32)
    ready, last = np.zeros(printers), np.full(printers, NOBODY, dtype=np.int32)
    lies, on, fitted = work.covered.copy(), work.loaded.copy(), work.fitted.copy()
    who, pushed = np.zeros(beds * most, dtype=np.int32), np.zeros(beds * most, dtype=np.int32)
    busy = np.zeros(beds * most)
    needs = np.zeros(3)
    for bed in range(beds):
        spoilt[bed], changes[bed], tries[bed], decides[bed] = 0.0, 0, 0, 0
    for printer in range(printers):
        while length[printer] < beds and work.queue[printer, length[printer]] >= 0:
            line[printer, length[printer]] = work.queue[printer, length[printer]]
            length[printer] += 1
    finish, deciding, count = 0.0, NOBODY, 0
    while True:
        best, chosen, waits = NEVER, NOBODY, NOBODY
        left = False
        for printer in range(printers):
            if done[printer] == length[printer]:
                continue
            left = True
            bed = line[printer, done[printer]]
            if work.running[bed] == 1 and tries[bed] == 0:
                best, chosen, waits = -1.0, printer, NOBODY
                break
            needs[0] = handling(work, printer, bed, lies[printer], on[printer], fitted[printer])
            watched = work.minutes[bed] if work.attended[bed] == 1 else work.watch[bed]
            needs[1] = needs[0] + min(watched, work.minutes[bed])
            needs[2] = needs[0] + work.minutes[bed]
            soonest = ready[printer]
            if tries[bed] == 0:
                soonest = max(soonest, work.begins[bed] - needs[0])
            at, waiting = first_time(work, missed, busy[:count], soonest, needs, bed, printer)
            if at == NEVER:  # a run that must be attended: its bed is cleared and fitted in hours before
                needs[1] = max(needs[0], work.start + min(watched, work.minutes[bed]))
                at, waiting = first_time(work, missed, busy[:count], soonest, needs, bed, printer)
            if at < best - CLOSE:
                best, chosen, waits = at, printer, waiting
        if not left:
            break
        if chosen == NOBODY:
            finish, deciding = NEVER, NOBODY
            break
        bed = line[chosen, done[chosen]]
        begun = work.running[bed] == 1 and tries[bed] == 0
        hand = handling(work, chosen, bed, lies[chosen], on[chosen], fitted[chosen])
        at = 0.0 if begun else best + hand
        busy[count] = 0.0 if begun else at
        pushed[count] = NOBODY
        if not begun:
            if waits != NOBODY:
                pushed[count] = waits
            elif tries[bed] > 0 or (
                at > work.begins[bed] + CLOSE and ready[chosen] > work.begins[bed] - hand + CLOSE
            ):
                pushed[count] = last[chosen]
            if tries[bed] > 0 and on[chosen] != work.material[bed]:
                changes[bed] += 1
        minutes = work.minutes[bed]
        if bed != spared:
            minutes = work.heat_up[bed] + (minutes - work.heat_up[bed]) * times[bed]
        end = at + minutes
        wrong = bed != spared and fails[bed, tries[bed]] < minutes
        tries[bed] += 1
        if wrong:
            seen = at + fails[bed, tries[bed] - 1]
            back = gap_end(work, missed, seen, seen)
            end = min(end, max(seen, back))
            spoilt[bed] += (end - at) / max(minutes, CLOSE)
            if tries[bed] == most:
                finish, deciding = NEVER, NOBODY
                break
            line[chosen, length[chosen]] = bed
            length[chosen] += 1
        elif end > finish + CLOSE or deciding == NOBODY:
            finish, deciding = end, count
        who[count], last[chosen] = bed, count
        ready[chosen] = end + work.cool[chosen]
        lies[chosen], on[chosen], fitted[chosen] = 1, work.material[bed], work.fit[bed]
        done[chosen] += 1
        count += 1
    while deciding != NOBODY:
        decides[who[deciding]] = 1
        deciding = pushed[deciding]
    return finish


@compiled(nogil=True)
def live_all(work: Workplace, fate: Fate, lived: Lived) -> None:
    """Every world, and each again without the trouble of each bed on the chain that decides it."""
    beds = len(work.minutes)
    spoilt, ints = np.zeros(beds), np.zeros((3, beds), dtype=np.int32)
    for world in range(len(fate.times)):
        times, fails, missed = fate.times[world], fate.fails[world], fate.missed[world]
        lived.finish[world] = live(
            work, times, fails, missed, NOBODY,
            lived.spoilt[world], lived.changes[world], lived.tries[world], lived.decides[world],
        )  # fmt: skip
        if lived.finish[world] == NEVER:
            continue
        for bed in range(beds):
            if lived.decides[world, bed] == 1:
                other = live(work, times, fails, missed, bed, spoilt, ints[0], ints[1], ints[2])
                if other < NEVER:
                    lived.sooner[world, bed] = lived.finish[world] - other
