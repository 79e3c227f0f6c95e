"""A folder of many parts as somebody drops it: fine meshes, long names, no records beside them.

Skins with slits, ribs with many holes, hulls, tail panels, mounts and clips, of some hundred to some
ten thousand facets each; sizes are drawn from a seed, so that no two parts are alike.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import manifold3d
import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil, circle, stl_bytes
from tests.kits import shapes

Solid = manifold3d.Manifold
_WORDS = ("outer", "inner", "mid", "front", "rear", "root", "tip", "upper")
_EVERY = 12  # parts in which every kind of part comes up


def folder_of_parts(folder: Path, count: int, seed: int = 1, fine: float = 1.0) -> Path:
    """Write ``count`` mesh files into a folder that is made for it; nothing lies beside them.

    Parameters
    ----------
    fine : share of the facets along the span of skins and hulls; 1 makes about 14,000 a part
    """
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    for n in range(count):
        name, made = _KINDS[n % _EVERY]
        file = f"{name} {n // _EVERY + 1} {_WORDS[int(rng.integers(len(_WORDS)))]}.stl"
        (folder / file).write_bytes(stl_bytes(made(rng, fine)))
    return folder


def _mm(rng: np.random.Generator, low: float, high: float) -> float:
    return round(float(rng.uniform(low, high)), 1)


def skin(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A length of wing, tapered and twisted, with slits from below that leave ribs between them."""
    chord, span = _mm(rng, 110.0, 170.0), _mm(rng, 90.0, 160.0)
    outline = manifold3d.CrossSection([aerofoil(chord, 0.13, 90).tolist()])
    for share in np.arange(0.15, 0.7, 0.11):
        slit = manifold3d.CrossSection.square((0.1, 0.3 * chord))
        outline = outline - slit.translate((share * chord, 1.2 - 0.3 * chord + 0.02 * chord))
    return shapes.mesh_of(outline.extrude(span, max(1, round(44 * fine)), 2.0, (0.93, 0.93)))


def hull(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A length of fuselage: a tapered tube with a hatch cut out of it."""
    width, length = _mm(rng, 60.0, 95.0), _mm(rng, 70.0, 150.0)
    steps = max(1, round(44 * fine))
    ring = manifold3d.CrossSection([circle(width, 150).tolist()])
    ring = ring - manifold3d.CrossSection([circle(width - 2.4, 150).tolist()])
    tube = ring.extrude(length, steps, 0.0, (0.85, 0.9))
    hatch = shapes.block(0.4 * width, width, 0.4 * length)
    return shapes.mesh_of(tube - hatch.translate((-0.2 * width, 0.0, 0.3 * length)))


def rib(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A rib that lies flat, with round holes along it."""
    del fine
    chord, thick = _mm(rng, 90.0, 170.0), _mm(rng, 1.6, 3.0)
    outline = manifold3d.CrossSection([aerofoil(chord, 0.14, 120).tolist()])
    for share in np.arange(0.1, 0.8, 0.08):
        high = 0.07 * chord * (1.0 - 0.6 * share)
        hole = manifold3d.CrossSection([circle(0.8 * high, 48).tolist()])
        outline = outline - hole.translate((share * chord, 0.0))
    return shapes.mesh_of(outline.extrude(thick))


def panel(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A flat tail panel with rounded corners."""
    del fine
    size = (_mm(rng, 60.0, 110.0), _mm(rng, 40.0, 90.0))
    plate = manifold3d.CrossSection.square(size).offset(-8.0, manifold3d.JoinType.Round)
    plate = plate.offset(8.0, manifold3d.JoinType.Round, 2.0, 96)
    return shapes.mesh_of(plate.extrude(_mm(rng, 3.0, 5.0)))


def mount(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A plate with bosses and a grid of holes."""
    del fine
    width, thick = _mm(rng, 30.0, 60.0), _mm(rng, 4.0, 8.0)
    body = shapes.block(width, width, thick)
    for x in np.arange(6.0, width - 5.0, 6.5):
        for y in np.arange(6.0, width - 5.0, 6.5):
            body = body - Solid.cylinder(thick + 2.0, 1.7, 1.7, 24).translate((x, y, -1.0))
    return shapes.mesh_of(body)


def clip(rng: np.random.Generator, fine: float) -> TriangleMesh:
    """A small block with a slot: too small for a name on its bed plan."""
    del fine
    return shapes.mesh_of(shapes.clip(_mm(rng, 7.0, 16.0), _mm(rng, 6.0, 12.0), _mm(rng, 4.0, 9.0)))


_KINDS: tuple[tuple[str, Callable[[np.random.Generator, float], TriangleMesh]], ...] = (
    ("wing skin panel", skin),
    ("wing rib", rib),
    ("latch clip", clip),
    ("fuselage hull", hull),
    ("wing rib rear", rib),
    ("servo mount plate", mount),
    ("wing skin tip", skin),
    ("latch clip small", clip),
    ("tail panel", panel),
    ("wing skin aileron", skin),
    ("fuselage hull joint", hull),
    ("latch clip rear", clip),
)
