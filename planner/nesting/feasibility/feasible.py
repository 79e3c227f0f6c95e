"""Do these pieces fit one bed? Asked many thousand times by the joint search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from planner.model.batch import Placed
from planner.nesting.boxes.box_pack import fill_one
from planner.nesting.boxes.single_item import lay_alone
from planner.nesting.problem.item import BedKind, FilledBed, Item
from planner.nesting.problem.shape_classes import box_of, digest, grown_area, item_of, named, number
from planner.nesting.problem.spacing import must_be_last, reach_mm
from planner.nesting.verify import verify_beds

_GIVEN_BACK = 1.02  # outlines are simplified outwards: two per cent of their area are given back


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

    None is proved only where height, gantry, area or a piece alone forbid it; else it means that
    ``steps`` placements were judged in vain. The boxes are tried first; with ``steps`` = 0 only they are.
    Answers are kept by the set of outlines, so pieces that are alike share them.
    """
    plain = replace(kind, printer_kind="", count=None)
    shape_of = {item.piece: number(item) for item in items}
    ordered = sorted(shape_of, key=lambda piece: (digest(shape_of[piece]), piece))
    shapes = tuple(shape_of[piece] for piece in ordered)
    answer = _fits(shapes, plain, clearance_mm, steps, seed, inside_rings)
    if answer is None:
        return None
    return tuple(replace(placed, piece=piece) for piece, placed in zip(ordered, answer, strict=True))


@lru_cache(maxsize=1 << 16)
def _fits(
    shapes: tuple[int, ...], kind: BedKind, clearance_mm: float, steps: int, seed: int, inside_rings: bool
) -> tuple[Placed, ...] | None:
    """Places in the order of the shapes."""
    if not _may(shapes, kind, clearance_mm, inside_rings):
        return None
    items = named(shapes)
    reaches = [reach_mm(item, clearance_mm, [kind]) for item in items]
    rows = zip(items, shapes, reaches, strict=True)
    boxes = fill_one(
        [replace(box_of(shape, reach), item=item) for item, shape, reach in rows], kind, hurry=True
    )
    if len(boxes) == len(items):
        return tuple(sorted(boxes, key=lambda p: p.piece))
    if steps <= 0:
        return None
    return _searched(items, boxes, kind, clearance_mm, steps, seed, inside_rings)


def _may(shapes: tuple[int, ...], kind: BedKind, clearance_mm: float, inside_rings: bool) -> bool:
    """The quick noes: height and gantry, area, each piece alone."""
    if any(item_of(shape).height_mm > kind.clear_height_mm for shape in shapes):
        return False
    if sum(must_be_last(item_of(shape), kind) for shape in shapes) > 1:
        return False
    taken = sum(grown_area(shape, kind, clearance_mm, inside_rings) for shape in shapes)
    most = max((reach_mm(item_of(shape), clearance_mm, [kind]) for shape in shapes), default=0.0)
    return taken < _room(kind, most) and all(_alone(shape, kind) for shape in set(shapes))


@lru_cache(maxsize=1 << 12)
def _room(kind: BedKind, reach: float) -> float:
    from planner.nesting.problem.containers import room_for_grown  # compiled code stays off the start-up path

    return room_for_grown(kind.bed, reach) * _GIVEN_BACK


@lru_cache(maxsize=1 << 14)
def _alone(shape: int, kind: BedKind) -> bool:
    return lay_alone(item_of(shape), [kind]) is not None


def _searched(
    items: Sequence[Item],
    boxes: Sequence[Placed],
    kind: BedKind,
    clearance_mm: float,
    steps: int,
    seed: int,
    inside_rings: bool,
) -> tuple[Placed, ...] | None:
    from planner.nesting.separation.separate import Knobs, separate
    from planner.nesting.separation.table import bench, layout_of, placed_of, scatter, table

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
