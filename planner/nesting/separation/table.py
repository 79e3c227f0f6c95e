"""Items and beds made ready for the search, and the answer read back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planner.geometry.planar.flat import turned
from planner.model.batch import Placed
from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.containers import packed_grounds, room_for_grown
from planner.nesting.problem.forms import Form, form_of, packed_forms
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.placement import lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.problem.spacing import pins, reach_mm
from planner.nesting.problem.state import new_scratch, new_state
from planner.nesting.separation.separate import Layout, Table


@dataclass(frozen=True, eq=False)
class ShapedProblem:
    """A problem with the shapes of its items: what stays the same while beds come and go.

    ``reach_mm`` is the most by which an outline is grown.
    """

    problem: NestingProblem
    forms: tuple[Form, ...]
    form: tuple[int, ...]
    reach_mm: float

    @property
    def items(self) -> Sequence[Item]:
        """The pieces by number."""
        return self.problem.items

    def shape(self, n: int) -> Form:
        """The shape of item n."""
        return self.forms[self.form[n]]


def shaped(problem: NestingProblem) -> ShapedProblem:
    """Items and their shapes for these kinds of beds; equal outlines share one."""
    forms: dict[int, int] = {}
    order: list[Form] = []
    which = []
    reaches = [reach_mm(item, problem.spacing_mm, problem.containers) for item in problem.items]
    for item, reach in zip(problem.items, reaches, strict=True):
        shape = form_of(item, reach, inside_rings=problem.inside_rings)
        if id(shape) not in forms:
            forms[id(shape)] = len(order)
            order.append(shape)
        which.append(forms[id(shape)])
    most = max(reaches, default=problem.spacing_mm / 2.0)
    return ShapedProblem(problem, tuple(order), tuple(which), most)


def table(
    what: ShapedProblem, beds: Sequence[BedKind], seed: int, pinned: Mapping[int, int] | None = None
) -> Table:
    """All that one search works on, for these beds; ``pinned`` pieces may lie on one bed only."""
    kinds = list(dict.fromkeys(beds))
    grounds = packed_grounds(kinds, [kinds.index(bed) for bed in beds])
    allowed = np.array(
        [[int(item.height_mm <= bed.clear_height_mm) for bed in beds] for item in what.items], dtype=np.int64
    )
    for n, b in (pinned or {}).items():
        allowed[n, np.arange(len(beds)) != b] = 0
    forms = packed_forms(what.forms)
    return Table(forms, grounds, new_state(forms, np.array(what.form), allowed), new_scratch(forms, seed))


def layout_of(what: ShapedProblem, beds: Sequence[Sequence[Placed]]) -> Layout:
    """Where the middles lie; pieces that lie nowhere get bed -1."""
    number = {item.piece: n for n, item in enumerate(what.items)}
    n = len(what.items)
    bed = np.full(n, -1, dtype=np.int64)
    x, y, turn = (np.zeros(n) for _ in range(3))
    for b, placed in enumerate(beds):
        for p in placed:
            k = number[p.piece]
            middle = turned(np.asarray([what.shape(k).middle]), p.turn_deg)[0]
            bed[k], x[k], y[k] = b, p.x_mm + middle[0], p.y_mm + middle[1]
            turn[k] = np.radians(p.turn_deg)
    return Layout(bed, x, y, turn)


def placed_of(what: ShapedProblem, layout: Layout, beds: int) -> list[list[Placed]]:
    """The answer in bed coordinates."""
    answer: list[list[Placed]] = [[] for _ in range(beds)]
    for n, item in enumerate(what.items):
        turn = turn_deg(item, float(layout.turn[n]))
        middle = turned(np.asarray([what.shape(n).middle]), turn)[0]
        x, y = float(layout.x[n] - middle[0]), float(layout.y[n] - middle[1])
        answer[int(layout.bed[n])].append(lay(item, x, y, turn))
    return answer


def turn_deg(item: Item, turn: float) -> float:
    """A turn in degrees, 0 .. 360; of a list the very number that is on it."""
    degrees = float(np.degrees(turn))
    if item.turns is not None:
        return min(item.turns, key=lambda t: abs((t - degrees + 180.0) % 360.0 - 180.0))
    return round(degrees % 360.0, 7) % 360.0


def room_left(what: ShapedProblem, beds: Sequence[BedKind]) -> float:
    """FreeRegion area of the beds less that of the pieces, mm2; not above zero: they can never fit.

    Pieces are grown by half the clearance and so is the ground: no two grown pieces overlap. The
    outlines are simplified outwards, so two per cent are given back.
    """
    tallest = max(bed.clear_height_mm for bed in beds)
    if any(item.height_mm > tallest for item in what.items):
        return 0.0
    if pins(what.items, beds, [-1] * len(what.items)) is None:
        return 0.0
    room = sum(room_for_grown(kind.bed, what.reach_mm) * n for kind, n in Counter(beds).items())
    return room * 1.02 - sum(what.shape(n).area for n in range(len(what.items)))


def scatter(layout: Layout, loose: Sequence[int], where: Table, rng: np.random.Generator) -> Layout:
    """The loose pieces thrown onto beds that may take them."""
    bed, x, y, turn = layout.bed.copy(), layout.x.copy(), layout.y.copy(), layout.turn.copy()
    for n in loose:
        open_beds = np.flatnonzero(where.state.who[n, rows.ALLOWED :])
        b = int(rng.choice(open_beds))
        x0, y0, x1, y1 = where.grounds.bed[where.grounds.kind[b], :4]
        bed[n] = b
        x[n] = x0 + (x1 - x0) * rng.uniform(0.25, 0.75)
        y[n] = y0 + (y1 - y0) * rng.uniform(0.25, 0.75)
    return Layout(bed, x, y, turn)
