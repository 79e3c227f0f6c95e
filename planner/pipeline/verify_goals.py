"""Whether a plan tells every goal in its place, and what it reached; it shares no code with the search."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime, time, timedelta

from planner.joint_search.objectives import objectives
from planner.model.plan import Plan
from planner.scheduling.problem.calendar import zone_of
from planner.scheduling.verify_fit import on_now, put_on

_TOLD_H = 1e-6
_NUMERIC = 1e-7  # share by which a sum over hours may be off
_STEPS = 200  # over which the chance of a failure is summed


def goal_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each goal that is missing, out of its place, or not what the runs say.

    A plan that goes on from another is searched for no goals.
    """
    if not plan.goals:
        return
    known = {one.name: one for one in objectives()}
    first = [word.strip().lower() for word in plan.choices.prefer]
    order = [*first, *(name for name in known if name not in first)]
    told = [goal.name for goal in sorted(plan.goals, key=lambda goal: goal.place)]
    if told != order:
        yield f"the goals are told in the order {', '.join(told)} instead of {', '.join(order)}"
    if [goal.place for goal in plan.goals] != list(range(1, len(plan.goals) + 1)):
        yield "the places of the goals do not count from 1"
    reached = _reached(plan) if _of_one_piece(plan) else {}
    for goal in plan.goals:
        if goal.name in known and goal.unit != known[goal.name].unit:
            yield f"goal {goal.name} is told in {goal.unit!r}"
        if not goal.value >= 0.0:
            yield f"goal {goal.name} is {goal.value}, less than nothing"
        exact = reached.get(goal.name, goal.value)
        if not math.isclose(goal.value, exact, rel_tol=_NUMERIC, abs_tol=_TOLD_H):
            yield f"goal {goal.name} is told as {goal.value:g}, the runs make {exact:g}"


def _of_one_piece(plan: Plan) -> bool:
    """Whether runs, beds, pieces and filaments name each other; where they do not, other checks say so."""
    parts, pieces = {part.name for part in plan.parts}, {piece.name for piece in plan.pieces}
    batches = {batch.name: batch for batch in plan.batches}
    filaments = {filament.name for filament in plan.workshop.filaments}
    return (
        all(piece.part in parts for piece in plan.pieces)
        and all(run.batch in batches for run in plan.schedule.runs)
        and all(batch.filament in filaments for batch in plan.batches)
        and all(placed.piece in pieces for batch in plan.batches for placed in batch.placed)
    )


def _reached(plan: Plan) -> dict[str, float]:
    """What runs, visits and spools make of every goal that is built in."""
    runs, start = plan.schedule.runs, plan.start.timestamp()
    return {
        "finish": (max((run.end.timestamp() for run in runs), default=start) - start) / 3600.0,
        "sections": _section_hours(plan),
        "visits": float(len(plan.schedule.visits) + sum(not 6 <= run.start.hour < 22 for run in runs)),
        "hands": _hand_minutes(plan),
        "risk": sum(_lost_hours(_hours(plan)[run.batch], plan.workshop.failure_per_hour) for run in runs),
        "pairs": float(_parted_pairs(plan)),
        "changeovers": float(sum(before not in (None, after) for before, after in _threads(plan))),
        "spools": float(sum(use.bought for use in plan.spools)),
    }


def _hours(plan: Plan) -> dict[str, float]:
    return {batch.name: batch.minutes / 60.0 for batch in plan.batches}


def _threads(plan: Plan) -> Iterator[tuple[str | None, str]]:
    """For every run, what was on its printer before, and what it prints."""
    prints = {batch.name: plan.workshop.filament(batch.filament).name for batch in plan.batches}
    for printer in plan.workshop.printers:
        on = printer.loaded
        for run in sorted(plan.schedule.runs, key=lambda run: run.start.timestamp()):
            if run.printer == printer.name:
                yield on, prints[run.batch]
                on = prints[run.batch]


def _hand_minutes(plan: Plan) -> float:
    """Starting, clearing and watching every run; every change of filament, also that on an empty printer."""
    shop, watched = plan.workshop, 0.0
    watch = {batch.name: shop.filament(batch.filament).watch_minutes for batch in plan.batches}
    for run in plan.schedule.runs:
        watched += min(watch[run.batch], round((run.end.timestamp() - run.start.timestamp()) / 60.0))
    changes = sum(before != after for before, after in _threads(plan))
    every = (shop.start_minutes + shop.clear_minutes) * len(plan.schedule.runs)
    return every + shop.change_minutes * changes + watched + _refits(plan)


def _refits(plan: Plan) -> int:
    """Minutes of every change of nozzle and of plate."""
    asked, total = {batch.name: batch.fit for batch in plan.batches}, 0
    for printer in plan.workshop.printers:
        nozzle, plate = on_now(printer)
        for run in sorted(plan.schedule.runs, key=lambda run: run.start.timestamp()):
            if run.printer == printer.name:
                other, another = put_on(printer, asked[run.batch]) or (nozzle, plate)
                total += printer.nozzle_minutes * (other != nozzle) + printer.plate_minutes * (
                    another != plate
                )
                nozzle, plate = other, another
    return total


def _lost_hours(hours: float, rate: float) -> float:
    """Mean hours lost to a failure: t over its density, summed by Simpson's rule."""
    step = hours / _STEPS
    values = [n * step * rate * math.exp(-rate * n * step) for n in range(_STEPS + 1)]
    return step / 3.0 * (values[0] + values[-1] + 4.0 * sum(values[1:-1:2]) + 2.0 * sum(values[2:-1:2]))


def _section_hours(plan: Plan) -> float:
    """Hours until the sections are printed, weighed n ... 1 over their sum; those beyond a date ten-fold."""
    parts = {part.name: part for part in plan.parts}
    section = {piece.name: piece.section or parts[piece.part].section for piece in plan.pieces}
    listed = [*plan.airframe.sections, *(part.section for part in plan.airframe.parts)]
    listed += [part.other_section for part in plan.airframe.parts if part.other_section]
    rank = {name: n for n, name in reversed(list(enumerate(listed)))}
    names = sorted(set(section.values()), key=lambda name: (rank.get(name, len(listed)), name))
    ready: dict[str, float] = {}
    placed = {batch.name: [one.piece for one in batch.placed] for batch in plan.batches}
    for run in plan.schedule.runs:
        for piece in placed[run.batch]:
            ready[section[piece]] = max(ready.get(section[piece], 0.0), run.end.timestamp())
    hours = {name: (moment - plan.start.timestamp()) / 3600.0 for name, moment in ready.items()}
    whole = sum(range(1, len(names) + 1))
    total = sum((len(names) - n) / whole * hours.get(name, 0.0) for n, name in enumerate(names))
    for name, day in plan.airframe.section_dates.items():
        zone = zone_of(plan.workshop.attendance, plan.start)
        due = datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone).timestamp()
        late = (ready.get(name, 0.0) - max(due, plan.start.timestamp())) / 3600.0
        total += 10.0 * max(0.0, late)
    return total


def _parted_pairs(plan: Plan) -> int:
    """Left and right hands of one part, or of one place in a stack, that two printers make."""
    parts = {part.name: part for part in plan.parts}
    at = {batch.name: [one.piece for one in batch.placed] for batch in plan.batches}
    home = {piece: run.printer for run in plan.schedule.runs for piece in at[run.batch]}
    hands: dict[tuple[object, ...], dict[str, list[str]]] = {}
    for piece in plan.pieces:
        part = parts[piece.part]
        stack = None if part.mirror else part.stack
        where: tuple[object, ...] = (part.name,) if stack is None else (stack.name, stack.order)
        hands.setdefault(where, {"left": [], "right": []}).setdefault(piece.hand, []).append(piece.name)
    both = [pair for found in hands.values() for pair in zip(found["left"], found["right"], strict=False)]
    return sum(a in home and b in home and home[a] != home[b] for a, b in both)
