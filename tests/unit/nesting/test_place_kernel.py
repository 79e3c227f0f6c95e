"""One piece at one place: turned, judged against the others, and put down."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.nesting.problem.array_layout import (
    ANGLE,
    BED,
    BED_LOSS,
    BED_WEIGHT,
    EX0,
    EX1,
    EY0,
    EY1,
    HX0,
    HX1,
    HY0,
    HY1,
    NV,
    PR,
    PX,
    PY,
    VX,
    VY,
    X0,
    X1,
    Y0,
    Y1,
    X,
    Y,
)
from planner.nesting.problem.array_layout import MANY as COUNTS
from planner.nesting.separation.place_kernel import pair_loss, placed_loss, pose, settle
from planner.nesting.separation.separate import Table
from planner.nesting.separation.table import shaped
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed
from tests.unit.nesting.tables import Place, asked, laid, laid_as, outline

WEDGE = item("wedge", ((0.0, 0.0), (70.0, 0.0), (0.0, 40.0)))
PLATE = item("plate", rectangle(60.0, 30.0))
RING = item("ring", ellipse(120.0, 120.0), holes=(ellipse(100.0, 100.0),))
BED_ = square_bed()
INF = math.inf


def judged(where: Table, i: int, place: Place, bound: float = INF) -> float:
    bed, x, y, turn = place
    return float(
        placed_loss(where.forms, where.grounds, where.state, where.scratch, i, bed, x, y, turn, bound)
    )


@pytest.mark.parametrize("turn", [0.0, 0.3, math.pi / 2, 2.5, math.pi, 3 * math.pi / 2])
def test_a_pose_is_the_shape_turned_about_its_middle(turn: float) -> None:
    """Corners, circles and both boxes as the polygon library turns them."""
    what = shaped(asked([WEDGE], BED_))
    where = laid_as(what, [BED_], [(0, 100.0, 100.0, 0.7)])
    forms, scratch = where.forms, where.scratch
    pose(forms.shape, forms.counts, 0, turn, 0, scratch.shape, scratch.frame)
    ring = outline(what, 0, (0, 0.0, 0.0, turn))
    many = forms.counts[0, COUNTS, NV]
    turned = np.asarray(ring.exterior.coords)[:-1]
    assert turned == pytest.approx(scratch.shape[VX : VY + 1, :many].T, abs=1e-9)
    assert scratch.frame[[EX0, EY0, EX1, EY1]] == pytest.approx(ring.bounds, abs=1e-9)
    poles = what.shape(0).poles
    cos, sin = math.cos(turn), math.sin(turn)
    assert scratch.shape[PX, : len(poles)] == pytest.approx(cos * poles[:, 0] - sin * poles[:, 1], abs=1e-9)
    assert scratch.shape[PY, : len(poles)] == pytest.approx(sin * poles[:, 0] + cos * poles[:, 1], abs=1e-9)
    assert scratch.shape[PR, : len(poles)].tolist() == poles[:, 2].tolist()
    hull = what.shape(0).hull @ np.array([[cos, sin], [-sin, cos]])
    wanted = [*hull.min(axis=0), *hull.max(axis=0)]
    assert scratch.frame[[HX0, HY0, HX1, HY1]] == pytest.approx(wanted, abs=1e-9)


def test_quarter_turns_are_exact() -> None:
    """No rounding of a cosine: width and depth change places to the last bit."""
    where = laid([PLATE], [BED_], [(0, 100.0, 100.0, 0.1)])
    forms, scratch = where.forms, where.scratch
    boxes = []
    for quarter in range(4):
        pose(forms.shape, forms.counts, 0, quarter * math.pi / 2, 0, scratch.shape, scratch.frame)
        boxes.append((scratch.frame[HX1] - scratch.frame[HX0], scratch.frame[HY1] - scratch.frame[HY0]))
    assert boxes == [(60.0, 30.0), (30.0, 60.0)] * 2


@settings(max_examples=50, deadline=None)
@given(
    x=st.floats(20.0, 200.0),
    y=st.floats(20.0, 200.0),
    turns=st.tuples(st.floats(0.0, 6.28), st.floats(0.0, 6.28)),
    kinds=st.sampled_from([(WEDGE, PLATE), (PLATE, RING), (RING, WEDGE), (WEDGE, WEDGE)]),
)
def test_a_pair_has_a_loss_exactly_where_grown_outlines_overlap(
    x: float, y: float, turns: tuple[float, float], kinds: tuple[object, object]
) -> None:
    """As the polygon library says, openings included; the loss is the same from both sides."""
    one, other = kinds
    items = [one, item("b", other.outline, holes=other.holes)]  # type: ignore[attr-defined]
    what = shaped(asked(items, BED_))  # type: ignore[arg-type]
    places = [(0, x, y, turns[0]), (0, 110.0, 110.0, turns[1])]
    where = laid_as(what, [BED_], places)
    common = outline(what, 0, places[0]).intersection(outline(what, 1, places[1])).area
    found = where.state.loss
    if not 0.0 < common < 1e-3:
        assert (found[0, 1] > 0.0) == (common > 0.0)
    assert found[0, 1] == found[1, 0]
    again = laid_as(what, [BED_], places)
    settle(again.forms, again.grounds, again.state, again.scratch, 0, *places[0])
    assert (again.state.loss[0, 1] > 0.0) == (found[0, 1] > 0.0)
    assert found[0, 0] == found[1, 1] == 0.0


def test_a_piece_in_an_opening_does_no_harm_until_it_touches_the_rim() -> None:
    """A disc of 60 in an opening of 100 grown by 1.5 all round: free to 17 mm off the middle."""
    items = [RING, item("disc", ellipse(60.0, 60.0))]
    what = shaped(asked(items, BED_))
    for d, free in ((0.0, True), (16.0, True), (18.0, False), (60.0, False)):
        where = laid_as(what, [BED_], [(0, 110.0, 110.0, 0.0), (0, 110.0 + d, 110.0, 0.0)])
        assert (where.state.loss[0, 1] == 0.0) == free
    closed = shaped(asked(items, BED_, rings=False))
    where = laid_as(closed, [BED_], [(0, 110.0, 110.0, 0.0), (0, 110.0, 110.0, 0.0)])
    assert where.state.loss[0, 1] > 0.0


def test_deeper_is_worse() -> None:
    """Two discs that come together: nought while they are apart, then more and more."""
    items = [item("a", ellipse(50.0, 50.0)), item("b", ellipse(50.0, 50.0))]
    what = shaped(asked(items, BED_))
    found = [
        laid_as(what, [BED_], [(0, 60.0, 100.0, 0.0), (0, 60.0 + d, 100.0, 0.0)]).state.loss[0, 1]
        for d in (54.0, 50.0, 40.0, 25.0, 10.0)
    ]
    assert found[0] == 0.0
    assert all(a < b for a, b in pairwise(found))


def test_the_weighted_sum_of_bed_and_neighbours() -> None:
    """Half off the bed and on two others, with weights of 3, 5 and 7; another bed does not count."""
    items = [item(f"p{n}", rectangle(40.0, 40.0)) for n in range(4)]
    beds = [BED_, BED_]
    places = [(0, 5.0, 100.0, 0.0), (0, 30.0, 100.0, 0.0), (0, 5.0, 130.0, 0.0), (1, 5.0, 100.0, 0.0)]
    where = laid(items, beds, places)
    state = where.state
    plain = judged(where, 0, places[0])
    parts = [state.at[0, BED_LOSS], state.loss[0, 1], state.loss[0, 2]]
    assert all(part > 0.0 for part in parts)
    assert state.loss[0, 3] == 0.0
    assert plain == pytest.approx(sum(parts))
    state.at[0, BED_WEIGHT], state.weight[0, 1], state.weight[0, 2] = 3.0, 5.0, 7.0
    assert judged(where, 0, places[0]) == pytest.approx(3.0 * parts[0] + 5.0 * parts[1] + 7.0 * parts[2])
    assert judged(where, 0, (1, 100.0, 100.0, 0.0)) == 0.0


def test_a_bound_ends_the_sum_early_and_never_tells_less_than_it() -> None:
    """Above the bound any value above it will do; below it the sum is whole. Each question is a step."""
    items = [item(f"p{n}", rectangle(40.0, 40.0)) for n in range(3)]
    where = laid(items, [BED_], [(0, 5.0, 100.0, 0.0), (0, 30.0, 100.0, 0.0), (0, 5.0, 130.0, 0.0)])
    before = where.steps
    whole = judged(where, 0, (0, 5.0, 100.0, 0.0))
    for share in (0.0, 0.3, 0.7, 0.99):
        assert judged(where, 0, (0, 5.0, 100.0, 0.0), share * whole) > share * whole
    assert judged(where, 0, (0, 5.0, 100.0, 0.0), whole) == whole
    assert where.steps == before + 6


def test_settling_writes_place_box_and_losses() -> None:
    """Only the row and column of the piece change."""
    items = [item(f"p{n}", rectangle(40.0, 30.0)) for n in range(3)]
    places = [(0, 60.0, 60.0, 0.0), (0, 70.0, 60.0, 0.0), (0, 180.0, 180.0, 0.0)]
    what = shaped(asked(items, BED_))
    where = laid_as(what, [BED_], places)
    state = where.state
    assert state.loss[0, 1] > 0.0
    settle(where.forms, where.grounds, state, where.scratch, 0, 0, 175.0, 185.0, math.pi / 2)
    assert state.who[0, BED] == 0
    assert state.at[0, [X, Y, ANGLE]].tolist() == [175.0, 185.0, math.pi / 2]
    ring = outline(what, 0, (0, 175.0, 185.0, math.pi / 2))
    assert state.at[0, [X0, Y0, X1, Y1]] == pytest.approx(ring.bounds)
    many = where.forms.counts[0, COUNTS, NV]
    assert state.lie[0, VX, :many].min() == pytest.approx(ring.bounds[0])
    assert state.loss[0, 1] == state.loss[1, 0] == 0.0
    assert state.loss[0, 2] == state.loss[2, 0] > 0.0
    assert state.at[0, BED_LOSS] == 0.0
    settle(where.forms, where.grounds, state, where.scratch, 0, 0, 2.0, 185.0, 0.0)
    assert state.at[0, BED_LOSS] > 0.0


def test_a_pair_asked_by_itself() -> None:
    """The question that the others are made of, with the boxes apart and together."""
    where = laid(
        [PLATE, item("b", rectangle(60.0, 30.0))], [BED_], [(0, 60.0, 60.0, 0.0), (0, 150.0, 60.0, 0.0)]
    )
    forms, state, scratch = where.forms, where.state, where.scratch
    pose(forms.shape, forms.counts, 0, 0.0, 0, scratch.shape, scratch.frame)

    def loss(x: float) -> float:
        return float(
            pair_loss(
                forms.shape, forms.counts, 0, x, 60.0, 0, state.at, state.lie, 1,
                scratch.shape, scratch.frame, scratch.edges,
            )
        )  # fmt: skip

    assert loss(86.0) == 0.0  # 150 - 60 - 3 and the two simplifications
    assert loss(88.0) > 0.0
    assert loss(150.0) > loss(120.0) > loss(95.0)
