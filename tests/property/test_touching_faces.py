"""Faces that touch, whichever body is asked first and whichever way the pair is turned."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.geometry.assembly.contact import LEAST_MM2, touches
from tests.builders import box

sizes = st.tuples(*[st.floats(5.0, 120.0)] * 3)
shifts = st.tuples(st.floats(-0.9, 0.9), st.floats(-0.9, 0.9))
turns = st.tuples(*[st.floats(-1.0, 1.0)] * 4).filter(lambda q: sum(v * v for v in q) > 0.1)


def turned(quaternion: tuple[float, ...]) -> np.ndarray:
    """Rotation matrix of a quaternion (Source: Shoemake 1985)."""
    w, x, y, z = np.array(quaternion) / np.linalg.norm(quaternion)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


@settings(max_examples=60, deadline=None)
@given(sizes, sizes, shifts, st.floats(-0.25, 0.25), turns)
def test_the_shared_area_is_that_of_the_overlap(low, high, shift, gap, quaternion):
    """A box on another, shifted: the area of the overlapping rectangle, for either order and any turn."""
    x, y = shift[0] * max(low[0], high[0]), shift[1] * max(low[1], high[1])
    wide = min(low[0], x + high[0]) - max(0.0, x)
    deep = min(low[1], y + high[1]) - max(0.0, y)
    expected = max(wide, 0.0) * max(deep, 0.0)
    turn = turned(quaternion)
    first = box(*low).triangles @ turn.T
    second = box(*high, (x, y, low[2] + gap)).triangles @ turn.T
    for pair in ((first, second), (second, first)):
        # sides that end within the gap of each other's plane touch too, along a line of no area
        found = sum(
            face.area_mm2 for face in touches(*pair) if abs(np.array(face.outward) @ turn[:, 2]) > 0.99
        )
        if expected > 1.01 * LEAST_MM2:
            assert found == pytest.approx(expected, rel=1e-6, abs=1e-4)
        elif expected < 0.99 * LEAST_MM2:
            assert found == 0.0
