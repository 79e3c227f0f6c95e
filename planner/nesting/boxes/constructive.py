"""The instant answer: boxes first, then alone whatever has no box that fits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from planner.model.batch import Misfit, Placed
from planner.nesting.boxes.box_pack import box_beds
from planner.nesting.boxes.single_item import lay_alone
from planner.nesting.problem.box import boxed
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.spacing import reach_mm
from planner.nesting.problem.unplaced import full, misfit

Beds = list[tuple[BedKind, list[Placed]]]


def instant(
    items: Sequence[Item], kinds: Sequence[BedKind], clearance_mm: float
) -> tuple[Beds, tuple[Misfit, ...]]:
    """Beds by boxes, and the pieces that no bed takes."""
    beds, left = box_beds([boxed(item, reach_mm(item, clearance_mm, kinds)) for item in items], kinds)
    misfits = []
    for box in left:
        used = Counter(kind for kind, _ in beds)
        open_kinds = [kind for kind in kinds if kind.count is None or used[kind] < kind.count]
        found = lay_alone(box.item, open_kinds)
        if found is not None:
            beds.append((found[0], [found[1]]))
        elif lay_alone(box.item, kinds) is not None:
            misfits.append(full(box.item))
        else:
            misfits.append(misfit(box.item, kinds))
    return beds, tuple(misfits)
