"""The demo's aerofoils against published NACA four-digit figures."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))
pytest.importorskip("manifold3d", reason="the script that makes the demo meshes needs manifold3d")
aerofoil = pytest.importorskip("demo_shapes.aerofoil")
solid = pytest.importorskip("demo_shapes.solid")

CHORD, SPAN = 200.0, 500.0  # mm
AREA_0012 = 0.082210  # chord squared, open trailing edge: exact integral of the thickness polynomial
AREA_PUBLISHED = 0.0822  # as printed, rounded, in public code
PERIMETER_0012 = 2.03927 + 0.00252  # chord, two sides and the open edge
VOLUME_0012 = 1_644_200.0  # mm3, chord 200, span 500
HALF_0012, HALF_AT = 0.0600173, 0.29983  # greatest half thickness and its place
POLYGON = 2e-4  # relative: straight chords between 320 points lie inside the curve
PRINTED = 5e-4  # relative: the published 0.0822 has three digits


def wing(digits: str, per_side: int = 160) -> Any:
    """A straight wing as an outside library reads it."""
    ring = aerofoil.placed(aerofoil.naca4(digits, per_side), CHORD, 0.0)
    mesh = solid.loft([ring, ring, ring], [0.0, 211.0, SPAN]).to_mesh64()
    return trimesh.Trimesh(np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts), process=False)


def section_area(mesh: Any, height: float) -> tuple[float, float]:
    """Area (divergence theorem in the plane) and perimeter of a flat section."""
    ends, faces = trimesh.intersections.mesh_plane(
        mesh, plane_normal=(0.0, 0.0, 1.0), plane_origin=(0.0, 0.0, height), return_faces=True
    )
    outward = mesh.face_normals[faces][:, :2]
    outward = outward / np.linalg.norm(outward, axis=1, keepdims=True)
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    middle = ends.mean(axis=1)[:, :2]
    return float(0.5 * ((middle * outward).sum(axis=1) * length).sum()), float(length.sum())


def test_section_area_of_naca_0012_by_slicing() -> None:
    """A slice through a lofted NACA 0012 wing has 0.0822 chord squared of area."""
    area, perimeter = section_area(wing("0012"), 123.4)
    assert area / CHORD**2 == pytest.approx(AREA_0012, rel=POLYGON)
    assert area / CHORD**2 == pytest.approx(AREA_PUBLISHED, rel=PRINTED)
    assert perimeter / CHORD == pytest.approx(PERIMETER_0012, rel=POLYGON)


def test_volume_of_naca_0012_wing() -> None:
    """The closed wing encloses the published section times its span, faces outward."""
    mesh = wing("0012")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(VOLUME_0012, rel=POLYGON)


@pytest.mark.parametrize(
    ("digits", "share"), [("0006", 0.041105), ("0009", 0.0616575), ("0010", 0.0685083), ("0015", 0.1027625)]
)
def test_area_grows_with_thickness(digits: str, share: float) -> None:
    """Other thicknesses enclose 0.685083 times thickness times chord squared."""
    area, _ = section_area(wing(digits), 250.5)
    assert area / CHORD**2 == pytest.approx(share, rel=POLYGON)


def test_greatest_half_thickness() -> None:
    """The 12 per cent section is 0.0600173 chord thick to either side at 0.29983 chord."""
    ring = aerofoil.naca4("0012", 4000)
    top = ring[ring[:, 1].argmax()]
    assert top[1] == pytest.approx(HALF_0012, abs=1e-7)
    assert top[0] == pytest.approx(HALF_AT, abs=5e-4)


def test_camber_of_naca_2412() -> None:
    """Two per cent camber at four tenths: upper and lower side at 0.4 chord average to 0.02 chord."""
    ring = aerofoil.naca4("2412", 4000)
    upper, lower = ring[:4000][::-1], ring[4000:]
    at = [np.interp(0.4, side[:, 0], side[:, 1]) for side in (upper, lower)]
    assert sum(at) / 2.0 == pytest.approx(0.02, abs=1e-6)
