"""May this piece lie here? No search: yes or no for one placement on one bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.geometry.planar.flat import turned_point
from planner.model.effort import QUICK
from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.separation.place_kernel import placed_loss, settle
from planner.nesting.separation.separate import Table
from planner.nesting.separation.table import ShapedProblem, shaped, table

_OUTSIDE = -1  # the bed of a piece that does not lie yet


@dataclass(frozen=True, slots=True)
class Place:
    """Where the origin of the standing piece would come to lie, and its turn."""

    x_mm: float
    y_mm: float
    turn_deg: float


class Clearance:
    """One bed and the pieces that may be laid on it, asked placement by placement.

    The outlines are simplified outwards by at most 0.2 mm, so that a yes always holds for the true
    ones and a no may be wrong by that much. A turn outside a piece's list is refused.

    Parameters
    ----------
    items : pieces with different names; none lies at first
    kind : the bed
    clearance_mm : distance kept between pieces
    inside_rings : whether pieces may lie in the openings of others
    """

    def __init__(
        self, items: Sequence[Item], kind: BedKind, clearance_mm: float, *, inside_rings: bool = True
    ) -> None:
        problem = NestingProblem(items, [kind], clearance_mm, seed=0, effort=QUICK, inside_rings=inside_rings)
        self._what: ShapedProblem = shaped(problem)
        self._table: Table = table(self._what, [kind], problem.seed)
        self._number = {item.piece: n for n, item in enumerate(items)}
        self._table.state.who[:, rows.BED] = _OUTSIDE

    def may_lie(self, piece: str, place: Place) -> bool:
        """Whether the piece keeps bed, margin, keep-outs, height and clearance at that place."""
        n = self._number[piece]
        if not self._allowed(n, place.turn_deg):
            return False
        x, y = self._middle(n, place)
        t = self._table
        turn = float(np.radians(place.turn_deg))
        return bool(placed_loss(t.forms, t.grounds, t.state, t.scratch, n, 0, x, y, turn, 0.0) == 0.0)

    def lay(self, piece: str, place: Place) -> None:
        """Lay the piece there, sound or not; others are then judged against it."""
        n = self._number[piece]
        x, y = self._middle(n, place)
        t = self._table
        settle(t.forms, t.grounds, t.state, t.scratch, n, 0, x, y, float(np.radians(place.turn_deg)))

    def lift(self, piece: str) -> None:
        """Take the piece off the bed."""
        state, n = self._table.state, self._number[piece]
        state.who[n, rows.BED] = _OUTSIDE
        state.loss[n, :] = 0.0
        state.loss[:, n] = 0.0
        state.at[n, rows.X0 : rows.BED_WEIGHT] = 0.0

    def _allowed(self, n: int, turn_deg: float) -> bool:
        if not self._table.state.who[n, rows.ALLOWED]:
            return False
        turns = self._what.items[n].turns
        return turns is None or any(abs((turn_deg - t + 180.0) % 360.0 - 180.0) < 1e-9 for t in turns)

    def _middle(self, n: int, place: Place) -> tuple[float, float]:
        u, v = turned_point(*self._what.shape(n).middle, place.turn_deg)
        return place.x_mm + u, place.y_mm + v
