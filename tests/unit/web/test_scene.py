"""Meshes as the page shows them: the outline and the holes are those of the file."""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage

from planner.web.views.picture import _drawn
from planner.web.views.scene import COARSE, MOST, light

pytest.importorskip("fast_simplification", reason="belongs to the extra `page`")
Corners = NDArray[np.float64]
STEP_MM = 1.2  # edges no longer than this, as drawing programs write them


def corners_of(solid: Any) -> Corners:
    mesh = solid.to_mesh()
    return np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3][np.asarray(mesh.tri_verts)]


def rib(holes: int, thick_mm: float) -> Corners:
    """An ellipse 216 mm long with a row of lightening holes."""
    flat = manifold3d.CrossSection.circle(60.0, 400).scale((1.8, 0.35))
    places = np.linspace(-75.0, 75.0, holes)
    for x in places:
        radius = min(9.0 - abs(x) / 20.0, 60.0 / holes)
        flat = flat - manifold3d.CrossSection.circle(radius, 200).translate((x, 0.0))
    return corners_of(manifold3d.Manifold.extrude(flat, thick_mm).refine_to_length(STEP_MM))


def skin(wall_mm: float) -> Corners:
    """A tapering, twisted wing skin, open at both ends."""
    outer = manifold3d.CrossSection.circle(60.0, 300).scale((1.6, 0.25))
    ring = outer - outer.offset(-wall_mm, manifold3d.JoinType.Round)
    return corners_of(
        manifold3d.Manifold.extrude(ring, 180.0, n_divisions=60, twist_degrees=4.0, scale_top=(0.7, 0.7))
    )


def turned(corners: Corners, degrees: float) -> Corners:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn: Corners = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    return corners @ turn.T


KITS = {
    "rib of seven holes": rib(7, 1.2),
    "thin rib of twelve holes": rib(12, 0.6),
    "skin of 0.45 mm": skin(0.45),
    "skin of 0.8 mm": skin(0.8),
}


@pytest.mark.parametrize("most", [pytest.param(MOST, marks=pytest.mark.slow), COARSE])
@pytest.mark.parametrize("degrees", [0.0, 65.0])
@pytest.mark.parametrize("kit", KITS)
def test_what_is_shown_has_outline_holes_and_depth_of_the_file(kit: str, degrees: float, most: int) -> None:
    """Pixel by pixel: outline, number of holes, and no wall is torn open so that one behind it shows."""
    own = KITS[kit]
    shown = light(own, most)
    assert len(own) > most
    assert len(shown) <= 1.5 * most
    with np.errstate(invalid="ignore"):
        depth, _ = _drawn(turned(own, degrees).astype(np.float32))
        told, _ = _drawn(turned(shown.astype(np.float64), degrees).astype(np.float32))
        there, seen = np.isfinite(depth), np.isfinite(told)
        both = there & seen
        # Where a wall is seen edge on, its depth changes much between pixels: any neighbour's will do.
        nearest = ndimage.minimum_filter(np.where(there, depth, np.inf), 3)
        farthest = ndimage.maximum_filter(np.where(there, depth, -np.inf), 3)
        off = ((told < nearest - 4.0) | (told > farthest + 4.0))[both]
    assert both.sum() / (there | seen).sum() > 0.99
    assert ndimage.label(~seen)[1] == ndimage.label(~there)[1]
    assert off.mean() < 0.01


def test_a_mesh_far_from_the_origin_keeps_its_digits() -> None:
    """A part as it stands in the airframe, a metre off, loses nothing of its shape."""
    own = KITS["rib of seven holes"]
    far = np.array([1500.0, -900.0, 300.0])
    low, high = (light(own + far, COARSE).reshape(-1, 3) - far).min(axis=0), own.reshape(-1, 3).max(axis=0)
    assert np.allclose(low, own.reshape(-1, 3).min(axis=0), atol=0.05)
    assert np.allclose((light(own + far, COARSE).reshape(-1, 3) - far).max(axis=0), high, atol=0.05)


def test_small_meshes_are_shown_as_they_are() -> None:
    """Nothing is taken from what is light already; loose triangles do no harm to what is not."""
    own = KITS["skin of 0.8 mm"]
    assert np.array_equal(light(own[:500]), own[:500].astype(np.float32))
    broken = np.concatenate(
        [own, np.repeat(own[:50, :1], 3, axis=1)]
    )  # points that call themselves triangles
    assert np.isfinite(light(broken, COARSE)).all()


def test_meshes_asked_for_at_the_same_time_do_not_mix() -> None:
    # A page with many parts asks for all of them at once; the server answers in several threads.
    kits = [corners_of(manifold3d.Manifold.sphere(20.0 + at, 48 + 16 * at)) for at in range(3)]
    alone = [light(kit, 600).tobytes() for kit in kits]
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        with ThreadPoolExecutor(6) as pool:
            together = [made.tobytes() for made in pool.map(lambda kit: light(kit, 600), kits * 8)]
    finally:
        sys.setswitchinterval(before)
    assert together == alone * 8
