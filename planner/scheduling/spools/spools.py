"""Which run draws its grams from which spool, and what must be bought."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.one_lot import OneLot
from planner.model.schedule import RUNNING, Draw, Run, Schedule, SpoolUse
from planner.model.workshop import NEVER_BUY, Workshop
from planner.scheduling.problem.calendar import Window, minute_of
from planner.scheduling.spools.fewest import fewest_spools
from planner.scheduling.spools.reels import (
    UNITS_PER_GRAM,
    Reel,
    bought_reel,
    fitting_reel,
    new_reel,
    shelf_of,
    units,
    use_of,
)
from planner.scheduling.spools.spool_changes import FreeHands, changes_in, free_hands
from planner.scheduling.spools.spool_model import Demand, Lots, Served

MOST_EXACT = 400  # runs of one filament that the exact model takes
MOST_TIDY = 60  # runs up to which pairs and swaps are looked after, too
ATTEMPTS = 4  # of the exact model, when two changes ask for the same hands


def assign_spools(
    schedule: Schedule,
    batches: Sequence[Batch],
    workshop: Workshop,
    on_bed: Mapping[str, str] | None = None,
    wishes: Mapping[str, str] | None = None,
) -> tuple[tuple[Run, ...], tuple[SpoolUse, ...]]:
    """Give every run its spool: fewest to buy, then fewest changes in mid-run, then fewest opened.

    First in order of time: a run keeps the spool that is on its printer if that suffices, else takes the
    spool of the shelf with the least left that suffices, else a new one. Then filament by filament by an
    exact model, which also keeps sections that ask for it on one lot, and pairs of hands on one spool. A
    batch that needs more than a full spool is split over several, with each change while somebody is there
    with free hands. Runs that go on from an
    earlier plan keep what they draw. No run draws from a spool before it is at hand,
    or while it is away.

    Where the workshop lists no spool at all, whole spools are counted by grams: which of them is on which
    printer is not known, so runs at the same time may share one.

    Parameters
    ----------
    on_bed : by printer, the bed of an earlier plan that must be cleared first
    wishes : by batch, the spool that it should keep where that costs nothing

    Raises
    ------
    Infeasible
        when such a change would fall in hours without attendance
    """
    named = {batch.name: batch for batch in batches}
    start = min((run.start for run in schedule.runs), default=schedule.finish)  # for its zone alone
    handling = handling_minutes(schedule.runs, named, workshop, frozenset(on_bed or {}))
    hands = free_hands(schedule.runs, named, workshop, handling)
    going_on = {run.name: run.draws for run in schedule.runs if run.mark == RUNNING}
    hands = hands.without(changes_in(hands, [r for r in schedule.runs if r.mark == RUNNING], going_on))
    kinds = {run.name: named[run.batch].filament for run in schedule.runs}
    apart = bool(workshop.spools)
    reels: list[Reel] = []
    drawn: dict[str, tuple[Draw, ...]] = {}
    for name in dict.fromkeys([*(spool.filament for spool in workshop.spools), *kinds.values()]):
        runs = [run for run in schedule.runs if kinds[run.name] == name]
        task = FilamentTask(
            workshop.filament(name),
            tuple(runs),
            named,
            handling,
            hands,
            wishes or {},
            apart,
            workshop.of_one_lot if apart else (),
        )
        used, draws = _in_time_order(task, shelf_of(name, workshop, start))
        if runs:
            used, draws = _exactly(task, used, draws)
        hands = hands.without(changes_in(hands, [r for r in runs if r.mark != RUNNING], draws))
        reels += used
        drawn |= draws
    finished = (
        replace(run, draws=drawn[run.name], purge_g=units(run.purge_g) / UNITS_PER_GRAM)
        for run in schedule.runs
    )
    return tuple(finished), tuple(use_of(reel) for reel in reels)


def refuse_buying(uses: Sequence[SpoolUse], workshop: Workshop) -> None:
    """Nothing where nothing is bought, or it may be.

    Raises
    ------
    Infeasible
        naming what is missing, when the workshop never buys
    """
    bought = [use for use in uses if use.bought]
    if workshop.buy == NEVER_BUY and bought:
        grams: dict[str, float] = {}
        for use in bought:
            grams[use.filament] = grams.get(use.filament, 0.0) + use.grams_used + use.grams_purged
        told = ", ".join(f"{math.ceil(taken)} g of {name}" for name, taken in grams.items())
        left = {
            name: sum(u.grams_left for u in uses if u.filament == name and not u.bought) for name in grams
        }
        if all(left[name] >= grams[name] for name in grams):
            raise Infeasible(
                f'{told} would have to come from new spools, and buy = "never": the shelf holds as much, but'
                " not on one spool that is at hand and on no other printer when these beds run.",
                where="workshop.toml",
                next_step='Write buy = "if needed" for this plan, or plan what is left without --since.',
            )
        raise Infeasible(
            f'{told} would have to come from new spools, and buy = "never".',
            where="workshop.toml",
            next_step='Weigh the spools and add them as [[spool]], or write buy = "if needed".',
        )


@dataclass(frozen=True, slots=True)
class FilamentTask:
    """The runs of one filament in order of time, and the hands that could change its spools."""

    filament: Filament
    runs: tuple[Run, ...]
    named: Mapping[str, Batch]
    handling: Mapping[str, int]
    hands: FreeHands
    wishes: Mapping[str, str]
    apart: bool = True  # a spool is on one printer at a time
    of_one_lot: tuple[OneLot, ...] = ()

    def mass(self, run: Run) -> int:
        """Hundredths of a gram that it deposits."""
        return units(self.named[run.batch].mass_g)

    def purge(self, run: Run) -> int:
        """Hundredths of a gram that it purges."""
        return units(run.purge_g)

    def mounted(self, run: Run) -> datetime:
        """When its spool goes on."""
        return run.start - timedelta(minutes=self.handling[run.name])


def handling_minutes(
    runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop, covered: frozenset[str]
) -> dict[str, int]:
    """How long before its start a run's printer is being handled, and its spool put on.

    Parameters
    ----------
    covered : printers on which a bed of an earlier plan still lies
    """
    found: dict[str, int] = {}
    loaded: dict[str, str | None] = {printer.name: printer.loaded for printer in workshop.printers}
    seen = set(covered)
    machines = {printer.name: printer for printer in workshop.printers}
    fitted = {printer.name: printer.fitted for printer in workshop.printers}
    for run in runs:
        filament = named[run.batch].filament
        before = fitted.get(run.printer, (0, 0))
        machine = machines.get(run.printer)
        fit = (machine.fit_for(named[run.batch].fit) if machine is not None else None) or before
        fitted[run.printer] = fit
        if run.mark == RUNNING:
            found[run.name] = 0
            loaded[run.printer] = filament
            seen.add(run.printer)
            continue
        found[run.name] = workshop.start_minutes
        found[run.name] += workshop.change_minutes if loaded[run.printer] != filament else 0
        found[run.name] += machine.refit_minutes(before, fit) if machine is not None else 0
        found[run.name] += workshop.clear_minutes if run.printer in seen else 0
        loaded[run.printer] = filament
        seen.add(run.printer)
    return found


def _in_time_order(task: FilamentTask, reels: list[Reel]) -> tuple[list[Reel], dict[str, tuple[Draw, ...]]]:
    drawn: dict[str, tuple[Draw, ...]] = {}
    for run in sorted(task.runs, key=lambda run: run.mark != RUNNING):
        need, purge = task.mass(run), task.purge(run)
        if run.mark == RUNNING:
            place = {reel.name: reel for reel in reels}
            for draw in run.draws:
                if draw.spool not in place:  # to be bought for a run that goes on
                    place[draw.spool] = new_reel(reels, draw.spool, task.filament, apart=task.apart)
            draws = [(place[d.spool], units(run.charge(n)[0])) for n, d in enumerate(run.draws)]
            purge = units(run.charge(0)[1]) if run.draws else 0
        else:
            reel = fitting_reel(reels, run, task.filament, need + purge, task.mounted(run))
            if reel is None and need + purge <= units(task.filament.spool_g):
                reel = bought_reel(reels, task.filament, apart=task.apart)
            draws = [(reel, need)] if reel is not None else _split(reels, run, task, need, purge)
        if draws:
            draws[0][0].purged += purge
        for taken, amount in draws:
            taken.used += amount
            taken.printer, taken.free_at = run.printer, run.end
        drawn[run.name] = tuple(Draw(r.name, amount / UNITS_PER_GRAM) for r, amount in draws)
        if run.mark == RUNNING:
            drawn[run.name] = run.draws
    return reels, drawn


def _exactly(
    task: FilamentTask, reels: list[Reel], drawn: dict[str, tuple[Draw, ...]]
) -> tuple[list[Reel], dict[str, tuple[Draw, ...]]]:
    """The best assignment of one filament, or the given one when nothing better is found."""
    open_runs = [run for run in task.runs if run.mark != RUNNING]
    if sum(reel.used > 0 for reel in reels) <= 1 or not open_runs or len(open_runs) > MOST_EXACT:
        return reels, drawn
    place = {reel.name: at for at, reel in enumerate(reels)}
    shelf = [reel.before for reel in reels if not reel.bought]
    new = len(reels) - len(shelf)
    since = [0.0 if reel.since is None else reel.since.timestamp() for reel in reels]
    away = [
        [(a.timestamp(), math.inf if b is None else b.timestamp()) for a, b in reel.away] for reel in reels
    ]
    hands, near = task.hands, None
    for _ in range(ATTEMPTS):
        demands = _demands(replace(task, hands=hands), place, drawn)
        hint = [place[drawn[run.name][0].spool] for run in open_runs]
        hint += [demand.given for demand in demands[len(open_runs) :]]
        tidy = len(open_runs) <= MOST_TIDY
        served = fewest_spools(
            demands,
            shelf,
            units(task.filament.spool_g),
            hint,
            new=new,
            tidy=tidy,
            since=since,
            away=away,
            lots=lots_asked(task, reels),
            near=near,
        )
        if served is None:
            return reels, drawn
        near = None if served.proved else served
        made = _drawn(task, open_runs, reels, served)
        clash = _clash(task, made[1])
        if clash is None:
            return made
        hands = hands.without([clash])
    return reels, drawn


def _demands(
    task: FilamentTask, place: Mapping[str, int], drawn: Mapping[str, tuple[Draw, ...]]
) -> list[Demand]:
    """Open runs first, then what running ones draw, each from its own spool."""
    open_runs = [run for run in task.runs if run.mark != RUNNING]
    at = {run.name: n for n, run in enumerate(open_runs)}
    partner = pairs_of([task.named[run.batch] for run in open_runs])
    by_batch = {run.batch: at[run.name] for run in open_runs}
    before: dict[str, int] = {}
    demands: list[Demand] = []
    for run in open_runs:
        mass, purge = task.mass(run), task.purge(run)
        demands.append(
            Demand(
                mass + purge,
                task.mounted(run).timestamp() if task.apart else 0.0,
                run.end.timestamp() if task.apart else 0.0,
                task.hands.cuts(run, mass, purge),
                before=before.get(run.printer, -1),
                partner=by_batch.get(partner.get(run.batch, ""), -1),
                wish=place.get(task.wishes.get(run.batch, ""), -1),
            )
        )
        before[run.printer] = at[run.name]
    for run in task.runs:
        for n, draw in enumerate(drawn[run.name] if run.mark == RUNNING else ()):
            grams, purge_g = run.charge(n)
            need = units(grams) + units(purge_g)
            given = place[draw.spool]
            begin, end = (run.start.timestamp(), run.end.timestamp()) if task.apart else (0.0, 0.0)
            demands.append(Demand(need, begin, end, given=given))
    return demands


def lots_asked(task: FilamentTask, reels: Sequence[Reel]) -> Lots:
    """Which demands ask for one lot together, and the lot of each spool, in the order of both."""
    open_runs = [run for run in task.runs if run.mark != RUNNING]
    going_on = [run for run in task.runs if run.mark == RUNNING for _ in run.draws]
    numbers: dict[tuple[str, str], int] = {}
    of_spool = tuple(numbers.setdefault(reel.of_lot, len(numbers)) for reel in reels)
    named = {reel.name: lot for reel, lot in zip(reels, of_spool, strict=True)}
    groups = []
    for one in task.of_one_lot:
        held = [
            n
            for n, run in enumerate([*open_runs, *going_on])
            if any(placed.piece in one.pieces for placed in task.named[run.batch].placed)
        ]
        before = {named[spool] for spool in one.before if spool in named}
        if held:
            groups.append((tuple(held), frozenset(before)))
    return Lots(of_spool, tuple(groups))


def _drawn(
    task: FilamentTask, open_runs: Sequence[Run], reels: Sequence[Reel], served: Served
) -> tuple[list[Reel], dict[str, tuple[Draw, ...]]]:
    """Reels and draws of an exact answer."""
    fresh = [replace(reel, used=0, purged=0) for reel in reels]
    draws: dict[str, tuple[Draw, ...]] = {}
    for n, run in enumerate(open_runs):
        mass, purge = task.mass(run), task.purge(run)
        first = served.first_amount[n] - purge
        taken = [(fresh[served.spool[n]], first)]
        if served.second[n] >= 0:
            taken.append((fresh[served.second[n]], mass - first))
        taken[0][0].purged += purge
        for reel, amount in taken:
            reel.used += amount
        draws[run.name] = tuple(Draw(reel.name, amount / UNITS_PER_GRAM) for reel, amount in taken)
    place = {reel.name: reel for reel in fresh}
    for run in task.runs:
        if run.mark == RUNNING:
            draws[run.name] = run.draws
            for k, draw in enumerate(run.draws):
                used_g, purged_g = run.charge(k)
                place[draw.spool].used += units(used_g)
                place[draw.spool].purged += units(purged_g)
    return [reel for reel in fresh if not reel.bought or reel.used > 0], draws


def _clash(task: FilamentTask, drawn: Mapping[str, tuple[Draw, ...]]) -> Window | None:
    """The earlier of two changes that ask for the same hands."""
    open_runs = [run for run in task.runs if run.mark != RUNNING]
    changes = sorted(changes_in(task.hands, open_runs, drawn))
    return next((a for a, b in pairwise(changes) if b[0] < a[1]), None)


def pairs_of(batches: Sequence[Batch]) -> dict[str, str]:
    """For each batch the other one that holds the most other hands of its pieces, told by their names."""
    where = {placed.piece: batch.name for batch in batches for placed in batch.placed}
    found: dict[str, str] = {}
    for batch in batches:
        others = Counter(where[hand] for p in batch.placed for hand in _other_hands(p.piece) if hand in where)
        others.pop(batch.name, None)
        if others:
            found[batch.name] = min(others, key=lambda name: (-others[name], name))
    return found


def _other_hands(piece: str) -> Iterator[str]:
    """What the other hand of a piece would be called."""
    match = re.fullmatch(r"(.*) (L|R)( \d+)?", piece)
    if match:
        yield f"{match[1]} {'R' if match[2] == 'L' else 'L'}{match[3] or ''}"
    match = re.fullmatch(r"(.*?)( mirrored)?( \d+)?", piece)
    if match:
        yield f"{match[1]}{'' if match[2] else ' mirrored'}{match[3] or ''}"


def _split(reels: list[Reel], run: Run, task: FilamentTask, need: int, purge: int) -> list[tuple[Reel, int]]:
    """Full new spools one after another; each change falls where somebody is there with free hands."""
    filament = task.filament
    began, length = minute_of(task.hands.origin, run.start), minute_of(run.start, run.end)
    draws: list[tuple[Reel, int]] = []
    done = 0
    while done < need:
        reel = bought_reel(reels, filament, apart=task.apart)
        room = reel.left - (0 if draws else purge)
        if need - done <= room:
            draws.append((reel, need - done))
            break
        limit = began + length * (done + room) / need
        last = max((last for _, last in task.hands.begins(began, limit)), default=began)
        amount = math.ceil(need * (last - began) / length) - done
        if amount <= 0:
            raise Infeasible(
                f"batch {run.batch!r} needs {need / UNITS_PER_GRAM:.0f} g of {filament.name}, more than a"
                f" full spool of {filament.spool_g:g} g, and nobody is there when it must be changed.",
                next_step="Split the batch, use larger spools, or lengthen the attendance.",
            )
        draws.append((reel, min(amount, room)))
        done += draws[-1][1]
    return draws
