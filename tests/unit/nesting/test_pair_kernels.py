"""Compiled questions about two shapes and one ring, against the polygon library and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from planner.nesting.problem.array_layout import FORM_ROWS, LIE_ROWS, NEXT, PR, PX, PY, VX, VY
from planner.nesting.problem.depth_kernel import depth_inside
from planner.nesting.separation.pair_kernel import (
    circles_touch,
    edges_cross,
    inside_piece,
    inside_shape,
    overlap,
)
from planner.nesting.separation.random_kernel import uniform

Floats = NDArray[np.float64]


def star(rng: np.random.Generator) -> Floats:
    corners = int(rng.integers(3, 12))
    angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
    return rng.uniform(2.0, 9.0, corners)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])


def packed(ring: Floats, circles: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Rows of one shape and the next corner of each corner, as the search keeps them."""
    many = max(len(ring), len(circles))
    rows, count = np.zeros((FORM_ROWS, many)), np.zeros((2, many), dtype=np.int64)
    rows[VX, : len(ring)], rows[VY, : len(ring)] = ring.T
    for row, values in zip((PX, PY, PR), circles.T, strict=True):
        rows[row, : len(circles)] = values
    count[NEXT, : len(ring)] = np.roll(np.arange(len(ring)), -1)
    return rows, count


def crossed(one: Floats, other: Floats, dx: float, dy: float) -> bool:
    none = np.zeros((1, 3))
    a, next_a = packed(one, none)
    b, next_b = packed(other, none)
    count = np.zeros((2, 2, max(next_a.shape[1], next_b.shape[1])), dtype=np.int64)
    count[0, :, : next_a.shape[1]], count[1, :, : next_b.shape[1]] = next_a, next_b
    lie = b[None, :LIE_ROWS]
    kept = np.empty((8, len(one)))
    every = (-1e9, -1e9, 1e9, 1e9)
    return bool(edges_cross(a, count, 0, len(one), dx, dy, lie, 0, 1, len(other), *every, kept))


@pytest.mark.parametrize("seed", range(40))
def test_edges_cross_where_the_polygon_library_says_so(seed: int) -> None:
    """Random stars at random shifts: outlines cross exactly where their linear rings do."""
    rng = np.random.default_rng(seed)
    one, other = star(rng), star(rng)
    for dx, dy in rng.uniform(-12.0, 12.0, (20, 2)):
        wanted = shapely.LinearRing(one + np.array([dx, dy])).crosses(shapely.LinearRing(other))
        assert crossed(one, other, dx, dy) == wanted


@pytest.mark.parametrize("seed", range(10))
def test_depth_and_inside_are_those_of_the_polygon_library(seed: int) -> None:
    """Distance to the ring, positive inside; the even-odd rule for shapes and for pieces that lie."""
    rng = np.random.default_rng(100 + seed)
    ring = star(rng)
    shape, points = shapely.Polygon(ring), rng.uniform(-10.0, 10.0, (200, 2))
    inside = shapely.contains_xy(shape, points)
    far = shapely.distance(shapely.points(points), shape.exterior)
    assert depth_inside(points, ring) == pytest.approx(np.where(inside, far, -far))
    rows, following = packed(ring, np.zeros((1, 3)))
    count = following[None]
    for (x, y), wanted in zip(points, inside, strict=True):
        assert inside_shape(x, y, count, rows, 0, len(ring)) == wanted
        assert inside_piece(x, y, count, rows[None, :LIE_ROWS], 0, 0, len(ring)) == wanted


def test_circles_by_hand() -> None:
    """Radii 2 and 1 touch from 3 mm on; overlap is depth times the smaller radius, fading apart."""
    ring = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    one, _ = packed(ring, np.array([[0.0, 0.0, 2.0]]))
    other, _ = packed(ring, np.array([[0.0, 0.0, 1.0]]))
    lie = other[None, :LIE_ROWS]
    assert circles_touch(one, 1, 2.9, 0.0, other[None], 0, lie, 0, 1)
    assert not circles_touch(one, 1, 0.0, 3.1, other[None], 0, lie, 0, 1)
    epsilon = 0.1
    deep = overlap(one, 1, 2.0, 0.0, other[None], 0, lie, 0, 1, epsilon)
    assert deep == pytest.approx(1.0 * 1.0 * np.pi + epsilon**2)
    apart = overlap(one, 1, 5.0, 0.0, other[None], 0, lie, 0, 1, epsilon)
    assert apart == pytest.approx(epsilon**2 / (2.0 * epsilon + 2.0) * np.pi + epsilon**2)


def test_random_numbers_are_those_of_the_published_chain() -> None:
    """First outputs of splitmix64 for the seed 1234567 (published with the reference code), top 53 bits."""
    words = [6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431]
    chain = np.array([1234567], dtype=np.uint64)
    with np.errstate(over="ignore"):
        found = [uniform(chain) for _ in words]
    assert found == [(word >> 11) / 2**53 for word in words]
