"""Which thin walls are faults: only where something that matters is lost; the rest is a note with grams."""

from __future__ import annotations

import re

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.finding import Finding
from tests import builders
from tests.estimates import deposit_of

SKIN = {"walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.0}


def thin(mesh: TriangleMesh, **recipe: float) -> Finding | None:
    """The finding about thin walls, if there is one."""
    said = [f for f in deposit_of(mesh, **recipe).findings if "will not be printed" in f.text]
    assert len(said) <= 1
    return said[0] if said else None


def windowed(patch_mm: float, tall_mm: float, width_mm: float = 12.0) -> TriangleMesh:
    """A square shell with 0.8 mm walls, one of them thinned to ``patch_mm`` over a window."""
    outer, high = 60.0, 40.0
    low = 0.5 * (high - tall_mm)

    def band(z0: float, z1: float, wall: float) -> TriangleMesh:
        a, b = 0.5 * (outer - width_mm), 0.5 * (outer + width_mm)
        inner = np.array(
            [
                [0.8, 0.8], [a, 0.8], [a, wall], [b, wall], [b, 0.8],
                [outer - 0.8, 0.8], [outer - 0.8, outer - 0.8], [0.8, outer - 0.8],
            ]
        )  # fmt: skip
        edge = np.array(
            [[0, 0], [a, 0], [a, 0], [b, 0], [b, 0], [outer, 0], [outer, outer], [0, outer]], dtype=float
        )
        return builders.moved(builders.sleeve(edge, inner, z1 - z0), 0.0, 0.0, z0)

    rows = [(0.0, low, 0.8), (low, low + tall_mm, patch_mm), (low + tall_mm, high, 0.8)]
    return builders.joined(*(band(*row) for row in rows))


def test_a_window_in_a_skin_is_a_fault_however_little_of_the_outline_it_is() -> None:
    """A patch of 12 x 10 mm, 0.15 mm thick, in a shell: less than 1 % of it, and still a hole."""
    found = thin(windowed(0.15, 10.0), **SKIN)
    assert found is not None
    assert found.weight == "fault"
    assert "a hole in the skin at 15." in found.text
    assert "% of the part" not in found.text


@pytest.mark.parametrize(("patch", "tall"), [(0.3, 10.0), (0.15, 0.39)])
def test_a_window_that_is_printed_or_bridged_is_none(patch: float, tall: float) -> None:
    """A patch that takes a narrow bead prints; one of two layers is bridged by its neighbours."""
    found = thin(windowed(patch, tall), **SKIN)
    assert found is None or found.weight == "note"


def test_two_heights_are_two_runs_and_no_wall_between_them() -> None:
    """Thin lips at the foot and at the top of a block, sound between: told as two runs, not as one."""
    slim = lambda z: builders.box(90.0, 0.1, 0.4, (-60.0, 10.0, z))  # noqa: E731
    block = builders.box(30.0, 20.0, 30.0)
    found = thin(builders.joined(block, slim(0.0), slim(29.6)))
    assert found is not None
    assert found.weight == "note"
    assert "between 0.1 and 0.3 and between 29.7 and 29.9 mm" in found.text


def test_grams_and_area_are_those_of_what_is_missing() -> None:
    """A fin of 20 x 0.1 x 10 mm on a plate: 20 mm3, 2 cm2 of wall, 0.025 g, 2.4 % of the part: a fault."""
    fin = builders.joined(builders.box(20, 20, 2), builders.box(20, 0.1, 10, (0, 15.0, 2)))
    found = thin(fin)
    assert found is not None
    assert found.weight == "fault"
    area, grams = re.search(r"([\d.]+) cm² of wall or ([\d.]+) g will be missing", found.text).groups()  # type: ignore[union-attr]
    assert float(area) == pytest.approx(2.0, rel=0.05)
    assert float(grams) == pytest.approx(0.0248, rel=0.05)
    assert "it is 2.4 % of the part" in found.text
    # the same fin on a plate of ten times the volume is 0.25 % of it
    small = thin(builders.joined(builders.box(40, 100, 2), builders.box(20, 0.1, 10, (0, 15.0, 2))))
    assert small is not None
    assert small.weight == "note"


def test_what_a_lost_neck_carries_hangs_in_the_air() -> None:
    """A head on a neck of 0.15 mm: little volume is lost, but the head has nothing under it."""
    foot, head = builders.box(10, 10, 10), builders.box(10, 10, 10, (0, 0, 11))
    neck = builders.box(10, 0.15, 1.0, (0, 5, 10))
    found = thin(builders.joined(foot, neck, head))
    assert found is not None
    assert found.weight == "fault"
    assert "what stands above 10." in found.text or "what stands above 11." in found.text
    sound = thin(builders.joined(foot, builders.box(10, 0.6, 1.0, (0, 5, 10)), head))
    assert sound is None


def test_an_end_face_that_is_lost_is_a_fault() -> None:
    """A tube that thins out to 0.2 mm at the end that it is glued on by; a sharp edge is no face."""
    outer, high = builders.circle(60.0), 40.0
    body = builders.sleeve(outer, builders.circle(58.0), high)
    lip = builders.moved(builders.sleeve(outer, builders.circle(59.6), 0.6), 0.0, 0.0, high)
    found = thin(builders.joined(body, lip), **SKIN)
    assert found is not None
    assert found.weight == "fault"
    assert "100 % of the face that it ends with" in found.text


def test_sharp_trailing_edges_are_notes() -> None:
    """A wing with a sharp trailing edge loses a little all the way up; nobody has to decide anything."""
    wing = builders.hollow_aerofoil_slab(160, 60, 1.2)
    found = thin(wing, **SKIN)
    assert found is None or found.weight == "note"
