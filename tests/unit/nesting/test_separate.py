"""Pieces pulled apart, and the way from items to arrays and back."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.printer import Bed, Head
from planner.nesting.problem.array_layout import (
    ALLOWED,
    AT_COLUMNS,
    BED_WEIGHT,
    FORM,
    LIE_ROWS,
    POSED_FORM,
    X,
)
from planner.nesting.problem.item import BedKind, FilledBed
from planner.nesting.problem.placement import lay
from planner.nesting.problem.state import new_scratch, new_state
from planner.nesting.separation.separate import SeparationParams, separate
from planner.nesting.separation.table import (
    layout_of,
    placed_of,
    room_left,
    scatter,
    shaped,
    table,
    turn_deg,
)
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed
from tests.unit.nesting.tables import asked, laid, laid_as, layout

BED_ = square_bed()
PARAMS = SeparationParams(wide=30, near=15, patience=40, strikes=2)
WEDGES = [item(f"t{n}", ((0, 0), (98, 0), (0, 98))) for n in range(6)]


def test_a_heap_is_pulled_apart() -> None:
    """Six wedges thrown on the middle lie apart afterwards, as the slow check agrees."""
    what = shaped(asked(WEDGES, BED_))
    where = laid_as(what, [BED_], [(0, 110.0, 110.0, 0.5 * n) for n in range(6)])
    assert where.loss > 0.0
    loss, end = separate(where, PARAMS, lambda steps: steps > 60_000)
    assert loss == 0.0 == where.loss
    (placed,) = placed_of(what, end, 1)
    assert verify_beds([FilledBed(BED_, tuple(placed), 0.0)], WEDGES, 3.0) == ()
    assert end.x.tolist() == where.layout().x.tolist()


def test_told_to_stop_it_gives_back_what_it_has() -> None:
    """Stopped at once: nothing moves. Stopped later: never worse than at the start."""
    places = [(0, 110.0, 110.0, 0.0)] * 6
    what = shaped(asked(WEDGES, BED_))
    where = laid_as(what, [BED_], places)
    start = where.loss
    loss, end = separate(where, PARAMS, lambda _: True)
    assert (loss, end.x.tolist()) == (start, [110.0] * 6)
    loss, end = separate(where, PARAMS, lambda steps: steps > 1500)
    assert loss < start
    again = laid_as(
        what,
        [BED_],
        [(0, float(x), float(y), float(t)) for x, y, t in zip(end.x, end.y, end.turn, strict=True)],
    )
    assert again.loss == pytest.approx(loss)


def test_what_cannot_be_apart_ends_by_its_patience() -> None:
    """Two plates for one place: the search gives up by itself and tells what is left."""
    items = [item(f"p{n}", rectangle(200.0, 200.0), turns=(0.0,)) for n in range(2)]
    where = laid(items, [BED_], [(0, 110.0, 110.0, 0.0)] * 2)
    asked_at: list[int] = []
    loss, _ = separate(
        where,
        SeparationParams(wide=5, near=5, patience=4, strikes=2),
        lambda steps: asked_at.append(steps) or False,
    )  # type: ignore[func-returns-value]
    assert loss > 0.0
    assert asked_at == sorted(asked_at)
    assert asked_at[-1] <= where.steps < 20_000


def test_twins_take_part_and_the_answer_is_the_same_each_time() -> None:
    """Passes on three tables in threads of their own: as good, and the same to the last bit."""
    what = shaped(asked(WEDGES, BED_))
    ends = []
    for _ in range(2):
        where, *twins = (laid_as(what, [BED_], [(0, 110.0, 110.0, 0.0)] * 6, seed) for seed in (1, 2, 3))
        loss, end = separate(where, PARAMS, lambda steps: steps > 30_000, twins)
        ends.append((loss, end.x.tolist(), end.turn.tolist()))
        assert where.loss == loss
    assert ends[0] == ends[1]
    assert ends[0][0] == 0.0


def test_a_table_takes_all_but_the_random_numbers() -> None:
    """Places, losses, weights and beds; afterwards fresh weights are 1 again."""
    what = shaped(asked(WEDGES, BED_))
    mine = laid_as(what, [BED_], [(0, 50.0, 60.0, 0.0)] * 6, 1)
    theirs = laid_as(what, [BED_], [(0, 110.0, 90.0, 0.2)] * 6, 2)
    theirs.state.weight[0, 1] = 7.0
    theirs.state.at[2, BED_WEIGHT] = 4.0
    theirs.grounds.bed[0, 0] = 9.0
    chain = mine.scratch.random.copy()
    mine.take(theirs)
    assert mine.layout().x.tolist() == [110.0] * 6
    assert (mine.loss, mine.state.weight[0, 1], mine.grounds.bed[0, 0]) == (theirs.loss, 7.0, 9.0)
    assert mine.scratch.random.tolist() == chain.tolist()
    mine.fresh_weights()
    assert (mine.state.weight == 1.0).all()
    assert (mine.state.at[:, BED_WEIGHT] == 1.0).all()
    assert theirs.state.weight[0, 1] == 7.0


def test_alike_outlines_share_a_form() -> None:
    """Names and sections do not count; the reach of the tallest does."""
    one_by_one = BedKind("k", Bed(), 200.0, None, Head(30.0, 25.0, 60.0))
    items = [
        item("a", rectangle(20.0, 10.0)),
        item("b", rectangle(20.0, 10.0), height=50.0),
        item("c", rectangle(20.0, 10.0)),
    ]
    what = shaped(asked(items, BED_))
    assert (what.form, len(what.forms), what.reach_mm) == ((0, 0, 0), 1, 1.5)
    what = shaped(asked(items, one_by_one))
    assert (what.form, len(what.forms), what.reach_mm) == ((0, 1, 0), 2, 15.0)
    assert what.shape(1).area > what.shape(0).area
    assert shaped(asked([], BED_)).reach_mm == 1.5


def test_who_may_lie_where() -> None:
    """Beds too low are barred, and all but its own for a pinned piece; beds of one kind share a row."""
    low, tall = BedKind("low", Bed(), 50.0), BedKind("tall", Bed(), 300.0)
    items = [item("a", rectangle(20.0, 10.0), height=50.0), item("b", rectangle(20.0, 10.0), height=50.1)]
    where = table(shaped(asked(items, low, tall)), [low, tall, low, tall], 1, {0: 3})
    assert where.state.who[:, ALLOWED:].tolist() == [[0, 0, 0, 1], [0, 1, 0, 1]]
    assert where.grounds.kind.tolist() == [0, 1, 0, 1]
    assert len(where.grounds.bed) == 2


@settings(max_examples=25, deadline=None)
@given(
    places=st.lists(
        st.tuples(st.integers(0, 1), st.floats(4.0, 100.0), st.floats(4.0, 100.0), st.floats(0.0, 359.9)),
        min_size=1,
        max_size=6,
    )
)
def test_there_and_back_again(places: list[tuple[int, float, float, float]]) -> None:
    """Laid pieces to middles and back: the same beds, corners and turns."""
    items = [item(f"p{n}", ((0.0, 0.0), (50.0 + n, 0.0), (0.0, 30.0))) for n in range(len(places))]
    what = shaped(asked(items, BED_))
    beds = [
        [lay(items[n], x, y, turn) for n, (b, x, y, turn) in enumerate(places) if b == bed]
        for bed in range(2)
    ]
    back = placed_of(what, layout_of(what, beds), 2)
    for one, other in zip(beds, back, strict=True):
        assert [p.piece for p in one] == [p.piece for p in other]
        for a, b in zip(one, other, strict=True):
            assert np.asarray(a.outline_mm) == pytest.approx(np.asarray(b.outline_mm), abs=1e-5)
            assert a.turn_deg % 360.0 == pytest.approx(b.turn_deg, abs=1e-6)


def test_the_middle_of_a_piece_is_that_of_its_box() -> None:
    """A wedge of 60 x 30 at (10, 20) has its middle at (40, 35); a quarter turn on at (-5, 50)."""
    wedge = item("w", ((0.0, 0.0), (60.0, 0.0), (0.0, 30.0)))
    what = shaped(asked([wedge, item("gone", rectangle(5.0, 5.0))], BED_))
    found = layout_of(what, [[], [lay(wedge, 10.0, 20.0, 0.0)]])
    assert (found.bed[0], found.x[0], found.y[0], found.turn[0]) == (1, 40.0, 35.0, 0.0)
    assert found.bed[1] == -1
    found = layout_of(what, [[lay(wedge, 10.0, 20.0, 90.0)]])
    assert (found.x[0], found.y[0]) == pytest.approx((-5.0, 50.0))
    assert found.turn[0] == pytest.approx(math.pi / 2)


@pytest.mark.parametrize(
    ("turns", "radians", "degrees"),
    [
        (None, -math.pi / 2, 270.0),
        (None, 2.0 * math.pi - 1e-12, 0.0),
        (None, math.radians(33.25), 33.25),
        ((0.0, 33.3, 90.0), math.radians(33.25), 33.3),
        ((0.0, 350.0), math.radians(-9.0), 350.0),
        ((0.0, 180.0), math.radians(359.0), 0.0),
        ((-90.0, 90.0), math.radians(271.0), -90.0),
    ],
)
def test_turns_in_degrees(turns: tuple[float, ...] | None, radians: float, degrees: float) -> None:
    """Of a list the very number on it, the nearest on the circle; else 0 to 360."""
    assert turn_deg(item("p", rectangle(5.0, 5.0), turns=turns), radians) == degrees


def test_room_left_by_hand() -> None:
    """Ground of 212 mm grown by 1.5: 215 x 215 less round corners, two per cent more, less 43 x 33 each."""
    items = [item(f"p{n}", rectangle(40.0, 30.0)) for n in range(3)]
    what = shaped(asked(items, BED_))
    exact = (212.0**2 + 4 * 212.0 * 1.5 + math.pi * 1.5**2) * 1.02
    each = 40.0 * 30.0 + 2 * 1.5 * 70.0 + math.pi * 1.5**2
    assert room_left(what, [BED_]) == pytest.approx(exact - 3 * each, rel=2e-3)
    assert room_left(what, [BED_, BED_]) == pytest.approx(2 * exact - 3 * each, rel=2e-3)


def test_no_room_for_what_is_too_tall_or_too_much() -> None:
    """Above every bed's height; more area than the ground; two that must be last on one bed."""
    plate = item("p", rectangle(205.0, 205.0), height=100.0)
    assert room_left(shaped(asked([plate], BED_)), [BED_]) > 0.0
    assert room_left(shaped(asked([plate], BED_)), [BedKind("low", Bed(), 99.0)]) == 0.0
    two = [plate, item("q", rectangle(205.0, 205.0))]
    assert room_left(shaped(asked(two, BED_)), [BED_]) < 0.0
    head = BedKind("k", Bed(), 200.0, None, Head(10.0, 20.0, 60.0))
    high = [item(name, rectangle(20.0, 20.0), height=80.0) for name in "ab"]
    assert room_left(shaped(asked(high, head)), [head]) == 0.0
    assert room_left(shaped(asked(high, head)), [head, head]) > 0.0


def test_loose_pieces_are_thrown_into_the_middle_of_beds_that_take_them() -> None:
    """Between a quarter and three quarters of the ground; the others keep their place."""
    low, big = BedKind("low", Bed(), 10.0), round_bed()
    items = [item(f"p{n}", rectangle(20.0, 10.0)) for n in range(20)]
    what = shaped(asked(items, low, big))
    where = table(what, [low, big], 1)
    start = layout([(0, 7.0, 8.0, 0.1)] * 20)
    thrown = scatter(start, range(1, 20), where, np.random.default_rng(1))
    assert (thrown.bed[0], thrown.x[0], thrown.y[0]) == (0, 7.0, 8.0)
    assert (thrown.bed[1:] == 1).all()
    for column in (thrown.x[1:], thrown.y[1:]):
        assert ((column >= 77.0) & (column <= 223.0)).all()
        assert np.ptp(column) > 60.0
    assert thrown.turn.tolist() == start.turn.tolist()
    assert start.x.tolist() == [7.0] * 20


def test_a_new_state_and_its_scratch() -> None:
    """All weights 1, nothing lies, nothing is posed; seeds start chains of their own."""
    what = shaped(asked([item("a", ellipse(30.0, 20.0)), item("b", rectangle(9.0, 9.0))], BED_))
    forms = table(what, [BED_], 1).forms
    state = new_state(forms, np.array(what.form), np.array([[1, 0], [1, 1]]))
    assert state.who[:, FORM].tolist() == [0, 1]
    assert state.who[:, ALLOWED:].tolist() == [[1, 0], [1, 1]]
    assert state.at.shape == (2, AT_COLUMNS)
    assert state.at[:, BED_WEIGHT].tolist() == [1.0, 1.0]
    assert state.at[:, X].tolist() == [0.0, 0.0]
    assert state.lie.shape == (2, LIE_ROWS, forms.shape.shape[2])
    assert (state.loss == 0.0).all()
    assert (state.weight == 1.0).all()
    one, same, other = (new_scratch(forms, seed) for seed in (1, 1, 2))
    assert one.random[0] == same.random[0] != other.random[0]
    assert one.random.dtype == np.uint64
    assert one.frame[POSED_FORM] == -1.0
    assert one.edges.shape == (8, forms.shape.shape[2])
    assert one.steps.tolist() == [0]
