"""Pull overlapping pieces apart: the search behind every use of true outlines.

Source: the separation procedure of J. Gardeyn and T. Wauters, arXiv 2509.13329.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.forms import Floats, Forms, Ints
from planner.nesting.problem.state import Grounds, Scratch, State
from planner.nesting.separation.move_kernel import move_all, rebuild, total_loss, weigh

Stop = Callable[[int], bool]
"""Asked after every pass with the steps so far; True ends the search."""


@dataclass(frozen=True, slots=True)
class SeparationParams:
    """How hard the separation tries; all are counts or factors of the published procedure."""

    wide: int = 50
    near: int = 25
    patience: int = 200
    strikes: int = 3
    most: float = 2.0
    least: float = 1.2
    decay: float = 0.95


@dataclass(frozen=True, eq=False)
class Layout:
    """Where each piece lies: bed, x, y, turn in radians; each (n,)."""

    bed: Ints
    x: Floats
    y: Floats
    turn: Floats


@dataclass(frozen=True, eq=False)
class Table:
    """All that one search works on."""

    forms: Forms
    grounds: Grounds
    state: State
    scratch: Scratch

    def set(self, layout: Layout) -> None:
        """Lay all pieces as the layout says."""
        rebuild(
            self.forms, self.grounds, self.state, self.scratch, layout.bed, layout.x, layout.y, layout.turn
        )

    def layout(self) -> Layout:
        """Where the pieces lie now."""
        s = self.state
        x, y, turn = (s.at[:, column].copy() for column in (rows.X, rows.Y, rows.ANGLE))
        return Layout(s.who[:, rows.BED].copy(), x, y, turn)

    def take(self, other: Table) -> None:
        """Everything as on the other table; the random numbers stay apart."""
        for mine, theirs in zip(self.state, other.state, strict=True):
            mine[...] = theirs
        self.grounds.bed[...] = other.grounds.bed

    def fresh_weights(self) -> None:
        """Forget which pairs were hard."""
        self.state.weight[:] = 1.0
        self.state.at[:, rows.BED_WEIGHT] = 1.0

    @property
    def loss(self) -> float:
        """Overlap that is left, 0 when the layout is sound."""
        return float(total_loss(self.state))

    @property
    def steps(self) -> int:
        """Placements judged so far."""
        return int(self.scratch.steps[0])


def separate(
    table: Table, params: SeparationParams, stop: Stop, twins: Sequence[Table] = ()
) -> tuple[float, Layout]:
    """Move pieces until nothing overlaps, patience ends, or ``stop`` says so.

    Every pass is also made on each of the ``twins``, in a thread of its own, and the best is kept.
    Returns the least loss and its layout, on which the table is left.
    """
    if not twins:
        return _separate(table, params, stop, lambda: _pass(table, params))
    with ThreadPoolExecutor(len(twins)) as pool:
        return _separate(table, params, stop, lambda: _best_pass(table, params, twins, pool))


def _pass(table: Table, params: SeparationParams) -> float:
    return float(move_all(table.forms, table.grounds, table.state, table.scratch, params.wide, params.near))


def _best_pass(
    table: Table, params: SeparationParams, twins: Sequence[Table], pool: ThreadPoolExecutor
) -> float:
    for twin in twins:
        twin.take(table)
    others = [pool.submit(_pass, twin, params) for twin in twins]
    best, loss = table, _pass(table, params)
    for twin, other in zip(twins, others, strict=True):
        if other.result() < loss:
            best, loss = twin, other.result()
    if best is not table:
        table.take(best)
    return loss


def _separate(
    table: Table, params: SeparationParams, stop: Stop, one_pass: Callable[[], float]
) -> tuple[float, Layout]:
    least, best = table.loss, table.layout()
    strikes = 0
    while least > 0.0 and strikes < params.strikes and not stop(table.steps):
        start, idle = least, 0
        while idle < params.patience and not stop(table.steps):
            loss = one_pass()
            if loss == 0.0:
                return 0.0, table.layout()
            if loss < least:
                idle = 0 if loss < 0.98 * least else idle + 1
                least, best = loss, table.layout()
            else:
                idle += 1
            weigh(table.state, params.most, params.least, params.decay)
        strikes = strikes + 1 if least > 0.98 * start else 0
        table.set(best)
    return least, best
