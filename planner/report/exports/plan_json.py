"""The machine's view of a plan: one JSON record, the same bytes for the same plan."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import msgspec

from planner.model.plan import Plan
from planner.plan_record.head import AirframeRecord, AsideRecord, FindingRecord, GoalRecord, MisfitRecord
from planner.plan_record.plan import SCHEMA, PlanRecord
from planner.report.exports.plan_json_beds import batch_records
from planner.report.exports.plan_json_build import build_record
from planner.report.exports.plan_json_ledger import ledger_record
from planner.report.exports.plan_json_parts import part_records, piece_records
from planner.report.exports.plan_json_printed import filament_records, printed_records
from planner.report.exports.plan_json_replan import choices_record, past_records, replan_record
from planner.report.exports.plan_json_risk import risk_record
from planner.report.exports.plan_json_runs import run_records, schedule_record, spool_records
from planner.report.exports.plan_json_several import airframes_record
from planner.report.exports.plan_json_sums import balance_record, cost_record, mass_record
from planner.report.exports.plan_json_values import builtins, moment, rounded, strings
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.version import __version__

IDENTIFICATION = "identification"
Record = dict[str, Any]


def plan_record(plan: Plan) -> Record:
    """The plan as JSON types: lengths to 1 um, grams to 1 mg, minutes to 0.01, money as strings.

    ``identification`` is the SHA-256 of all other fields.
    """
    record = _body(plan)
    record[IDENTIFICATION] = _digest(record)
    return record


def plan_json(plan: Plan) -> str:
    """The record as text: keys in a fixed order, one blank a level, one line feed at the end."""
    return record_json(plan_record(plan))


def record_json(record: Record) -> str:
    """A record that was made before, as ``plan_json`` writes it."""
    return msgspec.json.format(_text(record), indent=1) + "\n"


def plan_hash(plan: Plan) -> str:
    """SHA-256 of the record, 64 hex digits: it changes with any number of the plan."""
    return _digest(_body(plan))


def _digest(record: Record) -> str:
    return hashlib.sha256(_text(record).encode("utf-8")).hexdigest()


def _text(record: Record) -> str:
    return json.dumps(record, ensure_ascii=False, allow_nan=False)


def _body(plan: Plan) -> Record:
    """The record as JSON types, but for its identification."""
    body = builtins(_typed(plan))
    del body[IDENTIFICATION]
    return body


def _typed(plan: Plan) -> PlanRecord:
    look = Lookup(plan)
    frame = plan.airframe
    return PlanRecord(
        schema=SCHEMA,
        planner=__version__,
        airframe=AirframeRecord(
            name=clean(frame.name),
            datum=clean(frame.datum),
            options={clean(k): clean(v) for k, v in frame.options.items()},
        ),
        start=moment(plan.start, plan),
        seed=plan.seed,
        effort=clean(plan.effort),
        currency=plan.workshop.currency,
        choices=choices_record(plan),
        assumptions=strings(plan.assumptions),
        cautions=strings(plan.cautions),
        findings=[
            FindingRecord(about=clean(f.about), text=clean(f.text), weight=f.weight) for f in look.findings
        ],
        set_aside=[AsideRecord(mesh=clean(s.mesh), reason=clean(s.reason)) for s in plan.set_aside],
        parts=part_records(look),
        pieces=piece_records(look),
        fits_nowhere=[
            MisfitRecord(
                piece=clean(m.piece),
                axis=clean(m.axis),
                missing_mm=rounded(m.missing_mm),
                proposal=clean(m.proposal),
                reason=clean(m.reason),
            )
            for m in plan.misfits
        ],
        batches=batch_records(plan.batches, look),
        runs=run_records(plan.schedule.runs, plan),
        spools=spool_records(plan),
        schedule=schedule_record(plan),
        goals=[
            GoalRecord(goal=goal.name, value=rounded(goal.value, 6), unit=goal.unit, told=clean(goal.told))
            for goal in plan.goals
        ],
        mass=mass_record(plan),
        balance=balance_record(plan),
        cost=cost_record(plan),
        airframes=airframes_record(plan),
        risk=risk_record(plan),
        build_order=build_record(plan),
        past=past_records(look),
        printed=printed_records(plan),
        filaments=filament_records(plan),
        ledger=ledger_record(plan),
        replan=replan_record(plan),
        identification="",
    )
