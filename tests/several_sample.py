"""A plan of two airframes by hand: the pieces of the sample plan, told as two airframes'."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from planner.model.airframe import Airframe
from planner.model.part import Part
from planner.model.plan import Plan
from planner.model.several import AirframeSums, named_of, together, told_apart
from tests.plan_samples import sample_plan


def two_airframes() -> Plan:
    """Every second piece belongs to a second airframe; masses and money are divided in two."""
    plan = sample_plan()
    names = ("glider", "wing b")
    renamed: dict[str, str] = {}
    parts: list[Part] = []
    pieces = []
    for n, part in enumerate(plan.parts):
        owner = names[n % 2]
        parts.append(replace(part, name=named_of(owner, part.name), airframe=owner))
    owner_of = {part.name: names[n % 2] for n, part in enumerate(plan.parts)}
    for piece in plan.pieces:
        owner = owner_of[piece.part]
        renamed[piece.name] = named_of(owner, piece.name)
        made = replace(piece, name=renamed[piece.name], part=named_of(owner, piece.part), airframe=owner)
        pieces.append(made)
    batches = tuple(
        replace(b, placed=tuple(replace(p, piece=renamed[p.piece]) for p in b.placed)) for b in plan.batches
    )
    own = [[part for part in plan.parts if owner_of[part.name] == name] for name in names]
    dates = (date(2026, 1, 1), None)
    members = [
        told_apart(Airframe(name, tuple(mine), due=due))
        for name, mine, due in zip(names, own, dates, strict=True)
    ]
    half = plan.cost.total_minor // 2
    money = (half, plan.cost.total_minor - half)
    sums = tuple(
        AirframeSums(
            airframe=one,
            mass=plan.mass,
            balance=plan.balance,
            pieces=sum(piece.airframe == one.name for piece in pieces),
            beds=tuple(batch.name for batch in batches),
            minutes=90.0,
            finish=plan.schedule.finish,
            late=one.due is not None,
            cost_minor=minor,
            by_kind_minor={"filament": minor},
        )
        for one, minor in zip(members, money, strict=True)
    )
    return replace(
        plan,
        airframe=together(members),
        parts=tuple(parts),
        pieces=tuple(pieces),
        deposits={named_of(owner_of[name], name): one for name, one in plan.deposits.items()},
        batches=batches,
        misfits=tuple(replace(m, piece=renamed.get(m.piece, m.piece)) for m in plan.misfits),
        makes={},
        airframes=sums,
    )
