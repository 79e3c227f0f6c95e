"""Pieces moved on their own bed towards what a builder wants; which pieces lie on it stays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from planner.geometry.planar.flat import turned
from planner.model.batch import Placed
from planner.nesting.improve.soft_constraints import Floats, SoftConstraints
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import FilledBed
from planner.nesting.problem.placement import lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds

_CONTENT = 1e-9  # a cost below which nothing is left to wish
_TURN_DIGITS = 7
_SLACK_MM = (
    0.5  # outlines are simplified outwards: a little more than the clearance lets them lie side by side
)

Move = tuple[int, Floats, float]  # piece, where its middle goes, its turn


def polished(placed: Sequence[Placed], problem: NestingProblem) -> tuple[Placed, ...]:
    """The same pieces on the same bed, the first of the problem, laid nearer to what a builder wants of it.

    Slender pieces threaten fewer neighbours, long thin ones lie along the steady axis, and those of one
    section lie together, as far as that costs nothing. A move is kept only when it makes the bed better
    and every rule still holds; the slow check has the last word, and a bed that does not pass it stays as
    it was. A step of the problem is a move that is tried.
    """
    items, kind = {item.piece: item for item in problem.items}, problem.containers[0]
    mine = [items[p.piece] for p in placed]
    wanted = SoftConstraints(mine, kind)
    middles, turns = wanted.start(placed)
    if problem.budget <= 0 or wanted.cost(middles, turns) < _CONTENT:
        return tuple(placed)
    _Mover(replace(problem, items=mine), wanted, middles, turns).run(problem.budget, problem.seed)
    made = []
    for n, item in enumerate(mine):
        x, y = wanted.origin(n, middles[n], float(turns[n]))
        made.append(lay(item, x, y, float(turns[n])))
    bed = FilledBed(kind, tuple(made), 0.0)
    faults = verify_beds([bed], mine, problem.spacing_mm, inside_rings=problem.inside_rings)
    return tuple(placed) if faults else bed.placed


class _Mover:
    """Tries moves and keeps those that help; changes ``middles`` and ``turns`` in place."""

    def __init__(
        self, problem: NestingProblem, wanted: SoftConstraints, middles: Floats, turns: Floats
    ) -> None:
        from planner.nesting.feasibility.clearance import (
            Clearance,  # compiled code stays off the start-up path
        )

        items, kind = problem.items, problem.containers[0]
        self.items, self.wanted, self.middles, self.turns = items, wanted, middles, turns
        self.steady = {"": None, "x": 0.0, "y": 90.0}[kind.steady_axis]
        self.gap = problem.spacing_mm + _SLACK_MM
        middles_alone = [(f.x, f.y) for f in wanted.frames]
        self.rings = [np.asarray(i.outline) - m for i, m in zip(items, middles_alone, strict=True)]
        self.oracle = Clearance(items, kind, problem.spacing_mm, inside_rings=problem.inside_rings)
        self.bounds = np.array(free_region(kind.bed).bounds).reshape(2, 2)
        self._boxes: dict[tuple[int, float], Floats] = {}
        for n in range(len(items)):
            self._lay(n, middles[n], float(turns[n]))

    def run(self, tries: int, seed: int) -> None:
        rng = np.random.default_rng(seed)
        cost = self.wanted.cost(self.middles, self.turns)
        for quarters in (1, 3, 2):
            cost = self._kept(self._whole(quarters), cost)
        for k in range(tries):
            if cost < _CONTENT:
                return
            cost = self._kept(list(self._move(rng, 1.0 - k / tries)), cost)

    def _kept(self, moves: Sequence[Move], cost: float) -> float:
        """Make the moves when the bed gets better and all rules hold; returns the cost then.

        The wishes are asked first: they say no to most moves, and are a fiftieth of the work of the rules.
        """
        before = [(n, self.middles[n].copy(), float(self.turns[n])) for n, _, _ in moves]
        self._take(moves)
        new = self.wanted.cost(self.middles, self.turns)
        if new < cost - _CONTENT and self._possible(moves, before):
            return new
        self._take(before)
        return cost

    def _take(self, moves: Sequence[Move]) -> None:
        for n, middle, turn in moves:
            self.middles[n], self.turns[n] = middle, turn

    def _whole(self, quarters: int) -> list[Move]:
        """Everything some quarter turns on about the middle of the bed."""
        centre = self.bounds.mean(axis=0)
        swung = turned(self.middles - centre, 90.0 * quarters) + centre
        turns = (self.turns + 90.0 * quarters) % 360.0
        return [(n, swung[n], float(turns[n])) for n in range(len(self.items))]

    def _move(self, rng: np.random.Generator, wide: float) -> Iterator[Move]:
        """One piece shifted, turned or thrown anywhere, or two that change places; steps shrink."""
        n = int(rng.integers(len(self.items)))
        way = rng.random()
        turn = float(self.turns[n])
        if way < 0.15:
            step = rng.normal(0.0, 0.02 + 0.25 * wide, 2) * (self.bounds[1] - self.bounds[0])
            yield n, self.middles[n] + step, turn
        elif way < 0.4 and len(self.items) > 1:
            yield self._beside(n, rng)
        elif way < 0.5:
            yield n, self.middles[n].copy(), self._turn(n, rng)
        elif way < 0.75 or len(self.items) < 2:
            yield n, rng.uniform(self.bounds[0], self.bounds[1]), self._turn(n, rng)
        else:
            m = (n + 1 + int(rng.integers(len(self.items) - 1))) % len(self.items)
            yield n, self.middles[m].copy(), turn if way < 0.9 else self._turn(n, rng)
            yield m, self.middles[n].copy(), float(self.turns[m]) if way < 0.9 else self._turn(m, rng)

    def _turn(self, n: int, rng: np.random.Generator) -> float:
        turns = self.items[n].turns
        if turns is not None:
            return float(turns[int(rng.integers(len(turns)))])
        if self.steady is not None and rng.random() < 0.3:
            turn = self.steady - self.wanted.angle(n) + 180.0 * int(rng.integers(2))
        else:
            turn = float(self.turns[n]) + 90.0 * int(rng.integers(4))
        return round(turn % 360.0, _TURN_DIGITS) % 360.0

    def _beside(self, n: int, rng: np.random.Generator) -> Move:
        """The piece next to another, a clearance away, edges or middles of their boxes in line."""
        m = (n + 1 + int(rng.integers(len(self.items) - 1))) % len(self.items)
        turn = self._turn(n, rng)
        mine, other = self._box(n, turn), self._box(m, float(self.turns[m])) + self.middles[m]
        axis, after = int(rng.integers(2)), bool(rng.integers(2))
        middle = np.zeros(2)
        gap = self.gap if after else -self.gap
        middle[axis] = other[int(after), axis] + gap - mine[int(not after), axis]
        line = int(rng.integers(3))
        across = 1 - axis
        if line < 2:
            middle[across] = other[line, across] - mine[line, across]
        else:
            middle[across] = (other[:, across].sum() - mine[:, across].sum()) / 2.0
        return n, middle, turn

    def _box(self, n: int, turn: float) -> Floats:
        """Low and high corner (2, 2) of the piece about the middle of its frame; kept, for turns are few."""
        if (n, turn) not in self._boxes:
            ring = turned(self.rings[n], turn)
            self._boxes[n, turn] = np.array([ring.min(axis=0), ring.max(axis=0)])
        return self._boxes[n, turn]

    def _possible(self, moves: Sequence[Move], before: Sequence[Move]) -> bool:
        """Make the moves on the oracle when every rule holds; else leave it as it was before."""
        for n, _, _ in moves:
            self.oracle.lift(self.items[n].piece)
        for n, middle, turn in moves:
            if not self.oracle.may_lie(self.items[n].piece, self._place(n, middle, turn)):
                for m, old_middle, old_turn in before:
                    self._lay(m, old_middle, old_turn)
                return False
            self._lay(n, middle, turn)
        return True

    def _place(self, n: int, middle: Floats, turn: float):  # type: ignore[no-untyped-def]
        from planner.nesting.feasibility.clearance import Place

        return Place(*self.wanted.origin(n, middle, turn), turn)

    def _lay(self, n: int, middle: Floats, turn: float) -> None:
        self.oracle.lay(self.items[n].piece, self._place(n, middle, turn))
