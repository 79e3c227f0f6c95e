"""The goals of a plan in the order in which they count, measured on a finished schedule.

Plans are compared goal by goal. A later goal may cost a little of an earlier one, its tolerance: of all plans
found, those within the tolerance of the best first goal stay, of these those within the tolerance of the best
second goal, and so on.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import time

from planner.errors import InputError
from planner.joint_search.composition import ComposeTask
from planner.model.batch import Batch
from planner.model.goal import CHANGEOVERS, FINISH, GOALS, HANDS, PAIRS, RISK, SECTIONS, SPOOLS, VISITS, Goal
from planner.model.part import Piece
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import minute_of

NIGHT_SINCE, NIGHT_UNTIL = time(22), time(6)
LATE = 10.0  # an hour beyond the date of a section counts as so many hours of an earlier section


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far above the best a goal may end for the sake of a later one: a share of it, and a fixed part."""

    share: float
    fixed: float = 0.0


TOLERANCES = {
    FINISH: Tolerance(0.01),
    SECTIONS: Tolerance(0.05),
    VISITS: Tolerance(0.0),
    HANDS: Tolerance(0.02),  # less than one bed more in a plan of forty
    RISK: Tolerance(0.1),
    PAIRS: Tolerance(0.0),
    CHANGEOVERS: Tolerance(0.0),
    SPOOLS: Tolerance(0.0),
}


def order_of(preferred: Sequence[str]) -> tuple[int, ...]:
    """All goals by number, the preferred ones first; the others keep their usual order.

    Raises
    ------
    InputError
        when a word is no goal, or one is there twice
    """
    names = [word.strip().lower() for word in preferred]
    for name in names:
        if name not in GOALS:
            raise InputError(
                f"{name!r} is no goal of a plan.",
                where="--prefer",
                next_step=f"The goals are {', '.join(GOALS)}; write them with commas between.",
            )
        if names.count(name) > 1:
            raise InputError(f"{name!r} is named twice.", where="--prefer", next_step="Name each goal once.")
    first = [GOALS.index(name) for name in names]
    return (*first, *(goal for goal in range(len(GOALS)) if goal not in first))


def ceiling_of(goal: int, best: float) -> float:
    """The value that a goal may reach when its best is known."""
    tolerance = TOLERANCES[goal]
    return best * (1.0 + tolerance.share) + tolerance.fixed


def best_of(values: Sequence[Sequence[float]], order: Sequence[int]) -> int:
    """Number of the plan that wins, goal by goal with the tolerance of each; the first of equals."""
    left = list(range(len(values)))
    for goal in order:
        limit = ceiling_of(goal, min(values[n][goal] for n in left)) + 1e-9
        left = [n for n in left if values[n][goal] <= limit]
    return min(left, key=lambda n: ([values[n][goal] for goal in order], n))


def pairs_of(task: ComposeTask) -> tuple[tuple[str, str], ...]:
    """Left and right hands of each other: of one part, or of two parts in one place of a stack."""
    left: dict[tuple[object, ...], list[str]] = {}
    right: dict[tuple[object, ...], list[str]] = {}
    for piece in task.pieces:
        stack = task.parts[piece.part].stack
        of_one = task.parts[piece.part].mirror
        place: tuple[object, ...] = (
            ("part", piece.part) if of_one or stack is None else ("stack", stack.name, stack.order)
        )
        if piece.hand in ("left", "right"):
            (left if piece.hand == "left" else right).setdefault(place, []).append(piece.name)
    return tuple(
        pair for place, names in left.items() for pair in zip(names, right.get(place, []), strict=False)
    )


def section_weights(task: ComposeTask) -> dict[str, float]:
    """Weights of the sections that are printed, falling along the build order; their sum is 1."""
    last = len(task.rank)
    names = sorted(
        {section_of(piece, task) for piece in task.pieces}, key=lambda s: (task.rank.get(s, last), s)
    )
    total = len(names) * (len(names) + 1) / 2.0
    return {name: (len(names) - n) / total for n, name in enumerate(names)}


def section_of(piece: Piece, task: ComposeTask) -> str:
    """The section to which a piece belongs."""
    return piece.section or task.parts[piece.part].section


def measured(
    batches: Sequence[Batch], schedule: Schedule, task: ComposeTask, bought: int
) -> tuple[float, ...]:
    """The value of every goal, by number; hours, counts and hours of printing lost."""
    named = {batch.name: batch for batch in batches}
    ready = _ready_hours(named, schedule, task)
    weights = section_weights(task)
    home = {p.piece: run.printer for run in schedule.runs for p in named[run.batch].placed}
    late = [ready[s] - hours for s, hours in _due_hours(task).items() if ready.get(s, 0.0) > hours]
    values = dict.fromkeys(range(len(GOALS)), 0.0)
    values[FINISH] = schedule.makespan_h
    values[SECTIONS] = sum(weights[s] * ready.get(s, 0.0) for s in weights) + LATE * sum(late)
    values[VISITS] = float(len(schedule.visits) + night_starts(schedule.runs))
    values[HANDS] = float(hand_minutes(schedule.runs, named, task.workshop))
    values[RISK] = sum(
        lost_hours(named[run.batch].minutes / 60.0, task.workshop.failure_per_hour) for run in schedule.runs
    )
    values[PAIRS] = float(sum(home[a] != home[b] for a, b in pairs_of(task) if a in home and b in home))
    values[CHANGEOVERS] = float(schedule.changeovers)
    values[SPOOLS] = float(bought)
    return tuple(values[goal] for goal in range(len(GOALS)))


def told(
    order: Sequence[int],
    values: Sequence[float],
    batches: Sequence[Batch],
    schedule: Schedule,
    task: ComposeTask,
) -> tuple[Goal, ...]:
    """Every goal in its place, in words."""
    named = {batch.name: batch for batch in batches}
    ready = _ready_hours(named, schedule, task)
    nights = night_starts(schedule.runs)
    longest = max((batch.minutes for batch in batches), default=0.0) / 60.0
    pairs = len(pairs_of(task))
    together = pairs - int(values[PAIRS])
    sections = ", ".join(f"{name} {ready[name]:.1f} h" for name in section_weights(task) if name in ready)
    words = {
        FINISH: f"{values[FINISH]:.1f} h after the start; {_proved(schedule)}",
        SECTIONS: f"printed after: {sections}" if sections else "none",
        VISITS: f"{_count(len(schedule.visits), 'visit')}, {_count(nights, 'start')} from 22 to 6 o'clock",
        HANDS: f"{values[HANDS]:.0f} person-minutes to start, clear, change and watch",
        RISK: f"longest bed {longest:.1f} h; {values[RISK]:.2f} print hours lost to failures on average",
        PAIRS: f"{together} of {_count(pairs, 'pair')} on one printer" if pairs else "no pairs",
        CHANGEOVERS: _count(int(values[CHANGEOVERS]), "changeover"),
        SPOOLS: f"{_count(int(values[SPOOLS]), 'spool')} to buy",
    }
    units = dict.fromkeys(range(len(GOALS)), "") | {FINISH: "h", SECTIONS: "h", HANDS: "min", RISK: "h"}
    return tuple(
        Goal(GOALS[goal], place, values[goal], units[goal], words[goal])
        for place, goal in enumerate(order, start=1)
    )


def night_starts(runs: Sequence[Run]) -> int:
    """Runs that are started between 22 and 6 o'clock on the clock of the workshop."""
    return sum(run.start.time() >= NIGHT_SINCE or run.start.time() < NIGHT_UNTIL for run in runs)


def hand_minutes(runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop) -> int:
    """Minutes of a person that the runs take: clear, change, start and watch, and the last clearing."""
    loaded = {printer.name: printer.loaded for printer in workshop.printers}
    total = 0
    for run in runs:
        filament = workshop.filament(named[run.batch].filament)
        total += workshop.start_minutes + workshop.clear_minutes  # each bed is cleared once
        total += workshop.change_minutes if loaded[run.printer] != filament.name else 0
        total += min(filament.watch_minutes, round(minute_of(run.start, run.end)))
        loaded[run.printer] = filament.name
    return total


def lost_hours(hours: float, failure_per_hour: float) -> float:
    """Print hours lost on average by one run that may fail at any time and is then lost up to there.

    Source: mean of t over the exponential density on [0, T]: (1 - exp(-rT) (1 + rT)) / r.
    """
    rt = failure_per_hour * hours
    if rt < 1e-6:
        return 0.5 * rt * hours
    return (1.0 - math.exp(-rt) * (1.0 + rt)) / failure_per_hour


def _ready_hours(named: Mapping[str, Batch], schedule: Schedule, task: ComposeTask) -> dict[str, float]:
    """Hours after the start until the last piece of each section is printed."""
    home = {piece.name: section_of(piece, task) for piece in task.pieces}
    ready: dict[str, float] = {}
    for run in schedule.runs:
        hours = minute_of(task.start, run.end) / 60.0
        for placed in named[run.batch].placed:
            section = home[placed.piece]
            ready[section] = max(ready.get(section, 0.0), hours)
    return ready


def _due_hours(task: ComposeTask) -> dict[str, float]:
    return {name: minute_of(task.start, moment) / 60.0 for name, moment in task.due.items()}


LOOSE = 0.5  # of the bound


def _proved(schedule: Schedule) -> str:
    """What is proved of the finish, on whatever beds and on these."""
    if schedule.proven_gap is None or schedule.beds_bound_h is None:
        return "not proved"
    these = schedule.makespan_h / schedule.beds_bound_h - 1.0 if schedule.beds_bound_h > 0.0 else 0.0
    beds = "none is sooner" if these <= 1e-9 else f"within {100 * these:.1f} %"
    if schedule.proven_gap > LOOSE:  # a gap in percent would say nothing
        bound = schedule.lower_bound_h or 0.0
        return f"on whatever beds not proved (none ends before {bound:.0f} h), {beds} on these"
    return f"proved within {100 * schedule.proven_gap:.1f} % on whatever beds, {beds} on these"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
