"""Facets of a binary STL, held against the same told number by number."""

from __future__ import annotations

import math
import struct

import numpy as np

from planner.io.results.facets_kernel import BYTES, facets


def told(corners: np.ndarray, x: float, y: float) -> bytes:
    """One facet after the other, by the formula of the cross product."""
    body = b""
    for facet in (corners + np.array([x, y, 0.0])).reshape(-1, 3, 3):
        (a, b, c) = facet.tolist()
        u, v = [q - p for p, q in zip(a, b, strict=True)], [q - p for p, q in zip(a, c, strict=True)]
        normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
        length = math.sqrt(sum(value * value for value in normal))
        normal = [value / length if length > 0.0 else 0.0 for value in normal]
        body += struct.pack("<12fH", *normal, *a, *b, *c, 0)
    return body


def test_facets_are_told_as_the_form_says() -> None:
    rng = np.random.default_rng(5)
    corners = rng.uniform(-150.0, 150.0, (300, 3))
    corners[3:6] = corners[3]  # no area, and so no normal
    corners[:, 2] *= rng.choice([0.0, -0.0, 1.0], 300)
    found = facets(corners, 12.5, -3.25)
    assert len(found) == 100 * BYTES
    assert found == told(corners, 12.5, -3.25)
    assert found[BYTES : BYTES + 12] == bytes(12)


def test_a_square_corner_by_hand() -> None:
    """(0, 0, 0), (2, 0, 0), (0, 3, 0) moved by (1, 1) looks up."""
    corners = np.array([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0]])
    numbers = struct.unpack("<12fH", facets(corners, 1.0, 1.0))
    assert numbers == (0, 0, 1, 1, 1, 0, 3, 1, 0, 1, 4, 0, 0)
