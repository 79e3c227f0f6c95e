"""The shortest strip: legal by a polygon library, near what is known, the same each time."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from shapely import Polygon, affinity, box

from planner.model.printer import Outline
from planner.nesting.boxes.strip import Strip, shortest_strip
from planner.nesting.problem.forms import Form, form_of
from planner.nesting.problem.item import Item

ROUNDING = 1e-6  # mm2 of overlap that rounding may leave


def _shape(outline: Outline, turns: tuple[float, ...]) -> Form:
    return form_of(Item("p", outline, (), 1.0, turns, "", ""), 0.0, simpler_mm=0.0)


def _check(shapes: list[Form], which: list[int], width: float, strip: Strip) -> None:
    """Nothing overlaps and nothing sticks out."""
    room = box(-1e-6, -1e-6, strip.length + 1e-6, width + 1e-6)
    laid = []
    for n, s in enumerate(which):
        shape = affinity.rotate(
            Polygon(shapes[s].rings[0]), strip.layout.turn[n], origin=(0, 0), use_radians=True
        )
        laid.append(affinity.translate(shape, strip.layout.x[n], strip.layout.y[n]))
    assert all(room.covers(shape) for shape in laid)
    assert all(a.intersection(b).area < ROUNDING for a, b in combinations(laid, 2))


@pytest.mark.parametrize("threads", [1, 2])
def test_triangles_pair_up(threads: int) -> None:
    """Eight right triangles of 10 x 10 make 4 squares: 21 wide they need 20 of length; 1 % more will do."""
    shapes = [_shape(((0, 0), (10, 0), (0, 10)), (0.0, 90.0, 180.0, 270.0))]
    strip = shortest_strip(shapes, [0] * 8, 21.0, seed=1, stop=lambda n: n > 250_000, threads=threads)
    _check(shapes, [0] * 8, 21.0, strip)
    assert 400.0 / 21.0 <= strip.length <= 20.0 * 1.01


def test_same_seed_same_strip() -> None:
    """Two searches in two threads end on the same layout when they are ended by steps."""
    shapes = [
        _shape(((0, 0), (7, 0), (5, 4), (0, 6)), (0.0, 180.0)),
        _shape(((0, 0), (9, 0), (0, 3)), (0.0,)),
    ]
    which = [0, 0, 0, 1, 1, 1, 1]
    one, other = (
        shortest_strip(shapes, which, 12.0, seed=4, stop=lambda n: n > 20_000, threads=2) for _ in range(2)
    )
    _check(shapes, which, 12.0, one)
    assert one.length == other.length
    assert np.array_equal(one.layout.x, other.layout.x)
