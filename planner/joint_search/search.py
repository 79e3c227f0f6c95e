"""Beds and sequence as one search: caps on bed hours as a start, then pieces, beds and order together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from planner.errors import Infeasible
from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.brief import tell_briefly
from planner.joint_search.buying import counted, settled
from planner.joint_search.candidate import Candidate, candidate
from planner.joint_search.composition import ComposeTask, Composition, First, Progress, Steps
from planner.joint_search.free_bound import free_bound
from planner.joint_search.goal_search import GoalSearch, rounds_of
from planner.joint_search.instance import Instance, instance_of
from planner.joint_search.objective import TimedPlan
from planner.joint_search.objectives import FINISH, SPOOLS, best_of, measured, order_of, told
from planner.joint_search.oracle import Oracle
from planner.joint_search.pieces import tidied
from planner.joint_search.sections import ranks
from planner.joint_search.surest import surest
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.schedule import Buying, Schedule
from planner.scheduling.plan import beds_bound, schedule_ways
from planner.scheduling.spools.spools import assign_spools
from planner.scheduling.visits import visits_of

FINALISTS = 3  # plans for which the spools are counted, where they are equal in all goals before
DAYS_AT_LEAST = 28
LAST_STEPS = 2


def compose(
    task: ComposeTask,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    steps: Steps | None = None,
    first: First | None = None,
) -> Composition:
    """Lay all pieces on beds and schedule the beds; the plan that is best in the goals, in their order, wins.

    Parameters
    ----------
    stop : asked between two steps of the search; once it says so, the best until then is kept
    steps : told how many steps are done and how many there are at most
    first : told a first plan, as soon as there is one; a long search begins with a brief one for that

    Raises
    ------
    Infeasible
        when no piece fits any bed, or nobody is ever there to start a run
    InputError
        when a preferred goal is none
    """
    try:
        return _composed(task, progress, stop, steps, first)
    except Infeasible:
        printers = task.workshop.printers
        staying = tuple(p for p in printers if all(one.until is not None for one in p.away))
        if not staying or staying == printers:
            raise
    # Beds were laid for a printer that goes away before all of them are printed: those that stay take them.
    rest = replace(task, workshop=replace(task.workshop, printers=staying))
    # What is proved of fewer printers is not of all: the one that goes away may print until then.
    made = _composed(rest, progress, stop, steps, first, proves=False)
    hours = {p.name: made.schedule.print_hours.get(p.name, 0.0) for p in printers}
    return replace(made, schedule=replace(made.schedule, print_hours=hours))


def _composed(
    task: ComposeTask,
    progress: Progress | None,
    stop: Callable[[], bool] | None,
    steps: Steps | None,
    first: First | None,
    *,
    proves: bool = True,
) -> Composition:
    order = order_of(task.prefer)
    halt = stop or (lambda: False)
    maker = BedMaker(task)
    found: list[Candidate] = []
    is_told = first is not None and task.effort != QUICK and tell_briefly(task, first)

    def take(made: Candidate) -> None:
        before = min((c.values[FINISH] for c in found), default=math.inf)
        found.append(made)
        if first is not None and not is_told and len(found) == 1:
            first(made.bedding.batches, made.schedule)
        if progress is not None and made.values[FINISH] < before:
            progress(made.values[FINISH])

    walk = _Walk(steps, len(task.effort.bed_caps_minutes), rounds_of(task.effort, len(order)))

    def halted() -> bool:
        walk.step()
        return halt()

    _caps(maker, take, lambda: halted() and bool(found))
    walk.to(walk.caps)
    if not found:
        raise Infeasible("there is nothing to print.", next_step="Give at least one part one copy.")
    instance = _instance(maker, found)
    if not halt():
        _jointly(maker, instance, found, order, take, halted)
    walk.to(walk.all - LAST_STEPS)
    # Whoever stops the search does not wait for the beds to be tidied and bounded at full length.
    rest = replace(task, effort=QUICK) if halt() else task
    made = settled(_winner(found, order, task), found, order, maker)
    whatever_beds = free_bound(instance, _minutes(made[0])) if proves else None
    return finished(*made, order, rest, whatever_beds)


def composed_of(task: ComposeTask, bedding: Bedding, origin: Mapping[str, str]) -> Composition:
    """Beds that are laid already, scheduled; those of one ``origin`` (by name) lie alike and stay so.

    Fewer changes of filament are tried for, and taken where no goal that comes first is the worse for it.

    Raises
    ------
    Infeasible
        when nobody is there long enough to handle them
    """
    order = order_of(task.prefer)
    maker = BedMaker(task)
    found = list(_ways(bedding, maker))
    made, buying = settled(_winner(found, order, task), found, order, maker)
    whatever_beds = free_bound(_instance(maker, [made]), _minutes(made))
    marked = tuple(replace(batch, repeats=origin[batch.name]) for batch in made.bedding.batches)
    made = replace(made, bedding=replace(made.bedding, batches=marked))
    done = finished(made, buying, order, task, whatever_beds, tidy=False)
    leads: dict[str, str] = {}
    for batch in done.batches:
        leads.setdefault(batch.repeats, batch.name)
    batches = tuple(
        replace(b, repeats="" if leads[b.repeats] == b.name else leads[b.repeats]) for b in done.batches
    )
    return replace(done, batches=batches)


class _Walk:
    """Counts the steps of a search; the last ones are those after it, when the beds are named and bounded."""

    def __init__(self, told: Steps | None, caps: int, rounds: int) -> None:
        self._told, self._done = told, -1
        self.caps, self.all = caps, caps + rounds + LAST_STEPS

    def step(self) -> None:
        self.to(self._done + 1)

    def to(self, done: int) -> None:
        self._done = max(self._done, min(done, self.all - LAST_STEPS))
        if self._told is not None:
            self._told(max(0, self._done), self.all)


def compose_caps(task: ComposeTask) -> Composition:
    """The best of fixed caps on bed hours alone: what the search over all together starts from.

    Raises
    ------
    Infeasible
        as for `compose`
    """
    order = order_of(task.prefer)
    maker = BedMaker(task)
    found: list[Candidate] = []
    _caps(maker, found.append, lambda: False)
    if not found:
        raise Infeasible("there is nothing to print.", next_step="Give at least one part one copy.")
    made = settled(_winner(found, order, task), found, order, maker)
    return finished(*made, order, task, free_bound(_instance(maker, found), _minutes(made[0])))


def _caps(maker: BedMaker, take: Callable[[Candidate], None], halt: Callable[[], bool]) -> None:
    """Fixed caps on bed hours, each scheduled; a cap whose beds nobody can handle is passed over."""
    refused: Infeasible | None = None
    sound = False
    for bedding in _beddings(maker):
        if halt():
            return
        try:
            made = next(_ways(bedding, maker))
        except Infeasible as error:
            refused = refused or error
            continue
        sound = True
        take(made)
    if refused is not None and not sound:
        raise refused


def _ways(bedding: Bedding, maker: BedMaker) -> Iterator[Candidate]:
    """Beds as they lie, in the order that the search for times finds; then with fewer changes, if any."""
    task = maker.task
    found = schedule_ways(
        bedding.batches,
        task.workshop,
        task.start,
        section_of=ranks(bedding.batches, task),
        steps=task.effort.schedule_steps,
        seed=task.seed,
    )
    return (candidate(bedding, schedule, maker) for schedule in found)


def _instance(maker: BedMaker, found: Sequence[Candidate]) -> Instance:
    """The pieces as the joint search sees them, with a calendar in which all plans so far have room."""
    hours = max(made.values[FINISH] for made in found)
    return instance_of(maker, max(DAYS_AT_LEAST, math.ceil(hours / 12.0) + 7))


def _jointly(
    maker: BedMaker,
    instance: Instance,
    found: list[Candidate],
    order: tuple[int, ...],
    take: Callable[[Candidate], None],
    halt: Callable[[], bool],
) -> None:
    """Pieces, beds and order together, from the best of the caps."""
    task = maker.task
    first = found[best_of([made.values for made in found], order)]
    oracle = Oracle(instance.items, task.workshop.clearance_mm, task.effort, task.seed)
    for made in found:
        for batch in made.bedding.batches:
            oracle.know(batch.printer_kind, batch.placed)
    GoalSearch(maker, instance, oracle, order, take, halt).run(first)


def _minutes(made: Candidate) -> float:
    """The finish of a plan, as it is scheduled."""
    return 60.0 * made.schedule.makespan_h


def _winner(found: list[Candidate], order: tuple[int, ...], task: ComposeTask) -> Candidate:
    """The best in the goals; spools are bought on trial for plans that are equal in all goals before them.

    Where worlds are asked for, the surest of those that are equal up to the finish.
    """
    if task.chances is not None:
        found = surest(found, order, task, task.chances)
    best = found[best_of([made.values for made in found], order)]
    before = order[: order.index(SPOOLS)]
    equal = [made for made in found if all(made.values[g] <= best.values[g] + 1e-9 for g in before)]
    if len(equal) < 2:
        return best
    counted = [replace(made, values=_with_spools(made, task)) for made in equal[-FINALISTS:]]
    return counted[best_of([made.values for made in counted], order)]


def _with_spools(made: Candidate, task: ComposeTask) -> tuple[float, ...]:
    _, spools = assign_spools(made.schedule, made.bedding.batches, task.workshop)
    return (*made.values[:SPOOLS], float(sum(use.bought for use in spools)), *made.values[SPOOLS + 1 :])


def finished(
    made: Candidate,
    buying: Buying | None,
    order: tuple[int, ...],
    task: ComposeTask,
    whatever_beds: float | None,
    *,
    tidy: bool = True,
) -> Composition:
    """Beds named in the order in which they run, spools given to the runs, visits written out.

    ``whatever_beds`` is the minute before which no plan ends, on whatever beds; None where nothing is proved.
    """
    schedule = made.schedule
    names = {run.batch: f"bed {at}" for at, run in enumerate(schedule.runs, start=1)}
    renamed = [replace(b, name=names[b.name]) for b in made.bedding.batches]
    batches = sorted(renamed, key=lambda b: int(b.name[4:]))
    if tidy and (task.effort.tidy_moves > 0 or any(printer.head for printer in task.workshop.printers)):
        batches = tidied(batches, task)  # needs the exact outlines, which take a quick plan's whole time
    runs = tuple(replace(run, batch=names[run.batch]) for run in schedule.runs)
    runs, spools = assign_spools(replace(schedule, runs=runs), batches, task.workshop)
    named = {batch.name: batch for batch in batches}
    visits = visits_of(runs, named, task.workshop, task.start)
    buying = counted(buying, spools, batches, task.workshop)
    full = replace(schedule, runs=runs, visits=visits, interventions=len(visits), buying=buying)
    full = _with_bounds(full, batches, task, whatever_beds)
    timed = TimedPlan(task, named, full, sum(use.bought for use in spools))
    goals = told(order, measured(timed), timed)
    return Composition(tuple(batches), made.bedding.misfits, full, spools, goals)


def _with_bounds(
    schedule: Schedule, batches: Sequence[Batch], task: ComposeTask, whatever_beds: float | None
) -> Schedule:
    """What is proved: for all beds that there could be, and for the beds as they are."""
    if whatever_beds is None:
        return replace(schedule, lower_bound_h=None, proven_gap=None, beds_bound_h=None)
    minutes = 60.0 * schedule.makespan_h
    beds = beds_bound(batches, task.workshop, task.start, round(minutes), task.effort, task.seed)
    bound = min(minutes, whatever_beds)
    gap = minutes / bound - 1.0 if bound > 0.0 else None
    return replace(
        schedule,
        lower_bound_h=bound / 60.0,
        proven_gap=gap,
        beds_bound_h=max(float(beds), bound) / 60.0,  # what holds on whatever beds holds on these
    )


def _beddings(maker: BedMaker) -> Iterator[Bedding]:
    seen: set[tuple[Batch, ...]] = set()
    for cap in maker.task.effort.bed_caps_minutes:
        bedding = maker.lay(cap)
        if not bedding.batches:
            raise Infeasible(
                "no piece fits any bed of the workshop.",
                where=bedding.misfits[0].piece if bedding.misfits else "",
                next_step=_first_misfit(bedding) if bedding.misfits else "Add a printer.",
            )
        if bedding.batches not in seen:
            seen.add(bedding.batches)
            yield bedding


def _first_misfit(bedding: Bedding) -> str:
    first = bedding.misfits[0]
    return f"{first.reason[:1].upper()}{first.reason[1:]}: {first.proposal}."
