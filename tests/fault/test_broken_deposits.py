"""Deposits of meshes that are broken: near the sound one, or said to be a guess; never a silent nothing."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from tests import builders
from tests.estimates import bare, deposit_of, texts

HALF_PERCENT = 0.005
ONE_PERCENT = 0.01
EXACT = 1e-9

SHAPES = {
    "wing": builders.lofted(builders.aerofoil(160.0), 0.7 * builders.aerofoil(160.0), 80.0, steps=40),
    "tube": builders.sleeve(builders.circle(60.0, 120), builders.circle(58.2, 120), 60.0, steps=40),
    "ball": builders.sphere(40.0, 5),
}


@pytest.fixture(params=SHAPES, name="sound")
def _sound(request):
    return SHAPES[request.param]


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (2, 3))])
def test_missing_facets(sound, seed):
    """Two percent of the facets missing changes volume by less than half a percent."""
    fine = refined(sound)
    whole, torn = deposit_of(fine), deposit_of(bare(fine, 0.02, seed))
    assert torn.volume_mm3 == pytest.approx(whole.volume_mm3, rel=HALF_PERCENT)
    assert torn.solid_volume_mm3 == pytest.approx(whole.solid_volume_mm3, rel=HALF_PERCENT)
    assert not torn.watertight


def test_hole(sound):
    """A hole of 20 x 20 mm in the side changes volume by less than one percent."""
    fine = refined(sound)
    middle = fine.triangles.mean(axis=1)
    centre = fine.bounds.mean(axis=0)
    side = middle[:, 1] > centre[1]
    hole = side & (np.abs(middle[:, [0, 2]] - centre[[0, 2]]) < 10.0).all(axis=1)
    assert hole.any()
    whole, torn = deposit_of(fine), deposit_of(TriangleMesh(fine.triangles[~hole]))
    assert torn.volume_mm3 == pytest.approx(whole.volume_mm3, rel=ONE_PERCENT)


@pytest.mark.parametrize("share", [0.01, 0.05])
def test_flipped_facets(sound, share):
    """Facets that look the wrong way are turned."""
    triangles = sound.triangles.copy()
    flip = np.random.default_rng(5).random(len(triangles)) < share
    triangles[flip] = triangles[flip][:, ::-1]
    whole, mixed = deposit_of(sound), deposit_of(TriangleMesh(triangles))
    assert mixed.volume_mm3 == pytest.approx(whole.volume_mm3, rel=HALF_PERCENT)


def test_inside_out(sound):
    """A mesh that is inside out gives the same deposit and says so."""
    whole, flipped = deposit_of(sound), deposit_of(TriangleMesh(sound.triangles[:, ::-1]))
    assert flipped.volume_mm3 == pytest.approx(whole.volume_mm3, rel=EXACT)
    assert "inside out" in texts(flipped)
    assert "inside out" not in texts(whole)


@pytest.mark.parametrize("share", [0.02, 1.0])
def test_facets_given_twice(sound, share):
    """Facets that are there twice, some or all, count once."""
    again = sound.triangles[np.random.default_rng(7).random(len(sound)) < share]
    whole, double = deposit_of(sound), deposit_of(TriangleMesh(np.concatenate([sound.triangles, again])))
    assert double.volume_mm3 == pytest.approx(whole.volume_mm3, rel=HALF_PERCENT)
    assert double.solid_volume_mm3 == pytest.approx(whole.solid_volume_mm3, rel=HALF_PERCENT)


def test_missing_caps(sound):
    """Without its flat bottom and top a part still has its sections."""
    heights = sound.triangles[:, :, 2]
    flat = (heights.max(axis=1) < sound.bounds[0, 2] + 1e-6) | (
        heights.min(axis=1) > sound.bounds[1, 2] - 1e-6
    )
    open_ = deposit_of(TriangleMesh(sound.triangles[~flat]))
    assert open_.volume_mm3 == pytest.approx(deposit_of(sound).volume_mm3, rel=HALF_PERCENT)
    assert open_.inside_holes == ()


@pytest.mark.parametrize("size", [1e-6, 1e-5, 1e-4])
def test_jittered_corners(sound, size):
    """Corners that miss each other by a little are joined."""
    moved = sound.triangles + np.random.default_rng(3).normal(0.0, size, sound.triangles.shape)
    whole, loose = deposit_of(sound), deposit_of(TriangleMesh(moved))
    assert loose.volume_mm3 == pytest.approx(whole.volume_mm3, rel=HALF_PERCENT)


@pytest.mark.parametrize("overlap", [5.0, 0.5, 0.1])
def test_overlapping_boxes(overlap):
    """Two boxes that share some room are their union, however thin the share."""
    both = builders.joined(builders.box(10, 10, 10), builders.box(10, 10, 10, (10 - overlap, 0, 0)))
    union = deposit_of(builders.box(20 - overlap, 10, 10))
    ours = deposit_of(both)
    assert ours.solid_volume_mm3 == pytest.approx((20 - overlap) * 100.0, rel=HALF_PERCENT)
    assert ours.volume_mm3 == pytest.approx(union.volume_mm3, rel=HALF_PERCENT)
    assert ours.centroid_mm[0] == pytest.approx((20 - overlap) / 2, abs=0.05)


def test_overlapping_balls():
    """Two balls that cut into each other: the lens between them counts once (closed form)."""
    apart, radius = 14.0, 10.0
    both = builders.joined(builders.sphere(20, 5), builders.moved(builders.sphere(20, 5), apart))
    lens = np.pi * (4 * radius + apart) * (2 * radius - apart) ** 2 / 12.0
    union = 2 * 4 / 3 * np.pi * radius**3 - lens
    assert deposit_of(both).solid_volume_mm3 == pytest.approx(union, rel=HALF_PERCENT)


def test_cavity():
    """A body turned inward inside another is room without material."""
    hollow = builders.joined(builders.box(30, 30, 30), builders.inward(builders.box(20, 20, 20, (5, 5, 5))))
    deposit = deposit_of(hollow, infill=1.0)
    assert deposit.solid_volume_mm3 == pytest.approx(19_000.0, rel=EXACT)
    assert deposit.volume_mm3 == pytest.approx(19_000.0, rel=2 * ONE_PERCENT)


@pytest.mark.parametrize(
    ("mesh", "word"),
    [
        (builders.box(30, 0.15, 10), "thinner than the least bead"),
        (builders.box(0.1, 0.1, 10), "thinner than the least bead"),
        (builders.box(20, 20, 0.05), "half of the first layer"),
    ],
)
def test_nearly_nothing_is_said(mesh, word):
    """What cannot be printed is a finding, not a small number."""
    assert word in texts(deposit_of(mesh))


@pytest.mark.parametrize(
    ("seed", "support"), [*((k, "none") for k in range(6)), (0, "everywhere"), (1, "bed only")]
)
def test_facets_thrown_at_random(seed, support):
    """Facets without any order give finite numbers and findings, not a crash."""
    rng = np.random.default_rng(seed)
    soup = TriangleMesh(rng.normal(0.0, 15.0, (300, 3, 3)))
    deposit = deposit_of(soup, support=support)
    assert (deposit.layers.support_mm3 >= 0.0).all()
    assert np.isfinite([deposit.volume_mm3, deposit.mass_g, *deposit.centroid_mm]).all()
    assert deposit.volume_mm3 >= 0.0
    assert deposit.findings


def refined(mesh: TriangleMesh) -> TriangleMesh:
    """Every facet cut into four until they are small: holes of single facets are then small too."""
    triangles = mesh.triangles
    while len(triangles) < 12_000:
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
        parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        triangles = np.concatenate([np.stack(p, axis=1) for p in parts])
    return TriangleMesh(triangles)


def test_surface_that_runs_through_itself():
    """Where a closed surface is inside out nothing is taken off what the rest of it holds, and it is said."""
    low = builders.circle(40.0, 48)
    deposit = deposit_of(builders.lofted(low, 0.7 * low * (1.0, -1.0), 30.0, steps=6))
    assert "runs through itself" in texts(deposit)
    assert deposit.watertight
    for column in (deposit.layers.area_mm2, deposit.layers.solid_mm3, deposit.layers.path_mm):
        assert (column >= 0.0).all()


def test_facets_that_are_inside_out_either_way():
    """Two facets that enclose nothing are turned at most once, and said to hold nothing."""
    corners = np.array([[[0, 0, 0], [35, -6, 30], [35, 0, 0]], [[0, 0, 0], [0, -6, 30], [35, -6, 30]]], float)
    for triangles in (corners, corners[:, ::-1]):
        deposit = deposit_of(TriangleMesh(triangles), spiral=True)
        assert deposit.mass_g >= 0.0
        assert deposit.findings
