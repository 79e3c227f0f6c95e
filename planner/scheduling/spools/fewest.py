"""Fewest spools for the runs of one filament: the exact model; smaller models where it proves nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.scheduling.spools.spool_floor import floor_of
from planner.scheduling.spools.spool_model import NO_LOTS, Demand, Lots, Served, SpoolModel

# The solver's own count of work, about seconds; never the wall clock.
FIRST_LIMIT = 0.3  # for the proof, which most need a hundredth of
STEP_LIMIT, STEPS_LIMIT = 0.25, 1.0  # for a model with fewer new spools, and for all of these together
TIDY_LIMIT, SHORT_TIDY_LIMIT = 0.5, 0.2  # the short one where nothing was proved


def fewest_spools(
    demands: Sequence[Demand],
    shelf: Sequence[int],
    full: int,
    hint: Sequence[int],
    *,
    new: int | None = None,
    tidy: bool = False,
    since: Sequence[float] = (),
    away: Sequence[Sequence[tuple[float, float]]] = (),
    lots: Lots = NO_LOTS,
    near: Served | None = None,
) -> Served | None:
    """Fewest new spools, then fewest changes in mid-run, fewest lots where one is asked for, fewest spools.

    Of spools those that were not opened count most.

    A spool is on one printer at a time. Runs are cut only where they need more than a full spool, or where
    that saves a new one. Where the model proves nothing within its limit, models with few new spools, which
    are smaller, are tried: half way between what is known and what nobody can do with, and so on.

    Parameters
    ----------
    shelf : hundredths of a gram left on each spool of the shelf
    full : hundredths of a gram on a new spool
    hint : a sound assignment of those that need no cut
    new : new spools that are considered; those of the hint where it is not said
    since : of each spool, the time from which it is at hand; none where they all are
    away : of each spool, the spans in which it is not there
    lots : which demands ask for one lot; where none do, nothing is otherwise
    near : an answer that was not proved, to nearly the same runs: one that buys as many is looked for first
    tidy : afterwards also keep pairs on one spool, then what an earlier plan chose, with few swaps

    Returns
    -------
    ``None`` when the solver finds nothing within its limit
    """
    new = max(0, max(hint, default=0) + 1 - len(shelf)) if new is None else new
    must = [demand.need > full and demand.given < 0 for demand in demands]
    total = sum(demand.need for demand in demands)
    least = max(0, -(-(total - sum(shelf)) // full))
    barred = [_not_there(d, since, away, len(shelf)) if d.given < 0 else [] for d in demands]
    task = _Task(demands, shelf, full, barred, lots, max(least, floor_of(demands, shelf, barred)))
    may = [bool(demand.cuts) and demand.given < 0 for demand in demands]
    again = task.as_few(near, may) if near is not None else None
    if again is not None:
        return task.tidied(again, new) if tidy else again
    packed = None if any(must) or any(barred) else largest_first(demands, shelf, full)
    if packed is not None and not shelf and max(packed, default=-1) + 1 == least:
        # no assignment opens fewer: all grams together need as many
        plain: Served | None = Served(
            packed, True, (-1,) * len(packed), tuple(demand.need for demand in demands)
        )
        new = least
    else:
        better = packed is not None and max(packed, default=0) < max(hint, default=0)
        plain = task.best(new, must, packed if better and packed else hint)
    best = plain
    if any(may) and may != must and (plain is None or plain.opened(len(shelf))[0] > task.floor):
        cut = task.best(new, may, hint, plain)
        if cut is not None and (plain is None or cut.opened(len(shelf))[0] < plain.opened(len(shelf))[0]):
            best = cut
    return task.tidied(best, new) if best is not None and tidy else best


@dataclass(frozen=True, slots=True)
class _Task:
    """Runs and spools of one filament, and fewer new ones than which nobody can do with."""

    demands: Sequence[Demand]
    shelf: Sequence[int]
    full: int
    barred: Sequence[Sequence[int]]
    lots: Lots
    floor: int

    def model(self, new: int, cuttable: Sequence[bool], *, ordered: bool = False) -> SpoolModel:
        """The model with so many new spools."""
        return SpoolModel(
            self.demands, self.shelf, self.full, new, cuttable, self.barred, self.lots, ordered=ordered
        )

    def best(
        self, new: int, cuttable: Sequence[bool], hint: Sequence[int], known: Served | None = None
    ) -> Served | None:
        """The best that is found, of what opens fewer new spools than ``known`` at last."""
        found = self.model(new, cuttable).solve(hint, FIRST_LIMIT)
        if found is not None and found.proved:
            return found
        most = min([new, *(self._new(one) - 1 for one in (found, known) if one is not None)])
        least, left = max(self.floor, self._fixed()), STEPS_LIMIT
        while least <= most and left > 0.0:
            tried = (least + most) // 2
            model = self.model(tried, cuttable, ordered=not self._fixed())
            fewer = model.solve((), min(left, STEP_LIMIT))
            left -= model.spent
            if fewer is None:
                least = tried + 1
            else:
                found, most = fewer, self._new(fewer) - 1
        return found

    def as_few(self, near: Served, cuttable: Sequence[bool]) -> Served | None:
        """One that opens no more new spools than a near one did."""
        most = max(self._new(near), self._fixed())
        return self.model(most, cuttable).solve(near.spool, STEP_LIMIT, near.second)

    def tidied(self, best: Served, new: int) -> Served:
        """As good, and tidy; where it is not proved not for long, among the spools that it opens alone."""
        cut_now = [
            amount < demand.need for amount, demand in zip(best.first_amount, self.demands, strict=True)
        ]
        new, limit = (new, TIDY_LIMIT) if best.proved else (self._new(best), SHORT_TIDY_LIMIT)
        return self.model(max(new, self._fixed()), cut_now).tidied(best, limit) or best

    def _new(self, served: Served) -> int:
        return served.opened(len(self.shelf))[0]

    def _fixed(self) -> int:
        """New spools that runs have on already: they keep their names."""
        return max(0, max((d.given for d in self.demands), default=-1) + 1 - len(self.shelf))


def _not_there(
    demand: Demand, since: Sequence[float], away: Sequence[Sequence[tuple[float, float]]], shelf: int
) -> list[int]:
    """Spools of the shelf that are not at hand yet, or away, while a run has them on."""
    late = {s for s, at in enumerate(since) if at > demand.begin}
    gone = {s for s, spans in enumerate(away) if any(a < demand.end and b > demand.begin for a, b in spans)}
    return sorted(s for s in late | gone if s < shelf)


def largest_first(demands: Sequence[Demand], shelf: Sequence[int], full: int) -> tuple[int, ...] | None:
    """Each demand, the largest first, to the spool with the least room that suffices and is free then.

    ``None`` where one has a spool already, or where no spool suffices.

    Source: best fit decreasing (Johnson and others 1974), with demands that exclude one another.
    """
    room, users = list(shelf), [list[Demand]() for _ in shelf]
    found = [-1] * len(demands)
    for i in sorted(range(len(demands)), key=lambda i: (-demands[i].need, i)):
        mine = demands[i]
        if mine.given >= 0 or mine.need > full:
            return None
        fits = [
            s
            for s, left in enumerate(room)
            if left >= mine.need and all(o.begin >= mine.end or mine.begin >= o.end for o in users[s])
        ]
        at = min(fits, key=lambda s: (room[s], s), default=len(room))
        if at == len(room):
            room.append(full)
            users.append([])
        room[at] -= mine.need
        users[at].append(mine)
        found[i] = at
    return tuple(found)
