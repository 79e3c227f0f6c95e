"""Looking for a better place, moving what overlaps, and the weights of what overlaps long."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.nesting.problem.array_layout import ALLOWED, ANGLE, BED, BED_LOSS, BED_WEIGHT, FORM, X, Y
from planner.nesting.separation.move_kernel import find_place, move_all, rebuild, total_loss, weigh
from planner.nesting.separation.separate import Table
from planner.nesting.separation.table import shaped, table
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed
from tests.unit.nesting.tables import asked, laid, laid_as, layout

BED_ = square_bed()


def found(where: Table, i: int, now: float, wide: int = 60, near: int = 30) -> list[float]:
    """Loss, bed, x, y and turn of the best place for piece i."""
    find_place(where.forms, where.grounds, where.state, where.scratch, i, now, wide, near)
    return [float(v) for v in where.scratch.best[0]]


def moved(where: Table) -> float:
    return float(move_all(where.forms, where.grounds, where.state, where.scratch, 40, 20))


def test_the_sum_of_all_losses_counts_every_pair_once() -> None:
    """Beds and pairs, without weights."""
    items = [item(f"p{n}", rectangle(40.0, 40.0)) for n in range(3)]
    where = laid(items, [BED_], [(0, 5.0, 100.0, 0.0), (0, 30.0, 100.0, 0.0), (0, 50.0, 100.0, 0.0)])
    state = where.state
    parts = [state.loss[1, 0], state.loss[2, 1], state.at[0, BED_LOSS]]
    assert all(part > 0.0 for part in parts)
    assert state.loss[2, 0] == 0.0
    state.weight[:] = 9.0
    assert total_loss(state) == pytest.approx(sum(parts))


def test_weights_by_hand() -> None:
    """Losses 4 and 1 with factors 1.2 to 2: times 2 and 1.4; the rest fades by 0.5, never below 1."""
    items = [item(f"p{n}", rectangle(10.0, 10.0)) for n in range(3)]
    state = laid(items, [BED_], [(0, 20.0 + 40.0 * n, 50.0, 0.0) for n in range(3)]).state
    state.loss[1, 0] = state.loss[0, 1] = 4.0
    state.at[2, BED_LOSS] = 1.0
    state.weight[:] = 3.0
    state.at[:, BED_WEIGHT] = (1.5, 6.0, 10.0)
    weigh(state, 2.0, 1.2, 0.5)
    assert state.weight[1, 0] == state.weight[0, 1] == pytest.approx(6.0)
    assert state.weight[2, 0] == state.weight[0, 2] == state.weight[2, 1] == 1.5
    assert state.at[:, BED_WEIGHT] == pytest.approx([1.0, 3.0, 10.0 * 1.4])
    weigh(state, 2.0, 1.2, 0.5)
    assert state.weight[2, 1] == 1.0


def test_a_sound_layout_leaves_the_weights_alone() -> None:
    """Nothing overlaps, so nothing fades."""
    state = laid([item("p", rectangle(10.0, 10.0))], [BED_], [(0, 50.0, 50.0, 0.0)]).state
    state.at[0, BED_WEIGHT] = 5.0
    weigh(state, 2.0, 1.2, 0.5)
    assert state.at[0, BED_WEIGHT] == 5.0


def test_a_free_place_is_found_for_a_piece_on_another() -> None:
    """Two plates that lie on one another on a large bed: any of hundreds of places will do."""
    items = [item("a", rectangle(60.0, 40.0)), item("b", rectangle(60.0, 40.0))]
    where = laid(items, [BED_], [(0, 110.0, 110.0, 0.0), (0, 110.0, 110.0, 0.0)])
    loss, bed, x, y, turn = found(where, 0, float(where.state.loss[0, 1]))
    assert (loss, bed) == (0.0, 0.0)
    where.set(layout([(0, x, y, turn), (0, 110.0, 110.0, 0.0)]))
    assert where.loss == 0.0


def test_it_is_never_worse_than_where_it_lies() -> None:
    """On a bed that is full the best place is the old one, or one that loses less."""
    items = [item(f"p{n}", rectangle(100.0, 100.0)) for n in range(5)]
    spots = [(0, 56.0, 56.0, 0.0), (0, 164.0, 56.0, 0.0), (0, 56.0, 164.0, 0.0), (0, 164.0, 164.0, 0.0)]
    for seed in range(4):
        where = laid(items, [BED_], [*spots, (0, 110.0, 110.0, 0.0)], seed)
        now = float(where.state.loss[4].sum())
        loss, *_ = found(where, 4, now)
        assert 0.0 < loss <= now


def test_only_turns_of_the_list_are_taken() -> None:
    """A plate that may lie at 0 and 180 degrees in a slot that would take it at 90."""
    items = [item("a", rectangle(150.0, 20.0), turns=(0.0, 180.0)), item("b", rectangle(140.0, 200.0))]
    for seed in range(5):
        where = laid(items, [BED_], [(0, 90.0, 110.0, 0.0), (0, 75.0, 110.0, 0.0)], seed)
        _, _, _, _, turn = found(where, 0, float(where.state.loss[0, 1]))
        assert min(abs(turn), abs(turn - math.pi)) < 1e-12
    free = [item("a", rectangle(150.0, 20.0)), items[1]]
    where = laid(free, [BED_], [(0, 90.0, 110.0, 0.0), (0, 75.0, 110.0, 0.0)])
    assert found(where, 0, 1e9, 400, 0)[0] == 0.0


def test_another_bed_is_taken_only_where_it_is_allowed() -> None:
    """Bed 0 is full; bed 1 is empty and takes the piece unless it is barred."""
    items = [item("full", rectangle(212.0, 212.0), turns=(0.0,)), item("p", rectangle(60.0, 60.0))]
    what = shaped(asked(items, BED_))
    for pinned, bed in ((None, 1), ({1: 0}, 0)):
        where = table(what, [BED_, BED_], 3, pinned)
        where.set(layout([(0, 110.0, 110.0, 0.0), (0, 110.0, 110.0, 0.0)]))
        now = float(where.state.loss[1, 0])
        loss, chosen, *_ = found(where, 1, now)
        assert (chosen, loss == 0.0) == (bed, bed == 1)
        assert where.state.who[1, ALLOWED + 1] == bed


def test_moving_leaves_alone_what_lies_well() -> None:
    """Only the two that overlap are moved; the third keeps its place to the last bit."""
    items = [item(f"p{n}", ellipse(50.0, 40.0)) for n in range(3)]
    where = laid(items, [BED_], [(0, 60.0, 60.0, 0.0), (0, 70.0, 60.0, 0.0), (0, 180.0, 180.0, 0.3)])
    before = where.loss
    assert moved(where) <= before
    assert where.state.at[2, [X, Y, ANGLE]].tolist() == [180.0, 180.0, 0.3]
    assert moved(where) == where.loss == 0.0


def test_the_same_seed_moves_the_same_way() -> None:
    """Another seed goes another way."""
    items = [item(f"p{n}", rectangle(60.0 + n, 45.0)) for n in range(6)]
    places = [(0, 100.0 + n, 100.0, 0.0) for n in range(6)]
    ends = []
    for seed in (1, 1, 2):
        where = laid(items, [BED_], places, seed)
        moved(where)
        ends.append(where.state.at[:, [X, Y, ANGLE]].tolist())
    assert ends[0] == ends[1] != ends[2]


def test_rebuilding_gives_the_losses_of_a_fresh_table() -> None:
    """After any moves: places, boxes and all losses as if nothing had been there before; weights stay."""
    items = [item(f"p{n}", rectangle(60.0, 45.0), height=10.0 + n) for n in range(5)]
    what = shaped(asked(items, BED_))
    rng = np.random.default_rng(4)
    places = [(n % 2, *rng.uniform(20.0, 200.0, 2), float(rng.uniform(0.0, 6.0))) for n in range(5)]
    used = laid_as(what, [BED_, BED_], [(0, 100.0, 100.0, 0.0)] * 5)
    moved(used)
    used.state.weight[:] = 2.0
    now = layout(places)  # type: ignore[arg-type]
    rebuild(used.forms, used.grounds, used.state, used.scratch, now.bed, now.x, now.y, now.turn)
    fresh = laid_as(what, [BED_, BED_], places)  # type: ignore[arg-type]
    assert used.state.loss.tolist() == fresh.state.loss.tolist()
    assert used.state.at[:, :BED_WEIGHT].tolist() == fresh.state.at[:, :BED_WEIGHT].tolist()
    assert used.state.who[:, [FORM, BED]].tolist() == fresh.state.who[:, [FORM, BED]].tolist()
    assert (used.state.weight == 2.0).all()
