"""How the goals that are built in are measured on a finished plan, and how they are told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import time

from planner.joint_search.objective import TimedPlan
from planner.joint_search.sections import pairs_of, section_weights
from planner.model.batch import Batch
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import minute_of

NIGHT_SINCE, NIGHT_UNTIL = time(22), time(6)
LATE = 10.0  # an hour beyond the date of a section counts as so many hours of an earlier section
LOOSE = 0.5  # of the bound: a gap beyond it would say nothing in percent


def finish(plan: TimedPlan) -> float:
    """Hours until the last run ends."""
    return plan.schedule.makespan_h


def finish_words(plan: TimedPlan, value: float) -> str:
    """The hours, and what is proved of them."""
    return f"{value:.1f} h after the start; {proved(plan.schedule)}"


def sections(plan: TimedPlan) -> float:
    """Hours until the sections are printed, the first weighing most; those beyond a date more."""
    ready, weights = plan.ready_hours, section_weights(plan.task)
    # A date that has passed is due at the start; a section without pieces is never late.
    due = {
        s: max(0.0, minute_of(plan.task.start, at) / 60.0) for s, at in plan.task.due.items() if s in ready
    }
    late = [ready[s] - hours for s, hours in due.items() if ready[s] > hours]
    return sum(weights[s] * ready.get(s, 0.0) for s in weights) + LATE * sum(late)


def sections_words(plan: TimedPlan, value: float) -> str:
    """When each section is printed."""
    ready = plan.ready_hours
    told = ", ".join(f"{name} {ready[name]:.1f} h" for name in section_weights(plan.task) if name in ready)
    return f"printed after: {told}" if told else "none"


def visits(plan: TimedPlan) -> float:
    """Visits, and starts in the night."""
    return float(len(plan.schedule.visits) + night_starts(plan.schedule.runs))


def visits_words(plan: TimedPlan, value: float) -> str:
    """Both of them."""
    nights = night_starts(plan.schedule.runs)
    return f"{_count(len(plan.schedule.visits), 'visit')}, {_count(nights, 'start')} from 22 to 6 o'clock"


def hands(plan: TimedPlan) -> float:
    """Minutes of a person."""
    return float(hand_minutes(plan.schedule.runs, plan.batches, plan.task.workshop))


def hands_words(plan: TimedPlan, value: float) -> str:
    """The minutes, and what they are for."""
    return f"{value:.0f} person-minutes to start, clear, change and watch"


def risk(plan: TimedPlan) -> float:
    """Print hours that failures cost on average."""
    rate = plan.task.workshop.failure_per_hour
    return sum(lost_hours(plan.batches[run.batch].minutes / 60.0, rate) for run in plan.schedule.runs)


def risk_words(plan: TimedPlan, value: float) -> str:
    """The longest bed, and what is lost on average."""
    longest = max((batch.minutes for batch in plan.batches.values()), default=0.0) / 60.0
    return f"longest bed {longest:.1f} h; {value:.2f} print hours lost to failures on average"


def pairs(plan: TimedPlan) -> float:
    """Hands of each other that are printed on different printers."""
    home = {p.piece: run.printer for run in plan.schedule.runs for p in plan.batches[run.batch].placed}
    both = [(a, b) for a, b in pairs_of(plan.task) if a in home and b in home]
    return float(sum(home[a] != home[b] for a, b in both))


def pairs_words(plan: TimedPlan, value: float) -> str:
    """How many of all pairs are together."""
    count = len(pairs_of(plan.task))
    return f"{count - int(value)} of {_count(count, 'pair')} on one printer" if count else "no pairs"


def changeovers(plan: TimedPlan) -> float:
    """Changes of filament."""
    return float(plan.schedule.changeovers)


def changeovers_words(plan: TimedPlan, value: float) -> str:
    """How many."""
    return _count(int(value), "changeover")


def spools(plan: TimedPlan) -> float:
    """Spools to buy."""
    return float(plan.bought)


def spools_words(plan: TimedPlan, value: float) -> str:
    """How many."""
    return f"{_count(int(value), 'spool')} to buy"


def night_starts(runs: Sequence[Run]) -> int:
    """Runs that are started between 22 and 6 o'clock on the clock of the workshop."""
    return sum(run.start.time() >= NIGHT_SINCE or run.start.time() < NIGHT_UNTIL for run in runs)


def hand_minutes(runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop) -> int:
    """Minutes of a person that the runs take: clear, change, start and watch, and the last clearing."""
    loaded = {printer.name: printer.loaded for printer in workshop.printers}
    total = 0
    machines = {printer.name: printer for printer in workshop.printers}
    fitted = {printer.name: printer.fitted for printer in workshop.printers}
    for run in runs:
        filament = workshop.filament(named[run.batch].filament)
        total += workshop.start_minutes + workshop.clear_minutes  # each bed is cleared once
        total += workshop.change_minutes if loaded[run.printer] != filament.name else 0
        total += min(filament.watch_minutes, round(minute_of(run.start, run.end)))
        loaded[run.printer] = filament.name
        fit = machines[run.printer].fit_for(named[run.batch].fit) or fitted[run.printer]
        total += machines[run.printer].refit_minutes(fitted[run.printer], fit)
        fitted[run.printer] = fit
    return total


def lost_hours(hours: float, failure_per_hour: float) -> float:
    """Print hours lost on average by one run that may fail at any time and is then lost up to there.

    Source: mean of t over the exponential density on [0, T]: (1 - exp(-rT) (1 + rT)) / r.
    """
    rt = failure_per_hour * hours
    if rt < 1e-6:
        return 0.5 * rt * hours
    return (1.0 - math.exp(-rt) * (1.0 + rt)) / failure_per_hour


def proved(schedule: Schedule) -> str:
    """What is proved of the finish, on whatever beds and on these."""
    if schedule.proven_gap is None or schedule.beds_bound_h is None:
        return "not proved"
    these = schedule.makespan_h / schedule.beds_bound_h - 1.0 if schedule.beds_bound_h > 0.0 else 0.0
    beds = "none is sooner" if these <= 1e-9 else f"within {100 * these:.1f} %"
    if schedule.proven_gap > LOOSE:
        bound = schedule.lower_bound_h or 0.0
        return f"on whatever beds not proved (none ends before {bound:.0f} h), {beds} on these"
    return f"proved within {100 * schedule.proven_gap:.1f} % on whatever beds, {beds} on these"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
