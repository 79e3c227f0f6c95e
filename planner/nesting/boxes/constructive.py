"""The instant answer: boxes first, then alone whatever has no box that fits."""

from __future__ import annotations

from collections import Counter

from planner.model.batch import Placed, Unplaced
from planner.nesting.boxes.box_pack import box_beds
from planner.nesting.boxes.single_item import lay_single
from planner.nesting.problem.box import boxed
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.problem.spacing import reach_mm
from planner.nesting.problem.unplaced import beds_full, unplaced

Beds = list[tuple[BedKind, list[Placed]]]


def instant(problem: NestingProblem) -> tuple[Beds, tuple[Unplaced, ...]]:
    """Beds by boxes, and the pieces that no bed takes."""
    kinds = problem.containers
    boxes = [boxed(item, reach_mm(item, problem.spacing_mm, kinds)) for item in problem.items]
    beds, left = box_beds(boxes, kinds)
    misfits = []
    for box in left:
        used = Counter(kind for kind, _ in beds)
        open_kinds = [kind for kind in kinds if kind.count is None or used[kind] < kind.count]
        found = lay_single(box.item, open_kinds)
        if found is not None:
            beds.append((found[0], [found[1]]))
        elif lay_single(box.item, kinds) is not None:
            misfits.append(beds_full(box.item))
        else:
            misfits.append(unplaced(box.item, kinds))
    return beds, tuple(misfits)
