"""Fewer beds: take one away, throw its pieces on the others, and pull apart what overlaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.model.batch import Placed
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, FilledBed
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.problem.spacing import pins
from planner.nesting.separation.separate import Layout, SeparationParams, Stop, separate
from planner.nesting.separation.table import (
    ShapedProblem,
    layout_of,
    placed_of,
    room_left,
    scatter,
    shaped,
    table,
)
from planner.nesting.verify import verify_beds

Beds = list[tuple[BedKind, list[Placed]]]

_PARAMS = SeparationParams(wide=40, near=20, patience=60, strikes=2)


@dataclass(frozen=True, slots=True)
class _Try:
    """Which beds to keep (by number) and what kinds they become."""

    keep: tuple[int, ...]
    kinds: tuple[BedKind, ...]


def fewer_beds(problem: NestingProblem, beds: Beds) -> Beds:
    """At most as many beds as given, by no more steps than the problem has.

    Where openings may be used, half the budget goes to filled outlines first: they are quicker to
    judge, and what holds for them holds with openings too.
    """
    budget = problem.budget
    hollow = problem.inside_rings and any(item.holes for item in problem.items)
    whole = [(problem.inside_rings, budget)]
    shares = [(False, budget // 2), (True, budget - budget // 2)] if hollow else whole
    spent = 0
    for rings, share in shares:

        def over(steps: int, base: int = spent, share: int = share) -> bool:
            return steps >= share or problem.stop(base + steps)

        beds = dissolve(shaped(replace(problem, inside_rings=rings, stop=over)), beds)
        spent += share
    return beds


def dissolve(what: ShapedProblem, beds: Beds) -> Beds:
    """Beds after as many have been dissolved as the search manages before it is stopped."""
    kinds, stop = what.problem.containers, what.problem.stop
    rng = np.random.default_rng(what.problem.seed)
    spent = 0
    round_number = 0
    while len(beds) > 1 and not stop(spent):
        tries = [t for t in _tries(beds, kinds) if room_left(what, t.kinds) > 0.0]
        if not tries:
            break
        chosen = tries[round_number % len(tries)]

        def over(steps: int, base: int = spent) -> bool:
            return stop(base + steps)

        found, used = _attempt(what, beds, chosen, rng, over)
        spent += used
        round_number = 0 if found is not None else round_number + 1
        beds = found or beds
    return beds


def _tries(beds: Beds, kinds: Sequence[BedKind]) -> list[_Try]:
    """Without one of the emptier beds; the others as they are, or all of the roomiest kinds."""
    fill = [sum(_area(p) for p in placed) for _, placed in beds]
    order = sorted(range(len(beds)), key=lambda b: (fill[b], b))
    tries = []
    for gone in order[: max(3, len(beds) // 2)]:
        keep = tuple(b for b in range(len(beds)) if b != gone)
        same = tuple(beds[b][0] for b in keep)
        tries.append(_Try(keep, same))
        roomy = _roomiest(len(keep), kinds)
        if roomy and sorted(map(_ground, roomy)) != sorted(map(_ground, same)):
            tries.append(_Try(keep, roomy))
    return tries


def _roomiest(number: int, kinds: Sequence[BedKind]) -> tuple[BedKind, ...]:
    chosen: list[BedKind] = []
    for kind in sorted(kinds, key=lambda k: -_ground(k)):
        room = number - len(chosen)
        chosen += [kind] * (room if kind.count is None else min(room, kind.count))
    return tuple(chosen) if len(chosen) == number else ()


def _ground(kind: BedKind) -> float:
    return free_region(kind.bed).area_mm2


def _area(placed: Placed) -> float:
    ring = np.asarray(placed.outline_mm)
    return abs(float(np.dot(ring[:, 0], np.roll(ring[:, 1], -1) - np.roll(ring[:, 1], 1)))) / 2.0


def _attempt(
    what: ShapedProblem, beds: Beds, chosen: _Try, rng: np.random.Generator, stop: Stop
) -> tuple[Beds | None, int]:
    start = layout_of(what, [beds[b][1] for b in chosen.keep])
    start = _moved(start, [beds[b][0] for b in chosen.keep], chosen.kinds)
    pinned = pins(what.items, chosen.kinds, start.bed.tolist())
    seed = int(rng.integers(2**62))
    if pinned is None:
        return None, 1
    where = table(what, chosen.kinds, seed, pinned)
    loose = [
        n
        for n, item in enumerate(what.items)
        if start.bed[n] < 0 or item.height_mm > chosen.kinds[start.bed[n]].clear_height_mm
    ]
    start = scatter(start, loose, where, rng)
    where.set(start)
    loss, layout = separate(where, _PARAMS, stop)
    if loss > 0.0:
        return None, where.steps
    placed = placed_of(what, layout, len(chosen.kinds))
    found = [(kind, p) for kind, p in zip(chosen.kinds, placed, strict=True) if p]
    checked = [FilledBed(kind, tuple(p), 0.0) for kind, p in found]
    # the slow check has the last word on every layout that would be kept
    asked = what.problem
    sound = not verify_beds(checked, asked.items, asked.spacing_mm, inside_rings=asked.inside_rings)
    return (found if sound else None), where.steps


def _moved(layout: Layout, old: Sequence[BedKind], new: Sequence[BedKind]) -> Layout:
    """Pieces keep their place about the middle of the bed when its kind changes."""
    x, y = layout.x.copy(), layout.y.copy()
    for n, b in enumerate(layout.bed):
        if b >= 0:
            ax0, ay0, ax1, ay1 = free_region(old[b].bed).bounds
            bx0, by0, bx1, by1 = free_region(new[b].bed).bounds
            x[n] += (bx0 + bx1 - ax0 - ax1) / 2.0
            y[n] += (by0 + by1 - ay0 - ay1) / 2.0
    return Layout(layout.bed, x, y, layout.turn)
