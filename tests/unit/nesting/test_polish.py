"""Pieces moved on their bed towards what a builder wants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from planner.model.batch import Placed
from planner.model.effort import QUICK
from planner.nesting.improve import local_improvement
from planner.nesting.improve.local_improvement import Move, polished
from planner.nesting.improve.soft_constraints import SoftConstraints
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, FilledBed, Item
from planner.nesting.problem.placement import lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed

TRIES = 3000


def polish(items: list[Item], placed: tuple[Placed, ...], kind: BedKind, seed: int = 1) -> tuple[Placed, ...]:
    """Polish one bed and hold the answer against the slow check."""
    made = polished(placed, NestingProblem(items, [kind], 3.0, steps=TRIES, seed=seed, effort=QUICK))
    assert verify_beds([FilledBed(kind, made, 0.0)], items, 3.0) == ()
    assert [p.piece for p in made] == [p.piece for p in placed]
    return made


def wish(items: list[Item], placed: tuple[Placed, ...], kind: BedKind) -> tuple[float, float, float]:
    wanted = SoftConstraints(items, kind)
    return wanted.values(*wanted.start(placed))


def test_threat_by_hand() -> None:
    """Two blades 10 mm thick and 100 mm tall, 40 mm apart: each lies 60 % deep in the other's fall."""
    blades = [item(f"b{n}", rectangle(60.0, 10.0), height=100.0) for n in range(2)]
    lying = (lay(blades[0], 20.0, 20.0, 0.0), lay(blades[1], 20.0, 70.0, 0.0))
    assert wish(blades, lying, square_bed())[0] == pytest.approx(2 * 0.6)


def test_a_toppled_blade_takes_no_neighbour() -> None:
    """Three blades side by side are moved until none lies where another falls."""
    blades = [item(f"b{n}", rectangle(60.0, 10.0), height=100.0) for n in range(3)]
    lying = tuple(lay(b, 20.0, 20.0 + 14.0 * n, 0.0) for n, b in enumerate(blades))
    assert wish(blades, lying, square_bed())[0] > 4.0
    assert wish(blades, polish(blades, lying, square_bed()), square_bed())[0] == 0.0


def test_a_stout_piece_threatens_nobody() -> None:
    """A cube does not topple: nothing is wished and nothing is moved."""
    cubes = [item(f"c{n}", rectangle(30.0, 30.0), height=30.0) for n in range(2)]
    lying = tuple(lay(c, 10.0 + 40.0 * n, 10.0, 0.0) for n, c in enumerate(cubes))
    assert polish(cubes, lying, square_bed()) == lying


@pytest.mark.parametrize(("axis", "turn"), [("x", 90.0), ("y", 0.0)])
def test_long_thin_pieces_lie_along_the_steady_axis(axis: str, turn: float) -> None:
    """Spars laid across the axis that moves least are turned along it."""
    kind = replace(square_bed(), steady_axis=axis)
    spars = [item(f"s{n}", rectangle(150.0, 12.0)) for n in range(5)]
    lying = tuple(
        lay(s, 30.0 + 20.0 * n if turn else 10.0, 10.0 if turn else 10.0 + 20.0 * n, turn)
        for n, s in enumerate(spars)
    )
    assert wish(spars, lying, kind)[1] == pytest.approx(5.0)
    assert wish(spars, polish(spars, lying, kind), kind)[1] == pytest.approx(0.0, abs=1e-6)


def test_parts_of_a_section_lie_together() -> None:
    """Two sections mixed like a chessboard come apart; their distance from their middles halves at least."""
    tiles = [replace(item(f"t{n}", rectangle(20.0, 20.0)), group="ab"[n % 2]) for n in range(8)]
    lying = tuple(lay(t, 10.0 + 50.0 * (n % 4), 10.0 + 150.0 * (n // 4), 0.0) for n, t in enumerate(tiles))
    before = wish(tiles, lying, square_bed())[2]
    assert wish(tiles, polish(tiles, lying, square_bed()), square_bed())[2] < 0.5 * before


def test_a_locked_turn_stays_locked() -> None:
    """A spar that may lie at 90 degrees only is not turned, whatever the steady axis."""
    kind = replace(square_bed(), steady_axis="x")
    spar = item("s", rectangle(150.0, 12.0), turns=(90.0,))
    assert [p.turn_deg for p in polish([spar], (lay(spar, 30.0, 10.0, 90.0),), kind)] == [90.0]


def test_a_full_bed_keeps_its_pieces_on_the_bed() -> None:
    """Four squares that fill the bed to the clearance: swapped at most, never off it."""
    squares = [replace(item(f"p{n}", rectangle(104.5, 104.5)), group=str(n % 2)) for n in range(4)]
    lying = fill(NestingProblem(squares, [square_bed()], 3.0, effort=QUICK, seed=1)).beds[0].placed
    polish(squares, lying, square_bed())


def test_same_seed_same_polish() -> None:
    """Two calls agree to the last bit."""
    tiles = [replace(item(f"t{n}", ellipse(30.0, 20.0)), group="ab"[n % 2]) for n in range(8)]
    lying = fill(NestingProblem(tiles, [square_bed()], 3.0, effort=QUICK, seed=1)).beds[0].placed
    assert polish(tiles, lying, square_bed(), 5) == polish(tiles, lying, square_bed(), 5)


class RulesFirst(local_improvement._Mover):
    """The plain order of asking: every rule of every move, then what the bed is worth with it."""

    asked = 0

    def _kept(self, moves: Sequence[Move], cost: float) -> float:
        RulesFirst.asked += 1
        before = [(n, self.middles[n].copy(), float(self.turns[n])) for n, _, _ in moves]
        if not self._possible(moves, before):
            return cost
        self._take(moves)
        new = self.wanted.cost(self.middles, self.turns)
        if new < cost - 1e-9:
            return new
        self._take(before)
        for n, middle, turn in before:
            self._lay(n, middle, turn)
        return cost


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_wishes_asked_first_lay_the_same_bed(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rules are asked of few moves, and every piece comes to lie where it lies when they are asked of all."""
    kind = replace(square_bed(), steady_axis="x")
    blades = [item(f"b{n}", rectangle(60.0, 10.0), height=100.0) for n in range(4)]
    spars = [replace(item(f"s{n}", rectangle(90.0, 12.0)), group="s") for n in range(3)]
    items = [*blades, *spars, item("e", ellipse(50.0, 30.0, 24))]
    lying = tuple(lay(one, 10.0, 10.0 + 20.0 * n, 0.0) for n, one in enumerate(items))
    asked: list[int] = []
    rules = local_improvement._Mover._possible
    monkeypatch.setattr(
        local_improvement._Mover, "_possible", lambda *words: asked.append(1) or rules(*words)
    )
    made = polish(items, lying, kind, seed)
    often, RulesFirst.asked = len(asked), 0
    monkeypatch.setattr(local_improvement, "_Mover", RulesFirst)
    assert polish(items, lying, kind, seed) == made != lying
    assert often < RulesFirst.asked / 2
