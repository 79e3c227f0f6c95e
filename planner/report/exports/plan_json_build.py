"""The build order as records."""

from __future__ import annotations

from planner.model.plan import Plan
from planner.plan_record.build import BuildRecord, KitRecord, StepRecord
from planner.report.exports.plan_json_values import moment, moment_or_none, strings
from planner.report.plain import clean
from planner.weights.fastened import fastened_by


def _fastened(plan: Plan, joint: tuple[str, ...]) -> bool:
    part_of = {piece.name: piece.part for piece in plan.pieces}
    own = [part_of[name] for name in joint if name in part_of]
    return fastened_by(plan.airframe, own, {part.name: part for part in plan.parts}) is not None


def build_record(plan: Plan) -> BuildRecord:
    """Steps and kits; what is fastened is named among the joints of its step."""
    order = plan.build_order
    return BuildRecord(
        steps=[
            StepRecord(
                at=moment(step.at, plan),
                runs=strings(step.runs),
                pieces=strings(step.pieces),
                joints=[strings(joint) for joint in step.joints],
                fastened=[strings(joint) for joint in step.joints if _fastened(plan, joint)],
                sections=strings(step.sections),
            )
            for step in order.steps
        ],
        kits=[
            KitRecord(
                section=clean(kit.section),
                pieces=strings(kit.pieces),
                fittings=strings(kit.fittings),
                joints=[strings(joint) for joint in kit.joints],
                ready=moment_or_none(kit.ready, plan),
                missing=strings(kit.missing),
            )
            for kit in order.kits
        ],
    )
