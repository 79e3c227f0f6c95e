"""What to print otherwise to reach a mass, a date, a cost or a balance: proposed, then planned for real."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial

from planner.errors import Infeasible, InputError
from planner.model.effort import longer
from planner.model.plan import Plan
from planner.pipeline.date_bound import fewest_changes
from planner.pipeline.job import Job, Progress
from planner.pipeline.overlapping import overlapping
from planner.pipeline.placed.assembly import in_assembly
from planner.pipeline.run import run
from planner.pipeline.ways import WaysTable, ways_table
from planner.tradeoffs.allowed import Way
from planner.tradeoffs.alternatives import (
    Targets,
    by_part,
    together,
    totals,
)
from planner.tradeoffs.single_changes import best_single_changes
from planner.tradeoffs.study import Pair, Study, Wishes
from planner.tradeoffs.tradeoff import Proposal, best, front, least_change
from planner.units import money_text
from planner.weights.advice import movable_gmm, moves_to

PAIRS: tuple[Pair, ...] = (("mass", "minutes"), ("mass", "cost"))
ROUNDS = 6  # a proposal that misses when it is planned for real is asked for again, a little tighter
SINGLES = 3  # single changes that are planned for real where a date is wanted
_ROUNDING_MIN = 1.0  # the program counts every row in whole seconds
_NEAR_MIN = 30.0  # a choice that is quicker by less than this is taken at once
_MOST_MARGIN = 0.4  # of the window, at each end

Planned = Callable[[Job, Progress | None], Plan]
Make = Callable[[Job], Plan]


def _make(planned: Planned, progress: Progress | None, job: Job) -> Plan:
    return planned(job, progress)


def study(
    job: Job, wishes: Wishes, progress: Progress | None = None, planned: Planned | None = None
) -> Study:
    """Plan, look for the least change that fulfils the wishes, and plan that for real.

    Parameters
    ----------
    planned : plans a job; from the start on where it is not given

    Raises
    ------
    InputError
        when the balance is asked for and no window is given
    Infeasible
        when there is no plan to start from
    """
    if wishes.balance_inside and job.airframe.balance_window_mm is None:
        raise InputError(
            "a balance inside the window is asked for, but no window is given.",
            where="--balance-inside",
            next_step="Write balance_window_mm = [52, 66] under [airframe].",
        )
    job = overlapping(in_assembly(job))
    make: Make = partial(_make, planned or run, progress)
    before = make(job)
    table = ways_table(job, before, progress)
    found = Study(
        before,
        wishes,
        {name: tuple(way.name for way in ways) for name, ways in table.ways.items()},
        best_single_changes(table.rows, table.rest, "hour"),
        best_single_changes(table.rows, table.rest, "money"),
        fronts={pair: front(table.rows, table.rest, Targets(), pair, seed=job.seed) for pair in PAIRS},
        minutes=table.minutes,
    )
    if not wishes.any or not missed(before, wishes):
        return found
    fewest = _fewest(job, table, wishes)
    try:
        if fewest is None:
            raise Infeasible(
                "no allowed choice ends by that date: even the least machine time of all pieces is more than"
                " the printers have until then (proved).",
                next_step="Allow more recipes, add a printer, or give a later date.",
            )
        proposal, after = _kept(job, before, table, wishes, make)
    except Infeasible as error:
        return replace(found, refusal=str(error))
    if wishes.finish is not None:  # what a date needs hangs on beds and visits: only the bound proves it
        proposal = replace(proposal, proved=len(proposal.changed) <= fewest)
    return replace(found, proposal=proposal, after=after, fewest=fewest)


def _fewest(job: Job, table: WaysTable, wishes: Wishes) -> int | None:
    """How many changes are needed at least for the date that is wanted; 0 without one."""
    if wishes.finish is None:
        return 0
    limits = replace(_limits(job, wishes, table), aim=False)  # a bound asks what can be, not what is best
    return fewest_changes(job, table.rows, table.least, table.rest, limits, wishes.finish)


def _limits(job: Job, wishes: Wishes, table: WaysTable) -> Targets:
    """What is wanted of mass, money and balance."""
    window = job.airframe.balance_window_mm if wishes.balance_inside else None
    return Targets(
        mass_g=wishes.mass_g,
        cost_minor=wishes.cost_minor,
        window_mm=window,
        movable_gmm=(0.0, 0.0) if window is None else movable_gmm(table.fittings),
        aim=window is not None,
    )


def _aimed(limits: Targets, before: Plan) -> Targets:
    """The window drawn in by the range of the balance, so that nine of ten builds lie inside.

    Of a window that is narrower than the range its middle fifth is left.
    """
    low, high = before.balance.low_mm, before.balance.high_mm
    if limits.window_mm is None or low is None or high is None:
        return limits
    fore, aft = limits.window_mm
    margin = min((high - low) / 2.0, _MOST_MARGIN * (aft - fore))
    return replace(limits, window_mm=(fore + margin, aft - margin))


def _least(job: Job, before: Plan, table: WaysTable, limits: Targets) -> Proposal:
    """The least change by the drawn-in window; by the whole one where no choice keeps that."""
    whole = least_change(table.rows, table.rest, limits, seed=job.seed)
    found = whole
    if limits.window_mm is not None:
        with suppress(Infeasible):
            found = least_change(table.rows, table.rest, _aimed(limits, before), seed=job.seed)
    proved = found.proved and whole.proved and len(found.changed) == len(whole.changed)
    return _with_moves(job, table, limits, replace(found, proved=proved))


def _with_moves(job: Job, table: WaysTable, limits: Targets, proposal: Proposal) -> Proposal:
    """The proposal with fittings moved towards the middle of the window, as far as they have room."""
    station = proposal.totals.station_mm
    if limits.window_mm is None or station is None:
        return proposal
    placed = table.rest.placed_g + sum(r.mass_g for r in proposal.rows if r.station_mm is not None)
    middle = sum(limits.window_mm) / 2.0
    roomy = [item for item in table.fittings if item.movable_mm is not None]
    moves = moves_to(middle, station, placed, roomy)
    moved = sum(move.by_mm * move.mass_g for move in moves)
    rest = replace(table.rest, moment_gmm=table.rest.moment_gmm + moved)
    return replace(proposal, moves=moves, totals=totals(rest, proposal.rows))


def missed(plan: Plan, wishes: Wishes) -> tuple[str, ...]:
    """The wishes that a plan does not fulfil, in words."""
    told = []
    if wishes.mass_g is not None and plan.mass.total_g > wishes.mass_g:
        told.append(f"weighs {plan.mass.total_g:.1f} g, {plan.mass.total_g - wishes.mass_g:.1f} g too much")
    if wishes.finish is not None and plan.schedule.finish > wishes.finish:
        late = (plan.schedule.finish - wishes.finish).total_seconds() / 3600.0
        told.append(f"is finished {late:.1f} h late")
    if wishes.cost_minor is not None and plan.cost.total_minor > wishes.cost_minor:
        currency = plan.cost.currency
        over = money_text(plan.cost.total_minor - wishes.cost_minor, currency)
        told.append(f"costs {over} {currency} too much")
    if wishes.balance_inside and plan.balance.inside is not True:
        told.append("does not balance inside the window")
    return tuple(told)


def changed(job: Job, proposal: Proposal, ways: Mapping[str, tuple[Way, ...]]) -> Job:
    """The job with the proposal's recipes and filaments, and its fittings where they are moved."""
    turned = {
        row.part: next(way.part for way in ways[row.part] if way.name == row.name) for row in proposal.changed
    }
    parts = tuple(turned.get(part.name, part) for part in job.airframe.parts)
    to = {(move.what, move.station_mm): move.to_mm for move in proposal.moves}
    fittings = tuple(
        replace(f, station_mm=to.get((f.name, f.station_mm or 0.0), f.station_mm))
        for f in job.airframe.fittings
    )
    return replace(job, airframe=replace(job.airframe, parts=parts, fittings=fittings))


def _kept(job: Job, before: Plan, table: WaysTable, wishes: Wishes, make: Make) -> tuple[Proposal, Plan]:
    """The least change that still fulfils the wishes when it is planned for real.

    Where a date is wanted, the plan as it is gets a longer search first (if it keeps all else); then
    come the single changes that save most machine minutes, then recipes alone: another filament asks
    for beds of its own.
    """
    tried: list[tuple[Proposal, Plan]] = []
    planned = tuple(row for row in table.rows if row.planned)
    unchanged = Proposal(planned, totals(table.rest, planned), (), proved=True)
    moved = _with_moves(job, table, _limits(job, wishes, table), unchanged)
    if moved.moves:  # what costs nothing comes first
        tried.append((moved, make(changed(job, moved, table.ways))))
        if not missed(tried[-1][1], wishes):
            return tried[-1]
    more = longer(job.effort) if wishes.finish is not None else None
    if more is not None and not missed(before, replace(wishes, finish=None)):
        tried.append((unchanged, make(replace(job, effort=more))))
        if not missed(tried[-1][1], wishes):
            return tried[-1]
    if wishes.finish is not None:
        for proposal in _quick_singles(table, job, wishes):
            tried.append((proposal, make(changed(job, proposal, table.ways))))
            if not missed(tried[-1][1], wishes):
                return tried[-1]
        with suppress(Infeasible):  # all ways are tried next
            tried += _planned_for_real(job, before, table.same_filaments(), wishes, make)
            if not missed(tried[-1][1], wishes):
                return tried[-1]
    tried += _planned_for_real(job, before, table, wishes, make)
    if not missed(tried[-1][1], wishes):
        return tried[-1]
    raise _none_kept(tried, wishes)


def _none_kept(tried: list[tuple[Proposal, Plan]], wishes: Wishes) -> Infeasible:
    """What came nearest: the fewest wishes missed, then the earliest finish."""
    proposal, plan = min(tried, key=lambda pair: (len(missed(pair[1], wishes)), pair[1].schedule.finish))
    number = len(proposal.changed)
    return Infeasible(
        f"no choice was found that keeps its promise when it is planned; the nearest of {len(tried)} tried,"
        f" with {number} part{'' if number == 1 else 's'} printed otherwise,"
        f" {'; '.join(missed(plan, wishes))}. That there is none is not proved.",
        next_step="Allow more recipes or filaments, loosen a target, or search with --effort thorough.",
    )


def _quick_singles(table: WaysTable, job: Job, wishes: Wishes) -> list[Proposal]:
    """The single changes that save most machine minutes and keep all else that is wanted, as sums go."""
    parts = by_part(table.rows)
    planned = {row.part: row for row in table.rows if row.planned}
    limits = _limits(job, wishes, table)
    window = limits.window_mm
    found = []
    for names in together(parts):
        for way in parts[names[0]]:
            new = tuple(row for name in names for row in parts[name] if row.name == way.name)
            rows = tuple({**planned, **{row.part: row for row in new}}.values())
            proposal = _with_moves(
                job, table, limits, Proposal(rows, totals(table.rest, rows), new, proved=False)
            )
            sums = proposal.totals
            light = wishes.mass_g is None or sums.mass_g <= wishes.mass_g
            cheap = wishes.cost_minor is None or sums.cost_minor <= wishes.cost_minor
            level = window is None or (
                sums.station_mm is not None and window[0] <= sums.station_mm <= window[1]
            )
            quicker = sum(row.minutes for row in new) < sum(planned[name].minutes for name in names)
            if quicker and light and cheap and level and len(new) == len(names):
                found.append(proposal)
    return sorted(found, key=lambda proposal: proposal.totals.minutes)[:SINGLES]


def _planned_for_real(
    job: Job, before: Plan, table: WaysTable, wishes: Wishes, make: Make
) -> list[tuple[Proposal, Plan]]:
    """Propose and plan until the plan keeps what the sums promise: all that was planned, in turn.

    Mass and balance of a choice add up to the plan's; hours and money depend on beds and visits, so
    their limits are drawn tighter until the plan itself keeps them: money by what was too much,
    hours half the way to the quickest choice that keeps the rest, and at last that choice.
    """
    limits = _limits(job, wishes, table)
    limits = replace(limits, minutes=_first_minutes(job, before, table, wishes, limits))
    tried: dict[tuple[str, ...], tuple[Proposal, Plan]] = {}
    for turn in range(ROUNDS):
        proposal = _least(job, before, table, limits)
        # a limit that was drawn tighter than asked proves nothing about what was asked
        proposal = replace(proposal, proved=proposal.proved and turn == 0)
        name = tuple(row.name for row in proposal.rows)
        if name in tried:
            break
        after = make(changed(job, proposal, table.ways))
        tried[name] = (proposal, after)
        if not missed(after, wishes):
            break
        limits = _tighter(job, table, limits, proposal, after, wishes)
    return list(tried.values())


def _quickest(job: Job, table: WaysTable, limits: Targets) -> float:
    """Machine minutes of the quickest choice that keeps all other limits."""
    free = replace(limits, minutes=None)
    return best(table.rows, table.rest, free, "minutes", seed=job.seed).totals.minutes + _ROUNDING_MIN


def _first_minutes(job: Job, before: Plan, table: WaysTable, wishes: Wishes, limits: Targets) -> float | None:
    """Machine minutes that would end in time if the calendar kept its proportions."""
    if wishes.finish is None or before.schedule.finish <= wishes.finish:
        return None
    planned = (before.schedule.finish - before.start).total_seconds()
    share = (wishes.finish - before.start).total_seconds() / planned
    return max(table.minutes * share, _quickest(job, table, limits))


def _tighter(
    job: Job, table: WaysTable, limits: Targets, proposal: Proposal, after: Plan, wishes: Wishes
) -> Targets:
    if wishes.cost_minor is not None and after.cost.total_minor > wishes.cost_minor:
        over = after.cost.total_minor - wishes.cost_minor
        limits = replace(limits, cost_minor=proposal.totals.cost_minor - over)
    if wishes.mass_g is not None and after.mass.total_g > wishes.mass_g:
        limits = replace(limits, mass_g=proposal.totals.mass_g - (after.mass.total_g - wishes.mass_g))
    if wishes.finish is not None and after.schedule.finish > wishes.finish:
        floor = _quickest(job, table, limits)
        own = proposal.totals.minutes
        limits = replace(limits, minutes=floor if own - floor < _NEAR_MIN else (own + floor) / 2.0)
    return limits
