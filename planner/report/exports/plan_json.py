"""The machine's view of a plan: one JSON record, the same bytes for the same plan."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from typing import Any

from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.model.printer import Bed, Outline
from planner.model.schedule import Buying, Run
from planner.report.exports.plan_json_build import build_record
from planner.report.exports.plan_json_printed import filament_records, make_record, printed_records
from planner.report.exports.plan_json_replan import choices_record, past_records, replan_record
from planner.report.exports.plan_json_sums import balance_record, cost_record, mass_record
from planner.report.exports.plan_json_values import money, rounded, strings
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.report.words import local
from planner.units import MM3_PER_CM3
from planner.version import __version__

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


def _ring(outline: Outline) -> list[list[float | None]]:
    return [[rounded(x), rounded(y)] for x, y in outline]


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
        "assumptions": strings(plan.assumptions),
        "cautions": strings(plan.cautions),
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
                "missing_mm": rounded(m.missing_mm),
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
            {"goal": goal.name, "value": rounded(goal.value, 6), "unit": goal.unit, "told": clean(goal.told)}
            for goal in plan.goals
        ],
        "mass": mass_record(plan),
        "balance": balance_record(plan),
        "cost": cost_record(plan),
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
                "extents_mm": [rounded(v) for v in deposit.extents_mm],
                "solid_volume_cm3": rounded(deposit.solid_volume_mm3 / MM3_PER_CM3),
                "deposit_volume_cm3": rounded(deposit.volume_mm3 / MM3_PER_CM3),
                "support_volume_cm3": rounded(deposit.support_mm3 / MM3_PER_CM3),
                "support_g": rounded(deposit.support_g),
                "support_minutes": rounded(look.support_minutes_of(part.name), 2),
                "mass_g": rounded(deposit.mass_g),
                "filament_m": rounded(deposit.filament_m),
                "minutes": rounded(look.minutes_of(part.name), 2),
                "timed_on": _text_or_none(look.timed_on(part.name)),
                "pose": {
                    "rotation": [rounded(v, 9) for v in deposit.pose.rotation],
                    "reason": clean(deposit.pose_reason),
                },
                "footprint_mm": _ring(deposit.footprint_mm),
                **make_record(plan.makes.get(part.name)),
                "centroid_mm": [rounded(v) for v in deposit.centroid_in_mesh_mm],
                "inertia_g_mm2": [rounded(v) for v in deposit.inertia_g_mm2],
                "findings": strings(dict.fromkeys(f.text for f in look.findings if f.about == part.name)),
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
            "width_mm": rounded(bed.width_mm),
            "depth_mm": rounded(bed.depth_mm),
            "margin_mm": rounded(bed.margin_mm),
            "keep_outs": [_ring(ring) for ring in bed.keep_outs],
        }
        if bed.outline:
            shape["outline_mm"] = _ring(bed.outline)
    return {
        "batch": clean(batch.name),
        "printer_kind": clean(batch.printer_kind),
        "bed": shape,
        "filament": clean(batch.filament),
        "layer_height_mm": rounded(batch.layer_height_mm, 4),
        "minutes": rounded(batch.minutes, 2),
        "mass_g": rounded(batch.mass_g),
        "height_mm": rounded(batch.height_mm),
        "placed": [
            {
                "piece": clean(p.piece),
                "x_mm": rounded(p.x_mm),
                "y_mm": rounded(p.y_mm),
                "turn_deg": rounded(p.turn_deg),
                "height_mm": rounded(p.height_mm),
                "outline_mm": _ring(p.outline_mm),
            }
            for p in batch.placed
        ],
        "fill": rounded(batch.fill, 4),
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
            {"spool": clean(d.spool), "grams": rounded(d.grams), "before_g": rounded(d.before_g)}
            for d in run.draws
        ],
        "purge_g": rounded(run.purge_g),
        "changed_from": _text_or_none(run.changed_from),
        "mark": run.mark or None,
        "dry_at": None if run.dry_at is None else _when(run.dry_at, plan),
        "short_g": rounded(run.short_g),
    }


def _spools(plan: Plan) -> list[Record]:
    return [
        {
            "spool": clean(u.spool),
            "filament": clean(u.filament),
            "bought": u.bought,
            "grams_before": rounded(u.grams_before),
            "grams_used": rounded(u.grams_used),
            "grams_purged": rounded(u.grams_purged),
            "grams_left": rounded(u.grams_left),
            "price": money(u.price_minor, plan.workshop.currency),
        }
        for u in plan.spools
    ]


def _schedule(plan: Plan) -> Record:
    schedule = plan.schedule
    return {
        "finish": _when(schedule.finish, plan),
        "makespan_h": rounded(schedule.makespan_h),
        "print_hours": {clean(k): rounded(v) for k, v in schedule.print_hours.items()},
        "lower_bound_h": rounded(schedule.lower_bound_h),
        "proven_gap": rounded(schedule.proven_gap, 6),
        "interventions": schedule.interventions,
        "changeovers": schedule.changeovers,
        **({} if schedule.buying is None else {"buying": _buying(schedule.buying, plan)}),
        "visits": [
            {"at": _when(v.at, plan), "minutes": v.minutes, "tasks": strings(v.tasks)}
            for v in schedule.visits
        ],
    }


def _buying(made: Buying, plan: Plan) -> Record:
    return {
        "spools": made.spools,
        "price_minor": made.price_minor,
        "sooner_h": rounded(made.sooner_h),
        "other_finish": None if made.other_finish is None else _when(made.other_finish, plan),
        "bought": made.bought,
    }
