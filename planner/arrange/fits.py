"""Do these pieces fit one bed? Asked many thousand times by the joint search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from planner.arrange.alone import lay_alone
from planner.arrange.apart import reach_mm
from planner.arrange.box import boxed
from planner.arrange.box_fill import fill_one
from planner.arrange.item import BedKind, FilledBed, Item
from planner.arrange.verify import verify_beds
from planner.model.batch import Placed


def fits(
    items: Sequence[Item],
    kind: BedKind,
    clearance_mm: float,
    *,
    steps: int,
    seed: int,
    inside_rings: bool = True,
) -> tuple[Placed, ...] | None:
    """Places of all the pieces on one bed of the kind, or None when none were found.

    None is proved only where height, area or a piece alone forbid it; else it means that ``steps``
    placements were judged in vain. The boxes are tried first; with ``steps`` = 0 only they are.
    Answers are kept by the set of outlines, so pieces that are alike share them.
    """
    ordered = sorted(items, key=lambda item: (item.key, item.outline, item.piece))
    alike = tuple(replace(item, piece=f"{n:05d}", group="", key="") for n, item in enumerate(ordered))
    answer = _fits(alike, replace(kind, printer_kind="", count=None), clearance_mm, steps, seed, inside_rings)
    if answer is None:
        return None
    return tuple(replace(placed, piece=item.piece) for item, placed in zip(ordered, answer, strict=True))


@lru_cache(maxsize=1 << 16)
def _fits(
    items: tuple[Item, ...], kind: BedKind, clearance_mm: float, steps: int, seed: int, inside_rings: bool
) -> tuple[Placed, ...] | None:
    if any(item.height_mm > kind.clear_height_mm for item in items) or not _room(
        items, kind, clearance_mm, inside_rings
    ):
        return None
    boxes = fill_one([boxed(item, reach_mm(item, clearance_mm, [kind])) for item in items], kind)
    if len(boxes) == len(items):
        return tuple(sorted(boxes, key=lambda p: p.piece))
    if not all(_alone(replace(item, piece=""), kind) for item in items) or steps <= 0:
        return None
    return _searched(items, boxes, kind, clearance_mm, steps, seed, inside_rings)


@lru_cache(maxsize=1 << 14)
def _alone(item: Item, kind: BedKind) -> bool:
    return lay_alone(item, [kind]) is not None


def _room(items: Sequence[Item], kind: BedKind, clearance_mm: float, inside_rings: bool) -> bool:
    from planner.arrange.table import bench, room_left  # compiled code stays off the start-up path

    return room_left(bench(items, clearance_mm, [kind], inside_rings=inside_rings), [kind]) > 0.0


def _searched(
    items: Sequence[Item],
    boxes: Sequence[Placed],
    kind: BedKind,
    clearance_mm: float,
    steps: int,
    seed: int,
    inside_rings: bool,
) -> tuple[Placed, ...] | None:
    from planner.arrange.separate import Knobs, separate
    from planner.arrange.table import bench, layout_of, placed_of, scatter, table

    what = bench(items, clearance_mm, [kind], inside_rings=inside_rings)
    where = table(what, [kind], seed)
    start = layout_of(what, [boxes])
    loose = [n for n in range(len(items)) if start.bed[n] < 0]
    where.set(scatter(start, loose, where, np.random.default_rng(seed)))
    knobs = Knobs(wide=30, near=15, patience=40, strikes=2)
    loss, layout = separate(where, knobs, lambda used: used >= steps)
    if loss > 0.0:
        return None
    placed = placed_of(what, layout, 1)[0]
    bed = FilledBed(kind, tuple(placed), 0.0)
    return None if verify_beds([bed], items, clearance_mm, inside_rings=inside_rings) else bed.placed
