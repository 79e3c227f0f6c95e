"""One world lived through minute by minute, slow and plain: the truth to hold the compiled worlds against.

Whole minutes only, no heating up, no nozzles, nothing away; handling is whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass
class Bed:
    """A bed on its printer: planned begin and minutes, filament; how long it truly prints, when it fails."""

    printer: int
    begin: int
    minutes: int
    filament: int
    lasts: int
    fails: list[int] = field(default_factory=list)  # minute of each try, beyond ``lasts`` where it does not


@dataclass
class Load:
    """Spools in a dryer: planned minutes, how long they must dry, what must be out, and over, before."""

    put_in: int
    take_out: int
    dries: int
    follows: list[int]
    beds: list[int]
    since: int = -1
    out: int = -1


@dataclass
class Machine:
    """A printer and what it does now."""

    line: list[int]
    loaded: int
    lies: bool = False
    doing: str = "cold"
    until: int = 0
    began: int = 0


def finish_of(
    beds: Sequence[Bed],
    printers: int,
    persons: Sequence[int],
    hands: tuple[int, int, int],
    cool: int,
    loads: Sequence[Load] = (),
    needs: Sequence[Sequence[int]] = (),
) -> int:
    """The minute at which the last bed is done; -1 where that is never.

    Parameters
    ----------
    persons : how many are there in each minute
    hands : minutes to start, to clear, to change
    needs : loads that each bed needs dry
    """
    starting, clearing, changing = hands
    machines = [Machine([n for n, bed in enumerate(beds) if bed.printer == p], 0) for p in range(printers)]
    for machine in machines:
        machine.line.sort(key=lambda n: beds[n].begin)
    tries, done, finish = [0] * len(beds), 0, 0
    over: set[int] = set()
    for minute in range(len(persons)):
        for machine in machines:  # what ends, ends before anybody looks
            if machine.doing == "printing":
                bed = beds[machine.line[0]]
                fails = minute - machine.began >= bed.fails[tries[machine.line[0]] - 1]
                wrong = bed.fails[tries[machine.line[0]] - 1] < bed.lasts
                if minute >= machine.until or (wrong and fails and persons[minute] > 0):
                    number = machine.line.pop(0)
                    machine.doing, machine.until = "cooling", minute + cool
                    over.add(number)
                    if wrong:
                        machine.line.append(number)
                    else:
                        done, finish = done + 1, max(finish, minute)
            if machine.doing == "cooling" and minute >= machine.until:
                machine.doing = "cold"
        if done == len(beds):
            return finish
        if persons[minute]:
            _at_the_dryers(minute, loads, over)
        for machine in machines:
            if machine.doing == "handled" and minute >= machine.until:
                number = machine.line[0]
                tries[number] += 1
                machine.doing, machine.began = "printing", minute
                machine.until = minute + beds[number].lasts
                machine.loaded, machine.lies = beds[number].filament, True
        for machine in machines:
            if machine.doing != "cold" or not machine.line:
                continue
            bed = beds[machine.line[0]]
            needed = starting + clearing * machine.lies + changing * (machine.loaded != bed.filament)
            early = tries[machine.line[0]] == 0 and minute < bed.begin - needed
            block = persons[minute : minute + needed]
            busy = sum(other.doing == "handled" for other in machines)
            if (
                not early
                and _dry(needs, loads, machine.line[0])
                and len(block) == needed
                and min(block) > busy
            ):
                machine.doing, machine.until = "handled", minute + needed
    return -1


def _at_the_dryers(minute: int, loads: Sequence[Load], over: set[int]) -> None:
    """Somebody takes out what is dry, not before its time, and puts in what may go in."""
    for load in loads:
        free = all(loads[n].out >= 0 for n in load.follows) and over.issuperset(load.beds)
        if 0 <= load.since <= minute - load.dries and load.out < 0 and minute >= load.take_out:
            load.out = minute
        elif load.since < 0 and minute >= load.put_in and free:
            load.since = minute


def _dry(needs: Sequence[Sequence[int]], loads: Sequence[Load], bed: int) -> bool:
    return not needs or all(loads[n].out >= 0 for n in needs[bed])
