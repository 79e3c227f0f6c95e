"""The sample plan pushed to its edges: hostile names, nothing at all, hardly anything, far too much."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from planner.model.attendance import Attendance
from planner.model.batch import Batch, Placed, Unplaced
from planner.model.budget import Balance, Cost, Mass
from planner.model.build import BuildOrder
from planner.model.finding import Finding
from planner.model.part import Part, pieces_of
from planner.model.plan import Plan, SetAside
from planner.model.schedule import Draw, Run, Schedule, Visit
from tests.plan_samples import START, sample_plan, turned
from tests.sample_workshop import FRAME, HEAT, PLAIN, SHAPES, Shape, block, deposit_of

HOSTILE = '=1+<script>alert("x")</script> \' & ]]> \u00e9\U0001f6e9'


def misfit_plan() -> Plan:
    """One more part that no bed takes."""
    plan = sample_plan()
    keel = Part("keel", "keel.stl", "fuselage", FRAME, "PLA")
    kinds = tuple(p.kind for p in plan.workshop.printers)
    return replace(
        plan,
        parts=(*plan.parts, keel),
        pieces=(*plan.pieces, *pieces_of(keel)),
        airframe=replace(plan.airframe, parts=(*plan.airframe.parts, keel)),
        deposits={**plan.deposits, "keel": deposit_of(keel, Shape(block(40.0, 20.0), 334.5), PLAIN, kinds)},
        misfits=(Unplaced("keel", "z", 14.5, "Lay it on its side: then it fits the large 300."),),
    )


def hostile_plan() -> Plan:
    """Every free text holds markup, quotes, a formula and letters beyond ASCII."""
    plan = sample_plan()
    old = {p.name: f"{HOSTILE} {n}" for n, p in enumerate(plan.parts)}
    parts = tuple(
        replace(
            p,
            name=old[p.name],
            mesh=f"../{HOSTILE}/{p.mesh}",
            section=f"{HOSTILE} {p.section}",
            other_section=p.other_section and f"{HOSTILE} {p.other_section}",
        )
        for p in plan.parts
    )
    pieces = tuple(piece for part in parts for piece in pieces_of(part))
    names = dict(zip((p.name for p in plan.pieces), (p.name for p in pieces), strict=True))
    beds = {b.name: f"../{HOSTILE}/{b.name}" for b in plan.batches}
    return replace(
        plan,
        airframe=replace(
            plan.airframe,
            name=HOSTILE,
            parts=parts,
            datum=HOSTILE,
            sections=(),
            options={HOSTILE: HOSTILE},
            choices={HOSTILE: (HOSTILE,)},
        ),
        parts=tuple(replace(p, option=None) for p in parts),
        deposits={old[k]: replace(d, part=old[k]) for k, d in plan.deposits.items()},
        pieces=pieces,
        set_aside=(SetAside(f"{HOSTILE}\udcff.stl", HOSTILE),),
        misfits=(Unplaced(HOSTILE, "x", 3.0, HOSTILE),),
        batches=tuple(
            replace(b, name=beds[b.name], placed=tuple(replace(q, piece=names[q.piece]) for q in b.placed))
            for b in plan.batches
        ),
        schedule=replace(
            plan.schedule,
            runs=tuple(replace(r, batch=beds[r.batch]) for r in plan.schedule.runs),
            visits=tuple(replace(v, tasks=(HOSTILE,)) for v in plan.schedule.visits),
        ),
        mass=replace(
            plan.mass, items=tuple(replace(i, what=HOSTILE, section=HOSTILE) for i in plan.mass.items)
        ),
        balance=replace(plan.balance, unplaced=(HOSTILE,), advice=(HOSTILE,)),
        cost=replace(
            plan.cost,
            lines=tuple(replace(c, what=HOSTILE, source=HOSTILE) for c in plan.cost.lines),
            left_out=(HOSTILE,),
        ),
        assumptions=(HOSTILE,),
        cautions=(HOSTILE,),
        findings=(Finding(HOSTILE, HOSTILE),),
    )


def empty_plan() -> Plan:
    """Nothing could be planned: every mesh was set aside."""
    plan = sample_plan()
    return replace(
        plan,
        airframe=replace(
            plan.airframe,
            parts=(),
            fittings=(),
            target_mass_g=None,
            options={},
            balance_window_mm=None,
            mean_chord_mm=None,
            wing_area_dm2=None,
        ),
        parts=(),
        deposits={},
        pieces=(),
        misfits=(),
        batches=(),
        spools=(),
        findings=(),
        schedule=Schedule(
            (), (), START, 0.0, dict.fromkeys(plan.schedule.print_hours, 0.0), None, None, 0, 0
        ),
        build_order=BuildOrder((), ()),
        option_effects=(),
        mass=Mass((), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, None),
        balance=Balance(None, None, None, 0.0, (), 0.0),
        cost=Cost("EUR", (), {}, 0),
    )


def bare_plan() -> Plan:
    """Only the meshes were given: no target, no window, no stations, no prices, nothing proved."""
    plan = sample_plan()
    cost = replace(
        plan.cost,
        lines=tuple(replace(c, unit_price=None, amount_minor=None) for c in plan.cost.lines),
        totals_minor={},
        total_minor=0,
        left_out=tuple(c.what for c in plan.cost.lines if c.in_total),
        apart_minor={},
    )
    items = tuple(replace(i, station_mm=None) for i in plan.mass.items)
    return replace(
        plan,
        airframe=replace(
            plan.airframe,
            target_mass_g=None,
            balance_window_mm=None,
            mean_chord_mm=None,
            wing_area_dm2=None,
            datum="datum",
        ),
        workshop=replace(plan.workshop, attendance=Attendance(), spools=()),
        set_aside=(),
        misfits=(),
        findings=(),
        cost=cost,
        schedule=replace(plan.schedule, proven_gap=None, lower_bound_h=None),
        mass=replace(plan.mass, items=items, target_g=None),
        balance=Balance(None, None, None, 0.0, tuple(i.what for i in items), plan.mass.total_g),
    )


def crowded_plan(beds: int = 24, each: int = 26) -> Plan:
    """Many small pieces on many beds over many days: every table breaks over several sheets."""
    plan = sample_plan()
    horn, shape = plan.parts[10], SHAPES["horn"]
    parts, deposits, batches, runs = [], {}, [], []
    kinds = tuple(p.kind for p in plan.workshop.printers)
    for number in range(beds):
        part = replace(
            horn,
            name=f"rib with a rather long name {number + 1}",
            copies=each,
            section=f"section {number % 9 + 1}",
            mesh=f"rib {number + 1}.stl",
        )
        parts.append(part)
        deposits[part.name] = deposit_of(part, shape, HEAT, kinds)
        places = [(20.0 + 24.0 * (k % 8), 12.0 + 28.0 * (k // 8)) for k in range(each)]
        placed = tuple(
            Placed(
                piece.name,
                x,
                y,
                90.0 * (k % 2),
                turned(shape.outline, 90.0 * (k % 2), x + 22 * (k % 2), y),
                shape.height,
            )
            for k, (piece, (x, y)) in enumerate(zip(pieces_of(part), places, strict=True))
        )
        mass = deposits[part.name].mass_g * each
        batches.append(Batch(f"bed {number + 1}", "small 220", "ASA", 0.2, placed, 310.0, mass, 3.2, 0.1))
        start = START + timedelta(hours=12 * number)
        runs.append(
            Run(
                f"run {number + 1}",
                f"bed {number + 1}",
                "small",
                start,
                start + timedelta(minutes=310),
                True,
                (Draw("spool 5", mass),),
                1.0,
            )
        )
    visits = tuple(Visit(r.start, 5, (f"clear the bed of {r.printer}", f"start {r.batch}")) for r in runs)
    return replace(
        plan,
        airframe=replace(plan.airframe, parts=tuple(parts), sections=()),
        parts=tuple(parts),
        deposits=deposits,
        pieces=tuple(q for p in parts for q in pieces_of(p)),
        batches=tuple(batches),
        schedule=replace(
            plan.schedule,
            runs=tuple(runs),
            visits=visits,
            finish=runs[-1].end,
            makespan_h=12.0 * beds,
            print_hours={"small": beds * 310 / 60},
        ),
        findings=tuple(Finding(p.name, "a thin wall " * 12) for p in parts),
    )
