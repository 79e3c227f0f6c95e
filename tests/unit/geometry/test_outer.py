"""The surface that paint covers."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.geometry.mesh.outer import outer_surface
from planner.geometry.mesh.outer_kernel import boxes_of, leaving
from tests.builders import box, joined, moved, sphere, tube
from tests.kits import shapes

SAMPLED = 0.03  # fifteen hundred spots


def test_a_box_and_a_ball_are_painted_all_over():
    """Nothing of a convex body looks at itself: 2 (ab + bc + ca), and the whole mesh of a ball."""
    assert outer_surface(box(30.0, 20.0, 10.0)).area_mm2 == pytest.approx(2200.0)
    ball = sphere(40.0)
    assert outer_surface(ball).area_mm2 == pytest.approx(math.pi * 40.0**2, rel=0.01)


def test_the_inside_of_a_tube_is_not_painted():
    """A tube of 50 / 47 mm and 80 mm: mantle and two end faces count, the bore does not."""
    outside = math.pi * 50.0 * 80.0 + 2.0 * math.pi / 4.0 * (50.0**2 - 47.0**2)
    assert outer_surface(tube(50.0, 47.0, 80.0)).area_mm2 == pytest.approx(outside, rel=SAMPLED)


def test_faces_that_look_at_each_other_do_not_count():
    """Two plates of 40 x 40 x 2 a millimetre apart: both inner faces are hidden."""
    plates = joined(box(40.0, 40.0, 2.0), moved(box(40.0, 40.0, 2.0), z=3.0))
    assert outer_surface(plates).area_mm2 == pytest.approx(2 * 1600.0 + 8 * 80.0, rel=SAMPLED)


@pytest.mark.parametrize("seed", range(3))
def test_rays_that_pass_over_boxes_find_what_rays_find_one_by_one(seed: int):
    """Every spot of a mesh with holes, against all facets at once (Moeller, Trumbore 1997)."""
    triangles = shapes.mesh_of(shapes.mount(30.0, 6.0) + shapes.rib(90.0, 3.0)).triangles
    rng = np.random.default_rng(seed)
    facets = rng.integers(0, len(triangles), 300)
    spots = triangles[facets].mean(axis=1)
    ways = rng.normal(size=(300, 3))
    ways[:90] = np.eye(3)[np.arange(90) % 3]  # along the axes, where boxes have no depth
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    order = rng.permutation(len(triangles))
    near = np.ascontiguousarray(triangles[order])
    a, u, v = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    wanted = []
    for spot, way in zip(spots, ways, strict=True):
        p = np.cross(way, v)
        turn = (u * p).sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            first = ((spot - a) * p).sum(axis=1) / turn
            q = np.cross(spot - a, u)
            second, far = (q @ way) / turn, (v * q).sum(axis=1) / turn
            met = (abs(turn) >= 1e-12) & (first >= 0) & (first <= 1) & (second >= 0) & (first + second <= 1)
        wanted.append(not (met & (far > 1e-3)).any())
    assert leaving(near, boxes_of(near), spots, ways, 1e-3).tolist() == wanted
    assert 0 < sum(wanted) < 300
