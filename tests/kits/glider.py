"""A small airframe by hand whose parts all mate, each laid in a way of its own, with where each sits.

x aft, y to the right, z up; lengths in mm. A round hull of two lengths, 60 mm wide, with stubs at y = 40 for
the wing and at y = 36 for the tail, and a stub on top for the fin.
"""

from __future__ import annotations

import manifold3d
import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil
from tests.kits import shapes
from tests.kits.shapes import Solid

AFT = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])  # what stood up runs aft
SPAN, SWEEP, RISE = 200.0, 30.0, 20.0  # of the wing: outwards, and how far its tip lies aft and up


def glider(*, rise: float = RISE, fin: bool = True) -> dict[str, Solid]:
    """The parts where they sit, by name; left and right of wing and tail are mirror images."""
    front = _length(150.0, 60.0, 56.0, 0.0) + _stub(100.0, 20.0, 40.0) + _flipped(_stub(100.0, 20.0, 40.0))
    back = _length(120.0, 56.0, 40.0, 150.0) + _stub(60.0, 190.0, 36.0) + _flipped(_stub(60.0, 190.0, 36.0))
    if fin:
        back = back + _panel(50.0, 50.0, 30.0, 0.0, 0.0).rotate((90.0, 0.0, 0.0)).translate(
            (195.0, 0.0, 10.0)
        )
    wing = _panel(100.0, 80.0, SPAN, SWEEP, rise).translate((20.0, 40.0, 0.0))
    tail = _panel(60.0, 50.0, 90.0, 10.0, 0.0).translate((190.0, 36.0, 0.0))
    found = {"front": front, "back": back, "wing r": wing, "wing l": _flipped(wing)}
    found |= {"tail r": tail, "tail l": _flipped(tail)}
    if fin:
        up = _panel(50.0, 40.0, 70.0, 12.0, 0.0).rotate((90.0, 0.0, 0.0))
        found["fin"] = up.translate((195.0, 0.0, 40.0))
    return found


def laid_out(
    solids: dict[str, Solid], seed: int = 7
) -> tuple[dict[str, TriangleMesh], dict[str, np.ndarray]]:
    """Each part turned and shifted by chance, and the motion (4, 4) that brings it back."""
    rng = np.random.default_rng(seed)
    meshes, back = {}, {}
    for name, solid in solids.items():
        turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        turn *= np.sign(np.linalg.det(turn))
        shift = rng.uniform(-50.0, 50.0, 3)
        meshes[name] = TriangleMesh(shapes.mesh_of(solid).triangles @ turn.T + shift)
        back[name] = np.eye(4)
        back[name][:3, :3], back[name][:3, 3] = turn.T, -turn.T @ shift
    return meshes, back


def _length(long: float, first: float, last: float, at: float) -> Solid:
    ring = manifold3d.CrossSection.circle(first / 2.0, 36)
    solid = ring.extrude(long, 2, 0.0, (last / first, last / first))
    return solid.transform(np.column_stack([AFT, [at, 0.0, 0.0]]))


def _panel(chord: float, tip: float, span: float, back: float, rise: float) -> Solid:
    """A right half from the origin on: x aft, y outwards, z up; it leans aft and up."""
    outline = manifold3d.CrossSection([aerofoil(chord, 0.12, 20).tolist()])
    solid = outline.extrude(span, 2, 0.0, (tip / chord, tip / chord))
    lean = np.array([[1.0, 0.0, back / span], [0.0, 0.0, 1.0], [0.0, 1.0, rise / span]])
    return solid.transform(np.column_stack([lean, np.zeros(3)]))


def _stub(chord: float, at: float, beside: float) -> Solid:
    outline = manifold3d.CrossSection([aerofoil(chord, 0.12, 20).tolist()])
    swap = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    return outline.extrude(beside).transform(np.column_stack([swap, [at, 0.0, 0.0]]))


def _flipped(solid: Solid) -> Solid:
    return solid.mirror((0.0, 1.0, 0.0))
