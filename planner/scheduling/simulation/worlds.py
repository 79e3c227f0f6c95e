"""Worlds drawn by a seed, and a timed plan lived through in them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch
from planner.model.risk import Chances
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop
from planner.scheduling.simulation.presence_kernel import Dryers, Workplace
from planner.scheduling.simulation.slots import slots_of
from planner.scheduling.simulation.workplace import workplace_of
from planner.scheduling.simulation.worlds_kernel import Fate, Lived, live_all

AT_ONCE = 256  # worlds that are drawn together
TRIES = 12  # of one bed, after which a world counts as unfinished
MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, eq=False)
class Worlds:
    """What became of every run, in the order of the schedule; see `worlds_kernel.Lived` for the shapes."""

    lived: Lived

    def finish(self, share: float) -> float:
        """Minutes until which all is printed in that share of the worlds; infinite where it never is."""
        return at_share(self.lived.finish, share)


def at_share(values: NDArray[np.float64], share: float) -> float:
    """The least value that so large a share of them does not exceed: one of them, never one between."""
    place = max(0, math.ceil(share * len(values) - 1e-9) - 1)
    return float(np.sort(values)[place])


def lived_through(
    schedule: Schedule,
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    chances: Chances,
    covered: frozenset[str] = frozenset(),
) -> Worlds:
    """Live through a timed plan in as many worlds as are asked for; the same for the same seed.

    Whoever is there does what the plan says, and when: no bed is started before its time. What is not ready
    then is started as soon as it is cold, somebody is there and has a hand free. A bed that fails is found
    when it fails if somebody is there, else by the next who comes, or at its end; it is cleared like
    others and printed again behind all beds of its printer, as soon as may be. Where a visit is missed,
    nobody is there until the next visit of the plan, or until that window of attendance ends.

    Spools are at hand in every world, and changed in mid-run as planned. A bed that must be attended and
    fits no window with all its handling is cleared and fitted in hours before.

    Parameters
    ----------
    covered : printers on which the bed of an earlier plan lies

    Source: discrete-event simulation with common random numbers (Law, Simulation Modeling and Analysis,
    chapter 11); times to failure exponential, factors on minutes lognormal with a median of 1.
    """
    work = workplace_of(schedule, batches, workshop, start, covered)
    names = [printer.name for printer in workshop.printers]
    dryers = slots_of(schedule, workshop, start)
    return live_through(work, dryers, [names.index(run.printer) for run in schedule.runs], names, chances)


def live_through(
    work: Workplace, dryers: Dryers, printers: Sequence[int], names: Sequence[str], chances: Chances
) -> Worlds:
    """The same of a workplace that is made, with the printer of each bed by its place in ``names``."""
    found = [lived_in(work, dryers, fate) for fate in _fates(work, printers, names, chances)]
    return Worlds(Lived(*(np.concatenate(arrays) for arrays in zip(*found, strict=True))))


def lived_in(work: Workplace, dryers: Dryers, fate: Fate) -> Lived:
    """What comes of worlds whose fate is known."""
    worlds, beds = fate.times.shape
    changes, tries, decides = np.zeros((3, worlds, beds), dtype=np.int32)
    spoilt, sooner = np.zeros((2, worlds, beds))
    lived = Lived(np.zeros(worlds), spoilt, changes, tries, decides, sooner)
    live_all(work, dryers, fate, lived)
    return lived


def _fates(work: Workplace, printers: Sequence[int], names: Sequence[str], chances: Chances) -> list[Fate]:
    """Worlds in heaps of one size, so that the first are the same however many follow."""
    draw = np.random.default_rng(chances.seed)
    of = np.array(printers, dtype=np.int64)
    spread = _by_printer(chances.spreads, names)
    rate = _by_printer(chances.failures, names)[of] / MINUTES_PER_HOUR
    beds, visits, left, found = len(of), len(work.visits), chances.asked.worlds, []
    while left > 0:
        whole = draw.standard_normal((AT_ONCE, len(names))) * spread
        own = draw.standard_normal((AT_ONCE, beds)) * chances.rest
        lasts = draw.standard_exponential((AT_ONCE, beds, TRIES))
        with np.errstate(divide="ignore"):
            fails = np.where(rate[:, None] > 0.0, lasts / rate[:, None], np.inf)
        missed = (draw.random((AT_ONCE, visits)) < chances.asked.missed).astype(np.int32)
        here = min(left, AT_ONCE)
        times = np.exp(whole[:, of] + own)
        found.append(Fate(times[:here].copy(), fails[:here].copy(), missed[:here].copy()))
        left -= here
    return found


def _by_printer(values: Mapping[str, float], names: Sequence[str]) -> NDArray[np.float64]:
    return np.array([values.get(name, 0.0) for name in names])
