"""Whether the build order gives out what is there, when it is there; shares no code with what makes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from planner.model.plan import Plan


def build_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each piece, joint or section that is told too early, too late, twice or never.

    A piece can be taken at the first visit that lasts beyond its run; what earlier plans printed is there.
    """
    at, run_of = _ready(plan)
    steps = plan.build_order.steps
    given = Counter(piece for step in steps for piece in step.pieces)
    for name, moment in at.items():
        own = [step for step in steps if name in step.pieces]
        if given[name] != 1:
            yield f"{name} stands in {given[name]} steps of the build order"
        elif own[0].at.timestamp() != moment.timestamp():
            yield f"{name} can be taken at {moment:%Y-%m-%d %H:%M}, and is told at {own[0].at:%Y-%m-%d %H:%M}"
        elif run_of[name] not in own[0].runs:
            yield f"{name} is told from {', '.join(own[0].runs)}, it comes from {run_of[name]}"
    for name in sorted(set(given) - set(at)):
        yield f"{name} is in the build order, and nothing prints it"
    for step in steps:
        if set(step.runs) - {run_of[piece] for piece in step.pieces if piece in run_of}:
            yield f"the step at {step.at:%Y-%m-%d %H:%M} names a run that gives it nothing"
        for joint in step.joints:
            last = [at[name].timestamp() for name in joint if name in at]
            if len(last) < len(joint) or max(last) != step.at.timestamp():
                yield f"{' and '.join(joint)} cannot be joined at {step.at:%Y-%m-%d %H:%M}"
    yield from _kits(plan, at)


def _kits(plan: Plan, at: Mapping[str, datetime]) -> Iterator[str]:
    """What lies on the table for each section, and when it is whole."""
    steps, kits = plan.build_order.steps, plan.build_order.kits
    section = {piece.name: piece.section for piece in plan.pieces}
    if Counter(section.keys()) != Counter(name for kit in kits for name in kit.pieces):
        yield "the kits do not hold every piece just once"
    for kit in kits:
        if {section.get(name, kit.section) for name in kit.pieces} - {kit.section}:
            yield f"the kit of {kit.section!r} holds pieces of another section"
        if set(kit.missing) != {name for name in kit.pieces if name not in at}:
            yield f"the kit of {kit.section!r} tells other pieces as missing than are"
        moments = [at[name] for name in kit.pieces if name in at]
        whole = bool(moments) and len(moments) == len(kit.pieces)
        ready = max(moments, key=datetime.timestamp) if whole else None
        if (kit.ready is None) is not (ready is None) or (kit.ready and ready and kit.ready != ready):
            yield f"the kit of {kit.section!r} is ready at {ready}, told is {kit.ready}"
        ends = [step for step in steps if kit.section in step.sections]
        if [step.at for step in ends] != ([] if ready is None else [ready]):
            yield f"{kit.section!r} is told complete at another step than its last piece"
        joined = [set(joint) for joint in kit.joints]
        if any(not names & set(kit.pieces) or names - set(section) for names in joined):
            yield f"the kit of {kit.section!r} names a joint with none of its pieces, or with a stranger"
        bought = [
            f.name if f.count == 1 else f"{f.count} x {f.name}"
            for f in plan.airframe.fittings
            if f.section == kit.section and f.count > 0 and plan.airframe.chosen(f.option)
        ]
        if Counter(bought) != Counter(kit.fittings):
            yield f"the kit of {kit.section!r} holds other fittings than the airframe asks for"


def _ready(plan: Plan) -> tuple[dict[str, datetime], dict[str, str]]:
    """When each piece can be taken, and from which run; of several runs the one that comes first."""
    wanted = {piece.name for piece in plan.pieces}
    ends = [(visit.at, visit.at + timedelta(minutes=visit.minutes)) for visit in plan.schedule.visits]
    beds = {batch.name: batch for batch in plan.batches}
    found: dict[str, list[tuple[float, datetime, str]]] = {}
    for past in plan.past:
        # a bed that ends just when the plan begins is cleared at the visit that follows
        over = [(plan.start, plan.start), *ends]
        later = [begin for begin, end in over if end.timestamp() > past.run.end.timestamp()]
        taken = min(later, key=datetime.timestamp, default=past.run.end)
        for piece in past.delivered:
            if piece in wanted:
                found.setdefault(piece, []).append((taken.timestamp(), taken, past.run.name))
    for run in plan.schedule.runs:
        later = [begin for begin, end in ends if end.timestamp() > run.end.timestamp()]
        taken = min(later, key=datetime.timestamp, default=run.end)
        for placed in beds[run.batch].placed if run.batch in beds else ():
            if placed.piece in wanted:
                found.setdefault(placed.piece, []).append((taken.timestamp(), taken, run.name))
    first = {piece: min(ways, key=lambda way: way[0]) for piece, ways in found.items()}
    return {name: one[1] for name, one in first.items()}, {name: one[2] for name, one in first.items()}
