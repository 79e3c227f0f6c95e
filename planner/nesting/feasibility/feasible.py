"""Do these pieces fit one bed? Asked many thousand times by the joint search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from planner.model.batch import Placed
from planner.model.effort import QUICK
from planner.nesting.boxes.box_pack import fill_one
from planner.nesting.boxes.single_item import lay_single
from planner.nesting.problem.item import BedKind, FilledBed
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.problem.shape_classes import box_of, digest, grown_area, item_of, named, number
from planner.nesting.problem.spacing import must_be_last, reach_mm
from planner.nesting.verify import verify_beds

_GIVEN_BACK = 1.02  # outlines are simplified outwards: two per cent of their area are given back


def fits(problem: NestingProblem) -> tuple[Placed, ...] | None:
    """Places of all the pieces on one bed of the first kind, or None when none were found.

    None is proved only where height, gantry, area or a piece alone forbid it; else it means that the
    steps of the problem were spent in vain. The boxes are tried first; without steps only they are.
    Answers are kept by the set of outlines, so pieces that are alike share them.
    """
    plain = replace(problem.containers[0], printer_kind="", count=None)
    shape_of = {item.piece: number(item) for item in problem.items}
    ordered = sorted(shape_of, key=lambda piece: (digest(shape_of[piece]), piece))
    shapes = tuple(shape_of[piece] for piece in ordered)
    answer = _fits(shapes, plain, problem.spacing_mm, problem.budget, problem.seed, problem.inside_rings)
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
    asked = NestingProblem(
        items, [kind], clearance_mm, seed=seed, effort=QUICK, steps=steps, inside_rings=inside_rings
    )
    return _searched(asked, boxes)


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
    return lay_single(item_of(shape), [kind]) is not None


def _searched(problem: NestingProblem, boxes: Sequence[Placed]) -> tuple[Placed, ...] | None:
    from planner.nesting.separation.separate import SeparationParams, separate
    from planner.nesting.separation.table import layout_of, placed_of, scatter, shaped, table

    kind, budget = problem.containers[0], problem.budget
    what = shaped(problem)
    where = table(what, [kind], problem.seed)
    start = layout_of(what, [boxes])
    loose = [n for n in range(len(problem.items)) if start.bed[n] < 0]
    where.set(scatter(start, loose, where, np.random.default_rng(problem.seed)))
    params = SeparationParams(wide=30, near=15, patience=40, strikes=2)
    loss, layout = separate(where, params, lambda used: used >= budget)
    if loss > 0.0:
        return None
    placed = placed_of(what, layout, 1)[0]
    bed = FilledBed(kind, tuple(placed), 0.0)
    faults = verify_beds([bed], problem.items, problem.spacing_mm, inside_rings=problem.inside_rings)
    return None if faults else bed.placed
