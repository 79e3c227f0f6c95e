"""Points of the plane, and facets that carry nothing, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.facets import sift
from planner.geometry.planar.flat import mirror, shifted, turned, turned_point

POINTS = np.array([(3.0, 1.0), (0.0, -2.0)])


@pytest.mark.parametrize(
    ("turn", "wanted"),
    [
        (0.0, [(3.0, 1.0), (0.0, -2.0)]),
        (90.0, [(-1.0, 3.0), (2.0, 0.0)]),
        (180.0, [(-3.0, -1.0), (0.0, 2.0)]),
        (270.0, [(1.0, -3.0), (-2.0, 0.0)]),
        (-90.0, [(1.0, -3.0), (-2.0, 0.0)]),
        (450.0, [(-1.0, 3.0), (2.0, 0.0)]),
    ],
)
def test_quarter_turns_are_exact(turn, wanted):
    """Counter-clockwise, to the last bit, of many points and of one."""
    assert turned(POINTS, turn).tolist() == [list(point) for point in wanted]
    assert [turned_point(*point, turn) for point in POINTS.tolist()] == wanted


@pytest.mark.parametrize("turn", [30.0, 45.0, -200.5, 89.999])
def test_other_turns_by_complex_numbers(turn):
    """A turn is a product with a number of length one."""
    by = np.exp(1j * np.radians(turn)) * (POINTS[:, 0] + 1j * POINTS[:, 1])
    assert turned(POINTS, turn) == pytest.approx(np.stack([by.real, by.imag], axis=1))
    assert turned_point(*POINTS[0].tolist(), turn) == pytest.approx((by[0].real, by[0].imag))


def test_outlines_shifted_and_mirrored():
    """The lowest corner at the origin; the other hand in the same box, still counter-clockwise."""
    ring = ((5.0, 7.0), (9.0, 7.0), (5.0, 8.0))
    assert shifted(ring, (5.0, 7.0)) == ((0.0, 0.0), (4.0, 0.0), (0.0, 1.0))
    other = mirror(((0.0, 0.0), (4.0, 0.0), (0.0, 1.0)), 4.0)
    assert other == ((4.0, 1.0), (0.0, 0.0), (4.0, 0.0))
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(other, other[1:] + other[:1], strict=True))
    assert area == 4.0


def sifted(*faces: tuple[int, int, int]):
    found = sift(np.array(faces, dtype=np.int32))
    return found.keep.tolist(), found.collapsed, found.repeated, found.twins


MANY = [(n, n + 1, n + 2) for n in range(10, 30)]  # so that a pair is not half of the mesh
ALL = [True] * len(MANY)


@pytest.mark.parametrize(
    ("faces", "keep", "counts"),
    [
        ([(0, 1, 2)], [True], (0, 0, 0)),
        ([(0, 0, 2), (0, 1, 1), (2, 1, 2)], [False] * 3, (3, 0, 0)),
        ([(0, 1, 2), (1, 2, 0), (2, 0, 1)], [True, False, False], (0, 2, 0)),  # the same, however it begins
        ([(0, 1, 2), (2, 1, 0)], [False, False], (0, 0, 2)),  # face to face: both go
        ([(0, 1, 2), (2, 1, 0), (0, 1, 2)], [True, False, False], (0, 0, 2)),  # one is left over
        ([(0, 2, 1), (1, 0, 2), (0, 1, 2)], [True, False, False], (0, 0, 2)),
    ],
)
def test_facets_that_carry_nothing(faces, keep, counts):
    """Two equal corners, the same facet again, and two that look at each other."""
    found = sifted(*faces, *MANY)
    assert found[0] == keep + ALL
    assert found[1:] == counts


def test_a_surface_that_is_written_on_both_sides():
    """All of it in pairs: one of each two stays, the one that looks upward."""
    ones = [(0, 1, 2), (1, 3, 2)]
    others = [(c, b, a) for a, b, c in ones]
    keep, collapsed, repeated, twins = sifted(*ones, *others)
    assert (sum(keep), collapsed, repeated, twins) == (2, 0, 0, 2)
    assert keep[0] != keep[2]
    assert keep[1] != keep[3]
