"""One world after another: beds are handled, print, fail and are printed again (compiled)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

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
from planner.scheduling.simulation.slots_kernel import UNKNOWN, dry_from, freed, taken_out, waited_for


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
    dryers: Dryers,
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
    loads = len(dryers.loads)
    left, by = np.zeros(loads, dtype=np.int32), np.full(loads, NOBODY, dtype=np.int32)
    free, out = np.zeros(loads), np.full(loads, UNKNOWN)
    if loads > 0:
        waited_for(dryers, left)
        taken_out(work, dryers, missed, left, free, by, out)
    for bed in range(beds):
        spoilt[bed], changes[bed], tries[bed], decides[bed] = 0.0, 0, 0, 0
    for printer in range(printers):
        while length[printer] < beds and work.queue[printer, length[printer]] >= 0:
            line[printer, length[printer]] = work.queue[printer, length[printer]]
            length[printer] += 1
    finish, deciding, count = 0.0, NOBODY, 0
    while True:
        best, chosen, waits = NEVER, NOBODY, NOBODY
        open_ = False
        for printer in range(printers):
            if done[printer] == length[printer]:
                continue
            open_ = True
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
            if loads > 0:
                dry, _ = dry_from(dryers, bed, out)
                if dry == UNKNOWN:  # its spools are still printed from by another bed
                    continue
                soonest = max(soonest, dry)
            at, waiting = first_time(work, missed, busy[:count], soonest, needs, bed, printer)
            if at == NEVER:  # a run that must be attended: its bed is cleared and fitted in hours before
                needs[1] = max(needs[0], work.start + min(watched, work.minutes[bed]))
                at, waiting = first_time(work, missed, busy[:count], soonest, needs, bed, printer)
            if at < best - CLOSE:
                best, chosen, waits = at, printer, waiting
        if not open_:
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
            dry, load = dry_from(dryers, bed, out) if loads > 0 else (0.0, NOBODY)
            as_planned = work.begins[bed] - hand if tries[bed] == 0 else 0.0
            if waits != NOBODY:
                pushed[count] = waits
            elif load != NOBODY and dry > max(ready[chosen], as_planned) + CLOSE:
                pushed[count] = by[load]
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
        if loads > 0 and tries[bed] == 1:
            freed(dryers, bed, end, count, left, free, by)
            taken_out(work, dryers, missed, left, free, by, out)
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
def live_all(work: Workplace, dryers: Dryers, fate: Fate, lived: Lived) -> None:
    """Every world, and each again without the trouble of each bed on the chain that decides it."""
    beds = len(work.minutes)
    spoilt, ints = np.zeros(beds), np.zeros((3, beds), dtype=np.int32)
    for world in range(len(fate.times)):
        times, fails, missed = fate.times[world], fate.fails[world], fate.missed[world]
        lived.finish[world] = live(
            work, dryers, times, fails, missed, NOBODY,
            lived.spoilt[world], lived.changes[world], lived.tries[world], lived.decides[world],
        )  # fmt: skip
        if lived.finish[world] == NEVER:
            continue
        for bed in range(beds):
            if lived.decides[world, bed] == 1:
                other = live(work, dryers, times, fails, missed, bed, spoilt, ints[0], ints[1], ints[2])
                if other < NEVER:
                    lived.sooner[world, bed] = lived.finish[world] - other
