"""Kits in assembly position, and kits that only look like one."""

from __future__ import annotations

import pytest

from planner.geometry.assembly import assembled
from planner.geometry.assembly.assembled import disagreeing, gap_to, in_place, stands_off
from tests.builders import box, moved, tube


def row(gap: float = 0.0):
    """Four boxes of 40 x 20 x 10, one behind the other, two of them raised."""
    return [moved(box(40.0, 20.0, 10.0), k * (40.0 + gap), 0.0, 6.0 * (k % 2)) for k in range(4)]


def test_a_touching_row_is_recognised():
    """Parts that meet face to face and are spread along an axis tile one space."""
    assert in_place(row())
    assert in_place(row(gap=0.2))


def test_parts_drawn_one_by_one_overlap():
    """Five parts at the same origin share space."""
    assert not in_place([box(40.0, 20.0, 10.0 + k) for k in range(5)])


def test_few_parts_allow_no_odd_one():
    """A fifth box that reaches 1 mm into the first makes four others no assembly; five others are enough."""
    odd = moved(box(20.0, 20.0, 20.0), 0.0, 0.0, 9.0)
    assert not in_place([*row(), odd])
    found = in_place([*row(), moved(box(40.0, 20.0, 10.0), 160.0), odd])
    assert found is not None
    assert (dict(found.shared), found.loose, found.whole) == ({5: (0,)}, (), ())
    assert found.agree == (0, 1, 2, 3, 4)


@pytest.mark.parametrize("by_mm", [0.01, 0.02, 0.3])
def test_a_skin_of_common_space_is_no_overlap(by_mm: float):
    """Every box reaches a little into the next, as fits and rounding do."""
    boxes = [moved(box(40.0 + by_mm, 20.0, 10.0), 40.0 * k, 0.0, 6.0 * (k % 2)) for k in range(4)]
    found = in_place(boxes)
    assert found is not None
    assert (found.agree, dict(found.shared)) == ((0, 1, 2, 3), {})


def test_the_same_place_taken_twice_is_told_apart():
    """A box that lies where another does, give or take 5 %, is an alternative."""
    found = in_place([*row(), moved(box(40.5, 20.0, 10.2), 40.0, 0.0, 6.0)])
    assert found is not None
    assert (dict(found.repeated), found.agree) == ({4: 1}, (0, 1, 2, 3))


def test_what_reaches_into_most_others_is_the_whole():
    """One body round all others: named, and no link between them."""
    long = [moved(box(40.0, 20.0, 10.0), 40.0 * k, 0.0, 6.0 * (k % 2)) for k in range(6)]
    found = in_place([*long, box(240.0, 20.0, 16.0)])
    assert found is not None
    assert (found.whole, found.agree) == ((6,), (0, 1, 2, 3, 4, 5))
    apart = [moved(mesh, 30.0 * k) for k, mesh in enumerate(long)]
    assert not in_place([*apart, box(400.0, 20.0, 16.0)])


@pytest.mark.parametrize("rows", [1, 2, 5])
def test_few_boxes_at_a_time_say_the_same(rows: int, monkeypatch: pytest.MonkeyPatch):
    """The table of boxes against boxes is made in pieces, whatever their size."""
    odd = moved(box(20.0, 20.0, 20.0), 0.0, 0.0, 9.0)
    kits = [
        row(),
        [*row(), moved(box(40.0, 20.0, 10.0), 160.0), odd],
        [*row(), moved(box(40.0, 20.0, 10.0), 160.0), moved(box(40.0, 20.0, 10.0), 700.0)],
        [box(40.0, 20.0, 10.0 + k) for k in range(5)],
    ]
    whole = [in_place(kit) for kit in kits]
    assert [found is not None for found in whole] == [True, True, True, False]
    monkeypatch.setattr(assembled, "_ROWS", rows)
    assert [in_place(kit) for kit in kits] == whole
    assert disagreeing(kits[1]) == whole[1]
    assert disagreeing(kits[3]) is None


def test_a_loose_box_is_told_with_its_distance():
    """500 mm off six that touch; 3 mm off is a gap of hinges, 30 mm is not."""
    long = [moved(box(40.0, 20.0, 10.0), 40.0 * k, 0.0, 6.0 * (k % 2)) for k in range(6)]
    for gap, loose in ((3.0, ()), (30.0, (6,)), (500.0, (6,))):
        odd = moved(box(5.0, 5.0, 5.0), 0.0, 20.0 + gap)
        found = in_place([*long, odd])
        assert found is not None
        assert found.loose == loose
        assert gap_to(odd, long) == pytest.approx(gap)
        assert stands_off(odd, long) == bool(loose)


def test_a_part_inside_a_hollow_one_does_not_overlap():
    """Boxes overlap, bodies do not: a rod in a tube."""
    rod = moved(box(10.0, 10.0, 30.0), -5.0, -5.0, 5.0)
    kit = [
        tube(40.0, 36.0, 60.0),
        moved(tube(40.0, 36.0, 60.0), z=60.0),
        rod,
        moved(box(5.0, 5.0, 5.0), z=35.0),
    ]
    assert in_place(kit)


def test_a_bed_full_of_parts_is_no_assembly():
    """All stand on one height: laid out to be printed."""
    assert not in_place([moved(box(40.0, 20.0, 10.0), 40.5 * k) for k in range(5)])


def test_gaps_and_few_parts_are_no_assembly():
    """Parts 10 mm apart, a lone part far away, or three parts only."""
    assert not in_place(row(gap=10.0))
    assert not in_place([*row(), moved(box(5.0, 5.0, 5.0), 0.0, 500.0)])
    assert not in_place(row()[:3])
