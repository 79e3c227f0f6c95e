"""Random pieces on random beds: the slow check finds nothing, and the same seed gives the same layout."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.effort import NORMAL, QUICK
from planner.model.printer import Axis, Bed, Head, Outline
from planner.nesting.improve.local_improvement import polished
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds

STEPS = 4000  # enough for the search to move pieces, not enough to be slow
CASES = 1000  # of the long run


def _star(rng: np.random.Generator) -> tuple[Outline, Outline]:
    """A ring that is star-shaped about its middle, convex or not, and one of 0.6 times its size within."""
    n = int(rng.integers(3, 14))
    angles = np.sort(rng.uniform(0, 2 * math.pi, n)) + np.arange(n) * 1e-3
    gaps = np.diff(np.append(angles, angles[0] + 2 * math.pi))
    if gaps.max() > 0.9 * math.pi:
        angles = np.arange(n) * 2 * math.pi / n
    radius = rng.uniform(0.45, 1.0, n) * rng.uniform(8, 60)
    ring = np.column_stack([radius * np.cos(angles) * rng.uniform(0.3, 1), radius * np.sin(angles)])
    low = ring.min(axis=0)
    outer, inner = (tuple((float(x), float(y)) for x, y in r - low) for r in (ring, 0.6 * ring))
    return outer, inner


def _items(rng: np.random.Generator) -> list[Item]:
    designs = []
    for d in range(int(rng.integers(1, 6))):
        ring, inner = _star(rng)
        holes = (inner,) if rng.random() < 0.3 else ()
        turns = None if rng.random() < 0.6 else tuple(float(t) for t in rng.choice(360, 3, replace=False))
        closed = bool(rng.random() < 0.3)
        designs.append((ring, holes, float(rng.uniform(5, 260)), turns, str(d), closed))
    return [
        Item(f"p{n}", ring, holes, height, turns, ("wing", "tail")[n % 3 // 2], key, closed)
        for n in range(int(rng.integers(1, 22)))
        for ring, holes, height, turns, key, closed in [designs[n % len(designs)]]
    ]


def _kinds(rng: np.random.Generator) -> list[BedKind]:
    kinds = []
    for k in range(int(rng.integers(1, 4))):
        w = float(rng.uniform(100, 260))
        margin = float(rng.uniform(0, 8))
        front = float(rng.uniform(0, 20)) if rng.random() < 0.3 else 0.0
        keep = ((0.0, 0.0), (w / 4, 0.0), (w / 5, w / 6), (0.0, w / 4))
        cut = ((0.2, 0), (1, 0), (1, 0.9), (0.6, 0.7), (0.5, 1), (0, 1), (0, 0.2))
        ring = tuple((w * x, w * y) for x, y in cut)
        bed = (
            Bed("rectangle", w, w * 0.8, margin_mm=margin, front_room_mm=front),
            Bed("round", w, w, margin_mm=margin, front_room_mm=front),
            Bed("rectangle", w, w, margin_mm=margin, keep_outs=(keep,)),
            Bed("round", w, w, margin_mm=margin, keep_outs=(keep,), front_room_mm=front),
            Bed("polygon", w, w, outline=ring, margin_mm=margin, front_room_mm=front),
        )[int(rng.integers(5))]
        count = None if rng.random() < 0.7 else int(rng.integers(1, 4))
        low = float(rng.uniform(5, 40))
        head = Head(float(rng.uniform(5, 50)), low, low + float(rng.uniform(0, 150)))
        told = head if rng.random() < 0.25 else None
        axis: Axis = rng.choice(["", "x", "y"])
        kinds.append(BedKind(f"kind {k}", bed, float(rng.uniform(100, 250)), count, told, axis))
    return kinds


def _check(seed: int) -> None:
    rng = np.random.default_rng(seed)
    items, kinds = _items(rng), _kinds(rng)
    clearance = float(rng.choice([0.0, 1.0, 3.0]))
    rings = bool(rng.random() < 0.7)
    answer = fill(
        NestingProblem(items, kinds, clearance, effort=NORMAL, seed=seed, steps=STEPS, inside_rings=rings)
    )
    assert verify_beds(answer.beds, items, clearance, answer.misfits, inside_rings=rings) == ()
    shone = [
        replace(
            b,
            placed=polished(
                b.placed,
                NestingProblem(
                    items, [b.kind], clearance, steps=60, seed=seed, inside_rings=rings, effort=QUICK
                ),
            ),
        )
        for b in answer.beds
    ]
    assert verify_beds(shone, items, clearance, answer.misfits, inside_rings=rings) == ()
    quick = fill(NestingProblem(items, kinds, clearance, effort=QUICK, seed=seed, inside_rings=rings))
    assert len(answer.beds) <= len(quick.beds)
    if seed % 10 == 0:
        again = fill(
            NestingProblem(items, kinds, clearance, effort=NORMAL, seed=seed, steps=STEPS, inside_rings=rings)
        )
        assert again == answer


@settings(max_examples=12, deadline=None)
@given(st.integers(min_value=10_000, max_value=10**9))
def test_any_layout_holds_its_rules(seed: int) -> None:
    """No violation above 0.01 mm, never more beds than the boxes need."""
    _check(seed)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
def test_a_thousand_layouts_hold_their_rules(block: int) -> None:
    """The same on a fixed thousand of cases, a hundred a block."""
    for seed in range(block * CASES // 10, (block + 1) * CASES // 10):
        _check(seed)
