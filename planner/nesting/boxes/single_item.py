"""Pieces whose box fits no bed in the usual turns, each laid alone at a turn at which it does fit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.geometry.planar.flat import turned
from planner.model.batch import Placed
from planner.nesting.boxes.box_raster import fill_odd_bed
from planner.nesting.problem.box import Box
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.placement import box_size, lay, lay_box
from planner.nesting.problem.unplaced import allowed_turns, enclosing_circle, turn_that_fits


def lay_single(item: Item, kinds: Sequence[BedKind]) -> tuple[BedKind, Placed] | None:
    """The piece by itself on the first kind of bed that takes it."""
    for kind in kinds:
        if item.height_mm > kind.clear_height_mm:
            continue
        ground = free_region(kind.bed)
        turn = turn_that_fits(item, kind, allowed_turns(item))
        if turn is None:
            continue
        if ground.plain:
            return kind, lay_box(item, ground.bounds[0], ground.bounds[1], turn)
        if ground.circle is not None and not kind.bed.keep_outs and ground.bounds[1] <= kind.bed.margin_mm:
            return kind, _centred(item, turn, ground.circle)
        placed = fill_odd_bed([Box(item, (turn,), (box_size(item, turn),), 0.0)], kind, to_the_edge=True)
        if placed:
            return kind, placed[0]
    return None


def _centred(item: Item, turn: float, circle: tuple[float, float, float]) -> Placed:
    centre, _ = enclosing_circle(item)
    x, y = turned(np.asarray([centre]), turn)[0]
    return lay(item, circle[0] - float(x), circle[1] - float(y), turn)
