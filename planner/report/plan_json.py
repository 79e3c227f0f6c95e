"""The machine's view of a plan: one JSON record, the same bytes for the same plan."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from planner import __version__
from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.model.printer import Bed, Outline
from planner.model.schedule import Buying, Run
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.report.plan_json_build import build_record
from planner.report.plan_json_printed import filament_records, make_record, printed_records
from planner.report.plan_json_replan import choices_record, past_records, replan_record
from planner.report.words import local, ten_grams_mm
from planner.units import MM3_PER_CM3, money_text

SCHEMA = 1
Record = dict[str, Any]


def plan_record(plan: Plan) -> Record:
    """The plan as JSON types: lengths to 1 um, grams to 1 mg, minutes to 0.01, money as strings.

    ``identification`` is the SHA-256 of all other fields.
    """
    record = _body(plan)
    record["identification"] = _digest(record)
    return record


def plan_json(plan: Plan) -> str:
    """The record as text: keys in a fixed order, two blanks a level, one line feed at the end."""
    return record_json(plan_record(plan))


def record_json(record: Record) -> str:
    """A record that was made before, as ``plan_json`` writes it."""
    return _text(record, indent=1) + "\n"


def plan_hash(plan: Plan) -> str:
    """SHA-256 of the record, 64 hex digits: it changes with any number of the plan."""
    return _digest(_body(plan))


def _digest(record: Record) -> str:
    return hashlib.sha256(_text(record).encode("utf-8")).hexdigest()


def _text(record: Record, indent: int | None = None) -> str:
    return json.dumps(record, ensure_ascii=False, allow_nan=False, indent=indent)


def _r(value: float | None, digits: int = 3) -> float | None:
    """Rounded, and never a negative nought."""
    return None if value is None else round(float(value), digits) + 0.0


def _ring(outline: Outline) -> list[list[float | None]]:
    return [[_r(x), _r(y)] for x, y in outline]


def _strings(texts: Iterable[str]) -> list[str]:
    return [clean(text) for text in texts]


def _text_or_none(text: str | None) -> str | None:
    return None if text is None else clean(text)


def _body(plan: Plan) -> Record:
    look = Lookup(plan)
    frame = plan.airframe
    return {
        "schema": SCHEMA,
        "planner": __version__,
        "airframe": {
            "name": clean(frame.name),
            "datum": clean(frame.datum),
            "options": {clean(k): clean(v) for k, v in frame.options.items()},
        },
        "start": _when(plan.start, plan),
        "seed": plan.seed,
        "effort": clean(plan.effort),
        "currency": plan.workshop.currency,
        "choices": choices_record(plan),
        "assumptions": _strings(plan.assumptions),
        "cautions": _strings(plan.cautions),
        "findings": [
            {"about": clean(f.about), "text": clean(f.text), "weight": f.weight} for f in look.findings
        ],
        "set_aside": [{"mesh": clean(s.mesh), "reason": clean(s.reason)} for s in plan.set_aside],
        "parts": _parts(plan, look),
        "pieces": [
            {
                "piece": clean(p.name),
                "part": clean(p.part),
                "mirrored": p.mirrored,
                "section": clean(look.section(p.name)),
                "again": False,
            }
            for p in plan.pieces
        ],
        "fits_nowhere": [
            {
                "piece": clean(m.piece),
                "axis": clean(m.axis),
                "missing_mm": _r(m.missing_mm),
                "proposal": clean(m.proposal),
                "reason": clean(m.reason),
            }
            for m in plan.misfits
        ],
        "batches": [_batch(batch, look.bed(batch.printer_kind)) for batch in plan.batches],
        "runs": [_run(run, plan) for run in plan.schedule.runs],
        "spools": _spools(plan),
        "schedule": _schedule(plan),
        "goals": [
            {"goal": goal.name, "value": _r(goal.value, 6), "unit": goal.unit, "told": clean(goal.told)}
            for goal in plan.goals
        ],
        "mass": _mass(plan),
        "balance": _balance(plan),
        "cost": _cost(plan),
        "build_order": build_record(plan),
        "past": past_records(
            plan, lambda run: _run(run, plan), lambda batch: _batch(batch, look.bed(batch.printer_kind))
        ),
        "printed": printed_records(plan),
        "filaments": filament_records(plan),
        "replan": replan_record(plan),
    }


def _when(moment: datetime, plan: Plan) -> str:
    return local(moment, plan).isoformat(timespec="seconds")


def _parts(plan: Plan, look: Lookup) -> list[Record]:
    rows = []
    for part in plan.parts:
        deposit = plan.deposits[part.name]
        rows.append(
            {
                "part": clean(part.name),
                "mesh": clean(part.mesh),
                "section": clean(part.section),
                "hand": part.hand,
                "copies": part.copies,
                "mirror": part.mirror,
                "filament": clean(part.filament),
                "recipe": clean(part.recipe.name),
                "triangles": deposit.triangles,
                "watertight": deposit.watertight,
                "extents_mm": [_r(v) for v in deposit.extents_mm],
                "solid_volume_cm3": _r(deposit.solid_volume_mm3 / MM3_PER_CM3),
                "deposit_volume_cm3": _r(deposit.volume_mm3 / MM3_PER_CM3),
                "support_volume_cm3": _r(deposit.support_mm3 / MM3_PER_CM3),
                "support_g": _r(deposit.support_g),
                "support_minutes": _r(look.support_minutes_of(part.name), 2),
                "mass_g": _r(deposit.mass_g),
                "filament_m": _r(deposit.filament_m),
                "minutes": _r(look.minutes_of(part.name), 2),
                "timed_on": _text_or_none(look.timed_on(part.name)),
                "pose": {
                    "rotation": [_r(v, 9) for v in deposit.pose.rotation],
                    "reason": clean(deposit.pose_reason),
                },
                "footprint_mm": _ring(deposit.footprint_mm),
                **make_record(plan.makes.get(part.name)),
                "centroid_mm": [_r(v) for v in deposit.centroid_in_mesh_mm],
                "inertia_g_mm2": [_r(v) for v in deposit.inertia_g_mm2],
                "findings": _strings(dict.fromkeys(f.text for f in look.findings if f.about == part.name)),
            }
        )
    return rows


def _batch(batch: Batch, bed: Bed | None) -> Record:
    shape: Record = {
        "shape": "rectangle",
        "width_mm": None,
        "depth_mm": None,
        "margin_mm": None,
        "keep_outs": [],
    }
    if bed is not None:
        shape = {
            "shape": bed.shape,
            "width_mm": _r(bed.width_mm),
            "depth_mm": _r(bed.depth_mm),
            "margin_mm": _r(bed.margin_mm),
            "keep_outs": [_ring(ring) for ring in bed.keep_outs],
        }
        if bed.outline:
            shape["outline_mm"] = _ring(bed.outline)
    return {
        "batch": clean(batch.name),
        "printer_kind": clean(batch.printer_kind),
        "bed": shape,
        "filament": clean(batch.filament),
        "layer_height_mm": _r(batch.layer_height_mm, 4),
        "minutes": _r(batch.minutes, 2),
        "mass_g": _r(batch.mass_g),
        "height_mm": _r(batch.height_mm),
        "placed": [
            {
                "piece": clean(p.piece),
                "x_mm": _r(p.x_mm),
                "y_mm": _r(p.y_mm),
                "turn_deg": _r(p.turn_deg),
                "height_mm": _r(p.height_mm),
                "outline_mm": _ring(p.outline_mm),
            }
            for p in batch.placed
        ],
        "fill": _r(batch.fill, 4),
        "model_sha256": batch.digest or None,
    }


def _run(run: Run, plan: Plan) -> Record:
    return {
        "run": clean(run.name),
        "batch": clean(run.batch),
        "printer": clean(run.printer),
        "start": _when(run.start, plan),
        "end": _when(run.end, plan),
        "attended_start": run.attended_start,
        "spools": [
            {"spool": clean(d.spool), "grams": _r(d.grams), "before_g": _r(d.before_g)} for d in run.draws
        ],
        "purge_g": _r(run.purge_g),
        "changed_from": _text_or_none(run.changed_from),
        "mark": run.mark or None,
        "dry_at": None if run.dry_at is None else _when(run.dry_at, plan),
        "short_g": _r(run.short_g),
    }


def _money(minor: int | None, currency: str) -> str | None:
    return None if minor is None else money_text(minor, currency)


def _spools(plan: Plan) -> list[Record]:
    return [
        {
            "spool": clean(u.spool),
            "filament": clean(u.filament),
            "bought": u.bought,
            "grams_before": _r(u.grams_before),
            "grams_used": _r(u.grams_used),
            "grams_purged": _r(u.grams_purged),
            "grams_left": _r(u.grams_left),
            "price": _money(u.price_minor, plan.workshop.currency),
        }
        for u in plan.spools
    ]


def _schedule(plan: Plan) -> Record:
    schedule = plan.schedule
    return {
        "finish": _when(schedule.finish, plan),
        "makespan_h": _r(schedule.makespan_h),
        "print_hours": {clean(k): _r(v) for k, v in schedule.print_hours.items()},
        "lower_bound_h": _r(schedule.lower_bound_h),
        "proven_gap": _r(schedule.proven_gap, 6),
        "interventions": schedule.interventions,
        "changeovers": schedule.changeovers,
        **({} if schedule.buying is None else {"buying": _buying(schedule.buying, plan)}),
        "visits": [
            {"at": _when(v.at, plan), "minutes": v.minutes, "tasks": _strings(v.tasks)}
            for v in schedule.visits
        ],
    }


def _buying(made: Buying, plan: Plan) -> Record:
    return {
        "spools": made.spools,
        "price_minor": made.price_minor,
        "sooner_h": _r(made.sooner_h),
        "other_finish": None if made.other_finish is None else _when(made.other_finish, plan),
        "bought": made.bought,
    }


def _mass(plan: Plan) -> Record:
    mass = plan.mass
    return {
        "printed_g": _r(mass.printed_g),
        "fittings_g": _r(mass.fittings_g),
        "finish_g": _r(mass.finish_g),
        "total_g": _r(mass.total_g),
        "low_g": _r(mass.low_g),
        "high_g": _r(mass.high_g),
        "target_g": _r(mass.target_g),
        "notes": _strings(mass.notes),
        "items": [
            {
                "what": clean(i.what),
                "kind": clean(i.kind),
                "finish": clean(i.finish),
                "section": clean(i.section),
                "mass_g": _r(i.mass_g),
                "station_mm": _r(i.station_mm),
                "across_mm": _r(i.across_mm),
                "up_mm": _r(i.up_mm),
                "ten_g_moves_mm": _r(ten_grams_mm(plan.balance, i)),
            }
            for i in mass.items
        ],
    }


def _balance(plan: Plan) -> Record:
    balance = plan.balance
    return {
        "station_mm": _r(balance.station_mm),
        "window_mm": None if balance.window_mm is None else [_r(v) for v in balance.window_mm],
        "inside": balance.inside,
        "placed_g": _r(balance.placed_g),
        "unplaced": _strings(balance.unplaced),
        "unplaced_g": _r(balance.unplaced_g),
        "percent_chord": _r(balance.percent_chord),
        "advice": _strings(balance.advice),
        "wing_loading_g_per_dm2": _r(balance.wing_loading_g_per_dm2),
        "wing_cube_loading_kg_per_m3": _r(balance.wing_cube_loading_kg_per_m3),
        "low_mm": _r(balance.low_mm),
        "high_mm": _r(balance.high_mm),
        "across_mm": _r(balance.across_mm),
        "static_margin": _r(balance.static_margin, 4),
        "notes": _strings(balance.notes),
        "mean_chord_mm": _r(balance.mean_chord_mm),
        "mean_chord_le_mm": _r(balance.mean_chord_le_mm),
        "neutral_point_mm": _r(balance.neutral_point_mm),
        "left_g": _r(balance.left_g),
        "right_g": _r(balance.right_g),
        "wing_loading_band": clean(balance.wing_loading_band),
        "wing_cube_loading_band": clean(balance.wing_cube_loading_band),
        "moves": [
            {
                "what": clean(m.what),
                "mass_g": _r(m.mass_g),
                "station_mm": _r(m.station_mm),
                "by_mm": _r(m.by_mm),
                "room_mm": None if m.room_mm is None else [_r(m.room_mm[0]), _r(m.room_mm[1])],
                "balance_mm": _r(m.balance_mm),
            }
            for m in balance.moves
        ],
        "ballast": None
        if balance.ballast is None
        else {
            "mass_g": _r(balance.ballast.mass_g),
            "station_mm": _r(balance.ballast.station_mm),
            "beside": clean(balance.ballast.beside),
        },
        "sensitivity": [
            {"what": clean(s.what), "station_mm": _r(s.station_mm), "moves_mm": _r(s.moves_mm)}
            for s in balance.sensitivity
        ],
        "options": [
            {
                "option": clean(e.option),
                "choice": clean(e.choice),
                "planned": e.planned,
                "total_g": _r(e.total_g),
                "station_mm": _r(e.station_mm),
                "inside": e.inside,
            }
            for e in plan.option_effects
        ],
    }


def _cost(plan: Plan) -> Record:
    cost = plan.cost
    return {
        "lines": [
            {
                "what": clean(c.what),
                "quantity": _r(float(c.quantity), 6),
                "unit": clean(c.unit),
                "unit_price": None if c.unit_price is None else f"{c.unit_price:f}",
                "amount": _money(c.amount_minor, cost.currency),
                "kind": clean(c.kind),
                "source": clean(c.source),
                "in_total": c.in_total,
            }
            for c in cost.lines
        ],
        "totals": {clean(k): _money(v, cost.currency) for k, v in cost.totals_minor.items()},
        "total": _money(cost.total_minor, cost.currency),
        "left_out": _strings(cost.left_out),
        "apart": {clean(k): _money(v, cost.currency) for k, v in cost.apart_minor.items()},
        "by_section": {clean(k): _money(v, cost.currency) for k, v in cost.by_section_minor.items()},
    }
