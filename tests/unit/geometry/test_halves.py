"""Mirrored halves and sections across their plane, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.assembly.halves import halves, profile_across
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import mirrored
from tests.builders import aerofoil_slab, box, joined, moved

ALONG_Y = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])  # stands along z, laid along y


def panel(y: float = 20.0) -> TriangleMesh:
    """A tapered panel to the right of y = 20: blunt at x = 0, its chord along x."""
    slab = aerofoil_slab(150.0, 300.0, tip_chord=110.0, n=30)
    return moved(TriangleMesh(slab.triangles @ np.linalg.inv(ALONG_Y).T), y=y)


def wedge() -> TriangleMesh:
    """No mirror image of itself."""
    return joined(box(30.0, 20.0, 10.0), moved(box(10.0, 20.0, 5.0), 0.0, 20.0, 1.0))


def test_two_halves_give_the_plane_between_them() -> None:
    """A panel at 20 to the right of y = 5 and its mirror image; the block between them is in no pair."""
    right = panel(25.0)
    left = moved(
        mirrored(right), y=10.0 - (mirrored(right).bounds.sum(axis=0)[1] + right.bounds.sum(axis=0)[1]) / 2.0
    )
    hull = moved(box(400.0, 40.0, 40.0), -50.0, -15.0, -20.0)
    found = halves([hull, right, left])
    assert found is not None
    assert (found.axis, found.members) == (1, (1, 2))
    assert found.level == pytest.approx(5.0, abs=0.01)
    volumes = [abs(right.extents.prod()), hull.extents.prod()]
    assert 0.0 < found.share < 2.0 * volumes[0] / (2.0 * volumes[0] + volumes[1])


def test_a_shifted_copy_is_no_half() -> None:
    """The same wedge further on has its step on the same side; its mirror image has it on the other."""
    assert halves([wedge(), moved(wedge(), 0.0, 80.0)]) is None
    found = halves([wedge(), moved(mirrored(wedge()), 0.0, 80.0)])
    assert found is not None
    assert (found.axis, found.only_alike) == (1, False)


def test_what_is_its_own_image_counts_little() -> None:
    """Boxes in a row may be halves or copies."""
    found = halves([box(10.0, 10.0, 10.0), moved(box(10.0, 10.0, 10.0), 0.0, 60.0)])
    assert found is not None
    assert found.share == pytest.approx(0.2)
    assert found.only_alike


def test_a_panel_is_long_and_thin_and_leans_to_its_blunt_edge() -> None:
    """Sections of 12 %: the middle of the area of a four-digit section lies at 42 % of its chord."""
    found = profile_across([panel()], 1, 0.0, 320.0)
    assert found is not None
    assert found.size[0] / found.size[2] == pytest.approx(1.0 / 0.12, rel=0.02)
    assert found.lean[0] == pytest.approx(-0.08, abs=0.01)
    assert found.size[1] == found.lean[1] == 0.0
    other = profile_across([TriangleMesh(panel().triangles * np.array([-1.0, 1.0, 1.0]))], 1, 0.0, 320.0)
    assert other is not None
    assert other.lean[0] == pytest.approx(-found.lean[0])


def test_an_aileron_behind_its_hinge_belongs_to_the_wing() -> None:
    """Two bodies 1 mm apart are one section, 30 mm apart they are two."""
    wing, flap = moved(box(100.0, 300.0, 12.0), y=20.0), moved(box(40.0, 300.0, 8.0), 101.0, 20.0, 2.0)
    for gap, chord in ((0.0, 141.0), (30.0, 100.0)):
        found = profile_across([wing, moved(flap, gap)], 1, 0.0, 320.0)
        assert found is not None
        assert found.size[0] == pytest.approx(chord)


def test_nothing_beside_the_plane_has_no_section() -> None:
    """A reach into empty space."""
    assert profile_across([box(10.0, 10.0, 10.0)], 1, 100.0, 50.0) is None
    assert halves([box(10.0, 10.0, 10.0)]) is None
