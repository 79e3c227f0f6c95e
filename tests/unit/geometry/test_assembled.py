"""Kits in assembly position, and kits that only look like one."""

from __future__ import annotations

from planner.geometry.assembled import tile_common_space
from tests.builders import box, moved, tube


def row(gap: float = 0.0):
    """Four boxes of 40 x 20 x 10, one behind the other, two of them raised."""
    return [moved(box(40.0, 20.0, 10.0), k * (40.0 + gap), 0.0, 6.0 * (k % 2)) for k in range(4)]


def test_a_touching_row_is_recognised():
    """Parts that meet face to face and are spread along an axis tile one space."""
    assert tile_common_space(row())
    assert tile_common_space(row(gap=0.2))


def test_parts_drawn_one_by_one_overlap():
    """Five parts at the same origin share space."""
    assert not tile_common_space([box(40.0, 20.0, 10.0 + k) for k in range(5)])


def test_one_overlap_is_enough():
    """A fifth box that reaches 1 mm into the first makes it no assembly."""
    assert not tile_common_space([*row(), moved(box(20.0, 20.0, 20.0), 0.0, 0.0, 9.0)])


def test_a_part_inside_a_hollow_one_does_not_overlap():
    """Boxes overlap, bodies do not: a rod in a tube."""
    rod = moved(box(10.0, 10.0, 30.0), -5.0, -5.0, 5.0)
    kit = [
        tube(40.0, 36.0, 60.0),
        moved(tube(40.0, 36.0, 60.0), z=60.0),
        rod,
        moved(box(5.0, 5.0, 5.0), z=35.0),
    ]
    assert tile_common_space(kit)


def test_a_bed_full_of_parts_is_no_assembly():
    """All stand on one height: laid out to be printed."""
    assert not tile_common_space([moved(box(40.0, 20.0, 10.0), 40.5 * k) for k in range(5)])


def test_gaps_and_few_parts_are_no_assembly():
    """Parts 10 mm apart, a lone part far away, or three parts only."""
    assert not tile_common_space(row(gap=10.0))
    assert not tile_common_space([*row(), moved(box(5.0, 5.0, 5.0), 0.0, 500.0)])
    assert not tile_common_space(row()[:3])
