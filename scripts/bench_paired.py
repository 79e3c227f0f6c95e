"""Two pieces of work in turns, told as a ratio of their CPU; and whether a ratio still is what was saved."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

TRIES = 3  # of a row that is not clearly as it was
CLEAR = 1.2  # times what was saved, up to where one try is enough
FACTOR = 1.4  # from where on a row fails: one that is half as slow again does, whatever a tenth of noise does
TURNS = 5
_LEAST_S = 0.02  # of one turn: clocks of processor time tick in milliseconds on some systems

Work = Callable[[], Any]


@dataclass(frozen=True, slots=True)
class Pair:
    """Work of the program beside plain work of the same kind, in which the speed of the machine cancels.

    Parameters
    ----------
    ours, plain : each does its work once
    turns : how often both are timed; the least of each counts
    clock : CPU seconds until now
    """

    ours: Work
    plain: Work
    turns: int = TURNS
    clock: Callable[[], float] = time.process_time


@dataclass(frozen=True, slots=True)
class Least:
    """Least CPU seconds of both sides so far."""

    ours: float = math.inf
    plain: float = math.inf

    @property
    def ratio(self) -> float:
        """CPU of ours over that of the plain work."""
        return self.ours / self.plain

    def with_(self, other: Least) -> Least:
        """The least of both, side by side: a ratio of one try alone is best where its plain work was slow."""
        return Least(min(self.ours, other.ours), min(self.plain, other.plain))


def measured(pair: Pair) -> Least:
    """One try.

    Both sides take turns, so that a machine that slows down slows both; whatever else runs only adds to a
    turn, so the least is nearest to the work itself.
    """
    pair.ours(), pair.plain()  # what is loaded and compiled at first is no work of either
    found = Least()
    for _ in range(pair.turns):
        found = found.with_(Least(_turn_s(pair.ours, pair.clock), _turn_s(pair.plain, pair.clock)))
    return found


def _turn_s(work: Work, clock: Callable[[], float]) -> float:
    """Seconds of doing it once, as a mean over so many that they can be timed."""
    count, began = 0, clock()
    while True:
        work()
        count += 1
        spent = clock() - began
        if spent >= _LEAST_S:
            return spent / count


def judged(
    saved: Mapping[str, float], names: Iterable[str], measure: Callable[[str], Least]
) -> tuple[list[str], bool]:
    """Lines of at most 80 columns, and whether no row is worse than saved by ``FACTOR``.

    A row that is not clearly as it was is measured up to ``TRIES`` times, and the least of all of them
    counts: a busy machine makes a row worse once, a slower program each time. A row of one side only fails
    as well, since nobody would notice it.
    """
    names = list(names)
    lines, holds = [f"{'figure, times plain work':<44}{'saved':>9}{'now':>9}{'times':>7}  verdict"], True
    for name in names:
        if name not in saved:
            lines.append(f"{name[:43]:<44}{'-':>9}{'-':>9}{'-':>7}  NOT SAVED")
            holds = False
            continue
        old = saved[name]
        now = _tried(partial(measure, name), CLEAR * old)
        kept = now <= FACTOR * old
        verdict = "holds" if kept else "FAILS"
        lines.append(f"{name[:43]:<44}{old:>9.4g}{now:>9.4g}{now / old:>7.2f}  {verdict}")
        holds = holds and kept
    gone = [name for name in saved if name not in names]
    lines += [f"{name[:43]:<44}  IS GONE" for name in gone]
    return lines, holds and not gone


def _tried(measure: Callable[[], Least], clear: float) -> float:
    found = Least()
    for _ in range(TRIES):
        found = found.with_(measure())
        if found.ratio <= clear:
            break
    return found.ratio
