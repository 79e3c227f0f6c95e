"""The build order as JSON types."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from planner.model.plan import Plan
from planner.report.plain import clean
from planner.report.words import local
from planner.weights.fastened import fastened_by

Record = dict[str, Any]


def _strings(texts: Iterable[str]) -> list[str]:
    return [clean(text) for text in texts]


def _when(moment: datetime, plan: Plan) -> str:
    return local(moment, plan).isoformat(timespec="seconds")


def _fastened(plan: Plan, joint: tuple[str, ...]) -> bool:
    part_of = {piece.name: piece.part for piece in plan.pieces}
    own = [part_of[name] for name in joint if name in part_of]
    return fastened_by(plan.airframe, own, {part.name: part for part in plan.parts}) is not None


def build_record(plan: Plan) -> Record:
    """Steps and kits; what is fastened is named among the joints of its step."""
    order = plan.build_order
    return {
        "steps": [
            {
                "at": _when(step.at, plan),
                "runs": _strings(step.runs),
                "pieces": _strings(step.pieces),
                "joints": [_strings(joint) for joint in step.joints],
                "fastened": [_strings(joint) for joint in step.joints if _fastened(plan, joint)],
                "sections": _strings(step.sections),
            }
            for step in order.steps
        ],
        "kits": [
            {
                "section": clean(kit.section),
                "pieces": _strings(kit.pieces),
                "fittings": _strings(kit.fittings),
                "joints": [_strings(joint) for joint in kit.joints],
                "ready": None if kit.ready is None else _when(kit.ready, plan),
                "missing": _strings(kit.missing),
            }
            for kit in order.kits
        ],
    }
